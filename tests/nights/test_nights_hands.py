# SPDX-License-Identifier: GPL-3.0-or-later
"""Minutes of an evening for a job's start and for looking it over; jobs that run; ranges."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from nights_cases import NIGHT, UTC, day, item, job, make
from scipy import stats

from nightplan.actions.tick import Evening, tick
from nightplan.engine.forecast import forecast, simulate
from nightplan.engine.nights_hours import JobHours, job_hours
from nightplan.engine.nights_running import measured_minutes
from nightplan.engine.plan import plan
from nightplan.engine.problem import problem
from nightplan.engine.recovery import Ways
from nightplan.engine.watch import warnings
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Job


def at(date: dt.date, hour: float) -> dt.datetime:
    return dt.datetime.combine(date, dt.time(), tzinfo=UTC) + dt.timedelta(hours=hour)


HANDS = job(after=["light"], before=["cut"], hours=10, start_minutes=15, check_minutes=30)
ITEMS = [item("light", 1), item("cut", 1), item("set", 4)]


def test_the_plan_keeps_the_minutes() -> None:
    found = plan(make(ITEMS, jobs=[HANDS]), day(0))
    first, second = found.evenings[:2]
    assert [(h.job, h.kind, h.hours) for h in first.hands] == [("render", "start", 0.25)]
    assert [(h.job, h.kind, h.hours) for h in second.hands] == [("render", "check", 0.5)]
    # an hour of light, a quarter for the start, the rest for the set; then the look, and the cut after it
    assert [(w.item, w.hours) for w in first.work] == [("light", 1.0), ("set", 0.75)]
    assert next((w.item, w.hours) for w in second.work) == ("cut", 1.0)
    assert (found.jobs[0].start, found.jobs[0].end) == (at(day(0), 21.25), at(day(1), 7.25))
    assert {i.id for i in found.items} == {"light", "cut", "set"}


def test_hands_are_in_no_file_and_no_list() -> None:
    project = make(ITEMS, jobs=[HANDS])
    found = forecast(project, day(0), futures=500)
    assert {i.id for i in found.items} == {"light", "cut", "set"}
    assert all(":" not in d.id for d in found.drivers)
    assert found.hours_left == pytest.approx(6.75)
    raw = project_to_raw(project)
    assert ":start" not in str(raw)
    assert project_from_raw(raw) == project
    warnings(project, day(0), plan(project, day(0)))


def test_without_minutes_nothing_is_kept() -> None:
    plain = {k: v for k, v in HANDS.items() if not k.endswith("minutes")}
    one, two = (
        simulate(problem(make(ITEMS, jobs=[j], chance=0.7), day(0)), 300, 1)
        for j in (plain, {**plain, "start_minutes": 0.0, "check_minutes": 0.0})
    )
    np.testing.assert_array_equal(one.completion, two.completion)


def test_hands_cost_what_the_same_items_would_cost() -> None:
    """The same numbers as with two certain items of the artist's own."""
    items = [item("light", 2, 4), item("cut", 1, 2)]
    by_keys = make(items, jobs=[{**HANDS, "hours": {"likely": 10, "high": 20}}], chance=0.7)
    own = [
        item("light", 2, 4),
        item("start", 0.25, after=["light"]),
        item("look", 0.5, after=["render"]),
        item("cut", 1, 2, after=["look"]),
    ]
    by_hand = make(own, jobs=[job(after=["start"], hours={"likely": 10, "high": 20})], chance=0.7)
    one, two = (simulate(problem(p, day(0)), 500, 1) for p in (by_keys, by_hand))
    np.testing.assert_allclose(one.completion, two.completion, rtol=0, atol=1e-9)


def test_a_job_ticked_off_needs_no_hands() -> None:
    project = make(ITEMS, jobs=[HANDS])
    done = tick(project, Evening(day(0), hours=2.0, work={"light": 1.0}, done=("light", "render")))
    found = plan(done, day(1))
    assert not any(e.hands for e in found.evenings)


def test_recoveries_know_hands_and_windows() -> None:
    machines = [{"name": "desk", "window": NIGHT}]
    project = make(ITEMS, jobs=[{**HANDS, "hours": {"likely": 10, "high": 20}}], machines=machines, lock=2, chance=0.8)
    ways = Ways(project, day(0), futures=1000)
    found = ways.recover()
    assert found.before["lock"] == pytest.approx(forecast(project, day(0), futures=1000).gate("lock").odds)


# --- jobs that run --------------------------------------------------------------------------------


def _seen(frames: int, oldest: str, newest: str) -> dict[str, object]:
    return {"frames": frames, "oldest": oldest, "newest": newest}


def test_what_is_left_of_a_running_render() -> None:
    # source: trade.md, (newest − oldest)/(n − 1): 41 frames from 22:00 to 02:00 are 6 min each; 60 more are 6 h
    seen = _seen(41, "2027-09-20T22:00", "2027-09-21T02:00")
    work = job(after=["light"], frames=101, minutes_per_frame=20, seen=seen)
    project = make([item("light", 8)], jobs=[work])
    found = plan(project, day(1)).jobs[0]
    # it runs, though what was to come before it is still open
    assert (found.start, found.end) == (at(day(1), 2), at(day(1), 8))
    assert measured_minutes(project.jobs[0], None, at(day(0), 0)) == pytest.approx(6.0)


def test_what_was_seen_later_is_not_known_earlier() -> None:
    seen = _seen(41, "2027-09-20T22:00", "2027-09-21T02:00")
    jobs = [job(after=["light"], frames=101, minutes_per_frame=20)]
    items = [item("light", 8)]
    assert plan(make(items, jobs=[{**jobs[0], "seen": seen}]), day(0)) == plan(make(items, jobs=jobs), day(0))


def test_nights_that_the_machine_slept_are_not_measured() -> None:
    # 23:00 to 07:00 and 23:00 to 03:00 are 12 h of work, 121 frames: 6 min each
    seen = _seen(121, "2027-09-20T23:00", "2027-09-22T03:00")
    work = job(frames=161, minutes_per_frame=20, seen=seen)
    found = plan(make([item("light", 8)], jobs=[work], machines=[{"name": "desk", "window": NIGHT}]), day(2)).jobs[0]
    assert found.end == at(day(2), 7)


def test_all_frames_there_is_nothing_left() -> None:
    seen = _seen(120, "2027-09-20T22:00", "2027-09-21T02:00")
    work = job(frames=120, minutes_per_frame=20, seen=seen)
    found = plan(make([item("light", 8)], jobs=[work]), day(1)).jobs[0]
    assert found.end == at(day(1), 2)


def test_one_frame_keeps_the_estimate() -> None:
    seen = _seen(1, "2027-09-20T22:00", "2027-09-20T22:00")
    work = job(frames=121, minutes_per_frame=6, seen=seen)
    found = plan(make([item("light", 8)], jobs=[work]), day(1)).jobs[0]
    assert found.end == at(day(1), 10)


def test_a_running_job_goes_before_what_waits_for_its_machine() -> None:
    seen = _seen(41, "2027-09-20T22:00", "2027-09-21T02:00")
    jobs = [job("cache", hours=5), job(frames=101, minutes_per_frame=20, seen=seen), job("upload", hours=1)]
    found = {j.id: j for j in plan(make([item("light", 8)], jobs=jobs), day(1)).jobs}
    assert found["render"].end == at(day(1), 8)
    assert {found["cache"].start, found["upload"].start} <= {at(day(1), 8), at(day(1), 13), at(day(1), 9)}


def test_the_spread_shrinks_as_frames_come() -> None:
    def spread(frames: int) -> float:
        seen = _seen(frames, "2027-09-20T22:00", "2027-09-21T02:00")
        work = job(frames=400, minutes_per_frame={"likely": 5, "high": 10}, seen=seen)
        setup = problem(make([item("light", 8)], jobs=[work]), day(1))
        left = setup.job_states["render"][0].minutes_per_frame
        assert left is not None
        return left.high / left.likely

    assert spread(100) == pytest.approx(2 ** math.sqrt(0.75))
    assert spread(300) < spread(100) < 2


# --- ranges ---------------------------------------------------------------------------------------


def test_failed_ranges_against_the_negative_binomial_distribution() -> None:
    # source: scipy.stats.nbinom
    u = (np.arange(4000) + 0.5) / 4000
    work = Job.model_validate(job(hours=8, fail_chance=0.4, ranges=4))
    hours = job_hours(work).hours(np.zeros((2, 4000)), u)
    wanted = 8 * (1 + stats.nbinom.ppf(u, 4, 0.6**0.25) / 4)
    np.testing.assert_allclose(hours, wanted)


def test_ranges_cost_less_than_the_whole_again() -> None:
    u = (np.arange(4000) + 0.5) / 4000
    whole, ranges = (
        JobHours(job_hours(Job.model_validate(job(hours=8))).amount, None, 1.0, 0.4, k).hours(np.zeros((2, 4000)), u)
        for k in (1, 8)
    )
    assert ranges.mean() < whole.mean()
    assert np.mean(whole == 8) == pytest.approx(np.mean(ranges == 8), abs=1e-3)
