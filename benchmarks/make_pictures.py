# SPDX-License-Identifier: GPL-3.0-or-later
"""Every picture of the guide and the README, from the samples and the real windows.

``python benchmarks/make_pictures.py``; no screen is needed. With names of scenes (``looking_back``) only
theirs are made. The walk of the guide is driven through the window's own buttons and fields, and the odds
that the window comes to are held against those of ``ways_back_walk.py``; its table in the guide is written
anew, and so is that of ``looking_back_walk.py``. Fixed: day, zone, font, style, size.
"""

from __future__ import annotations

import datetime as dt
import gc
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["QT_SCALE_FACTOR"] = "1"
os.environ["TZ"] = "Europe/Lisbon"

from PySide6.QtCore import QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QFont, QImage
from PySide6.QtWidgets import QApplication, QWidget

from nightplan.desk.app import make_app
from nightplan.desk.pages import PAGES
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.model.project import Project
from nightplan.speech import LANGUAGES, language, tr

sys.path.insert(0, str(Path(__file__).parent))
import looking_back_walk as looking
import ways_back_walk as story
from still_services import StillServices

ROOT = Path(__file__).parents[1]
README, GUIDE = ROOT / "docs" / "pictures", ROOT / "docs" / "guide" / "pictures"
WIDE, HIGH = 1360, 860
MOST_BYTES = 200_000
MARKS = ("<!-- the walk -->\n", "<!-- end of the walk -->\n")
LOOKING_MARKS = ("<!-- planned against actual -->\n", "<!-- end of planned against actual -->\n")


class NobodyAsked(StillServices):
    """A question would stand in the picture."""

    def ask(self, parent: QWidget | None, title: str, text: str, *_rest: Any, detail: str = "") -> None:
        raise AssertionError(f"{title}: {text} {detail}")


class Studio:
    """One window, and how to take its picture."""

    def __init__(self, app: QApplication, folder: Path) -> None:
        self.app, self.services = app, NobodyAsked(folder, story.START)
        self.themes = ThemeKeeper("night", 100)
        self.themes.apply()
        self.window = MainWindow(self.services, self.themes)
        self.window.work.missed_asked = True
        self.window.show()
        # after it is shown: the screen that is not there is smaller
        self.window.resize(WIDE, HIGH)

    def until(self, true: Callable[[], bool], what: str = "rest") -> None:
        end = dt.datetime.now() + dt.timedelta(seconds=120)
        while not true():
            self.app.processEvents()
            if dt.datetime.now() > end:
                raise SystemExit(f"{what} never came")
        self.turns()

    def turns(self, number: int = 40) -> None:
        for _ in range(number):
            self.app.processEvents()

    def settle(self) -> None:
        document = self.window.document
        self.until(lambda: document.fresh and not document.worker.busy, "the odds")

    def show(self, project: Project, day: dt.date) -> None:
        """A project on a day, as when its file was opened."""
        self.services.day = day
        self.window.document.new(project)
        self.window.document.set_as_of(day)
        self.window.show_document()
        self.settle()

    def page(self, key: str) -> Any:
        self.window.go_to(key)
        self.turns()
        page = self.window.pages[key]
        if key == "ways-back":
            self.until(lambda: page.found is not None and not page.search.busy, "the ways back")
        self.settle()
        if key == "plan":
            self.until(lambda: page.charts.canvas is not None, "the chart")
            waits = {tr("The chart comes with the first odds."), tr("The chart comes with the next odds.")}
            self.until(lambda: page.charts.words.text() not in waits, "the chart's numbers")
            self.turns(400)
        return page

    def take(self, path: Path, widget: QWidget | None = None) -> None:
        self.turns()
        save((widget or self.window).grab().toImage(), path)

    def close(self) -> None:
        self.window.setProperty("discard", True)
        self.window.close()
        self.turns()


def save(image: QImage, path: Path) -> None:
    """As small a PNG as shows the same."""
    from PIL import Image

    path.parent.mkdir(parents=True, exist_ok=True)
    raw = image.convertToFormat(QImage.Format.Format_RGB888)
    whole = Image.frombuffer(
        "RGB", (raw.width(), raw.height()), bytes(raw.constBits()), "raw", "RGB", raw.bytesPerLine(), 1
    )
    few = whole.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    few.save(path, optimize=True)
    size = path.stat().st_size
    if size > MOST_BYTES:
        raise SystemExit(f"{path} has {size} bytes; {MOST_BYTES} are allowed")
    print(f"{path.relative_to(ROOT)}  {raw.width()} x {raw.height()}, {size / 1000:.0f} kB")


# ---- the walk ------------------------------------------------------------------------------------
def walk(studio: Studio) -> None:
    """Through the window's own fields and buttons; every number against the walk without a window."""
    steps = list(story.walk(story.sample(ROOT / "sample_projects")))
    studio.show(steps[0].project, story.START)
    studio.page("plan")
    studio.take(GUIDE / "ways-1-sunday.png")
    shown = 1
    for step in steps[1:]:
        studio.window.document.set_as_of(step.date)
        studio.settle()
        before = studio.window.document.project
        if step.kind == "re-plan":
            page = studio.page("ways-back")
            assert {m.id for m in page.found.combination.moves} == {m.id for m in step.found.combination.moves}
            page.best.button.click()
            studio.until(page.apply_button.isEnabled, "what is ticked together")
            if shown < 4:
                studio.take(GUIDE / f"ways-{shown + 1}-offer.png")
            if shown == 1:
                page.preview_button.click()
                charts = page.preview.charts
                studio.until(lambda: all(c.canvas is not None for c in charts), "the charts")  # noqa: B023
                studio.until(lambda: not page.side_by_side.redraw.isActive(), "the charts")  # noqa: B023
                studio.take(GUIDE / "ways-side-by-side.png", page.side_by_side)
                page.preview_button.click()
            page.apply_button.click()
            shown += 1
        else:
            _tick(studio, step)
        studio.until(lambda: studio.window.document.project is not before, "the step")  # noqa: B023
        studio.settle()
        found = studio.window.document.forecast
        assert {g.id: g.odds for g in found.gates} == step.odds, step
        if step.kind == "tick" and step.date == story.START:
            studio.take(GUIDE / "ways-tonight.png")
    studio.page("plan")
    studio.take(GUIDE / "ways-5-held.png")
    page = studio.page("ways-back")
    page.area.verticalScrollBar().setValue(page.area.verticalScrollBar().maximum())
    studio.take(GUIDE / "ways-6-re-plans.png")
    write_table(ROOT / "docs" / "guide" / "ways-back.md", MARKS, story.table(steps))


def write_table(page: Path, marks: tuple[str, str], table: str) -> None:
    """The table between two marks of a page, anew."""
    head, rest = page.read_text(encoding="utf-8").split(marks[0])
    page.write_text(head + marks[0] + table + marks[1] + rest.split(marks[1])[1], encoding="utf-8")


def _tick(studio: Studio, step: story.Step) -> None:
    """Tick the evening off on Tonight; what it has no field for comes from the story."""
    entry = step.project.log_by_date[step.date]
    page = studio.page("tonight")
    page.choose_evening(step.date)
    if not entry.happened:
        page.tick_card.missed_button.click()
        return
    lines = {line.item: line for line in page.tick_card.lines if line.item}
    if entry.jobs_done or not set(lines) >= {w.item for w in entry.work}:
        from nightplan.actions.tick import Evening, tick

        said = Evening(
            step.date,
            entry.hours,
            {w.item: w.hours for w in entry.work},
            (*(w.item for w in entry.work if w.done), *entry.jobs_done),
            {w.item: w.left for w in entry.work if w.left},
        )
        studio.window.document.apply("Tick off", tick(studio.window.document.project, said))
        return
    page.tick_card.hours.setValue(entry.hours)
    lines = {line.item: line for line in page.tick_card.lines if line.item}
    for line in lines.values():
        line.hours.setValue(0)
    for work in entry.work:
        line = lines[work.item]
        line.hours.setValue(work.hours)
        if work.done:
            line.done.click()
        if work.left:
            line.more.click()
            line.left.setValue(work.left.likely)
    page.tick_card.tick_button.click()


# ---- the other pages -----------------------------------------------------------------------------
def announcement_day(studio: Studio) -> None:
    studio.services.day = dt.date(2027, 9, 20)
    studio.window.files.begin_new()
    wizard = studio.window.wizard
    wizard.resize(1000, 700)
    wizard.title.setText("Kelp Diver")
    wizard.dates.deadline.setText("Oct 31, 11:59 pm PT")
    studio.turns(200)
    studio.take(GUIDE / "announcement-1-dates.png", wizard)
    for name in ("2-evenings", "3-work", "4-verdict"):
        wizard.next_button.click()
        assert not wizard.error.isVisible(), wizard.error.text()
        if name == "4-verdict":
            studio.until(lambda: bool(wizard.verdict.text()) and not wizard.worker.busy, "the verdict")
            studio.until(lambda: wizard._pool.activeThreadCount() == 0, "what would make it fit")
        studio.turns(200)
        studio.take(GUIDE / f"announcement-{name}.png", wizard)
    wizard.reject()


def an_evening(studio: Studio) -> None:
    studio.show(story.sample(ROOT / "sample_projects"), story.START)
    page = studio.page("tonight")
    studio.take(README / "tonight.png")
    studio.take(GUIDE / "evening-1-tonight.png")
    lines = [line for line in page.tick_card.lines if line.item]
    lines[0].done.click()
    lines[1].done.click()
    page.tick_card.note.setPlainText("Three in-betweens too many in the wing fold. Took them out, it lands.")
    studio.take(GUIDE / "evening-2-ticked.png")
    before = studio.window.document.project
    page.tick_card.tick_button.click()
    studio.until(lambda: studio.window.document.project is not before, "the tick")
    studio.settle()
    studio.until(lambda: "Working out" not in page.after_card.moved.text(), "the new odds")
    studio.take(GUIDE / "evening-3-after.png")


def looking_back(studio: Studio) -> None:
    """Two finished pieces, and the one that comes next."""
    samples = ROOT / "sample_projects"
    # a folder with a plain name: it stands in the picture
    os.chdir(studio.services.folder)
    folder = Path("past pieces")
    folder.mkdir()
    pieces = looking.past(samples)
    found = looking.told(pieces, folder)
    studio.services.settings().setValue("library", [str(folder)])

    def page() -> Any:
        it = studio.page("look-back")
        studio.until(lambda: it.answer is not None and not it.work.busy, "the library")
        studio.turns(200)
        return it

    studio.show(pieces[0], looking.TODAY)
    it = page()
    assert it.part == "end", it.part
    studio.take(GUIDE / "looking-1-questions.png")
    for n, part in ((2, "stages"), (3, "evenings"), (4, "honesty")):
        it.show_part(part)
        it.parts.checkedButton().setFocus()
        shown = [p for p in it.pictures if p.isVisible()]
        studio.until(lambda: all(p.canvas is not None for p in shown), "the pictures")  # noqa: B023
        studio.turns(400)
        studio.take(GUIDE / f"looking-{n}-{part}.png")
    studio.show(found.before, looking.TODAY)
    it = page()
    it.show_part("apply")
    it.parts.checkedButton().setFocus()
    studio.turns(200)
    assert len(it.cards) == len(found.proposals)
    studio.take(GUIDE / "looking-5-proposals.png")
    write_table(ROOT / "docs" / "guide" / "looking-back.md", LOOKING_MARKS, looking.table(found))


def hand_in(studio: Studio) -> None:
    """The page of the brief; the guide's page on the hand-in shows it."""
    if "brief" not in PAGES:
        return
    studio.show(story.sample(ROOT / "sample_projects"), story.START)
    studio.page("brief")
    studio.turns(200)
    studio.take(GUIDE / "hand-in-1-brief.png")


def readme(studio: Studio) -> None:
    for theme, name in (("night", "plan-night"), ("light", "plan-light")):
        studio.themes.choose(theme)
        studio.show(story.sample(ROOT / "sample_projects"), story.START)
        studio.page("plan")
        studio.take(README / f"{name}.png")
    studio.themes.choose("night")
    page = studio.page("ways-back")
    page.best.button.click()
    studio.until(page.apply_button.isEnabled, "what is ticked together")
    studio.take(README / "ways-back.png")


def languages(_studio: Studio) -> None:
    """The plan in every other language; each in a process of its own, since a language is settled at the start."""
    for code in LANGUAGES:
        if code != "en":
            there = os.environ | {"NIGHTPLAN_LANGUAGE": code}
            subprocess.run([sys.executable, __file__, one_language.__name__], env=there, check=True)


def one_language(studio: Studio) -> None:
    studio.show(story.sample(ROOT / "sample_projects"), story.START)
    studio.page("plan")
    studio.turns(400)
    studio.take(README / f"plan-{language()}.png")


def _loud(kind: QtMsgType, _where: object, text: str) -> None:
    if "does not support propagateSizeHints" not in text:
        print(f"{kind.name}: {text}", file=sys.stderr)


SCENES = (announcement_day, an_evening, walk, looking_back, hand_in, readme, languages)


def main() -> None:
    known: dict[str, Callable[[Studio], None]] = {scene.__name__: scene for scene in SCENES}
    unknown = set(sys.argv[1:]) - {*known, one_language.__name__}
    if unknown:
        raise SystemExit(f"{', '.join(sorted(unknown))}: scenes are {', '.join(known)}")
    qInstallMessageHandler(_loud)
    gc.disable()
    app = make_app(["nightplan"])
    font = QFont("DejaVu Sans")
    font.setPointSizeF(10.0)
    app.setFont(font)
    for name in sys.argv[1:] or tuple(known):
        with tempfile.TemporaryDirectory() as folder:
            studio = Studio(app, Path(folder))
            known.get(name, one_language)(studio)
            studio.close()
            os.chdir(ROOT)


if __name__ == "__main__":
    main()
