# SPDX-License-Identifier: GPL-3.0-or-later
"""The installed command: settles the language before anything that could be said is loaded."""

from __future__ import annotations

import os
import sys
from typing import NoReturn

from nightplan.speech import LANGUAGES, use
from nightplan.speech.choice import kept, wanted


def settle(argv: list[str]) -> list[str]:
    """Speak the language of ``--language CODE``, of the environment, of the artist's choice or of the system.

    Args:
        argv: arguments without the program's name.

    Returns:
        The arguments without ``--language``; one of a language that we do not have is left for the parser.
    """
    rest = list(argv)
    asked = None
    if rest and rest[0] == "--language" and len(rest) > 1 and rest[1] in LANGUAGES:
        asked, rest = rest[1], rest[2:]
    elif rest and rest[0].startswith("--language=") and rest[0].partition("=")[2] in LANGUAGES:
        asked, rest = rest[0].partition("=")[2], rest[1:]
    use(asked or wanted(os.environ, kept()))
    return rest


def run() -> NoReturn:
    """Entry point of the installed command."""
    if getattr(sys, "frozen", False):
        # worker processes of a frozen build start with this very program
        from multiprocessing import freeze_support

        freeze_support()
    sys.argv[1:] = settle(sys.argv[1:])
    from nightplan.cli import main

    main.run()
