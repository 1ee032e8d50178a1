# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan new``: a project from a template, without the window."""

from __future__ import annotations

import argparse
import datetime as dt
import os
import re
from typing import TYPE_CHECKING, Any

from nightplan.actions.templates import TEMPLATES, new_project
from nightplan.cli import options, values, words
from nightplan.cli.context import GOOD, Context
from nightplan.engine.forecast import forecast
from nightplan.evenings.dated import calendar
from nightplan.evenings.zones import zone_info
from nightplan.files.store import SUFFIX
from nightplan.files.versions import save_and_keep
from nightplan.model.errors import BadInput
from nightplan.model.project import MAYBE, PLANNED_CHANCE, SURE

if TYPE_CHECKING:
    from nightplan.evenings.wording import DeadlineReading

HELP = "Make a project from a template; its stages are sized to your evenings."

_WEEK = ("tue 20:30 2.5 sure", "thu 20:30 2.5 sure", "sat 14:00 4 maybe")


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="the .nightplan file to make")
    parser.add_argument("--title", required=True, metavar="T", help="what the piece is called")
    parser.add_argument("--piece", default="animated shot", metavar="KIND", help=f"one of: {', '.join(TEMPLATES)}")
    parser.add_argument("--zone", required=True, metavar="ZONE", help="your own time zone, for example Europe/Lisbon")
    parser.add_argument(
        "--announced", type=options.date, metavar="DATE", help="the announcement day; today unless given"
    )
    parser.add_argument("--lock", type=options.date, required=True, metavar="DATE", help="your personal lock")
    parser.add_argument(
        "--deadline", required=True, metavar="WHEN", help='as the rules say it ("Oct 31, 11:59 pm PT"), or ISO'
    )
    parser.add_argument("--deadline-zone", metavar="ZONE", help="zone of the deadline, where its words name none")
    parser.add_argument(
        "--week", action="append", metavar="SLOT", help='an evening of your week: "tue 20:30 2.5 sure"; repeat it'
    )
    parser.add_argument("--off", action="append", default=[], metavar="DATE[..DATE]", help="days without evenings")
    parser.add_argument("--bedtime", metavar="HH:MM", help="no evening is ever proposed past it")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def run(given: Any, context: Context) -> int:
    if not given.file.endswith(SUFFIX):
        raise BadInput(f"{given.file!r}: the file's name ends in {SUFFIX}")
    if os.path.exists(given.file) and not given.force:
        raise BadInput(f"{given.file} is there already; choose another name or say --force")
    announced = given.announced or context.today()
    deadline, reading = _deadline(given.deadline, given.deadline_zone, given.zone, announced)
    project = new_project(
        title=given.title,
        piece=given.piece,
        zone=given.zone,
        announced=announced,
        lock={"on": given.lock.isoformat()},
        deadline=deadline,
        week=[_slot(text) for text in given.week or _WEEK],
        off=[_off(text) for text in given.off],
        bedtime=given.bedtime,
    )
    found = forecast(project, announced)
    save_and_keep(project, given.file, context.ring(), over=None if given.force else "")
    dated = calendar(project)
    before = [e for e, _ in dated.before(dated.gate("lock"))]
    sure = sum(e.chance >= PLANNED_CHANCE for e in before)
    if given.json:
        context.print_json(
            {
                "file": given.file,
                "evenings_before_lock": len(before),
                "title": project.title,
                "piece": project.piece,
                "sure": sure,
                "maybe": len(before) - sure,
                "gates": values.odds_values(project, found)["gates"],
                "deadline": {"words": reading.words, "reading": reading.reading, "uncertain": reading.uncertain},
            }
        )
        return GOOD
    out = context.out
    out.write(words.plain(f"{given.file}: {given.title}, {given.piece}") + "\n")
    out.write(f"{len(before)} evenings before the lock: {sure} sure, {len(before) - sure} maybe\n")
    out.write(f"Hand-in: {words.plain(reading.words)}\n")
    if reading.reading:
        out.write(f"{'Uncertain: ' if reading.uncertain else ''}{words.plain(reading.reading)}\n")
    for gate in found.gates:
        out.write(
            f"{gate.name}: {words.in_100(gate.odds)}; buffer: have {words.hours(gate.buffer.have_hours)}, "
            f"need {words.hours(gate.buffer.need_hours)}\n"
        )
    if not given.week:
        out.write(f"Your week was taken to be: {'; '.join(_WEEK)}. Say --week to change it.\n")
    return GOOD


def _deadline(text: str, zone: str | None, home: str, announced: dt.date) -> tuple[dict[str, Any], DeadlineReading]:
    """Keys of the deadline gate, and how the words were read."""
    from nightplan.evenings.wording import read_deadline

    zone_info(home)
    if zone is not None:
        zone_info(zone)
    reading = read_deadline(text if zone is None else f"{text} {zone}", home_zone=home, not_before=announced)
    keys = {
        "at": reading.at.isoformat(timespec="minutes"),
        "zone": reading.zone,
        "wording": text,
        "uncertain": reading.uncertain,
    }
    return keys, reading


def _slot(text: str) -> dict[str, Any]:
    match = re.fullmatch(
        r"(\w{3})\s+(\d{1,2}:\d{2})\s+(\d+(?:\.\d+)?)(?:\s+(sure|maybe|[01](?:\.\d+)?))?", text.strip()
    )
    if not match:
        raise BadInput(f'--week {text!r}: write day, start, hours and chance, for example "tue 20:30 2.5 sure"')
    chance = {"sure": SURE, "maybe": MAYBE, None: SURE}.get(match[4])
    return {
        "day": match[1].lower(),
        "start": match[2].zfill(5),
        "hours": float(match[3]),
        "chance": float(match[4]) if chance is None else chance,
    }


def _off(text: str) -> dict[str, Any]:
    first, dots, last = text.partition("..")
    try:
        start = options.date(first)
        end = options.date(last) if dots else start
    except argparse.ArgumentTypeError as error:
        raise BadInput(f"--off {text!r}: {error}") from None
    return {"from": start.isoformat(), "to": end.isoformat()}
