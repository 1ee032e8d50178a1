# SPDX-License-Identifier: GPL-3.0-or-later
"""Rows that the report shows on the screen, on paper and in a note: gates, evenings, machine jobs. Plain texts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import NamedTuple

from nightplan.evenings.dated import Calendar, calendar
from nightplan.evenings.words import finished_words
from nightplan.exports import words
from nightplan.exports.report_words import JOB_KINDS
from nightplan.model.project import Project
from nightplan.model.results import Forecast, GateForecast, Plan, PlannedEvening
from nightplan.speech import tr

#: hours on an evening that are less than this are rounding, no work
LEAST_HOURS = 0.05


class GateRow(NamedTuple):
    """What is told of a gate beside its name."""

    when: str
    odds: str
    #: the evening by which it is done in nine of ten futures, or since when it is
    done_by: str
    #: hours of buffer that are there and that are needed, and the share that is used
    have: str
    need: str
    used: str


def gate_row(dates: Calendar, gate: GateForecast) -> GateRow:
    """A gate of a forecast, on the calendar of its project."""
    buffer = gate.buffer
    return GateRow(
        words.moment(dates.gate(gate.id)),
        words.in_100(gate.odds),
        finished_words(gate) or words.day(gate.finish.p90),
        words.hours(buffer.have_hours),
        words.hours(buffer.need_hours),
        "–" if buffer.used is None else words.percent(buffer.used),
    )


def work_words(project: Project, evening: PlannedEvening, name: Callable[[str], str] = words.clean) -> str:
    """The items of an evening with their hours, ``Body 1.5 h; Fins 0.5 h``.

    Args:
        name: makes the name of an item safe where it is to stand.
    """
    done = [w for w in evening.work if w.hours >= LEAST_HOURS]
    return "; ".join(f"{name(project.items[w.item].name)} {words.exact_hours(w.hours)}" for w in done)


class JobRow(NamedTuple):
    """A machine job; of one that is not open, ``start`` says why and the rest is empty."""

    name: str
    kind: str
    machine: str
    start: str
    end: str
    #: nine times in ten
    done_by: str


def job_rows(project: Project, forecast: Forecast, plan: Plan) -> list[JobRow]:
    """Every machine job in the artist's order, on the artist's own clock."""
    zone = calendar(project).zone
    planned, finish = {j.id: j for j in plan.jobs}, {j.id: j.finish for j in forecast.jobs}

    def local(instant: dt.datetime | None) -> str:
        return words.day(None) if instant is None else words.clock_day(instant.astimezone(zone))

    rows = []
    for job in project.jobs:
        head = (words.clean(job.name), JOB_KINDS[job.kind], words.clean(job.machine))
        mine, late = planned.get(job.id), finish.get(job.id)
        if mine is None:
            rows.append(JobRow(*head, tr("left out") if job.state == "cut" else tr("done"), "", ""))
        else:
            rows.append(JobRow(*head, local(mine.start), local(mine.end), words.day(late.p90) if late else ""))
    return rows
