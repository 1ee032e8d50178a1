# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan export``: write something of the project to a file."""

from __future__ import annotations

import argparse
import datetime as dt
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from nightplan.actions.leaving import DEFAULT_FUTURES, DEFAULT_MINUTES, LOOKS, PARTS, Wanted, leave, part_for
from nightplan.cli import options, words
from nightplan.cli.context import GOOD, Context
from nightplan.cli.writing import WAIT_SECONDS
from nightplan.files.lock import locked
from nightplan.files.store import load_known
from nightplan.files.versions import save_and_keep
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr

HELP = tr("Write the plan to a file; its ending says as what: .ics .csv .png .svg .pdf .html .md .txt.")


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    parser.add_argument("--to", required=True, metavar="PATH", help=tr("the file to write"))
    parts = "; ".join(f"{ending}: {', '.join(names)}" for ending, names in PARTS.items() if len(names) > 1)
    parser.add_argument("--what", metavar="PART", help=tr("which part, the first unless given ({parts})", parts=parts))
    options.add_as_of(parser)
    parser.add_argument("--paper", default="a4", metavar="SIZE", help=tr("a4 or letter, for .pdf"))
    parser.add_argument(
        "--look", default="light", metavar="LOOK", help=tr("of a picture: {looks}", looks=", ".join(LOOKS))
    )
    parser.add_argument(
        "--minutes", type=_minutes, default=DEFAULT_MINUTES, metavar="N", help=tr("length of the making-of film")
    )
    parser.add_argument(
        "--futures", type=options.whole, default=DEFAULT_FUTURES, metavar="N", help=tr("futures to draw")
    )
    parser.add_argument(
        "--seed", type=options.whole, default=1, metavar="N", help=tr("the same seed, the same numbers")
    )


def _minutes(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 < value <= 600:
        raise argparse.ArgumentTypeError(tr("{text} is no length of up to 600 minutes", text=repr(text[:40])))
    return value


def run(given: Any, context: Context) -> int:
    path = Path(given.to)
    if part_for(path, given.what) == "calendar":
        # the project remembers what the calendar was told
        guard: Any = locked(
            given.file, timeout_seconds=WAIT_SECONDS, program="nightplan export"
        )  # untranslated: what is typed
    else:
        guard = nullcontext()
    with guard:
        project, known = load_known(given.file)
        wanted = Wanted(
            options.as_of(given.as_of, project, context),
            # entries that did not change keep the stamp that they had
            dt.datetime.combine(context.today(), dt.datetime.now().time()).astimezone(dt.timezone.utc),  # noqa: UP017
            given.what,
            given.paper.lower(),
            given.look,
            given.futures,
            given.seed,
            given.minutes,
        )
        if wanted.paper not in ("a4", "letter"):
            raise BadInput.at("--paper", given.paper, tr("a4 or letter is accepted"))

        def remember(told: Project) -> None:
            save_and_keep(told, given.file, context.ring(), over=known)

        left = leave(project, path, wanted, folder=Path(given.file).parent, remember=remember)
    if given.json:
        context.print_json({"to": str(left.path), "what": left.what, "bytes": left.size, "as_of": str(wanted.as_of)})
    else:
        context.out.write(f"{words.plain(str(left.path))}: {left.what}, {max(1, round(left.size / 1000))} kB\n")
    return GOOD
