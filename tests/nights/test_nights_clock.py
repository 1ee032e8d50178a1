# SPDX-License-Identifier: GPL-3.0-or-later
"""Windows, speeds, power-off days: when a job ends."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nights_cases import MEDIA, NIGHT, UTC, day, item, job, make

from nightplan.engine.forecast import simulate
from nightplan.engine.nights_clock import WorkClock, clock_of, open_spans
from nightplan.engine.plan import plan
from nightplan.engine.problem import problem
from nightplan.evenings.zones import zone_info
from nightplan.model.project import Project


def at(date: dt.date, hour: float) -> dt.datetime:
    return dt.datetime.combine(date, dt.time(), tzinfo=UTC) + dt.timedelta(hours=hour)


def ends(project: Project) -> list[tuple[dt.datetime | None, dt.datetime | None]]:
    return [(j.start, j.end) for j in plan(project, day(0)).jobs]


@pytest.mark.parametrize("name", sorted(MEDIA["render_hours"]))
def test_published_render_arithmetic(name: str) -> None:
    # source: tests/data/media_values.json (360 fr x 6 min / 2 is two machines of one speed)
    frames, _, _, minutes, _, _, machines = name.split()
    also = None if machines == "1" else ["second"]
    work = job(frames=int(frames), minutes_per_frame=float(minutes), also_on=also, after=["light"])
    ((start, end),) = ends(make([item("light", 2)], jobs=[work]))
    assert start == at(day(0), 22)
    assert end is not None
    assert (end - at(day(0), 22)).total_seconds() / 3600 == pytest.approx(MEDIA["render_hours"][name], abs=1e-3)


@pytest.mark.parametrize("name", sorted(MEDIA["upload_seconds"]))
def test_published_transfer_arithmetic(name: str) -> None:
    # source: tests/data/media_values.json; 80 % of the line and one retry: trade.md, a default of ours
    gigabytes, _, megabits, _ = name.replace("@", "").split()
    known = {"kind": "upload", "gigabytes": float(gigabytes), "megabits_per_second": float(megabits)}
    seconds = MEDIA["upload_seconds"][name]
    for more, factor in (({}, 1.0), ({"line_share": 0.8}, 1.25), ({"line_share": 0.8, "retries": 1}, 2.5)):
        ((start, end),) = ends(make([item("light", 2)], jobs=[job(after=["light"], **known, **more)]))
        assert start is not None
        assert end is not None
        assert (end - start).total_seconds() == pytest.approx(seconds * factor, abs=1)


def test_eight_hours_fill_one_night_to_its_last_minute() -> None:
    # source: 120 × 4 min = 8 h; the window holds 8 h
    work = job(frames=120, minutes_per_frame=4, after=["light"])
    machines = [{"name": "desk", "window": NIGHT}]
    ((start, end),) = ends(make([item("light", 2)], jobs=[work], machines=machines))
    assert (start, end) == (at(day(0), 23), at(day(1), 7))


def test_a_frame_more_is_the_next_night() -> None:
    work = job(frames=121, minutes_per_frame=4, after=["light"])
    machines = [{"name": "desk", "window": NIGHT}]
    ((_, end),) = ends(make([item("light", 2)], jobs=[work], machines=machines))
    assert end == at(day(1), 23) + dt.timedelta(minutes=4)


def test_twelve_hours_wait_for_the_second_night() -> None:
    # source: 1440 × 30 s = 12 h: 8 h the first night, 4 h the second
    work = job(frames=1440, minutes_per_frame=0.5, after=["light"])
    machines = [{"name": "desk", "window": NIGHT}]
    ((_, end),) = ends(make([item("light", 2)], jobs=[work], machines=machines))
    assert end == at(day(2), 3)


def test_power_off_days_stand_still_from_midnight_to_midnight() -> None:
    work = job(frames=1440, minutes_per_frame=0.5, after=["light"])
    machines = [{"name": "desk", "window": NIGHT, "off": [{"from": str(day(1)), "to": str(day(1))}]}]
    # Monday 23:00 to midnight is an hour, Wednesday 00:00 to 07:00 seven, the last four from 23:00
    ((_, end),) = ends(make([item("light", 2)], jobs=[work], machines=machines))
    assert end == at(day(3), 3)


def test_machines_with_their_own_speeds_and_windows_share_the_frames() -> None:
    # 9 h of work: the laptop (half the speed, always on) does 0.5 h by 23:00, then 1.5 in each hour
    work = job(frames=135, minutes_per_frame=4, after=["light"], also_on=["laptop"])
    machines = [{"name": "desk", "window": NIGHT}, {"name": "laptop", "speed": 0.5}]
    ((start, end),) = ends(make([item("light", 2)], jobs=[work], machines=machines))
    assert start == at(day(0), 22)
    assert end == at(day(0), 23) + dt.timedelta(hours=8.5 / 1.5)


@pytest.mark.parametrize(
    ("zone", "night", "hours"),
    [
        # source: tz database; clocks forward on 28 Mar 2027 and back on 31 Oct 2027 in Berlin, on
        # 14 Mar 2027 and 7 Nov 2027 in Los Angeles
        ("Europe/Berlin", dt.date(2027, 3, 27), 7),
        ("Europe/Berlin", dt.date(2027, 10, 30), 9),
        ("Europe/Berlin", dt.date(2027, 6, 1), 8),
        ("America/Los_Angeles", dt.date(2027, 3, 13), 7),
        ("America/Los_Angeles", dt.date(2027, 11, 6), 9),
        # no daylight saving
        ("Asia/Kolkata", dt.date(2027, 3, 27), 8),
    ],
)
def test_a_window_on_a_daylight_saving_night(zone: str, night: dt.date, hours: int) -> None:
    """Work of exactly the night's hours ends at 07:00; half an hour more ends at 23:30 the next night."""
    machines = [{"name": "desk", "window": NIGHT}]
    for extra, wanted in ((0.0, dt.datetime(1, 1, 1, 7)), (0.5, dt.datetime(1, 1, 1, 23, 30))):
        project = make(
            [item("light", 2)],
            jobs=[job(hours=hours + extra, after=["light"])],
            announced=night,
            zone=zone,
            machines=machines,
        )
        found = plan(project, night).jobs[0]
        assert found.end is not None
        local = found.end.astimezone(zone_info(zone))
        assert local.date() == night + dt.timedelta(days=1)
        assert (local.hour, local.minute) == (wanted.hour, wanted.minute)


@pytest.mark.parametrize(("opens", "closes"), [(3, 2), (2, 1), (0, 23), (22, 6)])
@pytest.mark.parametrize("night", [dt.date(2027, 3, 27), dt.date(2027, 10, 30)])
def test_no_window_opens_before_it_closed(night: dt.date, opens: int, closes: int) -> None:
    """An hour holds no more than an hour, also where a window's end does not exist that night."""
    window = (dt.time(opens), dt.time(closes, 59))
    found = open_spans(
        window, (), zone_info("Europe/Berlin"), night - dt.timedelta(days=2), night + dt.timedelta(days=3)
    )
    assert all(a[1] <= b[0] for a, b in pairwise(found))
    assert all(a < b for a, b in found)


def test_a_window_that_never_opens_gives_no_end() -> None:
    machines = [{"name": "desk", "off": [{"from": "2027-01-01", "to": "2029-01-01"}]}]
    project = make([item("light", 2)], jobs=[job(hours=1, after=["light"]), job("cache", hours=2)], machines=machines)
    assert [e for _, e in ends(project)] == [None, None]
    assert np.isinf(simulate(problem(project, day(0)), 50, 1).completion).all()


def test_a_plain_machine_changes_nothing() -> None:
    """Named, speed 1, round the clock: the same futures to the last bit as without any machine."""
    jobs = [job(hours={"likely": 10, "high": 20}, after=["light"], before=["cut"], fail_chance=0.2)]
    items = [item("light", 2, 4), item("cut", 2, 4)]
    plain, named = (make(items, jobs=jobs, chance=0.8, **k) for k in ({}, {"machines": [{"name": "desk"}]}))
    one, two = (simulate(problem(p, day(0)), 500, 1) for p in (plain, named))
    np.testing.assert_array_equal(one.completion, two.completion)
    np.testing.assert_array_equal(one.job_end, two.job_end)


def test_a_window_of_the_whole_day_but_a_minute_is_nearly_the_clock_on_the_wall() -> None:
    jobs = [job(hours={"likely": 10, "high": 20}, after=["light"], before=["cut"])]
    items = [item("light", 2, 4), item("cut", 2, 4)]
    wide = [{"name": "desk", "window": {"from": "12:00", "to": "11:59"}}]
    one, two = (simulate(problem(make(items, jobs=jobs, **k), day(0)), 500, 1) for k in ({}, {"machines": wide}))  # type: ignore[arg-type]
    late = two.job_end - one.job_end
    assert (late >= -1e-9).all()
    assert late.max() < 0.1


# --- the clock itself -----------------------------------------------------------------------------


def _slow(spans: list[tuple[float, float, float]], start: float, hours: float) -> float:
    """When the work is done, by adding up span after span."""
    left = hours
    for begin, end, rate in spans:
        begin = max(begin, start)
        if end <= begin:
            continue
        if left <= (end - begin) * rate + 1e-9:
            return begin + left / rate
        left -= (end - begin) * rate
    return float("inf")


@settings(max_examples=200, deadline=None)
@given(
    lengths=st.lists(st.integers(1, 20), min_size=2, max_size=12),
    rates=st.lists(st.sampled_from([0.0, 0.5, 1.0, 2.5]), min_size=12, max_size=12),
    start=st.integers(0, 60),
    hours=st.integers(1, 80),
)
def test_a_run_against_adding_up(lengths: list[int], rates: list[float], start: int, hours: int) -> None:
    times = np.concatenate(([0.0], np.cumsum(lengths)))
    rate = np.array(rates[: len(lengths)])
    clock = WorkClock(times, np.concatenate(([0.0], np.cumsum(np.diff(times) * rate))))
    spans = [(times[k], times[k + 1], r) for k, r in enumerate(rate) if r > 0]
    begin, end = clock.run(np.array([float(start)]), np.array([float(hours)]))
    assert end[0] == pytest.approx(_slow(spans, start, hours), abs=1e-6)
    if np.isfinite(end[0]):
        assert start <= begin[0] <= end[0]
        assert clock.done(end)[0] - clock.done(begin)[0] == pytest.approx(hours, abs=1e-6)


@given(st.lists(st.floats(0, 400), min_size=2, max_size=2), st.lists(st.floats(0, 50), min_size=2, max_size=2))
def test_later_starts_and_longer_runs_never_end_sooner(starts: list[float], hours: list[float]) -> None:
    project = make(machines=[{"name": "desk", "window": NIGHT, "speed": 1.5}])
    clock = clock_of(project, ["desk"], zone_info("UTC"), at(day(0), 0), at(day(-1), 0), at(day(60), 0))
    assert clock is not None
    _, end = clock.run(np.sort(starts), np.sort(hours))
    assert end[0] <= end[1] + 1e-6


@pytest.mark.parametrize(
    ("keys", "hours"),
    [
        # common practice, no source: time goes with samples, with pixels, with frames
        ({"samples": 64, "tested_samples": 128}, 4.0),
        ({"picture": [960, 540], "tested_picture": [1920, 1080]}, 2.0),
        ({"frame_step": 2}, 4.0),
        ({"failed_share": 0.25}, 10.0),
    ],
)
def test_scale_rules(keys: dict[str, Any], hours: float) -> None:
    work = job(frames=120, minutes_per_frame=4, after=["light"], **keys)
    ((start, end),) = ends(make([item("light", 2)], jobs=[work]))
    assert start is not None
    assert end is not None
    assert (end - start).total_seconds() / 3600 == pytest.approx(hours, abs=1e-3)
