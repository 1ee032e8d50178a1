# SPDX-License-Identifier: GPL-3.0-or-later
"""Copies that a folder shared by several machines makes where both sides changed a file at the same time."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from nightplan.files.store import SUFFIX

#: what such names say between the name of the file and its ending, or behind it; no program's own wording
_MARKS = ("conflict", "konflikt", "conflit", "conflitt")
_MOST = 20
_MOST_ENTRIES = 20_000


def conflict_copies(path: str | os.PathLike[str]) -> tuple[Path, ...]:
    """Files beside ``path`` whose name is its name with a word for a conflict, newest first; at most 20.

    ``moth (conflicted copy 2027-10-10).nightplan``, ``moth.sync-conflict-20271010.nightplan``. Never
    raises: a folder that cannot be read has none.
    """
    place = Path(path)
    stem = place.name.removesuffix(SUFFIX)
    found: list[tuple[float, Path]] = []
    with contextlib.suppress(OSError), os.scandir(place.parent) as entries:
        for n, entry in enumerate(entries):
            if n >= _MOST_ENTRIES:
                break
            if entry.name == place.name or not entry.name.startswith(stem) or SUFFIX not in entry.name:
                continue
            rest = entry.name[len(stem) :].casefold()
            if not rest[0].isalnum() and any(mark in rest for mark in _MARKS):
                with contextlib.suppress(OSError):
                    if entry.is_file():
                        found.append((entry.stat().st_mtime, Path(entry.path)))
    return tuple(copy for _written, copy in sorted(found, reverse=True)[:_MOST])
