# SPDX-License-Identifier: GPL-3.0-or-later
"""Every page and dialog by the measures of accessibility: ``python benchmarks/accessibility.py [--quick] [--write]``.

No screen is needed. The windows are opened with the sample Moth and Lantern, night and light, at 100 % and 200 %
text; one table is printed, below it what is not as it should be. ``--quick`` measures the night at 100 % only.
``--pictures FOLDER`` keeps a picture of every screen, and of the plan as colour-blind eyes see it. ``--write`` puts
all into docs/accessibility.md. Exit code 1 where something is found.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from itertools import combinations, pairwise, product
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["QT_SCALE_FACTOR"] = "1"
os.environ["TZ"] = "Europe/Lisbon"

import numpy as np
from PySide6.QtCore import QSettings
from PySide6.QtGui import QFont, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMenu, QProgressBar, QToolTip, QWidget

sys.path.insert(0, str(Path(__file__).resolve().parent))
from accessibility_measures import Found, measured, measured_menu, measured_tip, pixels
from accessibility_more import AskingServices, Screen, menus, questions, tool_tip, with_a_sheet
from colour_vision import MACHADO, difference, lab, simulated
from run_all import page_with

from nightplan.desk.app import make_app
from nightplan.desk.pages import PAGES
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.files.store import load
from nightplan.files.versions import Ring, save_and_keep

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "accessibility.md"
SAMPLE = ROOT / "sample_projects" / "moth-and-lantern.nightplan"
SETTINGS = [(theme, percent) for theme in ("night", "light") for percent in (100, 200)]
SIZES = {100: (1360, 860), 200: (1600, 1000)}
HEADS = (
    "Screen", "Look", "Controls", "No name", "Same name", "No role", "Tab never comes", "Focus seen",
    "Focus out of sight", "Least text contrast", "Cut off", "Paints at rest",
)  # fmt: skip


class Desk:
    """The window with the sample, and one after the other everything that can be opened from it."""

    def __init__(self, folder: Path) -> None:
        for kind in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
            QSettings.setPath(kind, QSettings.Scope.UserScope, str(folder))
        self.app = make_app(["nightplan"])
        self.app.setFont(QFont("DejaVu Sans", 10))
        # the caret blinks as often as the system says
        self.app.setCursorFlashTime(0)
        self.folder = folder
        self.project = load(SAMPLE)
        last = max((e.evening for e in self.project.log), default=self.project.announced)
        self.services = AskingServices(folder, last + dt.timedelta(days=9))
        self.services.settings().setValue("library", [str(SAMPLE.parent)])
        self.keeper = ThemeKeeper("night", 100)
        self.keeper.apply()

    def open_window(self) -> None:
        self.window = MainWindow(self.services, self.keeper)
        self.window.work.missed_asked = True
        self.window.show()
        QTest.qWait(100)

    def until(self, ready: Callable[[], bool]) -> None:
        for _ in range(12_000):
            if ready():
                break
            QTest.qWait(10)
        QTest.qWait(250)

    def rest(self) -> None:
        document = self.window.document

        def ready() -> bool:
            page = self.window.pages.get(getattr(self.window.stack, "current", ""))
            busy = getattr(getattr(page, "work", None), "busy", False)
            # a page may work something out of its own
            bars = [] if page is None else page.findChildren(QProgressBar)
            busy = busy or any(bar.isVisibleTo(self.window) for bar in bars)
            return not busy and (not document.is_open or (document.fresh and not document.worker.busy))

        QTest.qWait(50)
        self.until(ready)

    def screens(self) -> Iterator[Screen]:
        self.open_window()
        self.window.resize(*SIZES[self.keeper.percent])
        yield "start", self.window, None
        self.window.document.new(self.project)
        self.window.show_document()
        self.rest()
        for name in PAGES:
            self.window.go_to(name)
            self.rest()
            page = self.window.pages[name]
            if name == "ways-back":
                self.until(lambda page=page: page.found is not None)
                self.rest()
            # the frame around it is measured with the first one
            yield name, self.window, None if name == "plan" else page
            yield from self.parts(name, page)
        yield from self.dialogs()
        self.window.setProperty("discard", True)
        self.window.close()
        self.window.deleteLater()
        QTest.qWait(100)

    def parts(self, name: str, page: QWidget) -> Iterator[Screen]:
        keys = {"look-back": ("evenings", "honesty", "apply", "end"), "help": ("keys",)}.get(name, ())
        for key in keys:
            page.show_part(key)
            self.rest()
            yield f"{name}, {key}", self.window, page
        if name == "plan":
            page.strip.as_table.setChecked(True)
            self.rest()
            yield "plan, strip as a table", self.window, page.strip
            page.strip.as_table.setChecked(False)
        if name == "ways-back":
            self.until(lambda: page.found is not None)
            page._tick_best()
            self.until(page.preview_button.isEnabled)
            self.rest()
            page.preview_button.setChecked(True)
            self.until(page.side_by_side.isVisible)
            self.rest()
            yield "side by side", page.side_by_side, None
            page.side_by_side.close()

    def dialogs(self) -> Iterator[Screen]:
        from nightplan.desk.earlier_versions import EarlierVersions
        from nightplan.desk.missed import MissedEvenings
        from nightplan.desk.project_settings import EditProject
        from nightplan.desk.widgets.stage_table_picker import WaitsForDialog
        from nightplan.desk.widgets.strip_dialogs import AddEveningDialog
        from nightplan.desk.wizard import NewProject

        guide = NewProject(self.services, self.keeper.theme, self.window)
        guide.title.setText("Kite")
        guide.dates.deadline.setText("30 April 2028")
        guide.show()
        for step in range(4):
            if step:
                guide._next()
            self.until(lambda last=step == 3: not last or bool(guide.detail.text() and not guide.worker.busy))
            yield f"new project, step {step + 1}", guide, None
        guide.close()
        place, ring = self.folder / "moth.nightplan", self.folder / "versions"
        place.unlink(missing_ok=True)
        for n, title in enumerate(("Moth", "Moth and Lantern")):
            kept = Ring(ring, self.services.now() + dt.timedelta(minutes=n))
            save_and_keep(self.project.but(title=title), str(place), kept)
        versions = EarlierVersions(str(place), ring, self.project, self.window)
        versions.list.setCurrentRow(1)
        day = self.services.today()
        first = self.project.stages[0].items[0].id
        for name, dialog in (
            ("project settings", EditProject(self.services, self.keeper.theme, self.project, self.window)),
            ("evenings not ticked off", MissedEvenings(self.window.host, self.window)),
            ("earlier versions", versions),
            ("waits for", WaitsForDialog(self.project, first, self.window)),
            (
                "add an evening",
                AddEveningDialog(day, dt.time(20), 2.0, day, day.replace(year=day.year + 1), self.window),
            ),
        ):
            dialog.show()
            self.until(dialog.isVisible)
            yield name, dialog, None
            dialog.close()
        calendar = self.folder / "work.ics"
        calendar.write_text(busy_day(day + dt.timedelta(days=1)), encoding="utf-8")
        self.window.busy_times.read(str(calendar))
        busy = self.window.busy_times.dialog
        assert busy is not None
        self.until(lambda: busy.apply_button.isEnabled() or not busy.isVisible())
        self.rest()
        yield "busy times", busy, None
        # so that there are some to take out
        busy.apply_button.click()
        self.rest()
        yield from questions(self.window, self.services, self.until)
        self.window.document.apply("A hand-in sheet", with_a_sheet(self.window.document.project))
        self.window.go_to("brief")
        self.rest()
        yield "brief, hand-in sheet", self.window, self.window.pages["brief"].sheets
        yield from ((name, menu, None) for name, menu in menus(self.window))
        tip = tool_tip(self.window)
        yield "a tool tip", tip, None
        QToolTip.hideText()


def busy_day(day: dt.date) -> str:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//nightplan//benchmark//EN"]
    for n in range(14):
        at = day + dt.timedelta(days=n)
        lines += [
            "BEGIN:VEVENT",
            f"UID:{n}@example.org",
            f"DTSTAMP:{day:%Y%m%d}T000000Z",
            f"DTSTART:{at:%Y%m%d}T190000",
        ]
        lines += [f"DTEND:{at:%Y%m%d}T235900", "SUMMARY:Choir", "END:VEVENT"]
    return "\r\n".join([*lines, "END:VCALENDAR", ""])


def look_at(root: QWidget, part: QWidget | None) -> Found:
    if isinstance(root, QMenu):
        return measured_menu(root)
    return measured_tip(root) if root.inherits("QTipLabel") else measured(root, part)


def row(name: str, look: str, f: Found) -> str:
    focus = f"{f.focus_seen} of {f.focus_tried}" if f.focus_tried else "nothing to try"
    contrast = f"{f.contrast:.1f}:1 of {f.texts}" if f.texts else "no text"
    cells = (name, look, f.controls, f.nameless, f.doubled, f.roleless, f.unreached, focus, f.hidden_focus, contrast)
    return "| " + " | ".join(str(c) for c in (*cells, f.cut, f.paints + f.animations)) + " |"


def neighbours(window: MainWindow) -> set[tuple[str, str]]:
    """Pairs of stages whose blocks stand on or beside each other in the strip."""
    columns = window.pages["plan"].strip.view.data.columns
    pairs: set[tuple[str, str]] = set()
    for n, column in enumerate(columns):
        stages = [b.stage for b in column.blocks]
        beside = [b.stage for b in columns[n + 1].blocks] if n + 1 < len(columns) else []
        for a, b in (*pairwise(stages), *product(stages, beside)):
            if a != b:
                pairs.add((min(a, b), max(a, b)))
    return pairs


def colour_rows(window: MainWindow, keeper: ThemeKeeper) -> list[str]:
    project = window.document.project
    inks = keeper.theme.inks(project).stages
    names = {stage.id: stage.name for stage in project.stages}
    rgb = {key: np.array(ink.fill.getRgb()[:3]) for key, ink in inks.items()}
    rows = []
    for kind in ("all cones", *MACHADO):
        seen = {key: lab(simulated(colour, kind)) for key, colour in rgb.items()}

        def least(pairs: list[tuple[str, str]], seen: dict[str, tuple[float, float, float]] = seen) -> str:
            apart, a, b = min((difference(seen[a], seen[b]), a, b) for a, b in pairs)
            return f"{apart:.1f} ({names[a]}, {names[b]})"

        rows.append(f"| {kind} | {least(sorted(neighbours(window)))} | {least(list(combinations(rgb, 2)))} |")
    return rows


def keep_pictures(window: QWidget, look: str, folder: Path) -> None:
    shot = pixels(window.grab().toImage())
    for kind in MACHADO:
        seen = np.ascontiguousarray(simulated(shot, kind))
        image = QImage(seen.data, seen.shape[1], seen.shape[0], seen.shape[1] * 3, QImage.Format.Format_RGB888)
        image.save(str(folder / f"plan, {kind}, {look}.png"))


def told(words: dict[str, list[str]]) -> list[str]:
    lines = []
    for line, where in sorted(words.items()):
        more = f"; {len(where) - 4} more" if len(where) > 4 else ""
        lines.append(f"- {line} ({'; '.join(where[:4])}{more})")
    return lines or ["Nothing."]


def collected(
    settings: list[tuple[str, int]], only: str = "", pictures: Path | None = None
) -> tuple[list[str], list[str], dict[str, list[str]]]:
    """Rows of the table, rows of the colours, and what was found with the screens where it was."""
    rows: list[str] = []
    colours: list[str] = []
    words: dict[str, list[str]] = {}
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(Path(folder))
        for theme, percent in settings:
            desk.keeper.choose(theme)
            desk.keeper.set_percent(percent)
            look = f"{theme} {percent} %"
            for name, root, part in desk.screens():
                if not name.startswith(only):
                    continue
                if pictures:
                    root.grab().save(str(pictures / f"{name}, {look}.png"))
                if name == "plan" and percent == 100:
                    if pictures:
                        keep_pictures(root, theme, pictures)
                    colours = colours or colour_rows(desk.window, desk.keeper)
                found = look_at(root, part)
                rows.append(row(name, look, found))
                print(rows[-1], *dict.fromkeys(found.words), sep="\n  ", file=sys.stderr, flush=True)
                for line in dict.fromkeys(found.words):
                    words.setdefault(line, []).append(f"{name}, {look}")
    return rows, colours, words


def table_of(rows: list[str], colours: list[str], words: dict[str, list[str]]) -> str:
    """All that goes into the page."""
    head = ["| " + " | ".join(HEADS) + " |", "| --- | --- |" + " ---: |" * (len(HEADS) - 2)]
    eyes = [
        "| Eyes | Least difference of stages beside each other | Of any two stages |",
        "| --- | --- | --- |",
        *colours,
    ]
    return "\n".join([*head, *rows, "", "### What is not as it should be", "", *told(words), "",
                       "### Colours of the stages", "", *eyes]) + "\n"  # fmt: skip


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="the night at 100 %% only")
    parser.add_argument("--only", metavar="NAME", help="only screens whose name begins so")
    parser.add_argument("--pictures", type=Path, metavar="FOLDER", help="keep a picture of every screen")
    parser.add_argument("--write", action="store_true", help="put the table into docs/accessibility.md")
    given = parser.parse_args()
    if given.write and (given.quick or given.only):
        parser.error("--write takes the whole table, not a part of it")
    if given.pictures:
        given.pictures.mkdir(parents=True, exist_ok=True)
    rows, colours, words = collected(SETTINGS[: 1 if given.quick else None], given.only or "", given.pictures)
    table = table_of(rows, colours, words)
    print(table)
    if given.write:
        PAGE.write_text(page_with(PAGE.read_text(encoding="utf-8"), table), encoding="utf-8")
        print(f"written into {PAGE.name}")
    return 1 if words else 0


if __name__ == "__main__":
    sys.exit(main())
