# SPDX-License-Identifier: GPL-3.0-or-later
"""A project on a given day, as the walk sees it: evenings to come, open items in order, jobs, gates."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from nightplan.engine import learning, order
from nightplan.engine.estimates import Estimate
from nightplan.engine.queue import WalkJob
from nightplan.engine.state import ItemState, item_states, job_states, log_until, open_predecessors
from nightplan.engine.walk import WalkItem
from nightplan.evenings.dated import Calendar, Evening, calendar, hours_before
from nightplan.evenings.gates import GateMoment
from nightplan.evenings.zones import UTC
from nightplan.model.project import Job, Project, State
from nightplan.model.results import Learned

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class GateWork:
    """A gate and all that must be done by it: its own items and jobs and those of every earlier gate."""

    moment: GateMoment
    #: hours on the problem's time axis
    time: float
    #: positions of open items and indices of open jobs
    items: tuple[int, ...]
    jobs: tuple[int, ...]
    #: (E,) hours of each evening to come that lie before the gate
    hours: Floats
    #: something that is finished by now was finished after the gate
    missed: bool


@dataclass(frozen=True)
class Problem:
    """Everything a walk needs; times are hours since ``zero``."""

    project: Project
    as_of: dt.date
    calendar: Calendar
    zero: dt.datetime
    states: dict[str, ItemState]
    job_states: dict[str, tuple[Job, State, dt.date | None]]
    learned: Learned
    #: evenings still to come, E of them
    evenings: tuple[Evening, ...]
    #: names of the evenings' random streams
    evening_keys: tuple[str, ...]
    #: (E,) each
    starts: Floats
    hours: Floats
    chances: Floats
    #: open items in priority order, I of them
    items: tuple[str, ...]
    walk_items: tuple[WalkItem, ...]
    #: open jobs, predecessors first, J of them
    jobs: tuple[str, ...]
    walk_jobs: tuple[WalkJob, ...]
    gates: tuple[GateWork, ...]

    @property
    def switching_hours(self) -> float:
        return self.project.switching_minutes / 60.0

    def time(self, instant: dt.datetime) -> float:
        """An instant on the problem's axis."""
        return (instant - self.zero).total_seconds() / 3600.0

    @cached_property
    def at_announcement(self) -> Problem:
        """The same project on the announcement day, nothing logged and nothing finished."""
        stages = tuple(
            s.but(items=tuple(i.but(state="open") if i.state == "done" else i for i in s.items))
            for s in self.project.stages
        )
        return problem(self.project.but(log=(), stages=stages), self.project.announced, self.calendar)

    def instant(self, time: float) -> dt.datetime:
        """A point of the axis as an instant, to the second."""
        return self.zero + dt.timedelta(seconds=round(time * 3600.0))


def problem(project: Project, as_of: dt.date, dated: Calendar | None = None) -> Problem:
    """Set up the walk for ``as_of``.

    The evening of ``as_of`` is still to come unless it is logged; an earlier one without an entry
    counts as not happened.

    Raises:
        BadInput: the project has no usable evening or an unknown zone.
    """
    dated = dated or calendar(project)
    logged = {entry.evening for entry in log_until(project, as_of)}
    evenings = tuple(e for e in dated.evenings if e.date >= as_of and e.date not in logged)
    zero = dt.datetime.combine(as_of, dt.time(), tzinfo=UTC)

    def axis(instant: dt.datetime) -> float:
        return (instant - zero).total_seconds() / 3600.0

    states = item_states(project, as_of)
    jobs = job_states(project, as_of)
    closed: dict[str, State] = {k: s.state for k, s in states.items()} | {k: s for k, (_, s, _) in jobs.items()}
    before = open_predecessors(project, closed)
    moments = {g.id: g for g in dated.gates}
    tails = {k: job_hours(job).median for k, (job, _, _) in jobs.items()}
    due = {
        key: axis(moments[project.stage_of[key].gate if key in states else project.jobs_by_id[key].gate].instant)
        for key in [*project.items, *project.jobs_by_id]
        if key in before
    }
    in_order = order.priority(due, before, tails)
    open_items = tuple(k for k in in_order if k in states)
    open_jobs = tuple(k for k in in_order if k in jobs)
    place = {k: n for n, k in enumerate(open_items)}
    number = {k: n for n, k in enumerate(open_jobs)}
    # also through items: jobs that follow each other in any way never wait for one machine together
    earlier_jobs: dict[str, frozenset[str]] = {}
    for k in in_order:
        earlier_jobs[k] = frozenset(p for p in before[k] if p in number).union(*(earlier_jobs[p] for p in before[k]))
    machines: dict[str, int] = {}
    finished = _finished_days(states, jobs)
    last_happened = {k: axis(_end_of(day, project, dated)) for k, day in finished.items()}

    walk_items = tuple(
        WalkItem(
            tuple(sorted(place[p] for p in before[k] if p in place)),
            tuple(sorted(number[p] for p in before[k] if p in number)),
            _release(states[k].item.not_before, evenings),
        )
        for k in open_items
    )
    first_evening = axis(dated.evenings[0].start_at) if dated.evenings else 0.0
    walk_jobs = tuple(
        WalkJob(
            tuple(sorted(place[p] for p in before[k] if p in place)),
            tuple(sorted(number[p] for p in earlier_jobs[k])),
            machines.setdefault(jobs[k][0].machine, len(machines)),
            max([last_happened.get(p, first_evening) for p in project.predecessors[k]], default=first_evening),
        )
        for k in open_jobs
    )
    gates = []
    for moment in dated.gates:
        due_by = {g.id for g in dated.gates if g.instant <= moment.instant}
        mine = {k for k in states if project.stage_of[k].gate in due_by}
        mine |= {k for k, (job, _, _) in jobs.items() if job.gate in due_by}
        gates.append(
            GateWork(
                moment,
                axis(moment.instant),
                tuple(sorted(place[k] for k in mine if k in place)),
                tuple(sorted(number[k] for k in mine if k in number)),
                np.array([hours_before(e, moment) for e in evenings], dtype=np.float64),
                any(_after(moment, day, dated) for k, day in finished.items() if k in mine),
            )
        )
    return Problem(
        project,
        as_of,
        dated,
        zero,
        states,
        jobs,
        learning.posterior(learning.finished_scores(states.values()), project.correlation),
        evenings,
        _evening_keys(evenings),
        np.array([axis(e.start_at) for e in evenings], dtype=np.float64),
        np.array([e.hours for e in evenings], dtype=np.float64),
        np.array([e.chance for e in evenings], dtype=np.float64),
        open_items,
        walk_items,
        open_jobs,
        walk_jobs,
        tuple(gates),
    )


def _evening_keys(evenings: tuple[Evening, ...]) -> tuple[str, ...]:
    """One name for each evening: its date, and a number where a date has several.

    The weekly pattern's evening comes first, so that one more on its date leaves it its name.
    """
    seen: dict[dt.date, int] = {}
    keys = [""] * len(evenings)
    for n in sorted(range(len(evenings)), key=lambda n: (evenings[n].origin != "week", n)):
        date = evenings[n].date
        seen[date] = seen.get(date, 0) + 1
        keys[n] = f"{date}" if seen[date] == 1 else f"{date}#{seen[date]}"
    return tuple(keys)


def _release(not_before: dt.date | None, evenings: tuple[Evening, ...]) -> int:
    if not_before is None:
        return 0
    return next((n for n, e in enumerate(evenings) if e.date >= not_before), len(evenings))


def _finished_days(
    states: dict[str, ItemState], jobs: dict[str, tuple[Job, State, dt.date | None]]
) -> dict[str, dt.date]:
    """Evening on which each finished item and job was ticked off, where the log knows it."""
    days = {k: s.done_on for k, s in states.items() if s.state == "done"}
    days |= {k: day for k, (_, state, day) in jobs.items() if state == "done"}
    return {k: day for k, day in days.items() if day is not None}


def _start_of(day: dt.date, dated: Calendar) -> dt.datetime:
    """Start of the evening of a date; eight o'clock where the log has an evening that the calendar has not."""
    slots = dated.on(day)
    return slots[0].start_at if slots else dt.datetime.combine(day, dt.time(20), tzinfo=dated.zone).astimezone(UTC)


def _end_of(day: dt.date, project: Project, dated: Calendar) -> dt.datetime:
    """When the work of a logged evening ended."""
    entry = project.log_by_date.get(day)
    return _start_of(day, dated) + dt.timedelta(hours=entry.hours if entry else 0.0)


def _after(gate: GateMoment, day: dt.date, dated: Calendar) -> bool:
    """Whether the evening of a date came after the gate."""
    return day > gate.date if gate.whole_evening else _start_of(day, dated) >= gate.instant


@dataclass(frozen=True)
class JobHours:
    """Hours of one run of a machine job as amount × factor, or amount ÷ speed."""

    amount: Estimate
    speed: Estimate | None
    factor: float
    fail_chance: float

    @property
    def median(self) -> float:
        """Likely hours of one run that does not fail."""
        speed = self.speed.median if self.speed is not None else 1.0
        return self.amount.median * self.factor / speed

    def hours(self, z: Floats, repeats: Floats) -> Floats:
        """(n,) hours by the wall clock, repeats included.

        Args:
            z: (2, n) standard normal scores of amount and speed; a fast line is a high score.
            repeats: (n,) uniform numbers.
        """
        hours = self.amount.quantile_z(z[0]) * self.factor
        if self.speed is not None:
            hours /= self.speed.quantile_z(z[1])
        if self.fail_chance > 0:
            # a run fails with this chance and is done again from the start: geometric, by inversion
            hours *= 1.0 + np.floor(np.log1p(-repeats) / np.log(self.fail_chance))
        return hours


def job_hours(job: Job) -> JobHours:
    """Wall-clock hours of a job from its frames, its gigabytes or its hours.

    hours = frames × minutes ÷ 60; a transfer of decimal gigabytes takes
    8000 × gigabytes ÷ megabits per second seconds.
    """
    if job.frames is not None and job.minutes_per_frame is not None:
        return JobHours(Estimate.of(job.minutes_per_frame), None, job.frames / 60.0, job.fail_chance)
    if job.gigabytes is not None and job.megabits_per_second is not None:
        speed = Estimate.of(job.megabits_per_second)
        return JobHours(Estimate.of(job.gigabytes), speed, 8000.0 / 3600.0, job.fail_chance)
    assert job.hours is not None
    return JobHours(Estimate.of(job.hours), None, 1.0, job.fail_chance)
