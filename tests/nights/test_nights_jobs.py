# SPDX-License-Identifier: GPL-3.0-or-later
"""Test frames, machines and jobs as the artist sets them; estimates in nights."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from nights_cases import NIGHT, UTC, day, item, job, make

from nightplan.actions import jobs
from nightplan.engine.forecast import forecast
from nightplan.engine.nights import NightEstimate, estimates
from nightplan.engine.plan import plan
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

TESTS = [
    {"load": "light", "minutes": 2.0, "frames": 300},
    {"load": "middle", "minutes": 4.0, "frames": 800},
    {"load": "heavy", "minutes": 9.0, "frames": 340},
]


def night(project: Project, on: int = 0) -> NightEstimate:
    return estimates(project, day(on), plan(project, day(on)))[0]


def test_test_frames_give_likely_and_high() -> None:
    # by hand: (2·300 + 4·800 + 9·340)/1440; high (3·300 + 6.5·800 + 11.25·340)/1440
    project = jobs.add_render(make([item("light", 2)]), "Final render", 1440, TESTS)
    minutes = project.jobs[0].minutes_per_frame
    assert minutes is not None
    assert minutes.likely == pytest.approx(6860 / 1440)
    assert minutes.high == pytest.approx(9925 / 1440)


def test_one_test_frame_is_half_sure() -> None:
    project = jobs.add_render(make([item("light", 2)]), "Final render", 100, TESTS[1:2])
    minutes = project.jobs[0].minutes_per_frame
    assert minutes is not None
    assert (minutes.likely, minutes.high) == (4.0, 6.0)


def test_new_test_frames_take_the_place_of_the_minutes() -> None:
    project = make([item("light", 2)], jobs=[job(frames=100, minutes_per_frame=1)])
    project = jobs.set_test_frames(project, "render", TESTS)
    assert project.jobs[0].minutes_per_frame is not None
    assert project.jobs[0].minutes_per_frame.likely > 4
    project = jobs.set_minutes(project, "render", 3.0, 5.0)
    assert project.jobs[0].test_frames is None


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"test_frames": [{"load": "light", "minutes": -1, "frames": 3}]}, r"test_frames\[0\]\.minutes"),
        ({"test_frames": [{"load": "gross", "minutes": 1, "frames": 3}]}, r"test_frames\[0\]\.load"),
        (
            {
                "test_frames": [
                    {"load": "light", "minutes": 5, "frames": 3},
                    {"load": "heavy", "minutes": 4, "frames": 3},
                ]
            },
            "must not take less time",
        ),
        ({"samples": 64}, "samples and tested_samples go together"),
        ({"also_on": ["desk"]}, "each machine once"),
        ({"line_share": 0.8}, "belongs to a transfer"),
        ({"failed_share": 1.5}, "failed_share = 1.5"),
        ({"ranges": 0}, "ranges = 0"),
    ],
)
def test_bad_jobs(changes: dict[str, Any], word: str) -> None:
    raw = job(frames=10, minutes_per_frame=1, **changes)
    with pytest.raises(BadInput, match=word):
        make([item("light", 1)], jobs=[raw])


@pytest.mark.parametrize(
    ("machines", "word"),
    [
        ([{"name": "desk", "window": {"from": "23:00", "to": "23:00"}}], "leave the window out"),
        ([{"name": "desk", "speed": 0}], "speed"),
        ([{"name": "desk"}, {"name": "desk"}], "a machine is named once"),
        ([{"name": "desk", "window": {"from": "25:00", "to": "07:00"}}], "time of day"),
    ],
)
def test_bad_machines(machines: list[dict[str, Any]], word: str) -> None:
    with pytest.raises(BadInput, match=word):
        make([item("light", 1)], machines=machines)


def test_a_transfer_gets_the_defaults() -> None:
    # source: trade.md: 80 % of the line and one full retry; 1 GB at 10 Mbit/s is 800 s
    project = jobs.add_transfer(make([item("light", 2)]), "Upload", 1.0, 10.0, after=["light"])
    found = plan(project, day(0)).jobs[0]
    assert found.start is not None
    assert found.end is not None
    assert (found.end - found.start).total_seconds() == pytest.approx(2000, abs=1)


def test_a_machine_that_is_plain_again_is_taken_out() -> None:
    project = jobs.set_machine(make([item("light", 2)]), "desk", window=NIGHT, speed=2.0)
    assert [m.name for m in project.machines or ()] == ["desk"]
    assert jobs.set_machine(project, "desk", window=None, speed=1.0).machines is None


def test_the_estimate_in_nights() -> None:
    # 1440 × 30 s = 12 h: eight the first night, four the second, ready at 03:00
    raw = job(after=["light"], before=["cut"], frames=1440, minutes_per_frame={"likely": 0.5, "high": 0.75})
    items = [item("light", 2), item("cut", 1)]
    found = night(make(items, jobs=[raw], machines=[{"name": "desk", "window": NIGHT}]))
    assert (found.likely_hours, found.likely_nights) == (pytest.approx(12.0), 2)
    assert found.likely_ready == dt.datetime(2027, 9, 22, 3, tzinfo=UTC)
    # 18 h: 8, 8 and 2
    assert (found.high_hours, found.high_nights) == (pytest.approx(18.0), 3)
    assert found.high_ready == dt.datetime(2027, 9, 23, 1, tzinfo=UTC)
    assert found.blocks == (day(1),)


def test_round_the_clock_nights_run_from_noon_to_noon() -> None:
    raw = job(after=["light"], hours=12)
    found = night(make([item("light", 2)], jobs=[raw]))
    assert (found.likely_nights, found.blocks) == (1, ())
    assert found.likely_ready == dt.datetime(2027, 9, 21, 10, tzinfo=UTC)
    raw = job(after=["light"], hours=30)
    assert night(make([item("light", 2)], jobs=[raw])).likely_nights == 2


def test_nights_without_power_are_not_counted() -> None:
    raw = job(after=["light"], frames=1440, minutes_per_frame=0.5)
    off = [{"from": str(day(1)), "to": str(day(2))}]
    found = night(make([item("light", 2)], jobs=[raw], machines=[{"name": "desk", "window": NIGHT, "off": off}]))
    # an hour on Monday, seven in the small hours of Thursday, four from Thursday 23:00
    assert found.likely_ready == dt.datetime(2027, 9, 24, 3, tzinfo=UTC)
    assert found.likely_nights == 3


def test_late_risk_in_odds() -> None:
    raw = job(after=["light"], hours={"likely": 20, "high": 60})
    project = make([item("light", 2)], jobs=[raw], lock=2)
    found = forecast(project, day(0), futures=4000)
    # alone behind certain work: the gate is met exactly when the job is
    assert found.job_odds == {"render": pytest.approx(found.gate("lock").odds)}
    assert 0.5 < found.job_odds["render"] < 1
