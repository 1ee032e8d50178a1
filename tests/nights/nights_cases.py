# SPDX-License-Identifier: GPL-3.0-or-later
"""Small projects with machine jobs."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

DATA = Path(__file__).parent.parent / "data"
MEDIA: dict[str, Any] = json.loads((DATA / "media_values.json").read_text(encoding="utf-8"))
#: a Monday
ANNOUNCED = dt.date(2027, 9, 20)
UTC = dt.timezone.utc  # noqa: UP017 - as in the program
NIGHT = {"from": "23:00", "to": "07:00"}


def day(n: int) -> dt.date:
    return ANNOUNCED + dt.timedelta(days=n)


def item(key: str, likely: float, high: float | None = None, **more: Any) -> dict[str, Any]:
    return {"id": key, "name": key.title(), "likely": likely, "high": high or likely, **more}


def job(key: str = "render", **more: Any) -> dict[str, Any]:
    return {"id": key, "name": key.title(), **more}


def make(
    items: list[dict[str, Any]] | None = None,
    *,
    jobs: list[dict[str, Any]] | None = None,
    announced: dt.date = ANNOUNCED,
    lock: int = 20,
    hours: float = 2.0,
    chance: float = 1.0,
    zone: str = "UTC",
    **more: Any,
) -> Project:
    """A project with one evening a day at 20:00; ``lock`` counts days from the announcement."""
    end = (announced + dt.timedelta(days=lock)).isoformat()
    return project_from_raw(
        {
            "format": "nightplan",
            "version": 1,
            "title": "Moth and Lantern",
            "zone": zone,
            "announced": announced.isoformat(),
            "correlation": 0.0,
            "gates": [
                {"id": "lock", "name": "Personal lock", "on": end},
                {"id": "deadline", "name": "Hand-in", "on": end},
            ],
            "week": [
                {"day": d, "start": "20:00", "hours": hours, "chance": chance}
                for d in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
            ],
            "stages": [{"id": "stage", "name": "Stage", "items": items or []}],
            "jobs": jobs or [],
            **more,
        }
    )
