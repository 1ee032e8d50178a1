# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan and the odds for people, on a terminal of any width from 60 columns."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING

from nightplan.actions.today import missed_evenings
from nightplan.cli import words
from nightplan.evenings.gates import gate_moment
from nightplan.evenings.words import finished_words
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan, PlannedEvening
from nightplan.speech import mark, tr, trc, trn
from nightplan.speech.dates import decimal
from nightplan.speech.words import in_100_against, minutes, percent

if TYPE_CHECKING:
    from rich.console import Console

_STATUS = {
    "worked": tr("worked"),
    "lost": tr("lost"),
    "unlogged": tr("not ticked off"),
    "planned": "",
    "relied": tr("leaned on"),
    "buffer": tr("buffer"),
    "late": tr("after the gate"),
}
#: what hands do for a machine job
_HANDS = {"start": mark("start {job}, {time}"), "check": mark("look over {job}, {time}")}


def tell_plan(console: Console, project: Project, planned: Plan) -> None:
    """The evenings one by one, then the machine jobs and the gates."""
    from rich.table import Table

    from nightplan.cli.words import marked

    as_of = tr("as of {day}", day=words.day(planned.as_of, year=True))
    console.print(f"[bold]{marked(project.title)}[/] · {marked(project.piece)} · {as_of}")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    # translators: above a column of times at which evenings begin
    table.add_column(tr("evening"), no_wrap=True)
    table.add_column(trc("above a column of times", "from"), no_wrap=True)
    table.add_column(tr("hours"), justify="right", no_wrap=True)
    table.add_column(tr("chance"), no_wrap=True)
    table.add_column(tr("work"))
    table.add_column("", no_wrap=True)
    flags = sorted((gate_moment(project, g) for g in project.gates), key=lambda g: g.instant)
    for row in planned.evenings:
        while flags and row.date > flags[0].date:
            _flag(table, flags.pop(0).name)
        # work of less than three minutes is rounding, not a plan
        names = [
            f"{marked(project.items[w.item].name)} {decimal(w.hours, 2, least=1)}" for w in row.work if w.hours >= 0.05
        ]
        names += [
            tr(_HANDS[h.kind], job=marked(project.jobs_by_id[h.job].name), time=minutes(h.hours)) for h in row.hands
        ]
        table.add_row(
            words.day(row.date),
            row.start.isoformat(timespec="minutes"),
            decimal(row.hours, 1),
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
            console.print(tr("{job}: the plan never gets there", job=name))
        else:
            console.print(
                tr(
                    "{job}: the machine works from {start} to {end}",
                    job=name,
                    start=words.moment(project, job.start),
                    end=words.moment(project, job.end),
                )
            )
    for gate in planned.gates:
        name = marked(project.gates_by_id[gate.id].name)
        if gate.met:
            if gate.finish:
                console.print(tr("{gate}: the plan meets it, done on {day}", gate=name, day=words.day(gate.finish)))
            else:
                console.print(tr("{gate}: the plan meets it", gate=name))
        elif gate.short_hours > 0.05:
            text = tr(
                "{gate}: the plan misses it by {hours} of evening time, done on {day}",
                gate=name,
                hours=words.hours(gate.short_hours),
                day=words.day(gate.finish),
            )
            console.print(f"[bold]{text}[/]")
        else:
            text = tr("{gate}: the plan misses it, done on {day}", gate=name, day=words.day(gate.finish))
            console.print(f"[bold]{text}[/]")
    _not_ticked(console, [row.date for row in planned.evenings if row.status == "unlogged"])
    if planned.relied_on:
        console.print(tr("It leans on the maybe evenings of {days}.", days=_days(planned.relied_on)))


def _not_ticked(console: Console, dates: list[dt.date]) -> None:
    if not dates:
        return
    named = _days(dates[:4])
    if len(dates) > 4:
        named = trn("{days} and {n} more", "{days} and {n} more", len(dates) - 4, days=named)
    console.print(
        tr(
            "Not ticked off, so counted as not happened: {days}. Say what happened with nightplan tick "
            "FILE {date} --hours H, or --missed.",
            days=named,
            date=dates[0],
        )
    )


def _days(dates: Iterable[dt.date]) -> str:
    return trc("between the parts of a list", ", ").join(words.day(d) for d in dates)


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
        if gate.uncertain:
            yours = tr("{moment} your time; the wording is uncertain, this is the earliest reading", moment=when)
        else:
            yours = tr("{moment} your time", moment=when)
        odds = in_100_against(gate.odds, project.target_odds)
        console.print(f"[bold]{marked(gate.name)}[/] ({yours}): [bold]{odds}[/]")
        f = gate.finish
        done = finished_words(gate) or tr(
            "half of the futures are done by {half}, 9 in 10 by {most}", half=words.day(f.p50), most=words.day(f.p90)
        )
        console.print(f"  {done}")
        if finished_words(gate):
            # what is handed in needs no buffer
            continue
        have, need = words.hours(gate.buffer.have_hours), words.hours(gate.buffer.need_hours)
        if gate.buffer.used is None:
            buffer = tr("buffer: have {have}, need {need} for 80 in 100", have=have, need=need)
        else:
            buffer = tr(
                "buffer: have {have}, need {need} for 80 in 100, {share} used",
                have=have,
                need=need,
                share=percent(gate.buffer.used),
            )
        console.print(f"  {buffer}")
    if found.items:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column(tr("still to do"))
        # translators: above dates: half of the futures are done by this day, 9 in 10 of them by that one
        table.add_column(tr("half by"), no_wrap=True)
        table.add_column(tr("9 in 10 by"), no_wrap=True)
        for row in found.items:
            table.add_row(marked(project.items[row.id].name), words.day(row.finish.p50), words.day(row.finish.p90))
        for row in found.jobs:
            name = marked(project.jobs_by_id[row.id].name)
            table.add_row(tr("{job} (machine)", job=name), words.day(row.finish.p50), words.day(row.finish.p90))
        console.print(table)
    if found.drivers:
        named = [f"{marked(_driver(project, d.id))} {percent(d.share)}" for d in found.drivers[:4]]
        console.print(tr("It hangs on: {things}", things=trc("between the parts of a list", ", ").join(named)))
    if found.items and found.learned.finished and abs(found.learned.mean) > 0.1:
        if found.learned.mean > 0:
            console.print(tr("Finished work took longer than you thought; the rest is expected to do so, too."))
        else:
            console.print(tr("Finished work took shorter than you thought; the rest is expected to do so, too."))
    _not_ticked(console, list(missed_evenings(project, found.as_of)))
    console.print(
        tr(
            "From {futures} futures as of {day}. Estimates are no promises, and the organiser's rules decide.",
            futures=found.futures,
            day=words.day(found.as_of, year=True),
        )
    )


def _driver(project: Project, name: str) -> str:
    if name in project.items:
        return project.items[name].name
    if name in project.jobs_by_id:
        return project.jobs_by_id[name].name
    return tr("the evening of {day}", day=words.day(dt.date.fromisoformat(name)))
