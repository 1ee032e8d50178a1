# SPDX-License-Identifier: GPL-3.0-or-later
"""Folders of frames, watched while the window is open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal, Slot

from nightplan.actions import jobs as actions
from nightplan.desk.host import DeskHost
from nightplan.model.errors import BadInput
from nightplan.model.project import Job, Project
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.files.frames import FramesFound

#: a render writes in bursts: one look after each
_DEBOUNCE_MS = 1_500
#: network folders send no notice
_POLL_MS = 60_000
#: the step of undo that a look makes; the next look takes its place
LABEL = tr("Frames on disk")


class NightsWatch(QObject):
    """Looks into the folder of every open job, off the window's thread."""

    #: the id of a job whose folder was looked at
    looked = Signal(object)

    def __init__(self, host: DeskHost) -> None:
        super().__init__(host)
        self.setObjectName("nights-watch")
        self.host = host
        #: job id -> what its folder held last, or a sentence
        self.found: dict[str, FramesFound | str] = {}
        self._known: dict[str, tuple[str, dt.datetime | None]] = {}
        self._watcher = QFileSystemWatcher(self)
        self._watcher.directoryChanged.connect(self._stirred)
        self._soon = self._timer(_DEBOUNCE_MS, single=True)
        self._poll = self._timer(_POLL_MS, single=False)
        self.search = host.background(self, self._done)
        self._again = False
        document = host.document
        document.project_changed.connect(self._follow)
        document.closing.connect(self.close)
        if document.is_open:
            self._follow(document.project)

    def _timer(self, interval: int, *, single: bool) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(single)
        timer.setInterval(interval)
        timer.timeout.connect(self.look)
        return timer

    @Slot(object)
    def _follow(self, project: Project) -> None:
        """Watch the folders of this project's open jobs."""
        wanted = {j.id: (j.folder, j.started) for j in _watched(project) if j.folder}
        if wanted == self._known:
            return
        self._known = wanted
        self.found = {k: v for k, v in self.found.items() if k in wanted}
        folders = {_folder(folder) for folder, _ in wanted.values()}
        gone = [f for f in self._watcher.directories() if f not in folders]
        if gone:
            self._watcher.removePaths(gone)
        self._watch(folders)
        if wanted:
            self._poll.start()
            self.look()
        else:
            self._poll.stop()
            self._soon.stop()

    def _watch(self, folders: set[str]) -> None:
        new = [f for f in folders if f not in self._watcher.directories() and Path(f).is_dir()]
        if new:
            self._watcher.addPaths(new)

    @Slot(str)
    def _stirred(self, _path: str) -> None:
        if not self._soon.isActive():
            self._soon.start()

    @Slot()
    def look(self) -> None:
        """Look now; while a look is under way, once more after it."""
        if not self.host.document.is_open or not self._known:
            return
        if self.search.busy:
            self._again = True
            return
        # a folder that was not there yet, or that an unplugged drive took away
        self._watch({_folder(folder) for folder, _ in self._known.values()})
        chosen = [j for j in _watched(self.host.project) if j.folder]
        now = self.host.services.now().astimezone()

        def work(_progress: Callable[[float], None]) -> dict[str, tuple[Job, FramesFound | str]]:
            return {job.id: (job, _look(job, now)) for job in chosen}

        self.search.start("look", work)

    @Slot(object)
    def _done(self, told: tuple[str, dict[str, tuple[Job, FramesFound | str]]]) -> None:
        document = self.host.document
        if not document.is_open:
            return
        project = document.project
        for key, (job, found) in told[1].items():
            now = project.jobs_by_id.get(key)
            if now is None or (now.folder, now.started) != (job.folder, job.started):
                continue
            self.found[key] = found
            if not isinstance(found, str):
                project = actions.take_in(project, key, found)
        # what was undone is not done again behind the artist's back
        if project is not document.project and document.history is not None and not document.history.redo_label:
            document.follow(LABEL, project)
        for key in told[1]:
            self.looked.emit(key)
        if self._again:
            self._again = False
            self._soon.start()

    @Slot()
    def close(self) -> None:
        self._poll.stop()
        self._soon.stop()
        if self._watcher.directories():
            self._watcher.removePaths(self._watcher.directories())
        self._known = {}
        self.search.close()


def watch_of(host: DeskHost) -> NightsWatch:
    """The one watch of a window."""
    found = host.findChild(NightsWatch, "nights-watch")
    return found if isinstance(found, NightsWatch) else NightsWatch(host)


def _watched(project: Project) -> list[Job]:
    ticked = {name for entry in project.log for name in entry.jobs_done}
    return [j for j in project.jobs if j.folder and j.state == "open" and j.id not in ticked]


def _folder(where: str) -> str:
    path = Path(where)
    return str(path.parent if "#" in path.name else path)


def _look(job: Job, now: dt.datetime) -> FramesFound | str:
    try:
        return actions.look_at(job, now)
    except BadInput as error:
        return error.sentence
