# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a fault of ours is written down, and whether there is a screen at all."""

from __future__ import annotations

import contextlib
import faulthandler
import os
import sys
from collections.abc import Iterator
from typing import IO

from nightplan.model.errors import BadInput

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
    use = "nightplan plan FILE and its other verbs need none"
    if not display and not wayland:
        raise NoScreen(f"no screen is there to open a window on; {use}")
    if not wayland and not _answers(display):
        raise NoScreen(f"the screen DISPLAY={display} does not answer; {use}")


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


@contextlib.contextmanager
def crashes_written_down() -> Iterator[None]:
    """While it holds, a crash below Python (a fault in a library) leaves its stacks in the log."""
    file: IO[str] | None = None
    with contextlib.suppress(OSError):
        os.makedirs(log_folder(), exist_ok=True)
        file = open(os.path.join(log_folder(), "crash.log"), "a", encoding="utf-8")  # noqa: SIM115
        faulthandler.enable(file)
    try:
        yield
    finally:
        if file is not None:
            faulthandler.disable()
            file.close()
            with contextlib.suppress(OSError):
                if os.path.getsize(file.name) == 0:
                    os.unlink(file.name)
