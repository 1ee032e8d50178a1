# SPDX-License-Identifier: GPL-3.0-or-later
"""Hours left and share done on past days, against draws from the published distributions and by hand."""

from __future__ import annotations

import datetime as dt
import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from nightplan.engine.effort import likely_left
from nightplan.engine.forecast import forecast
from nightplan.engine.past import past_points
from nightplan.engine.state import item_states
from nightplan.evenings.dated import calendar
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

SAMPLES = sorted((Path(__file__).parents[2] / "sample_projects").glob("*.nightplan"))
START = dt.date(2027, 3, 1)


def piece(items: list[dict[str, object]], log: list[dict[str, object]], correlation: float = 0.0) -> Project:
    return project_from_raw(
        {
            "format": "nightplan",
            "version": 1,
            "title": "Kite",
            "zone": "UTC",
            "announced": "2027-03-01",
            "correlation": correlation,
            "gates": [
                {"id": "lock", "name": "Lock", "on": "2027-04-01"},
                {"id": "deadline", "name": "Hand-in", "on": "2027-04-05"},
            ],
            "week": [{"day": "tue", "start": "20:00", "hours": 2, "chance": 0.9}],
            "stages": [{"id": "one", "name": "One", "items": items}],
            "log": log,
        }
    )


def test_hours_left_of_a_lognormal_are_the_median_of_what_draws_above_the_spent_ones_leave() -> None:
    # median 3 h, 90th percentile 5 h, 3.5 h spent
    project = piece(
        [{"id": "a", "name": "A", "likely": 3, "high": 5}],
        [{"evening": "2027-03-02", "hours": 3.5, "work": [{"item": "a", "hours": 3.5}]}],
    )
    draws = stats.lognorm(s=math.log(5 / 3) / stats.norm.ppf(0.9), scale=3).rvs(400_000, random_state=1)
    left = float(np.median(draws[draws > 3.5])) - 3.5
    points = past_points(project, calendar(project), dt.date(2027, 3, 3))
    assert [p.date.day for p in points] == [28, 2, 3]
    assert points[0].hours_left == pytest.approx(3.0)
    assert points[1].hours_left == points[2].hours_left == pytest.approx(left, abs=0.01)


def test_hours_left_of_three_points_come_from_the_beta_pert() -> None:
    # least 2, likeliest 3, most 12: mean (2 + 4·3 + 12)/6, shape 1 + 4(3 − 2)/10 and 1 + 4(12 − 3)/10
    project = piece(
        [{"id": "a", "name": "A", "low": 2, "likely": 3, "high": 12}],
        [{"evening": "2027-03-02", "hours": 3, "work": [{"item": "a", "hours": 3}]}],
    )
    pert = stats.beta(1.4, 4.6, loc=2, scale=10)
    draws = pert.rvs(400_000, random_state=1)
    before, after, _now = past_points(project, calendar(project), dt.date(2027, 3, 3))
    assert before.hours_left == pytest.approx(pert.median(), abs=0.01)
    assert after.hours_left == pytest.approx(float(np.median(draws[draws > 3])) - 3, abs=0.02)


def test_share_of_work_by_hand() -> None:
    # 4 h done, 2 h of a certain 4 in progress, 3 left out: (4 + 4·2/4) of 8
    project = piece(
        [
            {"id": "a", "name": "A", "likely": 4, "high": 4, "state": "done"},
            {"id": "b", "name": "B", "likely": 4, "high": 4},
            {"id": "c", "name": "C", "likely": 3, "high": 3, "state": "cut"},
        ],
        [
            {"evening": "2027-03-02", "hours": 6, "work": [{"item": "a", "hours": 6, "done": True}]},
            {"evening": "2027-03-09", "hours": 2, "work": [{"item": "b", "hours": 2}]},
        ],
    )
    points = past_points(project, calendar(project), dt.date(2027, 3, 9))
    assert [p.done["lock"] for p in points] == pytest.approx([0.0, 0.5, 0.75])
    assert [p.hours_left for p in points] == pytest.approx([8.0, 4.0, 2.0])


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_the_past_of_a_forecast_is_that_of_each_day(path: Path) -> None:
    project = project_from_raw(json.loads(path.read_text(encoding="utf-8")))
    as_of = max([project.announced, *(e.evening for e in project.log)])
    found = forecast(project, as_of, futures=200)
    assert found.past[-1].date == as_of
    for point in found.past:
        states = item_states(project, point.date).values()
        assert point.hours_left == pytest.approx(sum(likely_left(s, 0.0, project.correlation) for s in states))
        assert all(0 <= share <= 1 for share in point.done.values())
