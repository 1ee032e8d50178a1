# SPDX-License-Identifier: GPL-3.0-or-later
"""Machine jobs and the walk against a SimPy model of the rules of design.md, written apart from the engine.

Two ways: the same drawn numbers fed to both (every finish must be the same moment), and numbers that
the SimPy side draws for itself (odds within one point at 20,000 futures).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
import simpy
from engine_cases import day, item, make

from nightplan.engine.forecast import simulate
from nightplan.engine.problem import Problem, problem
from nightplan.model.project import Project

TINY = 1e-9


@dataclass
class Room:
    """One artist's evenings and machines in one future; all times in hours."""

    evenings: list[tuple[float, float]]
    #: item -> hours of work, in priority order
    work: dict[str, float]
    #: job -> hours of each run, the last of which does not fail
    runs: dict[str, list[float]]
    machine: dict[str, str]
    before: dict[str, frozenset[str]]
    switching: float = 0.0
    #: job -> not before
    ready: dict[str, float] = field(default_factory=dict)
    done: dict[str, float] = field(default_factory=dict)

    def play(self) -> dict[str, float]:
        env = simpy.Environment()
        self.events = {key: env.event() for key in [*self.work, *self.runs]}
        self.machines = {m: simpy.Resource(env, capacity=1) for m in sorted(set(self.machine.values()))}
        for job in self.runs:
            env.process(self._job(env, job))
        env.process(self._artist(env))
        env.run()
        return self.done

    def _job(self, env: simpy.Environment, job: str) -> Iterator[Any]:
        # a machine job starts the moment its last predecessor is done; on one machine first come, first served
        yield env.timeout(self.ready.get(job, 0.0))
        yield env.all_of([self.events[k] for k in self.before[job]])
        with self.machines[self.machine[job]].request() as mine:
            yield mine
            for hours in self.runs[job]:
                # a run that fails is done again, on the same machine
                yield env.timeout(hours)
        self._finish(env, job)

    def _artist(self, env: simpy.Environment) -> Iterator[Any]:
        left = dict(self.work)
        for start, hours in self.evenings:
            yield env.timeout(start - env.now)
            # let jobs that end at this very moment be done before the evening begins
            yield env.timeout(0)
            yield env.timeout(0)
            # whatever a machine frees later tonight has to wait for the next evening
            jobs_done = {k for k in self.runs if k in self.done and self.done[k] <= start + TINY}
            end, last = start + hours, None
            while True:
                open_ = [
                    k for k in left if all(p in jobs_done if p in self.runs else p in self.done for p in self.before[k])
                ]
                if not open_ or env.now >= end - TINY:
                    break
                chosen = open_[0]
                if last not in (None, chosen) and self.switching:
                    yield env.timeout(min(self.switching, end - env.now))
                last = chosen
                spell = min(left[chosen], end - env.now)
                yield env.timeout(spell)
                left[chosen] -= spell
                if left[chosen] <= TINY:
                    del left[chosen]
                    self._finish(env, chosen)

    def _finish(self, env: simpy.Environment, key: str) -> None:
        self.done[key] = env.now
        self.events[key].succeed()


def _job(key: str, hours: Any = None, **more: Any) -> dict[str, Any]:
    return {"id": key, "name": key, **({} if hours is None else {"hours": hours}), **more}


def _span(likely: float, high: float) -> dict[str, float]:
    return {"likely": likely, "high": high}


#: work between which two jobs may meet
_MEETING = [
    item("boards", 2, 3),
    item("cloth", 1, 2),
    item("set", 2, 4),
    item("light", 2, 3, after=["set"]),
    item("cut", 1, 2),
]
#: what each project is about -> project
PROJECTS: dict[str, dict[str, Any]] = {
    "a night's render": {
        "items": [item("rig", 3, 5), item("light", 2, 4, after=["rig"]), item("cut", 1.5, 2.5)],
        "jobs": [_job("render", None, after=["light"], before=["cut"], frames=192, minutes_per_frame=_span(3.5, 6))],
        "lock": 6,
        "chance": 0.8,
    },
    "two jobs meet on one machine": {
        "items": _MEETING,
        "jobs": [
            _job("cache", _span(30, 50), after=["cloth"], before=["light"]),
            _job("turntable", _span(30, 45), after=["boards"], before=["cut"]),
            _job("render", _span(12, 20), after=["light"], before=["cut"], fail_chance=0.2),
        ],
        "lock": 6,
        "chance": 0.85,
    },
    "the same on machines of their own": {
        "items": _MEETING,
        "jobs": [
            _job("cache", _span(30, 50), after=["cloth"], before=["light"], machine="desk"),
            _job("turntable", _span(30, 45), after=["boards"], before=["cut"], machine="laptop"),
            _job("render", _span(12, 20), after=["light"], before=["cut"], machine="farm", fail_chance=0.2),
        ],
        "lock": 6,
        "chance": 0.85,
    },
    "three jobs queue for one machine": {
        "items": [item("boards", 1, 2), item("cloth", 0.5, 1), item("set", 0.5, 1), item("cut", 1, 2)],
        "jobs": [
            _job("turntable", _span(20, 30), after=["boards"], before=["cut"]),
            _job("cache", _span(16, 40), after=["cloth"], before=["cut"], fail_chance=0.1),
            _job("dust", _span(10, 20), after=["set"], before=["cut"]),
        ],
        "lock": 4,
        "chance": 0.85,
    },
    "a job that fails often and an upload behind it": {
        "items": [item("polish", 2, 3), item("edit", 1, 2), item("post", 0.5, 1)],
        "jobs": [
            _job("render", _span(14, 20), after=["polish"], before=["edit"], fail_chance=0.4),
            _job("upload", after=["edit"], before=["post"], gigabytes=_span(40, 60), megabits_per_second=_span(20, 30)),
        ],
        "lock": 4,
        "chance": 0.9,
    },
    "minutes lost by switching": {
        "items": [item("a", 1, 2), item("b", 0.5, 1.5), item("c", 1.5, 2.5, after=["a"]), item("d", 1, 1.6)],
        "jobs": [_job("bake", _span(18, 30), after=["a"], before=["d"])],
        "lock": 4,
        "chance": 0.9,
        "switching_minutes": 20,
    },
}


def _project(name: str) -> Project:
    more = dict(PROJECTS[name])
    return make(more.pop("items"), **more)


def _rooms(project: Project) -> tuple[list[str], list[str], dict[str, frozenset[str]], dict[str, str]]:
    """Items and jobs in priority order, what each waits for, and each job's machine."""
    jobs = project.jobs_by_id
    setup = problem(project, day(0))
    # the order itself is checked elsewhere, against OR-Tools
    return list(setup.items), list(setup.jobs), dict(project.predecessors), {k: jobs[k].machine for k in jobs}


@pytest.mark.parametrize("name", PROJECTS)
def test_same_numbers_same_moments(name: str) -> None:
    # source: SimPy model of design.md, The walk; the engine's own drawn numbers, 1,000 futures, to a second
    project = _project(name)
    setup = problem(project, day(0))
    found = simulate(setup, 1_000, 1)
    items, jobs, before, machine = _rooms(project)
    ready = {k: setup.walk_jobs[n].ready for n, k in enumerate(jobs)}
    for n in range(1_000):
        room = Room(
            [(s, h) for s, h, e in zip(setup.starts, setup.hours, found.happened[:, n], strict=True) if e],
            dict(zip(items, found.efforts[:, n], strict=True)),
            {k: [found.durations[j, n]] for j, k in enumerate(jobs)},
            machine,
            before,
            project.switching_minutes / 60,
            ready,
        )
        done = room.play()
        whole = max((done.get(k, np.inf) for k in [*items, *jobs]), default=0.0)
        assert found.completion[0, n] == pytest.approx(whole, abs=3e-4), (name, n)
        for j, k in enumerate(jobs):
            assert found.job_end[j, n] == pytest.approx(done.get(k, np.inf), abs=3e-4), (name, k, n)


def _drawn(project: Project, setup: Problem, count: int, seed: int) -> Iterator[Room]:
    """Futures with numbers of SimPy's own side: numpy's lognormal and geometric draws."""
    rng = np.random.default_rng(seed)
    items, jobs, before, machine = _rooms(project)

    def lognormal(span: Any) -> np.ndarray:
        return rng.lognormal(np.log(span.likely), np.log(span.high / span.likely) / 1.2815515655446004, count)

    work = {k: lognormal(project.items[k]) for k in items}
    one_run, runs = {}, {}
    for k in jobs:
        job = project.jobs_by_id[k]
        if job.frames is not None:
            one_run[k] = job.frames * lognormal(job.minutes_per_frame) / 60
        elif job.gigabytes is not None:
            # decimal gigabytes over decimal megabits
            one_run[k] = lognormal(job.gigabytes) * 8e9 / (lognormal(job.megabits_per_second) * 1e6) / 3600
        else:
            one_run[k] = lognormal(job.hours)
        runs[k] = rng.geometric(1 - job.fail_chance, count)
    happens = rng.random((len(setup.evenings), count)) < setup.chances[:, None]
    ready = {k: setup.walk_jobs[n].ready for n, k in enumerate(jobs)}
    for n in range(count):
        yield Room(
            [(s, h) for s, h, e in zip(setup.starts, setup.hours, happens[:, n], strict=True) if e],
            {k: work[k][n] for k in items},
            {k: [one_run[k][n]] * int(runs[k][n]) for k in jobs},
            machine,
            before,
            project.switching_minutes / 60,
            ready,
        )


@pytest.mark.parametrize("name", PROJECTS)
def test_odds_within_one_point(name: str) -> None:
    # source: SimPy, numbers of its own. 20,000 of the engine's futures against 20,000 of SimPy's
    count = 20_000
    project = _project(name)
    setup = problem(project, day(0))
    found = simulate(setup, count, 1)
    lock = setup.gates[0].time
    ours = float(np.mean(found.completion[0] <= lock + 1e-6))
    # evenings long after the lock cannot change whether it is met
    everything = [*project.items, *project.jobs_by_id]
    met = 0
    for room in _drawn(project, setup, count, 4):
        room.evenings = [e for e in room.evenings if e[0] < lock]
        done = room.play()
        met += all(done.get(k, np.inf) <= lock + 1e-6 for k in everything)
    assert ours == pytest.approx(met / count, abs=0.01)
    assert 0.2 < ours < 0.97


def test_waiting_for_one_machine_costs_odds() -> None:
    # the check above can only fail for a wrong queue if the queue matters
    project = _project("three jobs queue for one machine")
    apart = project.but(jobs=tuple(j.but(machine=j.id) for j in project.jobs))
    odds = []
    for one in (project, apart):
        setup = problem(one, day(0))
        odds.append(float(np.mean(simulate(setup, 5_000, 1).completion[0] <= setup.gates[0].time)))
    assert odds[0] < odds[1] - 0.1


def test_repeats_are_geometric() -> None:
    # source: numpy's geometric draws have mean 1/(1−p); here against the exact mass p^k (1−p), 4 standard errors
    project = make([], jobs=[_job("render", 10, fail_chance=0.3)], lock=5)
    found = simulate(problem(project, day(0)), 5_000, 1)
    runs = np.round(found.durations[0] / 10).astype(int)
    for k in range(1, 5):
        p = 0.3 ** (k - 1) * 0.7
        assert np.mean(runs == k) == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / 5_000))


def test_job_that_ends_as_an_evening_starts_frees_it() -> None:
    # source: design.md, The walk: frees its dependants at the first evening that starts at or after its end
    for hours, expected in ((24.0, 1), (24.0 + 1 / 60, 2)):
        # three hours of work fill the first evening, 20:00 to 23:00
        project = make(
            [item("rig", 3.0), item("cut", 1.0)],
            jobs=[_job("render", hours - 3.0, after=["rig"], before=["cut"])],
            hours=3.0,
            lock=5,
        )
        found = simulate(problem(project, day(0)), 10, 1)
        assert (found.completion[0] == 20.0 + 24 * expected + 1.0).all()


def test_hours_from_frames_and_gigabytes() -> None:
    # source: trade.md, Machine time: 1440 × 30 s = 12 h; decimal gigabytes, megabits
    project = make(
        [],
        jobs=[
            _job("render", frames=1440, minutes_per_frame=0.5),
            _job("upload", gigabytes=45, megabits_per_second=10, machine="line"),
        ],
        lock=5,
    )
    found = simulate(problem(project, day(0)), 3, 1)
    np.testing.assert_allclose(found.durations[:, 0], [12.0, 10.0])
