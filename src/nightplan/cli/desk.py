# SPDX-License-Identifier: GPL-3.0-or-later
"""The only step from the command line to the window."""

from __future__ import annotations

import gc
import importlib
import os

from nightplan.cli.context import Context
from nightplan.model.errors import BadInput
from nightplan.speech import tr


def open_desk(path: str | None, context: Context, *, throw_away: bool = False) -> int:
    """Open the program, with a file or without. Raises BadInput where no window can be shown."""
    offscreen = os.environ.get("QT_QPA_PLATFORM", "").split(":")[0] in ("offscreen", "minimal", "vnc")
    if not context.has_screen and not offscreen:
        raise BadInput(tr("no screen is there to open a window on; nightplan plan FILE and its other verbs need none"))
    # until the first paint nothing is garbage; from then on the desk looks for it itself
    gc.disable()
    try:
        # by name: the two rooms do not know each other, and no other verb may load Qt
        app = importlib.import_module("nightplan.desk.app")
    except ImportError as error:
        gc.enable()
        raise BadInput(
            tr("the window cannot be opened, Qt is missing or lacks a system library ({fault})", fault=error)
        ) from None
    try:
        code: int = app.main(path, throw_away=throw_away)
    except app.NoScreen as error:
        gc.enable()
        raise BadInput(tr("the window cannot be opened: {fault}", fault=error)) from None
    return code
