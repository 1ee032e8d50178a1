# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan completion``: what a shell needs to complete our verbs, options and files."""

from __future__ import annotations

import argparse
from typing import Any

from nightplan.cli.context import GOOD, Context
from nightplan.model.errors import BadInput, shorten
from nightplan.speech import tr

HELP = tr("Print the completion for a shell.")
SHELLS = ("bash", "zsh", "fish")


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("shell", metavar="SHELL", help=tr("one of: {shells}", shells=", ".join(SHELLS)))


def run(given: Any, context: Context) -> int:
    if given.shell not in SHELLS:
        raise BadInput(
            tr("{text} is no shell that we know; one of: {shells}", text=shorten(given.shell), shells=", ".join(SHELLS))
        )
    # after the arguments: every verb is loaded for it
    from nightplan.cli.completion_shells import script

    text = script(given.shell)
    if given.json:
        context.print_json({"shell": given.shell, "script": text})
    else:
        context.out.write(text)
    return GOOD
