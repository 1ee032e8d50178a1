# SPDX-License-Identifier: GPL-3.0-or-later
"""A folder whose new pictures become captures of an evening."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Slot

from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost

#: a program that saves a picture writes it in several goes
_REST_MS = 800
_NIGHT = dt.timedelta(hours=28)


class WatchedFolder(QObject):
    """Watches while the window is open; ``date_of`` says which evening is chosen, ``take`` whether they were taken."""

    def __init__(
        self,
        host: DeskHost,
        date_of: Callable[[], dt.date | None],
        take: Callable[[list[Path]], bool],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.host, self._date_of, self._take = host, date_of, take
        self._folder: Path | None = None
        self._since = 0.0
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._take_new)
        host.document.closing.connect(self._rest.stop)
        self._watcher = QFileSystemWatcher(self)
        self._watcher.directoryChanged.connect(self._changed)

    def watch(self, folder: Path, date: dt.date) -> None:
        """Instead of the folder before. Pictures of this very evening that are there already come, too."""
        if self._watcher.directories():
            self._watcher.removePaths(self._watcher.directories())
        self._folder = folder
        self._since = dt.datetime.combine(date, dt.time()).timestamp()
        self._watcher.addPath(str(folder))
        self._take_new()
        self.host.say(tr("New pictures in {folder} become captures of the chosen evening.", folder=folder.name))

    @Slot(str)
    def _changed(self, _folder: str) -> None:
        self._rest.start()

    @Slot()
    def _take_new(self) -> None:
        from nightplan.files.captures import pictures_since

        date = self._date_of()
        if self._folder is None or date is None:
            return
        until = (dt.datetime.combine(date, dt.time()) + _NIGHT).timestamp()
        try:
            found = [p for p in pictures_since(self._folder, self._since) if p.stat().st_mtime < until]
        except (BadInput, OSError) as error:
            self.host.say(str(error))
            return
        if found and self._take(found):
            self._since = max(p.stat().st_mtime for p in found)
