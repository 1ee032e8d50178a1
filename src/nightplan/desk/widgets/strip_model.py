# SPDX-License-Identifier: GPL-3.0-or-later
"""What the evening strip shows, as plain values: columns, flags and machine jobs. No Qt here."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import Literal

from nightplan.evenings.dated import Calendar, calendar
from nightplan.evenings.gates import project_zone
from nightplan.evenings.zones import to_local, to_utc
from nightplan.model.errors import BadInput
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import COMING, Forecast, Plan, PlannedEvening

#: as in the plan; off and busy are evenings that the pattern promised and something took away
Status = Literal["worked", "lost", "unlogged", "planned", "relied", "buffer", "late", "off", "busy"]


@dataclass(frozen=True, slots=True)
class Block:
    """Hours of one item within one evening."""

    item: str
    name: str
    stage: str
    stage_name: str
    hours: float
    #: the name of the gate that this work comes too late for; empty where it is in time
    late_for: str = ""
    #: it happened, the log says so
    logged: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """One evening."""

    date: dt.date
    start: dt.time
    hours: float
    chance: float
    status: Status
    blocks: tuple[Block, ...]
    #: aware, in UTC
    start_at: dt.datetime
    why: str = ""
    tonight: bool = False
    logged: bool = False

    @property
    def maybe(self) -> bool:
        return self.chance < PLANNED_CHANCE

    @property
    def end_at(self) -> dt.datetime:
        return self.start_at + dt.timedelta(hours=self.hours)

    @property
    def free_hours(self) -> float:
        """Hours that no item fills."""
        return max(0.0, self.hours - sum(b.hours for b in self.blocks))

    @property
    def week(self) -> dt.date:
        """Monday of its week."""
        return self.date - dt.timedelta(days=self.date.weekday())


@dataclass(frozen=True, slots=True)
class Flag:
    """One gate."""

    id: str
    name: str
    instant: dt.datetime
    #: naive, in the project's zone
    local: dt.datetime
    #: the last evening that still counts
    date: dt.date
    whole_evening: bool
    uncertain: bool
    met: bool
    short_hours: float
    odds: float | None
    reading: str


@dataclass(frozen=True, slots=True)
class JobBar:
    """One machine job on its lane."""

    id: str
    name: str
    kind: str
    lane: int
    machine: str
    start: dt.datetime
    end: dt.datetime
    #: naive, in the project's zone
    start_local: dt.datetime
    end_local: dt.datetime
    #: share of futures in which it is done by its gate; None before the first odds
    odds: float | None = None
    gate: str = ""
    #: dates of the evenings that pass while what waits for it cannot go on
    blocks: tuple[dt.date, ...] = ()
    #: the odds are below the asked ones
    at_risk: bool = False

    @property
    def hours(self) -> float:
        return (self.end - self.start).total_seconds() / 3600.0


@dataclass(frozen=True, slots=True)
class StripData:
    """Everything on the strip, in order of time."""

    columns: tuple[Column, ...] = ()
    flags: tuple[Flag, ...] = ()
    jobs: tuple[JobBar, ...] = ()
    machines: tuple[str, ...] = ()

    @property
    def tonight(self) -> int | None:
        """Index of tonight's column."""
        return next((n for n, c in enumerate(self.columns) if c.tonight), None)

    @property
    def nearest(self) -> int:
        """Index of tonight's column, else of the next evening to come, else of the last one; −1 without evenings."""
        to_come = (n for n, c in enumerate(self.columns) if c.status in COMING)
        return next((n for n in (self.tonight, *to_come) if n is not None), len(self.columns) - 1)

    def find(self, date: dt.date, start: dt.time | None = None) -> int | None:
        """Index of the column of a date (and start)."""
        on_date = [n for n, c in enumerate(self.columns) if c.date == date]
        exact = [n for n in on_date if self.columns[n].start == start]
        return next(iter(exact or on_date), None)


def strip_data(project: Project, plan: Plan, forecast: Forecast | None = None) -> StripData:
    """The strip of a plan.

    Raises:
        BadInput: the calendar of the project cannot be made.
    """
    dates = calendar(project)
    columns = _columns(project, plan, dates)
    lanes = {name: n for n, name in enumerate(dict.fromkeys(j.machine for j in project.jobs))}
    jobs = _jobs(project, plan, dates, lanes, forecast)
    used = sorted({j.lane for j in jobs})
    jobs = tuple(replace(j, lane=used.index(j.lane)) for j in jobs)
    names = tuple(name for name, n in lanes.items() if n in used)
    return StripData(columns, _flags(plan, dates, forecast), jobs, names)


def empty_or_data(project: Project, plan: Plan | None, forecast: Forecast | None) -> StripData:
    """Like :func:`strip_data`, nothing where there is no plan yet or no calendar."""
    if plan is None:
        return StripData()
    try:
        return strip_data(project, plan, forecast)
    except BadInput:
        return StripData()


def _columns(project: Project, plan: Plan, dates: Calendar) -> tuple[Column, ...]:
    zone = project_zone(project)
    moments = {g.id: g for g in dates.gates}
    rows: list[Column] = []
    tonight = _tonight(plan)
    for e in plan.evenings:
        start_at = to_utc(dt.datetime.combine(e.date, e.start), zone)
        logged = e.date in project.log_by_date and e.status in ("worked", "lost")
        blocks = []
        for w in e.work:
            if w.item not in project.items:
                # the plan may be that of a moment ago, before the item was removed
                continue
            stage = project.stage_of[w.item]
            gate = moments.get(stage.gate)
            late = "" if gate is None or start_at < gate.instant or logged else gate.name
            blocks.append(
                Block(w.item, project.items[w.item].name, stage.id, stage.name, w.hours, late, e.status == "worked")
            )
        rows.append(
            Column(e.date, e.start, e.hours, e.chance, e.status, tuple(blocks), start_at, e.why, e is tonight, logged)
        )
    have = {(c.date, c.start) for c in rows}
    for t in dates.taken:
        if t.cause in ("off", "busy") and (t.date, t.start) not in have and t.date not in project.log_by_date:
            start_at = to_utc(dt.datetime.combine(t.date, t.start), zone)
            status: Status = "off" if t.cause == "off" else "busy"
            rows.append(Column(t.date, t.start, t.hours, 0.0, status, (), start_at, t.why))
        elif t.cause == "lost" and (t.date, t.start) not in have and t.date not in {c.date for c in rows}:
            start_at = to_utc(dt.datetime.combine(t.date, t.start), zone)
            rows.append(Column(t.date, t.start, t.hours, 0.0, "lost", (), start_at, t.why))
    # days off after the last gate are of no interest
    last = max((c.start_at for c in rows if c.status not in ("off", "busy", "lost")), default=None)
    if last is not None:
        horizon = max([last, *(g.instant for g in dates.gates)])
        rows = [c for c in rows if c.start_at <= horizon]
    return tuple(sorted(rows, key=lambda c: (c.start_at, c.date)))


def _tonight(plan: Plan) -> PlannedEvening | None:
    """The evening of the day itself; where that day has none, nothing is framed."""
    return next((e for e in plan.evenings if e.date == plan.as_of), None)


def _flags(plan: Plan, dates: Calendar, forecast: Forecast | None) -> tuple[Flag, ...]:
    odds = {g.id: g.odds for g in forecast.gates} if forecast is not None else {}
    planned = {g.id: g for g in plan.gates}
    return tuple(
        Flag(
            g.id,
            g.name,
            g.instant,
            g.local,
            g.date,
            g.whole_evening,
            g.uncertain,
            planned[g.id].met if g.id in planned else True,
            planned[g.id].short_hours if g.id in planned else 0.0,
            odds.get(g.id),
            g.reading,
        )
        for g in dates.gates
    )


def _jobs(
    project: Project, plan: Plan, dates: Calendar, lanes: dict[str, int], forecast: Forecast | None
) -> tuple[JobBar, ...]:
    from nightplan.engine.nights import estimates

    odds = {} if forecast is None else forecast.job_odds
    blocks = {e.job: e.blocks for e in estimates(project, plan.as_of, plan)} if plan.jobs else {}
    bars = []
    for planned in plan.jobs:
        job = project.jobs_by_id.get(planned.id)
        if job is None or planned.start is None or planned.end is None:
            continue
        bars.append(
            JobBar(
                job.id,
                job.name,
                job.kind,
                lanes[job.machine],
                job.machine,
                planned.start,
                planned.end,
                to_local(planned.start, dates.zone),
                to_local(planned.end, dates.zone),
                odds.get(job.id),
                project.gates_by_id[job.gate].name,
                blocks.get(job.id, ()),
                job.id in odds and odds[job.id] < project.target_odds,
            )
        )
    return tuple(sorted(bars, key=lambda b: b.start))
