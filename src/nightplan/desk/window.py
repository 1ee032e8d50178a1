# SPDX-License-Identifier: GPL-3.0-or-later
"""The main window: side bar, odds, pages, menus."""

from __future__ import annotations

import datetime as dt
import importlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, Qt, QTimer, Signal, SignalInstance, Slot
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QAction,
    QActionGroup,
    QCloseEvent,
    QKeySequence,
    QPaintEvent,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QMenu,
    QProgressBar,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk import words
from nightplan.desk.document import Document
from nightplan.desk.exporting import Exporter
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import PAGES, Page
from nightplan.desk.recovery import file_of, kept_changes
from nightplan.desk.services import SUFFIX, Services
from nightplan.desk.theme import Theme, ThemeKeeper
from nightplan.desk.undo_keys import UndoKeys
from nightplan.desk.widgets.header import Header
from nightplan.files.errors import FilesError
from nightplan.model.errors import BadInput, NightplanError

if TYPE_CHECKING:
    from nightplan.desk.odds_worker import Answer
    from nightplan.model.project import Project

#: progress is shown for what takes longer
_SLOW_MS = 500


class MainWindow(QMainWindow):
    """One document in one window."""

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

    def __init__(self, services: Services, themes: ThemeKeeper, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.services, self.themes = services, themes
        self.document = Document(services, self)
        self.host = DeskHost(self.document, services, self)
        self.pages: dict[str, Page] = {}
        self.current = ""
        #: saving is part of closing
        self._closing = False
        #: a question that is on the screen already
        self._asking: set[str] = set()
        self._accept_wanted = False
        self._was_open = False
        self._painted_once = False
        #: what to do after the first paint: "new", "sample" or a path
        self.begin_with: str | None = None
        self._missed_asked = False
        self.setMinimumSize(760, 520)
        self.resize(1360, 860)
        self._build()
        self._menus()
        self._wire()
        self._undo_keys = UndoKeys(self)
        self.show_document()

    # --- building ---

    def _build(self) -> None:
        middle = QWidget()
        middle.setProperty("role", "ground")
        row = QHBoxLayout(middle)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._side_bar())
        right = QVBoxLayout()
        right.setContentsMargins(16, 12, 16, 8)
        right.setSpacing(10)
        right.addWidget(self._header())
        self.stack = QStackedWidget()
        right.addWidget(self.stack, 1)
        row.addLayout(right, 1)
        self.setCentralWidget(middle)
        from nightplan.desk.pages.empty_page import EmptyPage

        self.empty = EmptyPage(self.host, self.themes.theme)
        self.stack.addWidget(self.empty)
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Odds are being worked out")
        self.progress.setMaximumWidth(180)
        self.progress.setFormat("odds %p %")
        self.stop_button = QPushButton("Stop")
        self.stop_button.setAccessibleName("Stop working out the odds")
        self.stop_button.clicked.connect(self._stop_odds)
        for widget in (self.progress, self.stop_button):
            widget.hide()
            self.statusBar().addPermanentWidget(widget)
        self.statusBar().setAccessibleName("Messages")
        self._slow = QTimer(self)
        self._slow.setSingleShot(True)
        self._slow.setInterval(_SLOW_MS)
        self._slow.timeout.connect(self._show_progress)

    def _side_bar(self) -> QWidget:
        side = QFrame()
        side.setProperty("role", "side")
        side.setAccessibleName("Pages")
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 18, 0, 12)
        column.setSpacing(2)
        brand = QLabel("nightplan")
        brand.setProperty("role", "brand")
        brand.setContentsMargins(18, 0, 18, 14)
        column.addWidget(brand)
        # no button group: it would let Tab come to one of them only, and an arrow would turn the page
        self.page_buttons: list[QPushButton] = []
        self.begin_button = QPushButton("Begin")
        self.begin_button.setCheckable(True)
        self.begin_button.setProperty("role", "page")
        self.begin_button.setAccessibleName("Page Begin")
        self.begin_button.clicked.connect(self.show_document)
        column.addWidget(self.begin_button)
        for n, (key, (title, _module, _class)) in enumerate(PAGES.items()):
            button = QPushButton(title)
            button.setCheckable(True)
            button.setProperty("role", "page")
            button.setProperty("page", key)
            button.setAccessibleName(f"Page {title}")
            button.setToolTip(f"Ctrl+{n + 1}")
            column.addWidget(button)
            button.clicked.connect(self._page_clicked)
            self.page_buttons.append(button)
        column.addStretch(1)
        return side

    def _header(self) -> QWidget:
        self.header = Header(self.themes.theme)
        self.title_label, self.sub_label, self.band = self.header.title, self.header.sub, self.header.band
        return self.header

    def _menus(self) -> None:
        bar = self.menuBar()
        bar.setAccessibleName("Menus")
        file_menu = bar.addMenu("&File")
        key = QKeySequence.StandardKey
        self._act(file_menu, "&New project…", key.New, self.new_project)
        self._act(file_menu, "New &window", "Ctrl+Shift+N", self._new_window)
        self._act(file_menu, "&Open…", key.Open, self.ask_open)
        self.recent_menu = file_menu.addMenu("Open &recent")
        self.recent_menu.aboutToShow.connect(self._fill_recent)
        self._act(file_menu, "Open a sam&ple", None, self.open_sample)
        file_menu.addSeparator()
        self.save_action = self._act(file_menu, "&Save", key.Save, self.save)
        self.save_as_action = self._act(file_menu, "Save &as…", "Ctrl+Shift+S", self.save_as)
        self.export_menu = file_menu.addMenu("&Export")
        self.exporter = Exporter(self.host, self)
        self.exporter.fill(self.export_menu)
        self.revert_action = self._act(file_menu, "Re&vert to the file…", None, self.revert)
        self.recover_action = self._act(file_menu, "Recover &unsaved changes…", None, self.offer_recovery)
        file_menu.addSeparator()
        self._act(file_menu, "&Close window", "Ctrl+W Ctrl+F4", self.close)
        # not the standard key: Windows has none
        self._act(file_menu, "&Quit", "Ctrl+Q", self.quit_wanted)
        edit_menu = bar.addMenu("&Edit")
        self.undo_action = self._act(edit_menu, "&Undo", key.Undo, self.document.undo)
        self.redo_action = self._act(edit_menu, "&Redo", "Ctrl+Shift+Z Ctrl+Y", self.document.redo)
        project_menu = bar.addMenu("&Project")
        self.settings_action = self._act(project_menu, "&Dates, week and settings…", "Ctrl+,", self.edit_settings)
        project_menu.addSeparator()
        self.accept_action = self._act(project_menu, "&Accept the plan as baseline", "Ctrl+B", self.accept_baseline)
        self.compare_action = self._act(
            project_menu, "&Compare with the baseline", "Ctrl+Shift+B", self.compare_baseline
        )
        self.busy_action = self._act(project_menu, "&Busy times from a calendar…", None, self.exporter.ask_busy)
        self.free_action = self._act(project_menu, "Take busy times &out…", None, self.exporter.ask_remove_busy)
        project_menu.addSeparator()
        self.missed_action = self._act(project_menu, "&Evenings not ticked off…", "Ctrl+M", self.ask_missed)
        view_menu = bar.addMenu("&View")
        self.page_actions: list[QAction] = []
        for n, (page, (title, _m, _c)) in enumerate(PAGES.items()):
            action = self._act(view_menu, title, f"Ctrl+{n + 1}", self._page_action)
            action.setData(page)
            self.page_actions.append(action)
        view_menu.addSeparator()
        theme_menu = view_menu.addMenu("&Colours")
        group = QActionGroup(self)
        for choice, label in (("system", "As the &system"), ("night", "&Night"), ("light", "&Light")):
            action = theme_menu.addAction(label)
            action.setCheckable(True)
            action.setChecked(self.themes.choice == choice)
            action.setData(choice)
            group.addAction(action)
        group.triggered.connect(self._theme_chosen)
        self._act(view_menu, "&Larger text", "Ctrl++ Ctrl+=", self._larger)
        self._act(view_menu, "&Smaller text", "Ctrl+-", self._smaller)
        self._act(view_menu, "Text as &usual", "Ctrl+0", self._usual)
        help_menu = bar.addMenu("&Help")
        self._act(help_menu, "The &numbers explained", key.HelpContents, self._help_numbers)
        self._act(help_menu, "&Keys", "Ctrl+F1", self._help_keys)
        self._act(help_menu, "&About nightplan", None, self._about)

    def _act(
        self,
        menu: QMenu,
        text: str,
        shortcut: QKeySequence.StandardKey | str | None,
        slot: Callable[..., object] | SignalInstance,
    ) -> QAction:
        action = menu.addAction(text)
        if isinstance(shortcut, str):
            # several, with a blank between them; the first is the one that is shown
            action.setShortcuts([QKeySequence(key) for key in shortcut.split()])
        elif shortcut is not None:
            action.setShortcut(QKeySequence(shortcut))
        action.triggered.connect(slot)
        return action

    def _wire(self) -> None:
        d = self.document
        d.project_changed.connect(self._project_changed)
        d.odds_changed.connect(self._odds_changed)
        d.preview_changed.connect(self._preview_changed)
        d.state_changed.connect(self._state_changed)
        d.said.connect(self.say)
        d.clashed.connect(self._clashed)
        d.day_changed.connect(self._day_changed)
        d.odds_failed.connect(self._odds_failed)
        d.worker.busy_changed.connect(self._busy_changed)
        d.worker.progressed.connect(self._progressed)
        self.host.page_wanted.connect(self.go_to)
        self.host.evening_wanted.connect(self.tick_evening)
        self.host.said.connect(self.say)
        self.host.export_wanted.connect(self._export)
        self.themes.changed.connect(self._theme_changed)

    # --- showing ---

    @Slot()
    def show_document(self) -> None:
        """The right page for whether a project is open."""
        is_open = self.document.is_open
        self.header.setVisible(is_open)
        self.begin_button.setVisible(not is_open)
        for button in self.page_buttons:
            button.setVisible(is_open or button.property("page") == "help")
        for action in self.page_actions:
            action.setEnabled(is_open or action.data() == "help")
        if not is_open:
            self._check_page("")
            self.stack.setCurrentWidget(self.empty)
            self.empty.refresh()
            self.empty.focus_first()
        elif not self._was_open:
            self.go_to("plan")
        self._was_open = is_open
        self._state_changed()

    def _check_page(self, key: str) -> None:
        """Mark a page in the side bar; none where nothing is open."""
        self.current = key
        for button in self.page_buttons:
            button.setChecked(button.property("page") == key)
        self.begin_button.setChecked(key == "")

    @Slot(object)
    def go_to(self, key: str) -> None:
        """Show a page; it is made when it is first wanted."""
        if key not in PAGES or (not self.document.is_open and key != "help"):
            return
        page = self._page(key)
        if self.current in self.pages and self.current != key:
            self.pages[self.current].leave()
        self._check_page(key)
        self.stack.setCurrentWidget(page)
        page.focus_first()

    def _page(self, key: str) -> Page:
        if key not in self.pages:
            _title, module, name = PAGES[key]
            page: Page = getattr(importlib.import_module(module), name)(self.host, self.themes.theme)
            self.pages[key] = page
            self.stack.addWidget(page)
            if self.document.is_open:
                page.show_project(self.document.project)
                page.show_forecast(self.document.forecast, self.document.plan, self.document.fresh)
        return self.pages[key]

    @Slot(object)
    def say(self, sentence: str) -> None:
        """A sentence in the status line; it stays until the next one."""
        self.statusBar().showMessage(sentence)
        self.statusBar().setToolTip(sentence)
        if QAccessible.isActive():
            # a status line that changes is not read aloud by itself
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self.statusBar(), sentence))

    @Slot(object)
    def _project_changed(self, project: Project) -> None:
        if any(job.folder for job in project.jobs):
            from nightplan.desk.pages.nights_watch import watch_of

            # folders of frames are looked at from now on, whatever page is shown
            watch_of(self.host)
        self.title_label.setText(project.title)
        self.title_label.setToolTip(project.title)
        self.sub_label.setText(self._progress_words(project))
        self.sub_label.setToolTip(self.sub_label.text())
        self.band.show_odds(project, self.document.forecast, fresh=False)
        for page in self.pages.values():
            page.show_project(project)
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
        parts.append(f"evening {len(past)} of {len(before | past)} gone")
        return " · ".join(parts)

    @Slot(object)
    def _odds_changed(self, answer: Answer | None) -> None:
        found, planned = (None, None) if answer is None else (answer.forecast, answer.plan)
        self.band.show_odds(self.document.project, found, fresh=answer is not None)
        for page in self.pages.values():
            page.show_forecast(found, planned, answer is not None)
        if answer is not None and answer.whole and self._accept_wanted:
            self._accept_wanted = False
            self.accept_baseline()
        if answer is not None and answer.whole and not self._missed_asked and not self._asking:
            self._missed_asked = True
            QTimer.singleShot(0, self, self._ask_missed_on_opening)

    @Slot(object)
    def _preview_changed(self, answer: Answer | None) -> None:
        if answer is None:
            self.band.show_odds(self.document.project, self.document.forecast, fresh=self.document.fresh)
        else:
            self.band.show_odds(answer.project, answer.forecast, fresh=False, trying=True)

    @Slot()
    def _state_changed(self) -> None:
        d = self.document
        history = d.history
        undo, redo = (None, None) if history is None else (history.undo_label, history.redo_label)
        # an ampersand in a name is no mnemonic
        self.undo_action.setText("&Undo: " + undo.replace("&", "&&") if undo else "&Undo")
        self.redo_action.setText("&Redo: " + redo.replace("&", "&&") if redo else "&Redo")
        self.undo_action.setEnabled(bool(undo))
        self.redo_action.setEnabled(bool(redo))
        for action in (
            *(self.save_action, self.save_as_action, self.settings_action),
            *(self.accept_action, self.compare_action, self.missed_action, self.busy_action, self.free_action),
            self.export_menu.menuAction(),
        ):
            action.setEnabled(d.is_open)
        self.revert_action.setEnabled(d.is_open and d.path is not None and d.dirty)
        if d.is_open:
            self.setWindowTitle(f"{d.project.title} ({d.name})[*] – nightplan")
            self.setWindowFilePath(d.path or "")
        else:
            self.setWindowTitle("nightplan[*]")
        self.setWindowModified(d.dirty)

    @Slot(object)
    def _theme_changed(self, theme: Theme) -> None:
        self.band.set_theme(theme)
        self.empty.set_theme(theme)
        for page in self.pages.values():
            page.set_theme(theme)

    # --- odds under way ---

    @Slot(object)
    def _busy_changed(self, busy: bool) -> None:
        if busy:
            if not self.progress.isVisible():
                self.progress.setValue(0)
                self._slow.start()
        else:
            self._slow.stop()
            self.progress.hide()
            self.stop_button.hide()

    @Slot()
    def _show_progress(self) -> None:
        if self.document.worker.busy:
            self.progress.show()
            self.stop_button.show()

    @Slot(object)
    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(share * 100))

    @Slot()
    def _stop_odds(self) -> None:
        self.document.worker.call_off()
        self.say("The odds shown are those of before; any change works them out again.")

    @Slot(object)
    def _odds_failed(self, error: BaseException) -> None:
        self.say(f"The odds could not be worked out: {type(error).__name__}: {error}")
        self.services.fault(error)

    @Slot(object)
    def _day_changed(self, day: dt.date) -> None:
        self.say(f"A new day: the plan is looked at from {words.day(day)} now.")
        self._missed_asked = False

    # --- file menu ---

    @Slot()
    def new_project(self) -> None:
        """Announcement day: the guided start, in this window if it is empty."""
        if self.document.is_open:
            self.window_wanted.emit("new")
            return
        self.begin_new()

    def begin_new(self) -> None:
        from nightplan.desk.wizard import NewProject

        self.wizard = NewProject(self.services, self.themes.theme, self)
        self.wizard.made.connect(self._made)
        self.wizard.open()

    @Slot(object)
    def _made(self, project: Project) -> None:
        self.document.new(project)
        self._missed_asked = True
        self.show_document()
        self.go_to("plan")
        self.say("Your plan is made. Save it with Ctrl+S; accept it as the baseline with Ctrl+B.")

    @Slot()
    def _new_window(self) -> None:
        self.window_wanted.emit(None)

    @Slot()
    def ask_open(self) -> None:
        folder = os.path.dirname(self.document.path or "") or os.path.expanduser("~")
        self.services.ask_open(self, folder + os.sep, self._open_chosen)

    def _open_chosen(self, path: str | None) -> None:
        if path is not None:
            self.open_path(path)

    def open_path(self, path: str, *, as_of: dt.date | None = None) -> bool:
        """Open a file here, or in another window where a project is open already."""
        if self.document.is_open:
            self.window_wanted.emit(path)
            return True
        try:
            self.document.open(path)
        except NightplanError as error:
            self.services.tell(self, "This file cannot be opened", str(error))
            return False
        if as_of is not None:
            self._missed_asked = True
            self.document.set_as_of(as_of)
        self.show_document()
        self.offer_recovery_for(self.document.path)
        return True

    @Slot()
    def open_sample(self) -> None:
        """A sample as a project of its own that has no file yet, on the day on which it stands."""
        if self.document.is_open:
            self.window_wanted.emit("sample")
            return
        from nightplan.actions.today import as_it_stands
        from nightplan.files.data import SAMPLES, data_folder
        from nightplan.files.store import load

        try:
            project = load(data_folder("sample_projects") / f"{SAMPLES[0]}{SUFFIX}")
        except BadInput as error:
            self.services.tell(self, "The sample cannot be opened", error.sentence)
            return
        self._missed_asked = True
        self.document.new(project)
        self.document.set_as_of(as_it_stands(project))
        self.show_document()
        self.say("A sample, shown on the day on which it stands. Change what you like; nothing is written.")

    @Slot()
    def _fill_recent(self) -> None:
        self.recent_menu.clear()
        for path in self.services.recent():
            action = self.recent_menu.addAction(Path(path).name.replace("&", "&&"))
            action.setToolTip(path)
            action.setData(path)
            action.triggered.connect(self._open_recent)
        if self.recent_menu.isEmpty():
            self.recent_menu.addAction("Nothing yet").setEnabled(False)

    @Slot()
    def _open_recent(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.open_path(str(action.data()))

    @Slot()
    def save(self) -> bool:
        """Write the file; ask for one where there is none. True when it is written."""
        self._leave_page()
        if self.document.path is None:
            self.save_as()
            return False
        return self._write(self.document.path)

    @Slot()
    def save_as(self) -> None:
        self._leave_page()
        name = "".join(c if c.isalnum() or c in " -_" else "" for c in self.document.project.title).strip() or "project"
        start = self.document.path or os.path.join(os.path.expanduser("~"), f"{name}{SUFFIX}")
        self.services.ask_save(self, start, self._save_chosen)

    def _save_chosen(self, path: str | None) -> None:
        if path is None:
            self._stay()
            return
        if self._write(path if path.endswith(SUFFIX) else path + SUFFIX) and self._closing:
            self.close()

    def _write(self, path: str) -> bool:
        try:
            self.document.save_as(path)
        except BadInput as error:
            self._stay()
            self.say(error.sentence)
            return False
        except FilesError as error:
            self._stay()
            self.services.tell(self, "Not saved", f"{error.sentence}. Nothing is lost; try Save as.")
            return False
        self.say(f"Saved {self.document.name}.")
        return True

    @Slot()
    def revert(self) -> None:
        self.services.ask(
            self,
            "Revert to the file",
            "Go back to what is on disk? Undo brings your changes back.",
            [("revert", "Revert"), ("no", "Cancel")],
            self._revert_answered,
        )

    def _revert_answered(self, key: str) -> None:
        if key == "revert":
            try:
                self.document.revert()
            except NightplanError as error:
                self.services.tell(self, "Not reverted", str(error))

    @Slot()
    def _clashed(self) -> None:
        if not self._ask_once("clash"):
            return
        self.services.ask(
            self,
            "The file was changed by another program",
            "Both sides changed the same thing. Keep yours (what the other side changed elsewhere is merged in), "
            "or take the file's? Undo goes back either way.",
            [("mine", "Keep mine"), ("theirs", "Take the file's"), ("later", "Decide later")],
            self._clash_answered,
        )

    def _ask_once(self, what: str) -> bool:
        """False where the same question is on the screen already."""
        if what in self._asking:
            return False
        self._asking.add(what)
        return True

    def _clash_answered(self, key: str) -> None:
        self._asking.discard("clash")
        if key != "later":
            try:
                self.document.settle(key)
            except NightplanError as error:
                self.services.tell(self, "Not settled", str(error))

    def offer_recovery_for(self, path: str | None) -> None:
        """Unsaved changes of an earlier run to the file that was just opened."""
        for place, kept in kept_changes(self.services.recovery_folder()):
            if kept.get("path") == path:
                self._offer(place, kept)
                return

    @Slot()
    def offer_recovery(self) -> None:
        """Unsaved changes of an earlier run, newest first."""
        if not self.offer_recovery_at_start():
            self.say("There are no unsaved changes from an earlier run.")

    def offer_recovery_at_start(self) -> bool:
        """Offer them where there are any."""
        found = kept_changes(self.services.recovery_folder())
        if found:
            self._offer(*found[0])
        return bool(found)

    def _offer(self, place: Path, kept: dict[str, object]) -> None:
        if not self._ask_once("recovery"):
            return
        name = Path(str(kept["path"])).name if kept.get("path") else "A project that was never saved"
        when = str(kept.get("when", "")).replace("T", " at ")

        def answered(key: str) -> None:
            self._asking.discard("recovery")
            if key == "recover":
                self.take_up(place, kept)
            elif key == "discard":
                place.unlink(missing_ok=True)
            if key == "discard" and not self.document.is_open:
                self.offer_recovery_at_start()

        self.services.ask(
            self,
            "Unsaved changes from an earlier run",
            f"{name} has changes of {when} that were not saved (last step: {kept.get('step')}).",
            [("recover", "Recover them"), ("discard", "Throw them away"), ("later", "Not now")],
            answered,
        )

    def take_up(self, place: Path, kept: dict[str, object]) -> None:
        """Bring kept changes back, in a window of their own where this one shows something else."""
        path = file_of(kept)
        if self.document.is_open and (path is None or path != self.document.path or self.document.dirty):
            self.recovery_wanted.emit((place, kept))
            return
        try:
            self.document.recover(kept)
        except NightplanError as error:
            self.services.tell(self, "Not recovered", str(error))
            return
        place.unlink(missing_ok=True)
        self.show_document()
        self.say("Your unsaved changes are back; Undo shows what was saved.")

    # --- project menu ---

    @Slot()
    def edit_settings(self) -> None:
        from nightplan.desk.project_settings import EditProject

        self.settings_dialog = EditProject(self.services, self.themes.theme, self.document.project, self)
        self.settings_dialog.made.connect(self._settings_made)
        self.settings_dialog.open()

    @Slot(object)
    def _settings_made(self, project: Project) -> None:
        self.document.apply("Change dates, week and settings", project)

    @Slot()
    def accept_baseline(self) -> None:
        from nightplan.actions.baseline import baseline_of
        from nightplan.actions.tick import stored

        d = self.document
        if d.forecast is None or d.plan is None or not d.fresh or not d.whole:
            # the baseline keeps the odds of all futures
            self._accept_wanted = True
            self.say("One moment: the odds are still being worked out; then this plan is accepted.")
            if not d.worker.busy:
                d.ask_again()
            return
        accepted = baseline_of(d.project, d.forecast, d.plan)
        d.apply(
            "Accept the plan as baseline",
            d.project.but(
                baselines=(*d.project.baselines, accepted),
                forecasts=(*d.project.forecasts, stored(d.forecast, "accepted")),
            ),
        )
        self.say("This plan is the baseline now; burn-down and buffer are measured against it.")

    @Slot()
    def compare_baseline(self) -> None:
        from nightplan.actions.baseline import compare

        if self.document.plan is None:
            return
        rows = compare(self.document.project, self.document.plan)
        if not rows:
            self.services.tell(self, "No baseline yet", "Accept the plan as baseline first (Ctrl+B).")
            return
        lines = []
        for row in rows:
            then = "new since" if row.likely_then is None else f"{row.likely_then:g} h"
            moved = ""
            if row.finish_then and row.finish_now and row.finish_then != row.finish_now:
                moved = f", {words.day(row.finish_then)} → {words.day(row.finish_now)}"
            if then != f"{row.likely_now:g} h" or moved:
                lines.append(f"{row.name}: likely {then} → {row.likely_now:g} h{moved}")
        base = self.document.project.baselines[-1]
        self.services.tell(
            self,
            "Against the baseline",
            f"Baseline of {words.day(base.on)}: {words.count(len(lines), 'item')} moved.",
            detail="\n".join(lines) or "Nothing moved.",
        )

    @Slot()
    def _ask_missed_on_opening(self) -> None:
        from nightplan.actions.today import missed_evenings

        try:
            if self.document.is_open and missed_evenings(self.document.project, self.document.as_of):
                self.ask_missed()
        except BadInput as error:
            self.say(error.sentence)

    @Slot()
    def ask_missed(self) -> None:
        """Past evenings that nobody has said anything about, one key each."""
        from nightplan.desk.missed import MissedEvenings

        self.missed = MissedEvenings(self.host, self)
        if self.missed.empty:
            self.say("Every evening so far is ticked off.")
            return
        self.missed.open()

    @Slot(object)
    def tick_evening(self, date: dt.date) -> None:
        self.go_to("tonight")
        page = self.pages.get("tonight")
        if page is not None and hasattr(page, "choose_evening"):
            page.choose_evening(date)

    # --- view and help ---

    @Slot()
    def _page_clicked(self) -> None:
        button = self.sender()
        if isinstance(button, QPushButton):
            self.go_to(str(button.property("page")))

    @Slot()
    def _page_action(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.go_to(str(action.data()))

    @Slot(QAction)
    def _theme_chosen(self, action: QAction) -> None:
        self.services.set_theme_choice(str(action.data()))
        self.themes.choose(str(action.data()))

    @Slot()
    def _larger(self) -> None:
        self._text(self.themes.percent + 10)

    @Slot()
    def _smaller(self) -> None:
        self._text(self.themes.percent - 10)

    @Slot()
    def _usual(self) -> None:
        self._text(100)

    def _text(self, percent: int) -> None:
        self.themes.set_percent(percent)
        self.services.set_text_percent(self.themes.percent)

    @Slot()
    def _help_numbers(self) -> None:
        self._help("numbers")

    @Slot()
    def _help_keys(self) -> None:
        self._help("keys")

    def _help(self, part: str) -> None:
        self.go_to("help")
        page = self.pages.get("help")
        if page is not None and hasattr(page, "show_part"):
            page.show_part(part)

    @Slot()
    def _about(self) -> None:
        from nightplan import __version__

        self.services.tell(
            self,
            "About nightplan",
            f"nightplan {__version__}. Free software under the GNU General Public License, version 3 or later. "
            "It comes without any warranty; the organiser's rules decide, and sleep is no buffer.",
        )

    @Slot(object)
    def _export(self, wanted: tuple[str, str, str, Callable[[Path], None]]) -> None:
        title, suggested, filters, write = wanted
        folder = os.path.dirname(self.document.path or "") or os.path.expanduser("~")

        def chosen(path: str | None) -> None:
            if path is None:
                return
            try:
                write(Path(path))
            except (NightplanError, OSError) as error:
                self.services.tell(self, "Not written", str(error))
            else:
                self.say(f"Written: {Path(path).name}")

        self.services.ask_save(self, os.path.join(folder, suggested), chosen, title=title, filters=filters)

    # --- life ---

    def _leave_page(self) -> None:
        if self.current in self.pages:
            self.pages[self.current].leave()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._painted_once:
            self._painted_once = True
            # after what is under way now is on the screen
            QTimer.singleShot(0, self, self._after_paint)

    def begin(self, what: str | None) -> None:
        """Open ``what`` ("new", "sample" or a path) after the first paint, and show its title until then."""
        self.begin_with = what
        if what is None or what == "new":
            return
        from nightplan.desk.opening import OpeningPage, glance
        from nightplan.files.data import SAMPLES, data_folder

        place = data_folder("sample_projects") / f"{SAMPLES[0]}{SUFFIX}" if what == "sample" else Path(what)
        seen = glance(place)
        self.title_label.setText(seen.title)
        self.sub_label.setText(seen.piece)
        self.band.expect(seen.gates)
        self.header.show()
        self._opening = OpeningPage()
        self.stack.addWidget(self._opening)
        self.stack.setCurrentWidget(self._opening)

    @Slot()
    def _after_paint(self) -> None:
        begin, self.begin_with = self.begin_with, None
        if begin == "new":
            self.begin_new()
        elif begin is not None:
            if begin == "sample":
                self.open_sample()
            else:
                self.open_path(begin)
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
        self._leave_page()
        if self.document.dirty and not self._may_go():
            event.ignore()
            return
        self.services.settings().setValue("geometry", self.saveGeometry())
        self.document.close()
        event.accept()
        self.closed.emit(self)

    def _may_go(self) -> bool:
        if self.property("discard"):
            return True
        if self._ask_once("close"):
            self.services.ask(
                self,
                "Unsaved changes",
                f"{self.document.project.title} has changes that are not saved.",
                [("save", "Save"), ("discard", "Throw away"), ("stay", "Stay")],
                self._close_answered,
            )
        return False

    def _stay(self) -> None:
        """Closing was given up."""
        self._closing = False
        self.stays.emit()

    def _close_answered(self, key: str) -> None:
        self._asking.discard("close")
        if key == "discard":
            self.document.drop_recovery()
            self.setProperty("discard", True)
            self.close()
        elif key == "save":
            self._closing = True
            if self.document.path is None:
                self.save_as()
            elif self._write(self.document.path):
                self.close()
        else:
            self._stay()
