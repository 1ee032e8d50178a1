# SPDX-License-Identifier: GPL-3.0-or-later
"""New, open, save, revert, and the two sides of a file that another program changed: what a window asks about them."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from nightplan.desk import words
from nightplan.desk.conflict_copies import ConflictCopies
from nightplan.desk.services import SUFFIX
from nightplan.files.errors import FilesError, NewerFile
from nightplan.model.errors import BadInput, NightplanError
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.desk.earlier_versions import EarlierVersions
    from nightplan.desk.window import MainWindow
    from nightplan.model.project import Project


#: more is no reading any more
MOST_LINES = 500


class FileActions(QObject):
    """Belongs to a window and works on its document."""

    #: the dialog that was opened last
    versions: EarlierVersions

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.window, self.document, self.services = window, window.document, window.services
        #: saving is part of closing
        self._closing = False
        #: questions that are on the screen
        self.asking: set[str] = set()
        self.copies = ConflictCopies(window)
        self.document.clashed.connect(self._clashed)

    def ask_once(self, what: str) -> bool:
        """False where the same question is on the screen already."""
        if what in self.asking:
            return False
        self.asking.add(what)
        return True

    # --- new and open ---

    @Slot()
    def new_project(self) -> None:
        """Announcement day: the guided start, in this window if it is empty."""
        if self.document.is_open:
            self.window.window_wanted.emit("new")
            return
        self.begin_new()

    def begin_new(self) -> None:
        from nightplan.desk.wizard import NewProject

        self.window.wizard = NewProject(self.services, self.window.themes.theme, self.window)
        self.window.wizard.made.connect(self._made)
        self.window.wizard.open()

    @Slot(object)
    def _made(self, project: Project) -> None:
        self.document.new(project)
        self.window.work.missed_asked = True
        self.window.show_document()
        self.window.go_to("plan")
        self.window.say(tr("Your plan is made. Save it with Ctrl+S; accept it as the baseline with Ctrl+B."))

    @Slot()
    def new_window(self) -> None:
        self.window.window_wanted.emit(None)

    @Slot()
    def ask_open(self) -> None:
        folder = os.path.dirname(self.document.path or "") or os.path.expanduser("~")
        self.services.ask_open(self.window, folder + os.sep, self._open_chosen)

    def _open_chosen(self, path: str | None) -> None:
        if path is not None:
            self.open_path(path)

    def open_path(self, path: str) -> bool:
        """Open a file here, or in another window where a project is open already."""
        if self.document.is_open:
            self.window.window_wanted.emit(path)
            return True
        try:
            self.document.open(path)
        except NewerFile as error:
            self._ask_to_look(path, error.sentence)
            return False
        except NightplanError as error:
            self.services.tell(self.window, tr("This file cannot be opened"), str(error))
            return False
        self.window.show_document()
        if not self.window.recovery.offer_for(self.document.path):
            self.copies.offer()
        return True

    def _ask_to_look(self, path: str, sentence: str) -> None:
        def answered(key: str) -> None:
            if key == "look":
                self._look_at(path)

        self.services.ask(
            self.window,
            tr("From a newer nightplan"),
            tr(
                "{sentence}. You can look at what this one understands of it; nothing in it can be changed here.",
                sentence=sentence,
            ),
            [("look", tr("Look at it")), ("no", tr("Cancel"))],
            answered,
        )

    def _look_at(self, path: str) -> None:
        try:
            left_out = self.document.look_at(path)
        except NightplanError as error:
            self.services.tell(self.window, tr("This file cannot be shown"), str(error))
            return
        self.window.work.missed_asked = True
        self.window.show_document()
        said = self.document.looking or ""
        self.window.say(
            tr("{said} {left_out} parts are not understood and not shown.", said=said, left_out=len(left_out))
            if left_out
            else said
        )

    @Slot()
    def earlier_versions(self) -> None:
        """The ring of the open file."""
        from nightplan.desk.earlier_versions import EarlierVersions

        if self.document.path is None:
            return
        self.window.stack.leave()
        folder = self.services.versions_folder()
        self.versions = EarlierVersions(self.document.path, folder, self.document.project, self.window)
        self.versions.wanted.connect(self._take_back)
        self.versions.open()

    @Slot(object)
    def _take_back(self, wanted: tuple[str, Project]) -> None:
        if self.document.apply(*wanted):
            self.window.say(tr("An earlier version is back; Undo goes to what was here, Save keeps it."))

    @Slot()
    def open_sample(self) -> None:
        """A sample as a project of its own that has no file yet, on the day on which it stands."""
        if self.document.is_open:
            self.window.window_wanted.emit("sample")
            return
        from nightplan.actions.today import as_it_stands
        from nightplan.files.data import SAMPLES, data_folder
        from nightplan.files.store import load

        try:
            project = load(data_folder("sample_projects") / f"{SAMPLES[0]}{SUFFIX}")
        except BadInput as error:
            self.services.tell(self.window, tr("The sample cannot be opened"), error.sentence)
            return
        self.window.work.missed_asked = True
        self.document.new(project)
        self.document.set_as_of(as_it_stands(project))
        self.window.show_document()
        self.window.say(tr("A sample, shown on the day on which it stands. Change what you like; nothing is written."))

    # --- save and revert ---

    @Slot()
    def save(self) -> bool:
        """Write the file; ask for one where there is none. True when it is written."""
        self.window.stack.leave()
        if self.document.path is None:
            self.save_as()
            return False
        return self._write(self.document.path)

    @Slot()
    def save_as(self) -> None:
        if self.document.looking:
            self.window.say(self.document.looking)
            return
        self.window.stack.leave()
        name = "".join(c if c.isalnum() or c in " -_" else "" for c in self.document.project.title).strip() or "project"
        start = self.document.path or os.path.join(os.path.expanduser("~"), f"{name}{SUFFIX}")
        self.services.ask_save(self.window, start, self._save_chosen)

    def _save_elsewhere(self, path: str) -> None:
        """Ask for another place, beginning where the artist surely may write: the drive may be away."""
        start = os.path.join(os.path.expanduser("~"), os.path.basename(path))
        self.services.ask_save(self.window, start, self._save_chosen)

    def _save_chosen(self, path: str | None) -> None:
        if path is None:
            self._stay()
            return
        if self._write(path if path.endswith(SUFFIX) else path + SUFFIX) and self._closing:
            self.window.close()

    def _write(self, path: str) -> bool:
        try:
            came_in = self.document.save_as(path)
        except BadInput as error:
            self._stay()
            self.window.say(error.sentence)
            return False
        except FilesError as error:
            closing = self._closing
            self._stay()
            self.document.keep_recovery()
            self._ask_where_to(path, error.sentence, closing)
            return False
        if came_in:
            rest = len(came_in) - 1
            told = words.listed([came_in[0], trn("{n} thing more", "{n} things more", rest)] if rest else came_in)
            self.window.say(
                tr("Saved {name}, with what another program had changed: {told}.", name=self.document.name, told=told)
            )
        else:
            self.window.say(tr("Saved {name}.", name=self.document.name))
        return True

    def _ask_where_to(self, path: str, sentence: str, closing: bool) -> None:
        """After a save that failed; what was to be closed is closed once it is saved."""

        def answered(key: str) -> None:
            if key == "later":
                return
            self._closing = closing
            if key == "elsewhere":
                self._save_elsewhere(path)
            elif self._write(path) and closing:
                self.window.close()

        self.services.ask(
            self.window,
            tr("Not saved"),
            tr("{sentence}. Nothing is lost: your changes are here, in this window.", sentence=sentence),
            [("elsewhere", tr("Save elsewhere…")), ("again", tr("Try again")), ("later", tr("Not now"))],
            answered,
        )

    @Slot()
    def revert(self) -> None:
        self.services.ask(
            self.window,
            tr("Revert to the file"),
            tr("Go back to what is on disk? Undo brings your changes back."),
            [("revert", tr("Revert")), ("no", tr("Cancel"))],
            self._revert_answered,
        )

    def _revert_answered(self, key: str) -> None:
        if key == "revert":
            try:
                self.document.revert()
            except NightplanError as error:
                self.services.tell(self.window, tr("Not reverted"), str(error))

    # --- changed by another program ---

    @Slot()
    def _clashed(self) -> None:
        if not self.ask_once("clash"):
            return
        self.services.ask(
            self.window,
            tr("The file was changed by another program"),
            tr(
                "Both sides changed the same thing. Keep yours (what the other side changed elsewhere is merged in), "
                "or take the file's? Undo goes back either way."
            ),
            [("mine", tr("Keep mine")), ("theirs", tr("Take the file's")), ("later", tr("Decide later"))],
            self._clash_answered,
            detail=self._both_sides(),
        )

    def _both_sides(self) -> str:
        """Where they differ, in lines."""
        from nightplan.actions.differences import differences
        from nightplan.files.store import load

        try:
            told = differences(self.document.project, load(self.document.path or ""))
        except BadInput:
            return ""
        return "\n".join((tr("Yours → the file's"), "", *told[:MOST_LINES]))

    def _clash_answered(self, key: str) -> None:
        self.asking.discard("clash")
        if key != "later":
            try:
                self.document.settle(key)
            except NightplanError as error:
                self.services.tell(self.window, tr("Not settled"), str(error))

    # --- closing ---

    def may_close(self) -> bool:
        """Nothing is unsaved, or it may go; else the artist is asked, and the answer closes the window."""
        if not self.document.dirty or self.window.property("discard"):
            return True
        if self.ask_once("close"):
            self.services.ask(
                self.window,
                tr("Unsaved changes"),
                tr("{title} has changes that are not saved.", title=self.document.project.title),
                [("save", tr("Save")), ("discard", tr("Throw away")), ("stay", tr("Stay"))],
                self._close_answered,
            )
        return False

    def _stay(self) -> None:
        """Closing was given up."""
        self._closing = False
        self.window.stays.emit()

    def _close_answered(self, key: str) -> None:
        self.asking.discard("close")
        if key == "discard":
            self.document.drop_recovery()
            self.window.setProperty("discard", True)
            self.window.close()
        elif key == "save":
            self._closing = True
            if self.document.path is None:
                self.save_as()
            elif self._write(self.document.path):
                self.window.close()
        else:
            self._stay()
