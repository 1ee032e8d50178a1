# SPDX-License-Identifier: GPL-3.0-or-later
"""The fast way of the walk against its definition, evening by evening."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nightplan.engine.nights_clock import WorkClock
from nightplan.engine.queue import WalkJob
from nightplan.engine.walk import Walked, WalkItem, walk


@dataclass(frozen=True)
class Case:
    hours: np.ndarray
    starts: np.ndarray
    efforts: np.ndarray
    items: tuple[WalkItem, ...]
    jobs: tuple[WalkJob, ...]
    durations: np.ndarray
    groups: tuple[tuple[int, ...], ...]

    def walk(self, *, sums: bool, left: bool = False, **more: bool) -> Walked:
        return walk(
            self.hours,
            self.starts,
            self.efforts,
            self.items,
            self.jobs,
            self.durations,
            groups=self.groups,
            record_left=left,
            use_sums=sums,
            **more,
        )


def random_case(rng: np.random.Generator, *, whole: bool) -> Case:
    """Items, jobs on one machine or on several, releases, lost evenings, work without effort.

    With ``whole`` every number is whole, so that finishes meet the ends of evenings and of jobs exactly.
    """
    count_i, count_e, n = int(rng.integers(1, 9)), int(rng.integers(1, 14)), int(rng.integers(1, 12))
    count_j = int(rng.integers(0, 4))
    gaps = rng.integers(3, 30, count_e)
    starts = np.cumsum(gaps).astype(float)
    lengths = rng.integers(1, 4, count_e).astype(float)
    efforts = rng.integers(0, 6, (count_i, n)).astype(float)
    # a job without any length behind work without any length, at the very start of an evening, could free
    # its dependants on that evening or the next: the two ways differ there, and only there
    durations = rng.integers(1, 60, (count_j, n)).astype(float)
    if not whole:
        lengths *= rng.uniform(0.5, 1.0, count_e)
        efforts *= rng.uniform(0.1, 1.5, (count_i, n))
        durations *= rng.uniform(0.1, 1.5, (count_j, n))
    # some items have no work at all in any future
    efforts[rng.random(count_i) < 0.15] = 0.0
    hours = lengths[:, None] * (rng.random((count_e, n)) < 0.7)
    # one order of items and jobs; each may wait for what comes before it
    kinds = rng.permutation(np.array(["item"] * count_i + ["job"] * count_j))
    items: list[WalkItem] = []
    jobs: list[WalkJob] = []
    shared = rng.random() < 0.4
    for kind in kinds:
        after = tuple(i for i in range(len(items)) if rng.random() < 0.25)
        after_jobs = tuple(j for j in range(len(jobs)) if rng.random() < 0.35)
        if kind == "item":
            release = int(rng.integers(0, count_e + 2)) if rng.random() < 0.3 else 0
            items.append(WalkItem(after, after_jobs, release))
        else:
            # one machine for jobs that follow each other serves the fast way as well
            jobs.append(WalkJob(after, after_jobs, 0 if shared else len(jobs), float(rng.integers(0, 40))))
    groups = (tuple(range(count_i)), tuple(i for i in range(count_i) if rng.random() < 0.5), (count_i - 1,))
    return Case(hours, starts, efforts, tuple(items), tuple(jobs), durations, groups)


def agree(case: Case) -> None:
    """Same finish evenings, finish times, job times and hours left."""
    fast, slow = case.walk(sums=True, left=True), case.walk(sums=False, left=True)
    same(case, fast, slow)
    assert fast.left is not None
    assert slow.left is not None
    np.testing.assert_allclose(fast.left, slow.left, rtol=0, atol=1e-6)


def same(case: Case, fast: Walked, slow: Walked) -> None:
    np.testing.assert_array_equal(fast.unfinished, slow.unfinished)
    np.testing.assert_allclose(fast.job_start, slow.job_start, rtol=0, atol=1e-6)
    np.testing.assert_allclose(fast.job_end, slow.job_end, rtol=0, atol=1e-6)
    for group in case.groups:
        one, two = fast.last_time(group), slow.last_time(group)
        if one is None or two is None:
            assert not group
            assert one is two
        else:
            np.testing.assert_allclose(one, two, rtol=0, atol=1e-6)


@pytest.mark.parametrize("whole", [False, True], ids=["any hours", "whole hours"])
def test_many_random_cases(whole: bool) -> None:
    # source: the definition itself, walk(use_sums=False)
    for seed in range(1500):
        agree(random_case(np.random.default_rng([seed, whole]), whole=whole))


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), whole=st.booleans())
def test_any_case(seed: int, whole: bool) -> None:
    agree(random_case(np.random.default_rng(seed), whole=whole))


def test_recorded_plan_is_the_same_walk() -> None:
    # the plan records hours; its finishes are those of the futures' walk
    for seed in range(60):
        case = random_case(np.random.default_rng([seed, 5]), whole=False)
        one = Case(
            case.hours[:, :1],
            case.starts,
            case.efforts[:, :1],
            case.items,
            case.jobs,
            case.durations[:, :1],
            case.groups,
        )
        fast = one.walk(sums=True)
        plan = walk(one.hours, one.starts, one.efforts, one.items, one.jobs, one.durations, record=True)
        np.testing.assert_array_equal(fast.unfinished, plan.unfinished)
        assert plan.given is not None
        done = plan.unfinished[-1] == 0
        np.testing.assert_allclose(plan.given.sum(axis=0)[done], one.efforts[done, 0], atol=1e-6)


def queue_case(rng: np.random.Generator) -> Case:
    """Jobs on two machines and on both, round the clock or at night, some of them without length; 20 to 60 futures."""
    case = random_case(rng, whole=False)
    n = int(rng.integers(20, 60))
    count = int(rng.integers(2, 5))
    # no evening starts at half past: see above for a job without length that is ready just then
    jobs = tuple(WalkJob(_some(rng, len(case.items)), (), 0, int(rng.integers(0, 40)) + 0.5) for _ in range(count))
    nights = WorkClock(np.arange(0.0, 4000.0, 12.0), np.repeat(np.arange(167.0) * 12.0, 2)[:334])
    clock = nights if rng.random() < 0.4 else None
    jobs = tuple(
        replace(job, machine=int(rng.integers(0, 2)), also=(2,) if rng.random() < 0.3 else (), clock=clock)
        for job in jobs
    )
    # an item waits for some of the jobs whose predecessors come before it
    items = []
    for i, item in enumerate(case.items):
        free = [j for j, job in enumerate(jobs) if all(p < i for p in job.after) and rng.random() < 0.3]
        items.append(replace(item, after_jobs=tuple(free)))
    durations = rng.uniform(0.5, 30.0, (len(jobs), n)) * (rng.random((len(jobs), 1)) < 0.85)
    hours = case.hours.max(axis=1)[:, None] * (rng.random((len(case.starts), n)) < 0.7)
    efforts = case.efforts.max(axis=1)[:, None] * rng.uniform(0.2, 1.5, (len(items), n))
    return Case(hours, case.starts, efforts, tuple(items), jobs, durations, case.groups)


def _some(rng: np.random.Generator, count: int) -> tuple[int, ...]:
    return tuple(i for i in range(count) if rng.random() < 0.3)


def test_jobs_that_meet_in_some_futures_only() -> None:
    # source: the definition itself, walk(use_sums=False)
    apart = together = 0
    for seed in range(600):
        case = queue_case(np.random.default_rng([seed, 7]))
        slow, fast = case.walk(sums=False), case.walk(sums=True, sums_first=True)
        same(case, fast, slow)
        left = case.walk(sums=True, sums_first=True, leave_clashes=True)
        np.testing.assert_array_equal(left.clashes, fast.clashes)
        fine = np.setdiff1d(np.arange(case.hours.shape[1]), left.clashes)
        np.testing.assert_allclose(left.job_end[:, fine], slow.job_end[:, fine], rtol=0, atol=1e-6)
        apart, together = apart + fine.size, together + left.clashes.size
    # a test of both
    assert min(apart, together) > 3000
