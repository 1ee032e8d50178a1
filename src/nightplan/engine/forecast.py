# SPDX-License-Identifier: GPL-3.0-or-later
"""The forecast: 20,000 futures of one project, and what they say about every gate and item."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nightplan.engine import buffers, drivers
from nightplan.engine.draws import Streams
from nightplan.engine.effort import all_likely_left, hours_left
from nightplan.engine.past import past_points
from nightplan.engine.problem import JobHours, Problem, job_hours, problem
from nightplan.engine.walk import walk
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import (
    BurnPoint,
    DateOdds,
    Forecast,
    GateForecast,
    ItemForecast,
    Percentiles,
)
from nightplan.speech import tr

Floats = npt.NDArray[np.float64]

FUTURES = 20_000
MAX_FUTURES = 2_000_000
SEED = 1
#: futures handled at once: the working arrays stay in the processor's cache, memory stays flat,
#: and progress and cancel come often enough
CHUNK = 5_000

Progress = Callable[[float], None]


@dataclass(frozen=True)
class Futures:
    """The futures of one problem; N of them, G gates in time order."""

    #: (G, N) time at which all work of the gate is done, inf beyond the horizon, −inf where it is done already
    completion: Floats
    #: (G, N) hours wanted by the gate's open items, and hours that happen before the gate
    wanted: Floats
    happen: Floats
    #: (E, I) in how many futures the item is unfinished after the evening
    unfinished: npt.NDArray[np.int64]
    #: (J, N)
    job_end: Floats
    #: of the first chunk only, for drivers and bands: (I, n), (J, n), (E, n) and hours left (E, n)
    efforts: Floats
    durations: Floats
    happened: npt.NDArray[np.bool_]
    left: Floats


def simulate(setup: Problem, futures: int, seed: int, progress: Progress | None = None) -> Futures:
    """Draw ``futures`` futures and walk through each."""
    streams = Streams(seed, list(setup.items), list(setup.jobs), list(setup.evening_keys))
    states = [setup.states[k] for k in setup.items]
    spans = [job_hours(setup.job_states[k][0]) for k in setup.jobs]
    count_g = len(setup.gates)
    completion = np.empty((count_g, futures))
    wanted = np.empty((count_g, futures))
    happen = np.empty((count_g, futures))
    job_end = np.empty((len(setup.jobs), futures))
    unfinished = np.zeros((len(setup.evenings), len(setup.items)), dtype=np.int64)
    # share of each evening's hours that lies before each gate
    share = np.array([g.hours for g in setup.gates]) / setup.hours if len(setup.hours) else np.zeros((count_g, 0))
    belongs = np.zeros((count_g, len(setup.items)))
    for g, gate in enumerate(setup.gates):
        belongs[g, list(gate.items)] = 1.0
    first = None
    for begin in range(0, futures, CHUNK):
        n = min(CHUNK, futures - begin)
        part = slice(begin, begin + n)
        factor = setup.learned.mean + setup.learned.sd * streams.factor(n)
        own = streams.items(n)
        efforts = own
        for i, state in enumerate(states):
            efforts[i] = hours_left(state, factor, own[i], setup.project.correlation)
        durations = _durations(spans, streams, n)
        hours = streams.evenings(n)
        happened = hours < setup.chances[:, None]
        for row, there, length in zip(hours, happened, setup.hours, strict=True):
            np.multiply(there, length, out=row)
        walked = walk(
            hours,
            setup.starts,
            efforts,
            setup.walk_items,
            setup.walk_jobs,
            durations,
            groups=tuple(g.items for g in setup.gates),
            switching_hours=setup.switching_hours,
            record_left=first is None,
            sums_first=True,
        )
        unfinished += walked.unfinished
        job_end[:, part] = walked.job_end
        happen[:, part] = share @ hours
        wanted[:, part] = belongs @ efforts
        for g, gate in enumerate(setup.gates):
            completion[g, part] = gate.completion(walked)
        if first is None:
            assert walked.left is not None
            first = (efforts, durations, happened, walked.left)
        if progress is not None:
            progress((begin + n) / futures)
    assert first is not None
    return Futures(completion, wanted, happen, unfinished, job_end, *first)


def _durations(spans: list[JobHours], streams: Streams, n: int) -> Floats:
    z, repeats = streams.jobs(n), streams.repeats(n)
    out = np.empty((len(spans), n))
    for j, span in enumerate(spans):
        out[j] = span.hours(z[j], repeats[j])
    return out


def check_draws(futures: int, seed: int) -> None:
    """Raises BadInput where such futures cannot be drawn."""
    if not 1 <= futures <= MAX_FUTURES:
        raise BadInput.at("futures", futures, tr("1 to {most} are accepted", most=MAX_FUTURES))
    if seed < 0:
        raise BadInput.at("seed", seed, tr("0 or more is accepted"))


def forecast(
    project: Project,
    as_of: dt.date,
    *,
    futures: int = FUTURES,
    seed: int = SEED,
    progress: Progress | None = None,
) -> Forecast:
    """The odds of a project as it stands on a day.

    Args:
        as_of: that day's evening is still to come unless it is logged.
        futures: how many futures, 1 to 2,000,000; 20,000 put a standard error of at most 0.0035 on the odds.
        seed: 0 or more; the same seed gives the same numbers, also for a changed project.
        progress: called with the share done; may raise to cancel.

    Raises:
        BadInput: no usable evening, an unknown zone, futures or seed out of range.
    """
    check_draws(futures, seed)
    setup = problem(project, as_of)
    return summarise(setup, simulate(setup, futures, seed, progress), futures, seed)


def summarise(setup: Problem, found: Futures, futures: int, seed: int) -> Forecast:
    """Futures as odds, dates, buffers and drivers."""
    order = np.sort(found.completion, axis=1)
    centre = all_likely_left(setup.states, setup.learned.mean, setup.project.correlation)
    ends = np.array([setup.time(e.end_at) for e in setup.evenings])
    gates = []
    by_date = {}
    for g, gate in enumerate(setup.gates):
        odds = 0.0 if gate.missed else np.searchsorted(order[g], gate.time + _GRACE, side="right") / futures
        have = buffers.have_hours(setup, gate, sum(centre[setup.items[i]] for i in gate.items))
        gates.append(
            GateForecast(
                gate.moment.id,
                gate.moment.name,
                gate.moment.instant,
                float(odds),
                _dates(setup, order[g], gate.finished_on),
                buffers.buffer(setup, gate, have, found.wanted[g] - found.happen[g]),
                gate.moment.uncertain,
                gate.work_left,
                gate.finished_on,
            )
        )
        by = np.searchsorted(order[g], ends + _GRACE, side="right") / futures
        by_date[gate.moment.id] = tuple(DateOdds(e.date, float(o)) for e, o in zip(setup.evenings, by, strict=True))
    items = tuple(
        ItemForecast(k, _evening_dates(setup, found.unfinished[:, setup.items.index(k)], futures))
        for k in setup.project.items
        if k in setup.items
    )
    jobs = tuple(ItemForecast(k, _dates(setup, np.sort(found.job_end[j]))) for j, k in enumerate(setup.jobs))
    return Forecast(
        setup.as_of,
        futures,
        seed,
        tuple(gates),
        items,
        jobs,
        drivers.drivers(setup, found.completion, found.efforts, found.durations, found.happened),
        setup.learned,
        sum(centre.values()),
        _burn_down(setup, found.left),
        by_date,
        _job_odds(setup, found.job_end),
        past_points(setup.project, setup.calendar, setup.as_of),
    )


def _job_odds(setup: Problem, job_end: Floats) -> dict[str, float]:
    times = {g.moment.id: g.time for g in setup.gates}
    return {
        key: float(np.mean(job_end[j] <= times[setup.project.jobs_by_id[key].gate] + _GRACE))
        for j, key in enumerate(setup.jobs)
    }


#: a finish in the very second of the gate is in time (hours)
_GRACE = 1e-6


def _dates(setup: Problem, ordered: Floats, finished_on: dt.date | None = None) -> Percentiles:
    """Dates of ordered times: the least time by which at least that share of futures is done.

    What is done already has the evening on which it was, or the day itself where the log does not know it.
    """
    found: list[dt.date | None] = []
    for p in (0.1, 0.5, 0.8, 0.9):
        time = ordered[max(0, int(np.ceil(p * ordered.size - 1e-9)) - 1)]
        if np.isposinf(time):
            found.append(None)
        elif np.isneginf(time):
            found.append(finished_on or setup.as_of)
        else:
            found.append(setup.calendar.evening_date(setup.instant(float(time))))
    return Percentiles(*found)


def _evening_dates(setup: Problem, unfinished: npt.NDArray[np.int64], futures: int) -> Percentiles:
    found: list[dt.date | None] = []
    for p in (0.1, 0.5, 0.8, 0.9):
        done = np.flatnonzero(futures - unfinished >= p * futures - 1e-6)
        found.append(setup.evenings[done[0]].date if done.size else None)
    return Percentiles(*found)


def _burn_down(setup: Problem, left: Floats) -> tuple[BurnPoint, ...]:
    """Hours left after every evening up to the last gate, over the first chunk of futures."""
    if not setup.gates:
        return ()
    last = setup.gates[-1]
    points = []
    for e, evening in enumerate(setup.evenings):
        if last.hours[e] <= 0:
            break
        p10, p50, p90 = np.sort(left[e])[[int(q * (left.shape[1] - 1)) for q in (0.1, 0.5, 0.9)]]
        points.append(BurnPoint(evening.date, float(p10), float(p50), float(p90)))
    return tuple(points)
