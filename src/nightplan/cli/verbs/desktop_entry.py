# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan desktop-entry``: the program in the desktop's menu, with its icon and file type."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from nightplan.cli.context import GOOD, Context
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn

HELP = tr("Print the menu entry, or lay it with icons, file type, manual page and completion where the desktop looks.")


def arguments(parser: argparse.ArgumentParser) -> None:
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--install", action="store_true", help=tr("write the files"))
    what.add_argument("--remove", action="store_true", help=tr("take them away again"))
    parser.add_argument("--to", metavar="FOLDER", help=tr("the folder; $XDG_DATA_HOME or ~/.local/share unless given"))


def run(given: Any, context: Context) -> int:
    from nightplan.cli import desktop_entry

    if sys.platform in ("win32", "darwin") and given.to is None:
        raise BadInput(
            tr("menu entries of this kind are for Linux and the like; with --to FOLDER they are written anyway")
        )
    folder = Path(given.to) if given.to is not None else desktop_entry.share_folder()
    if given.install or given.remove:
        program = desktop_entry.this_program()
        paths = desktop_entry.remove(folder) if given.remove else desktop_entry.install(folder, program)
        if given.json:
            done = "removed" if given.remove else "written"
            context.print_json({"folder": str(folder), done: [str(p) for p in paths]})
        else:
            n = len(paths)
            if given.remove:
                said = trn("{n} file taken away from {folder}", "{n} files taken away from {folder}", n, folder=folder)
            else:
                said = trn("{n} file written below {folder}", "{n} files written below {folder}", n, folder=folder)
            context.out.write(f"{said}\n")
        return GOOD
    text = desktop_entry.entry_text(desktop_entry.this_program())
    if given.json:
        context.print_json({"folder": str(folder), "entry": text})
    else:
        context.out.write(text)
    return GOOD
