# SPDX-License-Identifier: GPL-3.0-or-later
"""What ``accessibility.py`` opens beside pages and dialogs of their own: questions, menus, a tool tip, a kept sheet."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from PySide6.QtCore import QPoint
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QMessageBox, QToolTip, QWidget

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "desk"))
from desk_fakes import FakeServices

from nightplan.actions.brief import handins_of, keep_handin
from nightplan.actions.differences import differences
from nightplan.desk.conflict_copies import ConflictCopies
from nightplan.desk.recovery import Aside
from nightplan.desk.services import Services
from nightplan.desk.window import MainWindow
from nightplan.model.brief import Sheet, SheetFile, SheetFinding
from nightplan.model.project import Project

#: name, what is opened, the part that is new in it
Screen = tuple[str, QWidget, QWidget | None]


class AskingServices(FakeServices):
    """Questions are seen while ``real`` is set."""

    real = False

    def ask(
        self,
        parent: QWidget | None,
        title: str,
        text: str,
        choices: Sequence[tuple[str, str]],
        answer: Callable[[str], None],
        *,
        detail: str = "",
    ) -> None:
        way = Services.ask if self.real else FakeServices.ask
        way(self, parent, title, text, choices, answer, detail=detail)

    @property
    def question(self) -> QMessageBox:
        """The one that is open."""
        box = self._open[-1]
        assert isinstance(box, QMessageBox)
        return box


def questions(
    window: MainWindow, services: AskingServices, until: Callable[[Callable[[], bool]], None]
) -> Iterator[Screen]:
    """Every question that the program asks with words of its own, its details in sight."""
    project = window.document.project
    theirs = project.but(title="Moth, Lantern and Rain")

    def kept() -> None:
        aside = Aside(services.recovery_folder())
        when = services.now() - dt.timedelta(days=1)
        aside.keep(theirs, path=None, base=project, step="Rename the project", when=when)
        aside.let_go()
        window.recovery.offer_all()

    def copied() -> None:
        told = differences(project, theirs)
        ConflictCopies(window)._ask(Path("moth (conflicted copy).nightplan"), theirs, "", told)

    choices = [("save", "&Save"), ("discard", "&Do not save"), ("cancel", "Cancel")]
    services.real = True
    for name, asked in (
        ("baseline comparison", window.work.compare_baseline),
        ("take busy times out", window.busy_times.ask_remove),
        ("recovery offer", kept),
        ("conflict question", copied),
        ("about", window.menus._about),
        ("a question", lambda: services.ask(window, "nightplan", "Save the changes?", choices, lambda _key: None)),
    ):
        asked()
        box = services.question
        until(box.isVisible)
        details = [b for b in box.buttons() if box.buttonRole(b) == QMessageBox.ButtonRole.ActionRole]
        for button in details:
            button.click()
        QTest.qWait(50)
        yield name, box, None
        box.reject()
        QTest.qWait(20)
    services.real = False


def with_a_sheet(project: Project) -> Project:
    """The project with a hand-in sheet that was found wanting."""
    if handins_of(project):
        return project
    wanting = SheetFinding(
        rule="size", kind="resolution", verdict="fail", measured="1920 × 1080", wanted="3840 × 2160", where="Film"
    )
    film = SheetFile(name="film.mov", path="renders/film.mov", bytes=73_400_320, sha256="0a" * 32)
    sheet = Sheet(
        deliverable="film",
        name="Film",
        depth="quick",
        checked_at="2027-10-01T20:15:00+00:00",
        verdict="fail",
        findings=(wanting,),
        files=(film,),
    )
    return keep_handin(project, sheet)


def menus(window: MainWindow) -> Iterator[tuple[str, QMenu]]:
    """Every menu of the menu bar with those inside it, and those of the strip, the stages and the charts."""
    bar = window.menus
    named = [(action.text(), action.menu()) for action in window.menuBar().actions()]
    for text, menu in list(named):
        for action in menu.actions():
            if action.menu() is not None:
                named.append((f"{text}, {action.text()}", action.menu()))
    for text, menu in named:
        menu.popup(window.mapToGlobal(QPoint(40, 40)))
        yield f"menu {text.replace('&', '').rstrip('…')}", menu
        menu.close()
    bar.update_state()
    window.go_to("plan")
    page = window.pages["plan"]
    # its charts are drawn behind the menu otherwise
    QTest.qWait(800)
    page.strip.view.set_current(page.strip.view.data.tonight or 0)
    page.table.view.setCurrentIndex(page.table.view.model().index(0, 0))
    for name, part in (("of an evening", page.strip), ("of an item", page.table)):
        part.open_menu(window.mapToGlobal(QPoint(60, 60)))
        yield f"menu {name}", part.menu
        part.menu.close()
        QTest.qWait(20)
    kinds = page.charts.save_button.menu()
    kinds.popup(window.mapToGlobal(QPoint(60, 60)))
    yield "menu of the chart", kinds
    kinds.close()


def tool_tip(window: MainWindow) -> QWidget:
    """The longest tool tip that is in sight on the plan."""
    page = window.pages["plan"]
    carriers = [w for w in window.findChildren(QWidget) if w.isVisibleTo(window) and w.toolTip()]
    longest = max(carriers, key=lambda w: len(w.toolTip()), default=page)
    QToolTip.showText(window.mapToGlobal(QPoint(80, 80)), longest.toolTip())
    return next(w for w in QApplication.topLevelWidgets() if w.inherits("QTipLabel") and not w.isHidden())
