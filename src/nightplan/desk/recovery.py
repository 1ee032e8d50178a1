# SPDX-License-Identifier: GPL-3.0-or-later
"""Unsaved changes kept aside: one file for each open document, which only a later run may take up.

A lock beside the file says that its document still lives. The lock of a process that died is void,
so what a crash or a power cut leaves behind is found, and what is open in another window is not.
"""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLockFile

from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.model.project import Project


def _lock(place: Path) -> QLockFile:
    lock = QLockFile(str(place.with_suffix(".lock")))
    # never void by age alone: a laptop may sleep for a week
    lock.setStaleLockTime(0)
    return lock


class Aside:
    """The place of one document's unsaved changes."""

    def __init__(self, folder: Path) -> None:
        self.place = folder / f"{os.urandom(16).hex()}.json"
        self._lock: QLockFile | None = None

    def keep(
        self, project: Project, *, path: str | None, base: Project | None, step: str | None, when: dt.datetime
    ) -> None:
        """Write the project aside.

        Args:
            path: the file that it belongs to.
            base: what that file held when it was last read or written.

        Raises:
            OSError, FilesError: it cannot be written.
        """
        from nightplan.files.store import dumps, write_atomically

        self.place.parent.mkdir(parents=True, exist_ok=True)
        if self._lock is None:
            self._lock = _lock(self.place)
            self._lock.tryLock(0)
        kept = {
            "path": path,
            "when": when.isoformat(timespec="seconds"),
            "step": step,
            "project": dumps(project),
            "base": None if base is None else dumps(base),
        }
        # not before the first paint
        import json

        write_atomically(self.place, json.dumps(kept).encode("utf-8"))

    def drop(self) -> None:
        """Nothing is unsaved any more."""
        self.place.unlink(missing_ok=True)
        self.let_go()

    def let_go(self) -> None:
        """The document closes; what is kept, if anything, is for a later run."""
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None


def kept_changes(folder: Path) -> list[tuple[Path, dict[str, object]]]:
    """Unsaved changes that an earlier run left behind, newest first."""
    found = []
    import json

    for place in folder.glob("*.json") if folder.is_dir() else ():
        lock = _lock(place)
        if not lock.tryLock(0):
            continue
        lock.unlock()
        try:
            kept = json.loads(place.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            continue
        if isinstance(kept, dict) and isinstance(kept.get("project"), str):
            found.append((place, kept))
    return sorted(found, key=lambda row: str(row[1].get("when")), reverse=True)


def kept_project(kept: dict[str, object]) -> Project:
    """The project with its unsaved changes. Raises BadInput."""
    from nightplan.files.store import parse

    return parse(str(kept["project"]).encode("utf-8"), tr("the kept changes"))


def told(kept: dict[str, object]) -> tuple[str, ...]:
    """What the unsaved changes are, in lines; none where that cannot be said."""
    from nightplan.actions.differences import differences
    from nightplan.files.store import parse

    base = kept.get("base")
    if not isinstance(base, str):
        return ()
    try:
        return differences(parse(base.encode("utf-8"), tr("the kept changes")), kept_project(kept))
    except BadInput:
        return ()


def onto(kept: dict[str, object], on_disk: Project) -> Project:
    """The unsaved changes on top of the file as it is now.

    Where the file changed in the meantime too and both sides go together, both are in; else the kept
    side holds, and the file's is one step of undo away. Raises BadInput.
    """
    from nightplan.actions.merge import merge
    from nightplan.files.store import parse

    mine = kept_project(kept)
    base = kept.get("base")
    if not isinstance(base, str):
        return mine
    try:
        merged = merge(parse(base.encode("utf-8"), tr("the kept changes")), mine, on_disk)
    except BadInput:
        return mine
    return merged.project if merged.project is not None and not merged.conflicts else mine


def file_of(kept: dict[str, object]) -> str | None:
    """The file that the changes belong to, if it is still there."""
    path = kept.get("path")
    return path if isinstance(path, str) and os.path.isfile(path) else None
