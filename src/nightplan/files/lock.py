# SPDX-License-Identifier: GPL-3.0-or-later
"""One writer at a time: a lock beside the file, and who holds it."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import os
import socket
from collections.abc import Iterator
from pathlib import Path

from nightplan.files.errors import FilesError


def lock_path(path: Path) -> Path:
    target = Path(os.path.realpath(path))
    return target.with_name(f".{target.name}.lock")


@contextlib.contextmanager
def locked(path: str | os.PathLike[str], *, timeout_seconds: float = 5.0) -> Iterator[None]:
    """Hold the lock of a project file while it is read, changed and written.

    Where there is no such file, or the folder cannot be written, there is nothing to lock: loading or
    saving will say so.

    Raises:
        FilesError: somebody else holds it for longer than the timeout; named as far as known.
    """
    from filelock import FileLock, Timeout

    place = lock_path(Path(path))
    if not os.path.isfile(path):
        # the lock would be made, and its folders with it, for a slip of the keyboard
        yield
        return
    holder = place.with_name(place.name + ".holder")
    lock = FileLock(str(place))
    try:
        lock.acquire(timeout=timeout_seconds, poll_interval=0.02)
    except Timeout:
        raise FilesError(f"{path} is being written by {_named(holder)}; try again in a moment") from None
    except OSError:
        yield
        return
    try:
        with contextlib.suppress(OSError):
            holder.write_text(json.dumps({"process": os.getpid(), "machine": socket.gethostname()}), encoding="utf-8")
        yield
    finally:
        with contextlib.suppress(OSError):
            holder.unlink()
        # the empty lock file stays: removing it would let two writers hold two locks of one name
        lock.release()


def _named(holder: Path) -> str:
    try:
        found = json.loads(holder.read_text(encoding="utf-8")[:1000])
        since = dt.datetime.fromtimestamp(holder.stat().st_mtime)
        return f"process {int(found['process'])} on {str(found['machine'])[:60]} since {since:%Y-%m-%d %H:%M:%S}"
    except (OSError, ValueError, KeyError, TypeError):
        return "another program"
