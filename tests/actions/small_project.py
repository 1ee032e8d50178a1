# SPDX-License-Identifier: GPL-3.0-or-later
"""A small project for the tests of actions: two stages, a render between them, Monday and Wednesday evenings.

2027-09-20 is a Monday.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

MONDAY = dt.date(2027, 9, 20)
TUESDAY, WEDNESDAY = MONDAY + dt.timedelta(days=1), MONDAY + dt.timedelta(days=2)
NEXT_MONDAY = MONDAY + dt.timedelta(days=7)


def item(key: str, likely: float, **keys: Any) -> dict[str, Any]:
    return {"id": key, "name": key.title(), "likely": likely, "high": likely * 1.75, **keys}


def small_raw() -> dict[str, Any]:
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Paper Comet",
        "piece": "motion loop",
        "zone": "Europe/Lisbon",
        "announced": MONDAY.isoformat(),
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": "2027-10-10"},
            {"id": "deadline", "name": "Hand-in", "at": "2027-10-13T23:59", "zone": "UTC"},
        ],
        "week": [
            {"day": "mon", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "wed", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 4, "chance": 0.5},
        ],
        "stages": [
            {"id": "sketch", "name": "Sketch", "items": [item("boards", 1), item("timing", 2, after=["boards"])]},
            {
                "id": "animate",
                "name": "Animate",
                "after": ["sketch"],
                "items": [item("block", 3), item("polish", 2, after=["block"], tier="tertiary")],
            },
            {
                "id": "edit",
                "name": "Edit",
                "after": ["animate"],
                "items": [item("cut", 1), item("send", 0.5, after=["cut"])],
            },
        ],
        "jobs": [
            {
                "id": "render",
                "name": "Render",
                "after": ["animate"],
                "before": ["cut"],
                "hours": {"likely": 6, "high": 9},
            }
        ],
        "x-kept": {"a": 1},
    }


def small() -> Project:
    return project_from_raw(small_raw())
