# SPDX-License-Identifier: GPL-3.0-or-later
"""Nights against a SimPy model written apart from the engine: windows, failures, two machines.

The model draws its own numbers and asks of every machine, hour by hour, whether it is on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest
import simpy
from nights_cases import NIGHT, day, item, job, make

from nightplan.engine.forecast import forecast
from nightplan.engine.problem import problem
from nightplan.engine.walk import walk
from nightplan.model.project import Project

FUTURES = 20_000
Z90 = 1.2815515655446004
EVENING, HOURS = 20.0, 2.0


@dataclass
class Night:
    """One future; times in hours since midnight of the first day."""

    project: Project
    rng: np.random.Generator
    #: machine -> (speed, window as hours of the day or None, days without power)
    machines: dict[str, tuple[float, tuple[float, float] | None, set[int]]]
    done: dict[str, float] = field(default_factory=dict)

    def play(self) -> float:
        """When everything is done."""
        env = self.env = simpy.Environment()
        keys = [*self.project.items, *self.project.jobs_by_id]
        self.event = {k: env.event() for k in keys}
        self.taken = {m: simpy.Resource(env, capacity=1) for m in self.machines}
        for key in self.project.jobs_by_id:
            env.process(self._job(key))
        env.process(self._artist())
        env.run(until=24 * 70)
        return max(self.done.get(k, math.inf) for k in keys)

    def _draw(self, likely: float, high: float) -> float:
        return likely * math.exp(math.log(high / likely) / Z90 * self.rng.standard_normal())

    def _on(self, machine: str, time: float) -> bool:
        _, window, off = self.machines[machine]
        if int(time // 24) in off:
            return False
        if window is None:
            return True
        opens, closes = window
        hour = time % 24
        return opens <= hour < closes if opens < closes else hour >= opens or hour < closes

    def _job(self, key: str) -> Iterator[Any]:
        job = self.project.jobs_by_id[key]
        waits = self.project.predecessors[key]
        # without anything before it a job is ready at the first evening
        yield self.env.timeout(EVENING)
        yield self.env.all_of([self.event[k] for k in waits])
        names = sorted(job.machines)
        claims = [self.taken[m].request() for m in names]
        yield self.env.all_of(claims)
        assert job.hours is not None or job.minutes_per_frame is not None
        span, factor = (job.hours, 1.0) if job.hours is not None else (job.minutes_per_frame, job.frames / 60)  # type: ignore[operator]
        assert span is not None
        hours = self._draw(span.likely, span.high) * factor
        while True:
            left = hours
            while left > 1e-9:
                # every window and every day begins and ends at a whole hour
                step = math.floor(self.env.now + 1e-9) + 1 - self.env.now
                rate = sum(self.machines[m][0] for m in names if self._on(m, self.env.now + 1e-9))
                if rate > 0:
                    step = min(step, left / rate)
                left -= step * rate
                yield self.env.timeout(step)
            if self.rng.random() >= job.fail_chance:
                break
        for machine, claim in zip(names, claims, strict=True):
            self.taken[machine].release(claim)
        self._finish(key)

    def _artist(self) -> Iterator[Any]:
        left = {k: self._draw(i.likely, i.high) for k, i in self.project.items.items()}
        for date in range(70):
            start = 24 * date + EVENING
            yield self.env.timeout(start - self.env.now)
            if self.rng.random() >= self.project.week[0].chance:
                continue
            ended = {k for k, t in self.done.items() if t <= start + 1e-9}
            while left and self.env.now < start + HOURS - 1e-9:
                jobs = self.project.jobs_by_id
                ready = [
                    k
                    for k in left
                    if all(p in (ended if p in jobs else self.done) for p in self.project.predecessors[k])
                ]
                if not ready:
                    break
                spell = min(left[ready[0]], start + HOURS - self.env.now)
                yield self.env.timeout(spell)
                left[ready[0]] -= spell
                if left[ready[0]] <= 1e-9:
                    del left[ready[0]]
                    self._finish(ready[0])

    def _finish(self, key: str) -> None:
        self.done[key] = self.env.now
        self.event[key].succeed()


CASES: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "a nightly window and runs that fail": (
        {
            "items": [item("light", 3, 5), item("cut", 1.5, 2.5, after=["render"])],
            "jobs": [
                job(after=["light"], frames=192, minutes_per_frame={"likely": 3.5, "high": 6}, fail_chance=0.25),
            ],
            "machines": [{"name": "desk", "window": NIGHT}],
            "lock": 6,
            "chance": 0.8,
        },
        {"desk": (1.0, (23.0, 7.0), set())},
    ),
    "two machines with their own speeds, and a queue": (
        {
            "items": [item("light", 2, 4), item("cut", 1.5, 3, after=["render", "cache"])],
            "jobs": [
                job("cache", hours={"likely": 6, "high": 12}, machine="laptop", fail_chance=0.1),
                job(
                    after=["light"],
                    frames=600,
                    minutes_per_frame={"likely": 3, "high": 5},
                    also_on=["laptop"],
                    fail_chance=0.15,
                ),
            ],
            "machines": [
                {"name": "desk", "window": NIGHT, "off": [{"from": str(day(3)), "to": str(day(3))}]},
                {"name": "laptop", "speed": 0.5},
            ],
            "lock": 7,
            "chance": 0.7,
        },
        {"desk": (1.0, (23.0, 7.0), {3}), "laptop": (0.5, None, set())},
    ),
}


@pytest.mark.parametrize("name", list(CASES))
def test_odds_against_simpy(name: str) -> None:
    keys, machines = CASES[name]
    project = make(**keys)
    rng = np.random.default_rng(7)
    last = np.array([Night(project, rng, machines).play() for _ in range(FUTURES)])
    # the gate counts its whole evening
    gate = 24 * keys["lock"] + EVENING + HOURS
    theirs = float(np.mean(last <= gate + 1e-6))
    ours = forecast(project, day(0), futures=FUTURES).gate("lock").odds
    assert 0.15 < theirs < 0.9
    assert ours == pytest.approx(theirs, abs=0.01)


@pytest.mark.parametrize("name", list(CASES))
def test_the_fast_walk_against_its_definition(name: str) -> None:
    """With windows and hands; the walk by evening is the definition (``engine.walk``)."""
    keys, _ = CASES[name]
    jobs = [{**j, "start_minutes": 12.0, "check_minutes": 20.0} for j in keys["jobs"]]
    setup = problem(make(**{**keys, "jobs": jobs}), day(0))
    rng = np.random.default_rng(3)
    count = 400
    hours = (rng.random((len(setup.evenings), count)) < setup.chances[:, None]) * setup.hours[:, None]
    efforts = rng.uniform(0.2, 5.0, (len(setup.items), count))
    durations = rng.uniform(0.5, 40.0, (len(setup.jobs), count))
    fast, slow = (
        walk(hours, setup.starts, efforts, setup.walk_items, setup.walk_jobs, durations, groups=((0,),), use_sums=sums)
        for sums in (True, False)
    )
    np.testing.assert_allclose(fast.job_end, slow.job_end, rtol=0, atol=1e-6)
    np.testing.assert_array_equal(fast.unfinished, slow.unfinished)
