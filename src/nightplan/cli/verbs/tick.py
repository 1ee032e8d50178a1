# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan tick``: record an evening and say the new odds."""

from __future__ import annotations

import argparse
from typing import Any, TypeVar

from nightplan.actions.tick import Evening, Ticked, tick_with_odds
from nightplan.cli import options, values, words
from nightplan.cli.context import GOOD, Context
from nightplan.cli.names import id_of
from nightplan.cli.writing import change_file
from nightplan.model.errors import BadInput
from nightplan.model.project import LogEntry, Project, Span
from nightplan.speech import tr
from nightplan.speech.dates import decimal
from nightplan.speech.words import listed

_Said = TypeVar("_Said")

HELP = tr("Record what happened on an evening and say the new odds.")


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    parser.add_argument("date", type=options.date, metavar="DATE", help=tr("the evening, YYYY-MM-DD"))
    parser.add_argument("--hours", type=options.hours, metavar="H", help=tr("hours worked: 2.5, 2:30 or 2h30"))
    parser.add_argument(
        "--item", action="append", default=[], metavar="ID=H", help=tr("hours on one item; ID is its id or its name")
    )
    parser.add_argument(
        "--done", action="append", default=[], metavar="ID", help=tr("an item or machine job that is done")
    )
    parser.add_argument(
        "--left",
        action="append",
        default=[],
        metavar="ID=LIKELY[:HIGH]",
        help=tr("a fresh estimate of the hours left; without HIGH as unsure as the item's first estimate was"),
    )
    parser.add_argument("--missed", action="store_true", help=tr("the evening did not happen"))
    parser.add_argument("--note", default="", metavar="T", help=tr("a line for the journal"))
    parser.add_argument("--extra", action="store_true", help=tr("log a date that has no evening"))
    parser.add_argument("--replace", action="store_true", help=tr("put this in the place of an earlier tick"))


def run(given: Any, context: Context) -> int:
    if given.hours is None and not given.missed:
        raise BadInput(tr("--hours is needed, or --missed where the evening did not happen"))
    typed_work = [_pair(text, "--item") for text in given.item]
    typed_left = [_left(text) for text in given.left]

    def act(project: Project) -> tuple[Project, Ticked]:
        work = _once(project, typed_work, "--item")
        left = _once(project, typed_left, "--left")
        said = Evening(
            given.date,
            given.hours or 0.0,
            work,
            tuple(dict.fromkeys(id_of(project, name) for name in given.done)),
            {name: _span(project, name, *amounts) for name, amounts in left.items()},
            given.missed,
            given.note,
        )
        ticked = tick_with_odds(project, said, extra=given.extra, replace=given.replace)
        return ticked.project, ticked

    ticked = change_file(given.file, act, context, "tick")
    entry = ticked.project.log_by_date[given.date]
    before = {g.id: round(g.odds, 6) for g in ticked.before.gates}
    after = {g.id: round(g.odds, 6) for g in ticked.after.gates}
    if given.json:
        context.print_json(
            {
                "date": values.date(given.date),
                "as_of": values.date(ticked.after.as_of),
                "odds_before": before,
                "odds_after": after,
                "logged": entry.model_dump(mode="json"),
            }
        )
        return GOOD
    context.out.write(f"{words.day(given.date)}: {_told(ticked.project, entry)}\n")
    for gate in ticked.after.gates:
        was, now = words.in_100(before[gate.id]), words.in_100(after[gate.id])
        change = tr("{odds}, as before", odds=now) if was == now else tr("{odds} (was {was})", odds=now, was=was)
        context.out.write(f"{words.plain(gate.name)}: {change}\n")
    full = _full(ticked.project, entry)
    if full:
        context.out.write(
            tr(
                "Not said to be done, though the likely hours are spent: {items}. Where it is done, say so with --done "
                "(now with --replace, or next time).",
                items=listed([words.plain(ticked.project.items[name].name) for name in full]),
            )
            + "\n"
        )
    return GOOD


def _full(project: Project, entry: LogEntry) -> list[str]:
    """Items of the evening that took their likely hours, or what was last said to be left, and are not done."""
    left = {name: item.likely for name, item in project.items.items()}
    for one in project.log:
        for work in one.work:
            left[work.item] = left[work.item] - work.hours if work.left is None else work.left.likely
    return [
        w.item
        for w in entry.work
        if not w.done and w.left is None and project.items[w.item].state == "open" and left[w.item] <= 1e-6
    ]


def _told(project: Project, entry: LogEntry) -> str:
    """What was written down, in one line."""
    if not entry.happened:
        return tr("missed")
    names = {key: words.plain(item.name) for key, item in project.items.items()}
    parts = []
    for w in entry.work:
        part = f"{names[w.item]} {_hours(w.hours)}"
        parts.append(tr("{part}, done", part=part) if w.done else part)
    parts += [tr("{job} done", job=words.plain(project.jobs_by_id[name].name)) for name in entry.jobs_done]
    return f"{_hours(entry.hours)} ({'; '.join(parts)})" if parts else _hours(entry.hours)


def _hours(value: float) -> str:
    """To the minute and finer, as it was typed."""
    return tr("{hours} h", hours=decimal(value, 3, least=0))


def _once(project: Project, typed: list[tuple[str, _Said]], flag: str) -> dict[str, _Said]:
    """What was said, by id; the same thing twice is no answer."""
    found: dict[str, _Said] = {}
    for name, said in typed:
        key = id_of(project, name)
        if key in found:
            raise BadInput(tr("{option} names {name} twice", option=flag, name=repr(name)))
        found[key] = said
    return found


def _pair(text: str, flag: str) -> tuple[str, float]:
    name, equals, amount = text.partition("=")
    if not equals or not name:
        raise BadInput(tr("{option} {text}: write ID=HOURS, for example ref-boards=1.5", option=flag, text=repr(text)))
    try:
        return name, options.hours(amount)
    except argparse.ArgumentTypeError as error:
        raise BadInput(f"{flag} {name}: {error}") from None


def _left(text: str) -> tuple[str, tuple[float, float | None]]:
    name, equals, amounts = text.partition("=")
    if not equals or not name:
        raise BadInput(
            tr("--left {text}: write ID=LIKELY or ID=LIKELY:HIGH in hours, for example block=2:3.5", text=repr(text))
        )
    likely, colon, high = amounts.partition(":")
    try:
        median = float(likely)
        enough = float(high) if colon else None
    except ValueError:
        raise BadInput(
            tr("--left {text}: hours are written as numbers, for example block=2:3.5", text=repr(text))
        ) from None
    if not 0 <= median <= (median if enough is None else enough) < 10_000:
        raise BadInput(tr("--left {text}: 0 <= LIKELY <= HIGH < 10000 is needed", text=repr(text)))
    if median == 0 and enough:
        raise BadInput(tr("--left {text}: LIKELY must be above 0 when HIGH is", text=repr(text)))
    return name, (median, enough)


def _span(project: Project, name: str, likely: float, high: float | None) -> Span:
    """What is left; without a high end as unsure as the item's own estimate."""
    item = project.items.get(name)
    if high is None:
        high = likely if item is None or item.likely == 0 else round(likely * item.high / item.likely, 4)
    return Span(likely=likely, high=max(likely, high))
