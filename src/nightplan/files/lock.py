# SPDX-License-Identifier: GPL-3.0-or-later
"""One writer at a time: a lock beside the file, and who holds it.

The system's own lock is void when its process ends, however it ends. A disk that has none (some network
drives) gets a marker file instead, which is void when its process is gone from this machine, or by age.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import json
import os
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from nightplan.files.errors import FilesError
from nightplan.speech import tr

if TYPE_CHECKING:
    from filelock import BaseFileLock

#: what a disk without locks says
_NO_LOCKS = {getattr(errno, name) for name in ("ENOSYS", "ENOTSUP", "EOPNOTSUPP", "ENOLCK") if hasattr(errno, name)}
#: a marker of another machine that crashed; nobody writes for so long
_MARKER_SECONDS = 600.0
_POLL_SECONDS = 0.02


def lock_path(path: Path) -> Path:
    """Where the lock of a project file lies: beside the file that a link leads to."""
    target = Path(os.path.realpath(path))
    return target.with_name(f".{target.name}.lock")


@contextlib.contextmanager
def locked(path: str | os.PathLike[str], *, timeout_seconds: float = 5.0, program: str = "nightplan") -> Iterator[None]:
    """Hold the lock of a project file while it is read, changed and written.

    Where there is no such file, or the folder cannot be written, there is nothing to lock: loading or
    saving will say so.

    Args:
        timeout_seconds: so many seconds at most for another writer.
        program: what the other writer is told about us.

    Raises:
        FilesError: somebody else holds it for longer than the timeout; named as far as known.
    """
    place = lock_path(Path(path))
    if not os.path.isfile(path):
        # the lock would be made, and its folders with it, for a slip of the keyboard
        yield
        return
    holder = place.with_name(place.name + ".holder")
    lock = _acquired(place, Path(path), timeout_seconds)
    if lock is None:
        yield
        return
    try:
        with contextlib.suppress(OSError):
            said = {"process": os.getpid(), "machine": socket.gethostname(), "program": program}
            holder.write_text(json.dumps(said), encoding="utf-8")
        yield
    finally:
        with contextlib.suppress(OSError):
            holder.unlink()
        # the empty lock file stays: removing it would let two writers hold two locks of one name
        lock.release()


def _acquired(place: Path, path: Path, timeout_seconds: float) -> BaseFileLock | None:
    """The lock, held; None where the folder takes none. Raises FilesError."""
    from filelock import FileLock, SoftFileLock, Timeout

    def made(lock: BaseFileLock) -> BaseFileLock:
        lock.acquire(timeout=timeout_seconds, poll_interval=_POLL_SECONDS)
        return lock

    try:
        try:
            return made(FileLock(str(place)))
        except NotImplementedError:
            pass
        except OSError as error:
            if isinstance(error, Timeout) or error.errno not in _NO_LOCKS:
                raise
        marker = place.with_name(place.name + ".held")
        _clear_old(marker, place)
        return made(SoftFileLock(str(marker)))
    except Timeout:
        raise FilesError(
            tr("{path} is being written by {who}; try again in a moment", path=path, who=named(path))
        ) from None
    except OSError:
        return None


def _clear_old(marker: Path, place: Path) -> None:
    """Remove the marker of a machine that crashed."""
    if not marker.exists():
        return
    with contextlib.suppress(OSError):
        # both times are of the same disk: no clock of a machine counts
        place.touch()
        if place.stat().st_mtime - marker.stat().st_mtime > _MARKER_SECONDS:
            marker.unlink()


def named(path: Path) -> str:
    """Who holds the lock of a file, as far as is known: program, process, machine, since when."""
    holder = lock_path(path)
    holder = holder.with_name(holder.name + ".holder")
    try:
        found = json.loads(holder.read_text(encoding="utf-8")[:1000])
        since = dt.datetime.fromtimestamp(holder.stat().st_mtime)
        process, machine = int(found["process"]), str(found["machine"])[:60]
        program = " ".join(str(found.get("program", "nightplan")).split())[:60]
    except (OSError, ValueError, KeyError, TypeError, AttributeError, OverflowError):
        return tr("another program")
    if machine == socket.gethostname() and _gone(process):
        # a writer that was killed left its name; who holds it now has not written his yet
        return tr("another program")
    return tr(
        "{program} (process {process} on {machine} since {moment})",
        program=program,
        process=process,
        machine=machine,
        moment=f"{since:%Y-%m-%d %H:%M:%S}",
    )


def _gone(process: int) -> bool:
    """Whether a process of this machine has ended; False where that cannot be told."""
    if os.name != "posix" or process <= 0:
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False
