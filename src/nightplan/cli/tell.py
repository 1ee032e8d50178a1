# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan and the odds for people, on a terminal of any width from 60 columns."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from nightplan.actions.today import missed_evenings
from nightplan.cli import words
from nightplan.evenings.gates import gate_moment
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan, PlannedEvening

if TYPE_CHECKING:
    from rich.console import Console

_STATUS = {
    "worked": "worked",
    "lost": "lost",
    "unlogged": "not ticked off",
    "planned": "",
    "relied": "leaned on",
    "buffer": "buffer",
    "late": "after the gate",
}


def tell_plan(console: Console, project: Project, planned: Plan) -> None:
    """The evenings one by one, then the machine jobs and the gates."""
    from rich.table import Table

    from nightplan.cli.words import marked

    console.print(f"[bold]{marked(project.title)}[/] · {marked(project.piece)} · as of {_full(planned.as_of)}")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("evening", "from", "hours", "chance", "work", ""):
        table.add_column(heading, justify="right" if heading == "hours" else "left", no_wrap=heading != "work")
    flags = sorted((gate_moment(project, g) for g in project.gates), key=lambda g: g.instant)
    for row in planned.evenings:
        while flags and row.date > flags[0].date:
            _flag(table, flags.pop(0).name)
        # work of less than three minutes is rounding, not a plan
        names = [f"{marked(project.items[w.item].name)} {w.hours:.1f}" for w in row.work if w.hours >= 0.05]
        doing = {"start": "start", "check": "look over"}
        names += [
            f"{doing[h.kind]} {marked(project.jobs_by_id[h.job].name)}, {round(h.hours * 60)} min" for h in row.hands
        ]
        table.add_row(
            words.day(row.date),
            row.start.isoformat(timespec="minutes"),
            f"{row.hours:.1f}",
            "" if row.status in ("worked", "lost") else words.chance(row.chance),
            "\n".join(names) if names else marked(_empty(row)),
            _STATUS[row.status],
            style="dim" if row.status in ("worked", "lost") else None,
        )
    for flag in flags:
        _flag(table, flag.name)
    console.print(table)
    for job in planned.jobs:
        name = marked(project.jobs_by_id[job.id].name)
        if job.start is None or job.end is None:
            console.print(f"{name}: the plan never gets there")
        else:
            console.print(
                f"{name}: the machine works from {_moment(project, job.start)} to {_moment(project, job.end)}"
            )
    for gate in planned.gates:
        name = marked(project.gates_by_id[gate.id].name)
        if gate.met:
            console.print(f"{name}: the plan meets it" + (f", done on {words.day(gate.finish)}" if gate.finish else ""))
        else:
            by = f" by {words.hours(gate.short_hours)} of evening time" if gate.short_hours > 0.05 else ""
            console.print(f"[bold]{name}: the plan misses it{by}, done on {words.day(gate.finish)}[/]")
    _not_ticked(console, [row.date for row in planned.evenings if row.status == "unlogged"])
    if planned.relied_on:
        console.print("It leans on the maybe evenings of " + ", ".join(words.day(d) for d in planned.relied_on) + ".")


def _not_ticked(console: Console, dates: list[dt.date]) -> None:
    if not dates:
        return
    named = ", ".join(words.day(d) for d in dates[:4]) + (f" and {len(dates) - 4} more" if len(dates) > 4 else "")
    console.print(
        f"Not ticked off, so counted as not happened: {named}. Say what happened with nightplan tick "
        f"FILE {dates[0]} --hours H, or --missed."
    )


def _flag(table: object, name: str) -> None:
    from rich.table import Table

    from nightplan.cli.words import marked

    assert isinstance(table, Table)
    table.add_row(f"[bold]── {marked(name)}[/]")


def _empty(row: PlannedEvening) -> str:
    return row.why if row.status == "lost" else ""


def tell_odds(console: Console, project: Project, found: Forecast) -> None:
    """Odds, finish dates and buffer of each gate, the items, and what it hangs on."""
    from rich.table import Table

    from nightplan.cli.words import marked

    for gate in found.gates:
        local = gate_moment(project, project.gates_by_id[gate.id])
        when = words.day(local.date) if local.whole_evening else f"{words.day(local.local.date())} {local.local:%H:%M}"
        doubt = "; the wording is uncertain, this is the earliest reading" if gate.uncertain else ""
        console.print(f"[bold]{marked(gate.name)}[/] ({when} your time{doubt}): [bold]{words.in_100(gate.odds)}[/]")
        f = gate.finish
        console.print(f"  half of the futures are done by {words.day(f.p50)}, 9 in 10 by {words.day(f.p90)}")
        used = "" if gate.buffer.used is None else f", {gate.buffer.used * 100:.0f} % used"
        console.print(
            f"  buffer: have {words.hours(gate.buffer.have_hours)}, "
            f"need {words.hours(gate.buffer.need_hours)} for 80 in 100{used}"
        )
    if found.items:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        for heading in ("still to do", "half by", "9 in 10 by"):
            table.add_column(heading, no_wrap=heading != "still to do")
        for row in found.items:
            table.add_row(marked(project.items[row.id].name), words.day(row.finish.p50), words.day(row.finish.p90))
        for row in found.jobs:
            name = marked(project.jobs_by_id[row.id].name)
            table.add_row(f"{name} (machine)", words.day(row.finish.p50), words.day(row.finish.p90))
        console.print(table)
    if found.drivers:
        named = [f"{marked(_driver(project, d.id))} {d.share * 100:.0f} %" for d in found.drivers[:4]]
        console.print("It hangs on: " + ", ".join(named))
    if found.learned.finished and abs(found.learned.mean) > 0.1:
        slow = "longer" if found.learned.mean > 0 else "shorter"
        console.print(f"Finished work took {slow} than you thought; the rest is expected to do so, too.")
    _not_ticked(console, list(missed_evenings(project, found.as_of)))
    console.print(
        f"From {found.futures} futures as of {_full(found.as_of)}. Estimates are no promises, "
        "and the organiser's rules decide."
    )


def _driver(project: Project, name: str) -> str:
    if name in project.items:
        return project.items[name].name
    if name in project.jobs_by_id:
        return project.jobs_by_id[name].name
    return f"the evening of {words.day(dt.date.fromisoformat(name))}"


def _full(date: dt.date) -> str:
    return f"{words.day(date)} {date.year}"


def _moment(project: Project, instant: dt.datetime) -> str:
    from nightplan.evenings.zones import to_local, zone_info

    local = to_local(instant, zone_info(project.zone))
    return f"{words.day(local.date())} {local:%H:%M}"
