# SPDX-License-Identifier: GPL-3.0-or-later
"""The main window: side bar, title and odds, one page; it brings its parts together and lives from open to closed."""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QCloseEvent, QPaintEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.document import Document
from nightplan.desk.host import DeskHost
from nightplan.desk.menu_titles import MenuTitles
from nightplan.desk.page_stack import PageStack
from nightplan.desk.pages import PAGES, Page
from nightplan.desk.services import SUFFIX, Services
from nightplan.desk.status_line import StatusLine
from nightplan.desk.theme import Theme, ThemeKeeper
from nightplan.desk.undo_keys import UndoKeys
from nightplan.desk.widgets.header import Header
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.desk.widgets.side_bar import SideBar
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.busy_times import BusyTimes
    from nightplan.desk.export_run import ExportRun, Leaving
    from nightplan.desk.exporting import Exporter
    from nightplan.desk.file_actions import FileActions
    from nightplan.desk.menus import Menus
    from nightplan.desk.missed import MissedEvenings
    from nightplan.desk.odds_worker import Answer
    from nightplan.desk.pages.empty_page import EmptyPage
    from nightplan.desk.project_actions import ProjectActions
    from nightplan.desk.project_settings import EditProject
    from nightplan.desk.recovery_offer import RecoveryOffer
    from nightplan.desk.widgets.capture_offer import CaptureOffer
    from nightplan.desk.wizard import NewProject
    from nightplan.model.project import Project


class MainWindow(QMainWindow):
    """One document in one window.

    What its menus do is done by ``files``, ``recovery``, ``work`` (the Project menu) and ``exporter``.
    """

    closed = Signal(object)
    #: another window is asked for: a path, or None for an empty one
    window_wanted = Signal(object)
    #: unsaved changes of an earlier run want a window of their own: (place, kept)
    recovery_wanted = Signal(object)
    #: every window should close
    quit_wanted = Signal()
    #: the artist was asked about unsaved changes and stays
    stays = Signal()
    #: the window was painted for the first time
    painted = Signal()

    #: dialogs that were opened last
    wizard: NewProject
    settings_dialog: EditProject
    missed: MissedEvenings

    def __init__(self, services: Services, themes: ThemeKeeper, begin_with: str | None = None) -> None:
        """``begin_with`` is opened after the first paint: "new", "sample" or a path."""
        super().__init__()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.services, self.themes = services, themes
        self.document = Document(services, self)
        self.host = DeskHost(self.document, services, self)
        self._busy_times: BusyTimes | None = None
        self._export_run: ExportRun | None = None
        self._was_open = False
        self._painted_once = False
        self._begin_with = begin_with
        self._empty: EmptyPage | None = None
        self.setMinimumSize(760, 520)
        self.resize(1360, 860)
        self._build()
        self._menu_titles = MenuTitles(self.menuBar())
        self._wire()
        self._undo_keys = UndoKeys(self)
        if begin_with is None or begin_with == "new":
            self.show_document()
        else:
            self._show_glance(begin_with)

    # --- building ---

    def _build(self) -> None:
        middle = QWidget()
        middle.setProperty("role", "ground")
        row = QHBoxLayout(middle)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self.side = SideBar()
        row.addWidget(self.side)
        right = QVBoxLayout()
        right.setContentsMargins(16, 12, 16, 8)
        right.setSpacing(10)
        self.header = Header(self.themes.theme)
        self.title_label, self.sub_label, self.band = self.header.title, self.header.sub, self.header.band
        right.addWidget(self.header)
        self.stack = PageStack(self.host, self.themes.theme)
        right.addWidget(self.stack, 1)
        row.addLayout(right, 1)
        self.setCentralWidget(middle)
        self.status = StatusLine(self.document)
        self.setStatusBar(self.status)

    def _wire(self) -> None:
        d = self.document
        d.project_changed.connect(self._project_changed)
        d.completed.connect(self.stack.take_completed)
        d.odds_changed.connect(self._odds_changed)
        d.preview_changed.connect(self._preview_changed)
        d.state_changed.connect(self._state_changed)
        d.said.connect(self.say)
        d.day_changed.connect(self._day_changed)
        d.odds_failed.connect(self._odds_failed)
        self.side.chosen.connect(self.go_to)
        self.side.begin.connect(self.show_document)
        self.host.page_wanted.connect(self.go_to)
        self.host.evening_wanted.connect(self.tick_evening)
        self.host.said.connect(self.say)
        self.host.export_wanted.connect(self._export)
        self.themes.changed.connect(self._theme_changed)

    # --- what others look for here ---

    @property
    def pages(self) -> dict[str, Page]:
        """The pages that are made, by key."""
        return self.stack.pages

    @property
    def current(self) -> str:
        """Key of the page in sight; empty where no project is open."""
        return self.stack.current

    @property
    def empty(self) -> EmptyPage:
        """The page without a project; made where there is none."""
        if self._empty is None:
            from nightplan.desk.pages.empty_page import EmptyPage

            self._empty = EmptyPage(self.host, self.themes.theme)
            self.stack.addWidget(self._empty)
        return self._empty

    # what the menus and their entries need is made after the first paint, where nobody asks for it before

    @cached_property
    def menus(self) -> Menus:
        """The entries of the menus."""
        from nightplan.desk.menus import Menus

        return Menus(self, self._menu_titles)

    @cached_property
    def files(self) -> FileActions:
        """New, open, save, revert."""
        from nightplan.desk.file_actions import FileActions

        return FileActions(self)

    @cached_property
    def recovery(self) -> RecoveryOffer:
        """Unsaved changes of an earlier run."""
        from nightplan.desk.recovery_offer import RecoveryOffer

        return RecoveryOffer(self)

    @cached_property
    def work(self) -> ProjectActions:
        """The Project menu."""
        from nightplan.desk.project_actions import ProjectActions

        return ProjectActions(self)

    @cached_property
    def exporter(self) -> Exporter:
        """The Export menu."""
        from nightplan.desk.exporting import Exporter

        return Exporter(self.host, self)

    @property
    def busy_times(self) -> BusyTimes:
        """Busy times from another calendar; loaded when they are first asked for, not before the first paint."""
        if self._busy_times is None:
            from nightplan.desk.busy_times import BusyTimes

            self._busy_times = BusyTimes(self.host, self)
        return self._busy_times

    @property
    def export_run(self) -> ExportRun:
        """The file that is being written; loaded with the first one."""
        if self._export_run is None:
            from nightplan.desk.export_run import ExportRun

            self._export_run = ExportRun(self.host, self, self.status.leaving)
        return self._export_run

    @Slot(object)
    def _export(self, leaving: Leaving) -> None:
        self.export_run.ask(leaving)

    @Slot(object)
    def say(self, sentence: str) -> None:
        """A sentence in the status line; it stays until the next one."""
        self.status.say(sentence)

    def open_path(self, path: str) -> bool:
        """Open a file here, or in another window where a project is open already."""
        return self.files.open_path(path)

    @Slot()
    def open_sample(self) -> None:
        """A sample as a project of its own that has no file yet."""
        self.files.open_sample()

    @Slot()
    def save(self) -> bool:
        """Write the file; ask for one where there is none. True when it is written."""
        return self.files.save()

    @Slot()
    def save_as(self) -> None:
        """Ask for a file and write to it."""
        self.files.save_as()

    # --- showing ---

    @cached_property
    def capture_offer(self) -> CaptureOffer:
        """Made with the first project: there is nothing to offer before."""
        from nightplan.desk.widgets.capture_offer import CaptureOffer

        made = CaptureOffer(self.host)
        self.status.add_part(made)
        return made

    @Slot()
    def show_document(self) -> None:
        """The right page for whether a project is open."""
        is_open = self.document.is_open
        self._offer(is_open)
        if not is_open:
            self.stack.setCurrentWidget(self.empty)
            self.empty.refresh()
            self.empty.focus_first()
        elif not self._was_open:
            self.go_to("plan")
        self._was_open = is_open
        if is_open:
            self.capture_offer.follow()
        self._state_changed()

    def _offer(self, is_open: bool) -> None:
        """Title, pages and entries as they are with a project, or without one."""
        self.header.setVisible(is_open)
        self.side.offer(is_open)
        if self._menus_made:
            self.menus.offer_pages(is_open)
        if not is_open:
            self.stack.current = ""
            self.side.check("")

    @Slot(object)
    def go_to(self, key: str) -> None:
        """Show a page; it is made when it is first wanted."""
        if key not in PAGES or (not self.document.is_open and key != "help"):
            return
        self.stack.page(key)
        self.side.check(key)
        self.stack.turn_to(key)

    @Slot(object)
    def tick_evening(self, date: dt.date) -> None:
        """Go to where the evening of a date is ticked off."""
        self.go_to("tonight")
        page = self.pages.get("tonight")
        if page is not None and hasattr(page, "choose_evening"):
            page.choose_evening(date)

    @Slot(object)
    def _project_changed(self, project: Project) -> None:
        if any(job.folder for job in project.jobs):
            from nightplan.desk.pages.nights_watch import watch_of

            # folders of frames are looked at from now on, whatever page is shown
            watch_of(self.host)
        self.title_label.setText(project.title)
        self.title_label.setToolTip(tip_text(project.title))
        self.sub_label.setText(self._progress_words(project))
        self.sub_label.setToolTip(tip_text(self.sub_label.text()))
        self.band.show_odds(project, self.document.forecast, fresh=False)
        self.stack.show_project(project)
        if not self._was_open:
            self.show_document()

    def _progress_words(self, project: Project) -> str:
        from nightplan.evenings.dated import calendar

        try:
            dated = calendar(project)
        except BadInput as error:
            return error.sentence
        before = {e.date for e in dated.evenings if not e.tail}
        past = {d for d in before if d < self.document.as_of} | {e.evening for e in project.log}
        parts = [project.piece] if project.piece else []
        parts.append(tr("evening {gone} of {all} gone", gone=len(past), all=len(before | past)))
        return " · ".join(parts)

    @Slot(object)
    def _odds_changed(self, answer: Answer | None) -> None:
        found, planned = (None, None) if answer is None else (answer.forecast, answer.plan)
        self.band.show_odds(self.document.project, found, fresh=answer is not None)
        self.stack.show_forecast(found, planned, answer is not None)
        if answer is not None and answer.whole:
            self.work.whole_odds_came()

    @Slot(object)
    def _preview_changed(self, answer: Answer | None) -> None:
        if answer is None:
            self.band.show_odds(self.document.project, self.document.forecast, fresh=self.document.fresh)
        else:
            self.band.show_odds(answer.project, answer.forecast, fresh=False, trying=True)

    @Slot()
    def _state_changed(self) -> None:
        d = self.document
        if self._menus_made:
            self.menus.update_state()
        if d.is_open:
            self.setWindowTitle(tr("{title} ({name})[*] – nightplan", title=d.project.title, name=d.name))
            self.setWindowFilePath(d.path or "")
        else:
            self.setWindowTitle(tr("nightplan[*]"))
        self.setWindowModified(d.dirty)

    @Slot(object)
    def _theme_changed(self, theme: Theme) -> None:
        self.band.set_theme(theme)
        if self._empty is not None:
            self._empty.set_theme(theme)
        self.stack.set_theme(theme)

    @Slot(object)
    def _odds_failed(self, error: BaseException) -> None:
        self.say(tr("The odds could not be worked out: {kind}: {error}", kind=type(error).__name__, error=error))
        self.services.fault(error)

    @Slot(object)
    def _day_changed(self, day: dt.date) -> None:
        self.say(tr("A new day: the plan is looked at from {day} now.", day=words.day(day)))
        self.work.missed_asked = False

    # --- life ---

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._painted_once:
            self._painted_once = True
            # after what is under way now is on the screen
            QTimer.singleShot(0, self, self._after_paint)

    def _show_glance(self, what: str) -> None:
        """Title and gates of what is opened after the first paint."""
        from nightplan.desk.opening import OpeningPage, glance
        from nightplan.files.data import SAMPLES, data_folder

        place = data_folder("sample_projects") / f"{SAMPLES[0]}{SUFFIX}" if what == "sample" else Path(what)
        seen = glance(place)
        self.title_label.setText(seen.title)
        self.sub_label.setText(seen.piece)
        self.band.expect(seen.gates)
        self._offer(False)
        self.header.show()
        self._state_changed()
        self._opening = OpeningPage()
        self.stack.addWidget(self._opening)
        self.stack.setCurrentWidget(self._opening)

    @property
    def _menus_made(self) -> bool:
        return "menus" in self.__dict__

    @Slot()
    def _after_paint(self) -> None:
        from nightplan.desk import everybody

        everybody.begin()
        self.menus.update_state()
        begin, self._begin_with = self._begin_with, None
        if begin == "new":
            self.files.begin_new()
        elif begin is not None:
            if begin == "sample":
                self.files.open_sample()
            else:
                self.files.open_path(begin)
            self._opening.deleteLater()
            if not self.document.is_open:
                self.show_document()
        self.painted.emit()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if not self.property("placed"):
            self.setProperty("placed", True)
            kept = self.services.settings().value("geometry")
            if isinstance(kept, QByteArray):
                self.restoreGeometry(kept)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.stack.leave()
        if not self.files.may_close():
            event.ignore()
            return
        self.services.settings().setValue("geometry", self.saveGeometry())
        self.document.close()
        event.accept()
        self.closed.emit(self)
