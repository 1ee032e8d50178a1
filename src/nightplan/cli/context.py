# SPDX-License-Identifier: GPL-3.0-or-later
"""What a verb may know of the world: where to write, what day it is."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import Console

    from nightplan.files.versions import Ring

#: exit codes of the contract
GOOD, ANSWER_IS_NO, BAD_INPUT, OUR_FAULT = 0, 1, 2, 3


#: control characters beyond those that JSON escapes itself, marks that turn the writing round, line ends of Unicode
_STEERING = re.compile("[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")


def _escaped(match: re.Match[str]) -> str:
    return f"\\u{ord(match[0]):04x}"


def _now() -> dt.datetime:
    return dt.datetime.now().astimezone()


def _nowhere() -> Path | None:
    return None


@dataclass(frozen=True)
class Context:
    """Streams, clock and surroundings of one call."""

    out: TextIO
    today: Callable[[], dt.date]
    has_screen: bool = False
    #: aware
    now: Callable[[], dt.datetime] = _now
    #: where earlier versions of files are kept; None keeps none
    versions: Callable[[], Path | None] = _nowhere

    def ring(self) -> Ring | None:
        """What a save adds to."""
        from nightplan.files.versions import Ring

        folder = self.versions()
        return None if folder is None else Ring(folder, self.now())

    def print_json(self, value: Any) -> None:
        text = json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False)
        # the same values, but nothing in them steers the terminal that shows them
        self.out.write(_STEERING.sub(_escaped, text) + "\n")

    def console(self) -> Console:
        """A terminal for people: as wide as it is, plain where it is no terminal."""
        from rich.console import Console

        class Terminal(Console):
            def on_broken_pipe(self) -> None:
                # rich would end the process with the code that means "the answer is no"
                raise BrokenPipeError

        terminal = self.out.isatty()
        width = None if terminal else 80
        return Terminal(
            file=self.out,
            width=width,
            highlight=False,
            markup=True,
            emoji=False,
            no_color=None if terminal else True,
            force_terminal=terminal,
        )


def screen_is_there() -> bool:
    """Whether a window could be shown."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
