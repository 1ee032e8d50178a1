# SPDX-License-Identifier: GPL-3.0-or-later
"""Small pictures of captures, made off the window's thread and kept while the window is open."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtGui import QIcon

from nightplan.model.errors import NightplanError

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost


class Thumbnails(QObject):
    """``icons`` are those that are there, by the paths that the project gives; ``changed`` when there are more."""

    changed = Signal()

    def __init__(self, host: DeskHost, parent: QObject) -> None:
        super().__init__(parent)
        self.icons: dict[str, QIcon] = {}
        #: paths that were looked at, also those that are no picture
        self.tried: set[str] = set()
        self.work = host.background(self, self._done)

    def icon(self, path: str) -> QIcon:
        return self.icons.get(path, QIcon())

    def make(self, paths: Iterable[str], folder: Path) -> None:
        """Make those that are missing; paths are read from ``folder``."""
        wanted = [path for path in paths if path not in self.tried]
        if not wanted:
            return

        def work(progress: Callable[[float], None]) -> list[tuple[str, str | None]]:
            from nightplan.files.captures import placed, thumbnail

            found: list[tuple[str, str | None]] = []
            for n, path in enumerate(wanted):
                progress(n / len(wanted))
                try:
                    found.append((path, str(thumbnail(placed(path, folder), folder))))
                except NightplanError:
                    # gone, or no picture: its words stay in the list
                    found.append((path, None))
            return found

        self.work.start("thumbnails", work)

    def try_again(self, paths: Iterable[str]) -> None:
        """Their files may be others now."""
        self.tried.difference_update(paths)

    @Slot(object)
    def _done(self, told: tuple[str, list[tuple[str, str | None]]]) -> None:
        for path, small in told[1]:
            self.tried.add(path)
            if small is not None:
                self.icons[path] = QIcon(small)
        self.changed.emit()
