# SPDX-License-Identifier: GPL-3.0-or-later
"""What Tonight says of machine jobs."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.desk.pages.tonight_words import before_you_stop
from nightplan.engine.plan import plan
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

MONDAY = dt.date(2027, 9, 20)
TUESDAY = MONDAY + dt.timedelta(days=1)


def project(**more: Any) -> Project:
    job = {"id": "render", "name": "Final render", "hours": 8, "after": ["light"], "before": ["cut"], **more}
    items = [{"id": k, "name": k.title(), "likely": 1, "high": 1} for k in ("light", "cut", "set")]
    return project_from_raw(
        {
            "format": "nightplan",
            "version": 1,
            "title": "Moth and Lantern",
            "zone": "UTC",
            "announced": "2027-09-20",
            "gates": [
                {"id": "lock", "name": "Personal lock", "on": "2027-09-27"},
                {"id": "deadline", "name": "Hand-in", "on": "2027-09-27"},
            ],
            "week": [{"day": d, "start": "20:00", "hours": 2, "chance": 1.0} for d in ("mon", "tue", "wed", "thu")],
            "stages": [{"id": "work", "name": "Work", "items": items}],
            "jobs": [job],
            "machines": [{"name": "desk", "window": {"from": "23:00", "to": "07:00"}}],
        }
    )


def told(p: Project, date: dt.date) -> str:
    return before_you_stop(p, plan(p, MONDAY), date)


def test_a_start_and_its_minutes() -> None:
    p = project(start_minutes=10.0, check_minutes=15.0)
    assert told(p, MONDAY) == (
        "Before you stop: start Final render (10 min of this evening; 8.0 h, ready Tue 21 Sep 07:00)."
    )
    assert told(p, TUESDAY) == "Look over Final render (15 min of this evening)."


def test_without_minutes_the_evening_before_the_window_starts_it() -> None:
    p = project()
    assert told(p, MONDAY) == "Before you stop: start Final render (8.0 h, ready Tue 21 Sep 07:00)."
    assert told(p, TUESDAY) == ""


def test_what_runs_need_not_be_started() -> None:
    assert told(project(started="2027-09-20T21:00"), MONDAY) == ""
