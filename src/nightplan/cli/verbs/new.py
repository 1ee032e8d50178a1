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
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.evenings.wording import DeadlineReading

HELP = tr("Make a project from a template; its stages are sized to your evenings.")

_WEEK = ("tue 20:30 2.5 sure", "thu 20:30 2.5 sure", "sat 14:00 4 maybe")


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help=tr("the .nightplan file to make"))
    parser.add_argument("--title", required=True, metavar="T", help=tr("what the piece is called"))
    parser.add_argument(
        "--piece", default=next(iter(TEMPLATES)), metavar="KIND", help=tr("one of: {kinds}", kinds=", ".join(TEMPLATES))
    )
    parser.add_argument(
        "--zone", required=True, metavar="ZONE", help=tr("your own time zone, for example Europe/Lisbon")
    )
    parser.add_argument(
        "--announced", type=options.date, metavar="DATE", help=tr("the announcement day; today unless given")
    )
    parser.add_argument("--lock", type=options.date, required=True, metavar="DATE", help=tr("your personal lock"))
    parser.add_argument(
        "--deadline", required=True, metavar="WHEN", help=tr('as the rules say it ("Oct 31, 11:59 pm PT"), or ISO')
    )
    parser.add_argument("--deadline-zone", metavar="ZONE", help=tr("zone of the deadline, where its words name none"))
    parser.add_argument(
        "--week", action="append", metavar="SLOT", help=tr('an evening of your week: "tue 20:30 2.5 sure"; repeat it')
    )
    parser.add_argument("--off", action="append", default=[], metavar="DATE[..DATE]", help=tr("days without evenings"))
    parser.add_argument("--bedtime", metavar="HH:MM", help=tr("no evening is ever proposed past it"))
    parser.add_argument("--force", action="store_true", help=tr("write over a file that is there"))


def run(given: Any, context: Context) -> int:
    if not given.file.endswith(SUFFIX):
        raise BadInput(tr("{file}: the file's name ends in {ending}", file=repr(given.file), ending=SUFFIX))
    if os.path.exists(given.file) and not given.force:
        raise BadInput(tr("{file} is there already; choose another name or say --force", file=given.file))
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
    lines = [
        trn(
            "{n} evening before the lock: {sure} sure, {maybe} maybe",
            "{n} evenings before the lock: {sure} sure, {maybe} maybe",
            len(before),
            sure=sure,
            maybe=len(before) - sure,
        ),
        tr("Hand-in: {moment}", moment=words.plain(reading.words)),
    ]
    if reading.reading:
        read = words.plain(reading.reading)
        lines.append(tr("Uncertain: {reading}", reading=read) if reading.uncertain else read)
    lines += [
        tr(
            "{gate}: {odds}; buffer: have {have}, need {need}",
            gate=gate.name,
            odds=words.in_100(gate.odds),
            have=words.hours(gate.buffer.have_hours),
            need=words.hours(gate.buffer.need_hours),
        )
        for gate in found.gates
    ]
    if not given.week:
        lines.append(tr("Your week was taken to be: {week}. Say --week to change it.", week="; ".join(_WEEK)))
    out.writelines(f"{line}\n" for line in lines)
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
        raise BadInput(
            tr('--week {text}: write day, start, hours and chance, for example "tue 20:30 2.5 sure"', text=repr(text))
        )
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
