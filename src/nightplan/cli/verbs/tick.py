# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan tick``: record an evening and say the new odds."""

from __future__ import annotations

import argparse
from typing import Any

from nightplan.actions.tick import Evening, tick_with_odds
from nightplan.cli import options, values, words
from nightplan.cli.context import GOOD, Context
from nightplan.files.lock import locked
from nightplan.files.store import load, save
from nightplan.model.errors import BadInput
from nightplan.model.project import Span

HELP = "Record what happened on an evening and say the new odds."


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    parser.add_argument("date", type=options.date, metavar="DATE", help="the evening, YYYY-MM-DD")
    parser.add_argument("--hours", type=options.hours, metavar="H", help="hours worked: 2.5, 2:30 or 2h30")
    parser.add_argument("--item", action="append", default=[], metavar="ID=H", help="hours on one item")
    parser.add_argument("--done", action="append", default=[], metavar="ID", help="an item or machine job that is done")
    parser.add_argument(
        "--left", action="append", default=[], metavar="ID=LIKELY[:HIGH]", help="a fresh estimate of what is left"
    )
    parser.add_argument("--missed", action="store_true", help="the evening did not happen")
    parser.add_argument("--note", default="", metavar="T", help="a line for the journal")
    parser.add_argument("--extra", action="store_true", help="log a date that has no evening")
    parser.add_argument("--replace", action="store_true", help="put this in the place of an earlier tick")


def run(given: Any, context: Context) -> int:
    if given.hours is None and not given.missed:
        raise BadInput("--hours is needed, or --missed where the evening did not happen")
    said = Evening(
        given.date,
        given.hours or 0.0,
        dict(_pair(text, "--item") for text in _once(given.item, "--item")),
        tuple(dict.fromkeys(given.done)),
        dict(_left(text) for text in _once(given.left, "--left")),
        given.missed,
        given.note,
    )
    with locked(given.file):
        ticked = tick_with_odds(load(given.file), said, extra=given.extra, replace=given.replace)
        save(ticked.project, given.file)
    before = {g.id: round(g.odds, 6) for g in ticked.before.gates}
    after = {g.id: round(g.odds, 6) for g in ticked.after.gates}
    if given.json:
        entry = ticked.project.log_by_date[given.date]
        context.print_json(
            {
                "date": values.date(given.date),
                "odds_before": before,
                "odds_after": after,
                "logged": entry.model_dump(mode="json"),
            }
        )
        return GOOD
    for gate in ticked.after.gates:
        context.out.write(f"{gate.name}: {words.in_100(before[gate.id])} -> {words.in_100(after[gate.id])}\n")
    return GOOD


def _once(texts: list[str], flag: str) -> list[str]:
    names = [text.partition("=")[0] for text in texts]
    for name in names:
        if names.count(name) > 1:
            raise BadInput(f"{flag} names {name!r} twice")
    return texts


def _pair(text: str, flag: str) -> tuple[str, float]:
    name, equals, amount = text.partition("=")
    if not equals or not name:
        raise BadInput(f"{flag} {text!r}: write ID=HOURS, for example ref-boards=1.5")
    try:
        return name, options.hours(amount)
    except argparse.ArgumentTypeError as error:
        raise BadInput(f"{flag} {name}: {error}") from None


def _left(text: str) -> tuple[str, Span]:
    name, equals, amounts = text.partition("=")
    if not equals or not name:
        raise BadInput(f"--left {text!r}: write ID=LIKELY or ID=LIKELY:HIGH in hours, for example block=2:3.5")
    likely, _, high = amounts.partition(":")
    try:
        low_end = float(likely)
        high_end = float(high) if high else low_end
    except ValueError:
        raise BadInput(f"--left {text!r}: hours are written as numbers, for example block=2:3.5") from None
    if not 0 <= low_end <= high_end < 10_000:
        raise BadInput(f"--left {text!r}: 0 <= LIKELY <= HIGH is needed")
    if low_end == 0 and high_end > 0:
        raise BadInput(f"--left {text!r}: LIKELY must be above 0 when HIGH is")
    return name, Span(likely=low_end, high=high_end)
