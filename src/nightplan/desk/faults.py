# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a fault of ours is written down, which runs broke off, and whether there is a screen at all."""

from __future__ import annotations

import contextlib
import faulthandler
import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

from PySide6.QtCore import QLockFile

from nightplan.model.errors import BadInput
from nightplan.speech import tr

_TOO_LONG_BYTES = 1_000_000
#: platforms of the toolkit that need no display
_SCREENLESS = ("offscreen", "minimal", "minimalegl", "vnc", "linuxfb", "eglfs")


class NoScreen(BadInput):
    """There is nowhere to show a window."""


def check_screen() -> None:
    """Raise NoScreen where the toolkit would abort the process for want of a display."""
    platform = os.environ.get("QT_QPA_PLATFORM", "").split(":")[0]
    if not sys.platform.startswith("linux") or platform in _SCREENLESS:
        return
    display, wayland = os.environ.get("DISPLAY", ""), os.environ.get("WAYLAND_DISPLAY", "")
    use = tr("nightplan plan FILE and its other verbs need none")
    if not display and not wayland:
        raise NoScreen(tr("no screen is there to open a window on; {use}", use=use))
    if not wayland and not _answers(display):
        raise NoScreen(tr("the screen DISPLAY={display} does not answer; {use}", display=display, use=use))


def _answers(display: str) -> bool:
    """Whether a display of this machine has somebody behind it; one elsewhere is believed."""
    host, _colon, number = display.rpartition(":")
    if host not in ("", "unix") or not number.split(".")[0].isdigit():
        return True
    import socket

    place = f"/tmp/.X11-unix/X{number.split('.')[0]}"
    # the name in the file system and the one that is in none
    for address in (place, "\0" + place):
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as link:
            link.settimeout(2)
            link.connect(address)
            return True
    return False


def log_folder() -> str:
    """The folder of the log; the environment may name another."""
    folder = os.environ.get("NIGHTPLAN_LOG_DIR")
    if folder is None:
        from platformdirs import user_log_dir

        folder = user_log_dir("nightplan", appauthor=False)
    return folder


def write_down(text: str) -> str | None:
    """Append to the log. Returns its path, or None where it cannot be written."""
    try:
        os.makedirs(log_folder(), exist_ok=True)
        path = os.path.join(log_folder(), "faults.log")
        # faults are rare; the file that grows without end is a fault of its own
        grown = os.path.exists(path) and os.path.getsize(path) > _TOO_LONG_BYTES
        with open(path, "w" if grown else "a", encoding="utf-8", errors="backslashreplace") as file:
            file.write(text + "\n")
    except OSError:
        return None
    return path


def _lock(place: str) -> QLockFile:
    lock = QLockFile(place.removesuffix(".log") + ".lock")
    # never void by age alone: a window may stay open for a week
    lock.setStaleLockTime(0)
    return lock


@dataclass(frozen=True)
class BrokenOff:
    """A run that did not come to its end."""

    #: stacks of the crash; empty where it was killed, or the machine stopped
    stacks: str


def broken_off() -> list[BrokenOff]:
    """Runs that did not come to their end and have not been told of yet, oldest first; each is told once."""
    found = []
    import glob

    places = glob.glob(os.path.join(glob.escape(log_folder()), "run-*.log"))
    for place in sorted(places, key=lambda p: os.stat(p).st_mtime if os.path.exists(p) else 0.0):
        lock = _lock(place)
        if not lock.tryLock(0):
            continue
        with contextlib.suppress(OSError):
            with open(place, encoding="utf-8", errors="backslashreplace") as file:
                stacks = file.read(_TOO_LONG_BYTES).strip()
            os.unlink(place)
            if stacks:
                write_down(stacks)
            found.append(BrokenOff(stacks))
        lock.unlock()
    return found


@contextlib.contextmanager
def crashes_written_down() -> Iterator[None]:
    """While it holds, a crash below Python (a fault in a library) leaves its stacks in a file of this run.

    The file is there as long as the run is, so that one that is left over tells of a run that broke off.
    """
    file: IO[str] | None = None
    lock: QLockFile | None = None
    with contextlib.suppress(OSError):
        os.makedirs(log_folder(), exist_ok=True)
        place = os.path.join(log_folder(), f"run-{os.urandom(8).hex()}.log")
        lock = _lock(place)
        lock.tryLock(0)
        file = open(place, "a", encoding="utf-8")  # noqa: SIM115
        faulthandler.enable(file)
    try:
        yield
    finally:
        if file is not None:
            faulthandler.disable()
            file.close()
            with contextlib.suppress(OSError):
                os.unlink(file.name)
        if lock is not None:
            lock.unlock()
