# SPDX-License-Identifier: GPL-3.0-or-later
"""A machine job in nights: how many, ready on which morning, which evenings it blocks."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np

from nightplan.engine.estimates import Z90
from nightplan.engine.nights_clock import WorkClock
from nightplan.engine.nights_hours import job_hours
from nightplan.engine.nights_running import measured_minutes
from nightplan.engine.problem import Problem, problem
from nightplan.evenings.zones import to_local
from nightplan.model.project import Job, Project
from nightplan.model.results import Plan

#: a night runs from noon to noon and belongs to the evening before it
_NOON = dt.timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class NightEstimate:
    """What a job is expected to take; instants aware in UTC, hours of work of a machine of speed 1."""

    job: str
    likely_hours: float
    high_hours: float
    #: nights in which a machine works on it
    likely_nights: int
    high_nights: int
    #: when it begins; None: the plan never gets there
    start: dt.datetime | None
    #: ready so, with likely and with high hours
    likely_ready: dt.datetime | None
    high_ready: dt.datetime | None
    #: dates of the evenings that pass while what waits for it cannot go on, with likely hours
    blocks: tuple[dt.date, ...]
    #: of the frames on disk; None where too few were seen
    measured_minutes: float | None
    #: of one run; a run that fails is not in the numbers above, only in the odds
    fail_chance: float


def estimates(project: Project, as_of: dt.date, made: Plan) -> tuple[NightEstimate, ...]:
    """Every open job, in the order of the file, starting when the plan starts it.

    A night runs from noon to noon; on a machine with a window those count in which the window is open
    for the job.

    Raises:
        BadInput: no usable evening, an unknown zone.
    """
    setup = problem(project, as_of)
    planned = {j.id: j for j in made.jobs}
    return tuple(
        _estimate(setup, key, planned[key].start if key in planned else None)
        for key in project.jobs_by_id
        if key in setup.jobs
    )


def _estimate(setup: Problem, key: str, start: dt.datetime | None) -> NightEstimate:
    job = setup.job_states[key][0]
    walked = setup.walk_jobs[setup.jobs.index(key)]
    likely, high = likely_high_hours(job)
    ends: list[dt.datetime | None] = [None, None]
    nights = [0, 0]
    if start is not None:
        begin = setup.time(start)
        for n, hours in enumerate((likely, high)):
            clock = walked.clock
            end = begin + hours if clock is None else float(clock.run(np.array([begin]), np.array([hours]))[1][0])
            if np.isfinite(end):
                ends[n] = setup.instant(end)
                nights[n] = _nights(setup, begin, end, clock)
    original = setup.project.jobs_by_id[key]
    return NightEstimate(
        key,
        likely,
        high,
        nights[0],
        nights[1],
        start,
        ends[0],
        ends[1],
        _blocks(setup, key, start, ends[0]),
        measured_minutes(original, walked.clock, setup.zero),
        job.fail_chance,
    )


def likely_high_hours(job: Job) -> tuple[float, float]:
    """Median and high hours of one run that does not fail, on a machine of speed 1.

    Of a transfer, high is much data on a slow line; the logarithms of the two spreads add up by their
    squares, which is exact where both are lognormal.
    """
    hours = replace(job_hours(job), fail_chance=0.0)
    likely = hours.median
    if hours.speed is None:
        return likely, float(hours.hours(np.full((2, 1), Z90), np.zeros(1))[0])
    if likely <= 0:
        return likely, likely
    amount = float(np.log(hours.amount.quantile_z(Z90) / hours.amount.median))
    speed = float(np.log(hours.speed.median / hours.speed.quantile_z(-Z90)))
    return likely, likely * float(np.exp(np.hypot(amount, speed)))


def _nights(setup: Problem, begin: float, end: float, clock: WorkClock | None) -> int:
    """Nights, noon to noon, in which work is done between two times."""
    zone = setup.calendar.zone
    first = (to_local(setup.instant(begin), zone) - _NOON).date()
    last = (to_local(setup.instant(end) - dt.timedelta(seconds=1), zone) - _NOON).date()
    count = max(0, (last - first).days + 1)
    if end <= begin:
        return 0
    if clock is None or count <= 1:
        return count
    noons = [
        setup.time(dt.datetime.combine(first + dt.timedelta(days=n), dt.time(12), tzinfo=zone))
        for n in range(count + 1)
    ]
    done = np.diff(clock.done(np.clip(np.array(noons), begin, end)))
    return int(np.count_nonzero(done > 1e-9))


def _blocks(setup: Problem, key: str, start: dt.datetime | None, end: dt.datetime | None) -> tuple[dt.date, ...]:
    """Evenings that begin while the job runs, where something waits for it."""
    if start is None or not any(key in before for before in setup.project.predecessors.values()):
        return ()
    return tuple(
        dict.fromkeys(
            e.date for e in setup.evenings if not e.tail and e.start_at >= start and (end is None or e.start_at < end)
        )
    )
