# SPDX-License-Identifier: GPL-3.0-or-later
"""A small project around the evenings under test."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.evenings.dated import Calendar, calendar
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project


def raw(announced: str, lock: str, deadline: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    """A project with a lock on a date; the deadline is that date too unless given."""
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Moth and Lantern",
        "zone": "Europe/Lisbon",
        "announced": announced,
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": lock},
            {"id": "deadline", "name": "Hand-in", **(deadline or {"on": lock})},
        ],
        "week": [{"day": "tue", "start": "20:30", "hours": 2.5}],
        "stages": [{"id": "s", "name": "Stage", "items": [{"id": "a", "name": "A", "likely": 1, "high": 2}]}],
        **more,
    }


def made(*args: Any, **more: Any) -> Project:
    return project_from_raw(raw(*args, **more))


def dated(*args: Any, **more: Any) -> Calendar:
    return calendar(made(*args, **more))


def week(*slots: str) -> list[dict[str, Any]]:
    """``tue 20:30 2.5`` as slots of the pattern."""
    return [{"day": d, "start": s, "hours": float(h)} for d, s, h in (slot.split() for slot in slots)]


def utc(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).replace(tzinfo=dt.timezone.utc)  # noqa: UP017
