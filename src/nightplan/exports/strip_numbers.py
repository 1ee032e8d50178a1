# SPDX-License-Identifier: GPL-3.0-or-later
"""What the evening strip shows, as plain values: columns, flags, machine jobs. No matplotlib."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from nightplan.evenings.dated import Calendar, calendar
from nightplan.evenings.gates import project_zone
from nightplan.evenings.zones import to_utc
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import COMING, Forecast, Plan

#: as in the plan; off: an evening of the pattern that days off or a busy time took away
Status = Literal["worked", "lost", "unlogged", "planned", "relied", "buffer", "late", "off"]


@dataclass(frozen=True, slots=True)
class StripColumn:
    """One evening; ``blocks`` are (stage id, hours) from the bottom up."""

    date: dt.date
    start_at: dt.datetime
    hours: float
    maybe: bool
    status: Status
    blocks: tuple[tuple[str, float], ...]
    #: the first evening still to come
    following: bool = False

    @property
    def end_at(self) -> dt.datetime:
        """Elapsed hours after the start."""
        return self.start_at + dt.timedelta(hours=self.hours)

    @property
    def week(self) -> tuple[int, int]:
        """Year and week by ISO 8601."""
        year, week, _ = self.date.isocalendar()
        return year, week


@dataclass(frozen=True, slots=True)
class StripFlag:
    """A gate on the strip."""

    id: str
    name: str
    instant: dt.datetime
    #: naive, in the artist's zone
    local: dt.datetime
    whole_evening: bool
    met: bool
    short_hours: float
    odds: float | None
    #: the day that the flag names
    date: dt.date


@dataclass(frozen=True, slots=True)
class StripJob:
    """A machine job between the evenings, as instants."""

    id: str
    name: str
    start: dt.datetime
    end: dt.datetime


@dataclass(frozen=True, slots=True)
class StripNumbers:
    """All that the strip shows, in order of time."""

    columns: tuple[StripColumn, ...]
    flags: tuple[StripFlag, ...]
    jobs: tuple[StripJob, ...]


def strip_numbers(project: Project, plan: Plan, forecast: Forecast | None = None) -> StripNumbers:
    """The strip of a plan; the odds on its flags need a forecast."""
    dates = calendar(project)
    odds = {g.id: g.odds for g in forecast.gates} if forecast else {}
    planned = {g.id: g for g in plan.gates}
    flags = []
    for g in dates.gates:
        mine = planned.get(g.id)
        met, short = (mine.met, mine.short_hours) if mine else (True, 0.0)
        date = g.date if g.whole_evening else g.local.date()
        flags.append(StripFlag(g.id, g.name, g.instant, g.local, g.whole_evening, met, short, odds.get(g.id), date))
    jobs = (
        StripJob(j.id, project.jobs_by_id[j.id].name, j.start, j.end)
        for j in plan.jobs
        if j.id in project.jobs_by_id and j.start is not None and j.end is not None
    )
    return StripNumbers(_columns(project, plan, dates), tuple(flags), tuple(sorted(jobs, key=lambda j: j.start)))


def _columns(project: Project, plan: Plan, dates: Calendar) -> tuple[StripColumn, ...]:
    zone = project_zone(project)
    rows = []
    ahead = next((e for e in plan.evenings if e.status in COMING), None)
    for e in plan.evenings:
        blocks: list[tuple[str, float]] = []
        for w in e.work:
            stage = project.stage_of[w.item].id
            # neighbours of one stage are one block
            if blocks and blocks[-1][0] == stage:
                blocks[-1] = (stage, blocks[-1][1] + w.hours)
            else:
                blocks.append((stage, w.hours))
        start_at = to_utc(dt.datetime.combine(e.date, e.start), zone)
        rows.append(
            StripColumn(e.date, start_at, e.hours, e.chance < PLANNED_CHANCE, e.status, tuple(blocks), e is ahead)
        )
    have = {r.date for r in rows}
    last = max((r.start_at for r in rows), default=None)
    for t in dates.taken:
        start_at = to_utc(dt.datetime.combine(t.date, t.start), zone)
        if t.cause in ("off", "busy") and t.date not in have and last is not None and start_at < last:
            rows.append(StripColumn(t.date, start_at, t.hours, False, "off", ()))
    return tuple(sorted(rows, key=lambda r: r.start_at))
