# SPDX-License-Identifier: GPL-3.0-or-later
"""The file of a document: opened, saved, watched, brought together with what another program wrote to it."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal, Slot

from nightplan.desk.services import Services
from nightplan.files.errors import FilesError
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.actions.history import History
    from nightplan.actions.merge import Merged
    from nightplan.model.project import Project

_WATCH_MS = 300
#: another writer is done in a moment, and the window stands still while it waits
_LOCK_SECONDS = 1.0
#: a program that knows no locks may write between our reading and our writing
_TRIES = 5
#: what another writer is told about us
_WE = tr("another window of nightplan")


class DocumentFile(QObject):
    """History and file; :class:`nightplan.desk.document.Document` adds odds, days and recovery."""

    #: path, unsaved mark or undo labels changed
    state_changed = Signal()
    #: a sentence for the status line
    said = Signal(object)
    #: the file was changed by another program while there are unsaved changes here
    clashed = Signal()

    def __init__(self, services: Services, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.services = services
        self.history: History | None = None
        self.path: str | None = None
        #: why nothing may be changed: the file is of a newer format and is only looked at
        self.looking: str | None = None
        #: it was said that the file is not there any more
        self._gone_told = False
        #: the disk's state that a clash was told of
        self._clash_told: str | None = None
        self._disk_hash: str | None = None
        self._disk_project: Project | None = None
        self._watcher = QFileSystemWatcher(self)
        self._watch_timer = QTimer(self)
        self._watch_timer.setSingleShot(True)
        self._watch_timer.setInterval(_WATCH_MS)
        self._watch_timer.timeout.connect(self.look_at_disk)
        self._watcher.fileChanged.connect(self._watch_timer_start)
        self._watcher.directoryChanged.connect(self._watch_timer_start)

    # --- what the document adds ---

    def _begin(self, project: Project, path: str | None, *, saved: bool) -> None:
        """Show another project from now on."""
        raise NotImplementedError

    def _announce(self) -> None:
        """Tell everybody that the project is another one."""
        raise NotImplementedError

    def _keep_soon(self) -> None:
        """Unsaved changes are to be kept aside."""
        raise NotImplementedError

    def drop_recovery(self) -> None:
        """Nothing is unsaved any more."""
        raise NotImplementedError

    # --- what is there ---

    @property
    def is_open(self) -> bool:
        return self.history is not None

    @property
    def project(self) -> Project:
        assert self.history is not None
        return self.history.project

    @property
    def dirty(self) -> bool:
        return self.history is not None and self.history.dirty

    @property
    def name(self) -> str:
        """The file's name as a title shows it."""
        name = Path(self.path).name if self.path else tr("not saved yet")
        return tr("{name}, only looked at", name=name) if self.looking else name

    # --- open ---

    def _begin_file(self, history: History, path: str | None) -> None:
        self._clash_told = self.looking = None
        self._gone_told = False
        self.history = history
        self._set_path(path)

    def open(self, path: str) -> None:
        """Open a file. Raises BadInput (NewerFile where it can be looked at); the document stays as it was."""
        from nightplan.files.store import load_known

        project, on_disk = load_known(path)
        self._disk_hash, self._disk_project = on_disk, project
        self._begin(project, os.path.abspath(path), saved=True)

    def look_at(self, path: str) -> tuple[str, ...]:
        """Show what is understood of a newer file; every change is refused. What is left out is answered.

        Raises:
            BadInput: too little of it is understood.
        """
        from nightplan.files.newer import load_for_looking

        found = load_for_looking(path)
        self._disk_hash = self._disk_project = None
        self._begin(found.project, os.path.abspath(path), saved=True)
        self.looking = tr(
            "{name} is from a newer nightplan (version {version} of its format): it can be looked "
            "at, but not changed or saved here.",
            name=Path(path).name,
            version=found.version,
        )
        self.state_changed.emit()
        return found.left_out

    def revert(self) -> None:
        """Back to what is on disk, as one step that can be undone."""
        from nightplan.files.store import load_known

        assert self.path is not None
        assert self.history is not None
        project, on_disk = load_known(self.path)
        self._disk_hash, self._disk_project = on_disk, project
        if self.history.push(tr("Revert to the file"), project):
            self._announce()
        self.history.mark_saved()
        self.drop_recovery()
        self.state_changed.emit()

    # --- save ---

    def save(self) -> None:
        """Write to the file it came from. Raises FilesError or BadInput; nothing is lost."""
        assert self.path is not None
        self.save_as(self.path)

    def save_as(self, path: str) -> tuple[str, ...]:
        """Write to a file and stay with it.

        What another program wrote there in the meantime is merged where it touches different things; what
        came in by that is answered, in lines for people.

        Raises:
            FilesError: it cannot be written.
            BadInput: both sides changed the same thing; :attr:`clashed` has been emitted.
        """
        from nightplan.files.errors import ChangedMeanwhile
        from nightplan.files.lock import locked
        from nightplan.files.versions import Ring, save_and_keep

        assert self.history is not None
        if self.looking is not None:
            raise BadInput(self.looking)
        path = os.path.abspath(path)
        ring = Ring(self.services.versions_folder(), self.services.now())
        before = self.project
        try:
            with locked(path, timeout_seconds=_LOCK_SECONDS, program=_WE):
                for tries_left in reversed(range(_TRIES)):
                    on_disk = self._merge_with_disk(path)
                    try:
                        self._disk_hash = save_and_keep(self.project, path, ring, over=on_disk)
                    except ChangedMeanwhile:
                        if not tries_left:
                            raise
                        continue
                    break
        finally:
            if self.project is not before:
                self._announce()
        self._disk_project = self.project
        self._gone_told = False
        self.history.mark_saved()
        self.drop_recovery()
        self._set_path(path)
        if self.project is before:
            return ()
        from nightplan.actions.differences import differences

        return differences(before, self.project)

    def _merge_with_disk(self, path: str) -> str:
        """Take in what another program wrote to our file since. The hash of what stands there is answered."""
        from nightplan.files.errors import cannot_save
        from nightplan.files.store import load_known, standing

        assert self.history is not None
        try:
            on_disk = standing(path)
        except OSError as error:
            # nobody knows what would be written over
            raise cannot_save(Path(path), error) from error
        if path != self.path or on_disk in ("", self._disk_hash) or self._disk_project is None:
            return on_disk
        try:
            theirs, on_disk = load_known(path)
        except BadInput as error:
            raise FilesError(
                tr(
                    "{path} was not saved: another program changed it, and it cannot be read now "
                    "({sentence}); it is as it is, save to another place",
                    path=path,
                    sentence=error.sentence,
                )
            ) from None
        merged = self.merged_with(theirs)
        if merged.project is None or merged.conflicts:
            self.clashed.emit()
            raise BadInput(tr("{name} was changed by another program too; choose what to keep", name=self.name))
        self._disk_hash, self._disk_project = on_disk, theirs
        if self.history.push(tr("Merge with the file"), merged.project):
            # until it is written
            self.history.saved = None
        return on_disk

    # --- watched ---

    def _set_path(self, path: str | None) -> None:
        watched = [*self._watcher.files(), *self._watcher.directories()]
        if watched:
            self._watcher.removePaths(watched)
        self.path = path
        if path is not None:
            self._watch()
            self.services.add_recent(path)
        self.state_changed.emit()

    def _watch(self) -> None:
        # an atomic save by another program replaces the file: the watcher forgets it, the folder tells
        if self.path is not None:
            places = [p for p in (self.path, os.path.dirname(self.path)) if os.path.exists(p)]
            known = {*self._watcher.files(), *self._watcher.directories()}
            new = [p for p in places if p not in known]
            if new:
                self._watcher.addPaths(new)

    @Slot(str)
    def _watch_timer_start(self, _path: str) -> None:
        self._watch_timer.start()

    @Slot()
    def look_at_disk(self) -> None:
        """Whether another program changed the file; without unsaved changes here it is taken over."""
        from nightplan.files.store import content_hash, load_known

        if self.path is None or self.history is None or self.looking is not None:
            return
        self._watch()
        on_disk = content_hash(self.path)
        if on_disk is None:
            self._gone()
            return
        if self._gone_told:
            self._back(on_disk)
        if on_disk in (self._disk_hash, self._clash_told):
            return
        try:
            theirs, on_disk = load_known(self.path)
        except BadInput as error:
            self._clash_told = on_disk
            self.said.emit(
                tr(
                    "The file was changed by another program and cannot be read now: {sentence}",
                    sentence=error.sentence,
                )
            )
            return
        if not self.history.dirty:
            self._take(theirs, on_disk, tr("Take over the changed file"))
            self.said.emit(tr("The file was changed by another program; its changes are shown, Undo goes back."))
            return
        merged = self.merged_with(theirs)
        if merged.project is not None and not merged.conflicts:
            self._disk_hash, self._disk_project = on_disk, theirs
            self.history.push(tr("Merge with the changed file"), merged.project)
            self.history.saved = None
            self._announce()
            self._keep_soon()
            self.said.emit(
                tr("The file was changed by another program; both sides' changes are in, save to keep them.")
            )
            return
        # asked once for each state of the file; saving asks again
        self._clash_told = on_disk
        self.clashed.emit()

    def _gone(self) -> None:
        """The file was deleted, moved, or its drive is away: what is shown is all that is left of it."""
        assert self.history is not None
        if self._gone_told:
            return
        self._gone_told = True
        self.history.saved = None
        self.state_changed.emit()
        self._keep_soon()
        self.said.emit(
            tr(
                "{name} is not there any more, or its drive is away. Nothing is lost: save it again, or elsewhere.",
                name=self.name,
            )
        )

    def _back(self, on_disk: str) -> None:
        assert self.history is not None
        self._gone_told = False
        if on_disk != self._disk_hash:
            return
        if self.project == self._disk_project:
            self.history.mark_saved()
            self.drop_recovery()
        self.state_changed.emit()
        self.said.emit(tr("{name} is there again.", name=self.name))

    # --- two sides ---

    def merged_with(self, theirs: Project) -> Merged:
        """Both sides, from what the file held when it was last read or written."""
        from nightplan.actions.merge import merge

        base = self._disk_project or self.project
        return merge(base, self.project, theirs)

    def settle(self, keep: str) -> None:
        """After a clash: keep ``mine`` or take ``theirs`` (what both agree on is merged either way)."""
        from nightplan.files.store import load_known

        assert self.path is not None
        assert self.history is not None
        theirs, on_disk = load_known(self.path)
        if keep == "theirs":
            self._take(theirs, on_disk, tr("Take the file's side"))
            return
        merged = self.merged_with(theirs)
        self._disk_hash, self._disk_project = on_disk, theirs
        self.history.push(tr("Keep this side"), merged.project or self.project)
        self.history.saved = None
        self._announce()
        self._keep_soon()

    def _take(self, theirs: Project, on_disk: str | None, label: str) -> None:
        assert self.history is not None
        self._disk_hash, self._disk_project = on_disk, theirs
        self.history.push(label, theirs)
        self.history.mark_saved()
        self.drop_recovery()
        self._announce()
