# SPDX-License-Identifier: GPL-3.0-or-later
"""Arguments that several verbs share, read with one clear sentence on error."""

from __future__ import annotations

import argparse
import datetime as dt
import math
import re

from nightplan.actions.today import default_as_of
from nightplan.cli.context import Context
from nightplan.model.errors import shorten
from nightplan.model.project import Project
from nightplan.speech import tr


def date(text: str) -> dt.date:
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            pass
    raise argparse.ArgumentTypeError(
        tr("{text} is no date; write YYYY-MM-DD, for example 2027-10-24", text=shorten(text))
    )


def hours(text: str) -> float:
    """2.5, 2:30 or 2h30 (also 2,5 and 2h and 45min), as hours."""
    match = re.fullmatch(r"(\d{1,2})(?::|h)([0-5]\d)m?|(\d{1,2})h|(\d{1,3})m(?:in)?", text)
    if match:
        value = round(int(match[1] or match[3] or 0) + int(match[2] or match[4] or 0) / 60, 4)
    else:
        text = re.sub(r"^(\d+),(\d+)$", r"\1.\2", text)
        try:
            value = float(text)
        except ValueError:
            value = math.nan
    if not (0 <= value <= 24):
        raise argparse.ArgumentTypeError(
            tr("{text} is no time of 0 to 24 hours; write 2.5, 2:30 or 2h30", text=shorten(text))
        )
    return value


def whole(text: str) -> int:
    if not re.fullmatch(r"\d{1,9}", text):
        raise argparse.ArgumentTypeError(tr("{text} is no whole number of 0 or more", text=shorten(text)))
    return int(text)


def add_file(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=tr("a .nightplan file"))


def add_as_of(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--as-of",
        type=date,
        metavar="DATE",
        help=tr("the day to look from; today unless given, not before the announcement or the last ticked evening"),
    )


def as_of(given: dt.date | None, project: Project, context: Context) -> dt.date:
    return default_as_of(project, context.today()) if given is None else given


def add_futures(parser: argparse.ArgumentParser) -> None:
    from nightplan.engine.forecast import FUTURES, SEED

    parser.add_argument("--futures", type=whole, default=FUTURES, metavar="N", help=tr("how many futures to draw"))
    parser.add_argument("--seed", type=whole, default=SEED, metavar="N", help=tr("the same seed, the same numbers"))
