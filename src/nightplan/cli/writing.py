# SPDX-License-Identifier: GPL-3.0-or-later
"""Change a project file from the command line: lock, load, act, save."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TypeVar

from nightplan.cli.context import Context
from nightplan.files.errors import ChangedMeanwhile
from nightplan.files.lock import locked
from nightplan.files.store import load_known
from nightplan.files.versions import save_and_keep
from nightplan.model.project import Project

#: another call of ours is done in a second or two
WAIT_SECONDS = 15.0
_TRIES = 5

T = TypeVar("T")


def change_file(
    path: str | os.PathLike[str], act: Callable[[Project], tuple[Project, T]], context: Context, verb: str
) -> T:
    """Load a project, let ``act`` change it, save it; what else ``act`` gives is returned.

    The lock is held from loading to saving. A program that knows no locks may still write in between:
    then its file is loaded and ``act`` does its work again, so that both changes are in.

    Raises:
        BadInput: from loading or from ``act``; the file is as it was.
        FilesError: another writer is not done in time, or the file cannot be written.
    """
    with locked(path, timeout_seconds=WAIT_SECONDS, program=f"nightplan {verb}"):
        for tries_left in reversed(range(_TRIES)):
            project, known = load_known(path)
            after, told = act(project)
            try:
                save_and_keep(after, path, context.ring(), over=known)
            except ChangedMeanwhile:
                if not tries_left:
                    raise
                continue
            return told
    raise AssertionError("the last try returns or raises")
