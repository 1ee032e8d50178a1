# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand-made results that the tests of the exports share: small, every number chosen."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.engine.past import past_points
from nightplan.evenings.dated import calendar
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project
from nightplan.model.results import (
    Buffer,
    BurnPoint,
    DateOdds,
    Driver,
    Forecast,
    GateForecast,
    ItemForecast,
    Learned,
    Percentiles,
    Plan,
    PlannedEvening,
    PlannedGate,
    PlannedItem,
    PlannedJob,
    PlannedWork,
)

UTC = dt.timezone.utc  # noqa: UP017
AS_OF = dt.date(2027, 3, 9)


def d(day: int, month: int = 3) -> dt.date:
    return dt.date(2027, month, day)


def project(**changes: Any) -> Project:
    """Tue and Thu sure, Sat maybe, from Mon 1 March; lock Fri 19, deadline Mon 22 noon."""
    raw: dict[str, Any] = {
        "format": "nightplan",
        "version": 1,
        "title": "Paper Whale",
        "piece": "still",
        "zone": "UTC",
        "announced": "2027-03-01",
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": "2027-03-19"},
            {"id": "deadline", "name": "Hand-in", "at": "2027-03-22T12:00", "zone": "UTC", "wording": "22 March, noon"},
        ],
        "week": [
            {"day": "tue", "start": "20:00", "hours": 2, "chance": 0.9},
            {"day": "thu", "start": "20:00", "hours": 2, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 4, "chance": 0.5},
        ],
        "stages": [
            {
                "id": "model",
                "name": "Model",
                "gate": "lock",
                "items": [
                    {"id": "body", "name": "Body", "likely": 3, "high": 5},
                    {"id": "fins", "name": "Fins", "likely": 2, "high": 4, "tier": "tertiary"},
                ],
            },
            {
                "id": "motion",
                "name": "Motion & more",
                "gate": "deadline",
                "items": [{"id": "swim", "name": "Swim", "likely": 4, "high": 4}],
            },
        ],
        "jobs": [
            {"id": "render", "name": "Render", "after": ["swim"], "gate": "deadline", "hours": 6},
        ],
        "log": [
            {"evening": "2027-03-02", "hours": 2, "work": [{"item": "body", "hours": 2}], "note": "good start"},
            {"evening": "2027-03-04", "happened": False, "note": "ill"},
            {
                "evening": "2027-03-06",
                "hours": 3,
                "work": [
                    {"item": "body", "hours": 2, "done": True},
                    {"item": "fins", "hours": 1, "left": {"likely": 1.5, "high": 3}},
                ],
            },
        ],
        "baselines": [
            {
                "on": "2027-03-01",
                "estimates": {"body": {"likely": 3, "high": 5}, "fins": {"likely": 2, "high": 4}, "swim": 4},
                "burn_down": {"2027-03-02": 7, "2027-03-04": 5, "2027-03-06": 5, "2027-03-09": 3},
                "buffer_hours": {"lock": 6, "deadline": 8},
            }
        ],
        "forecasts": [
            _told("2027-03-01", "accepted", 0.9, 0.95, 0.0),
            _told("2027-03-02", "before", 0.5, 0.5, 0.9),
            _told("2027-03-02", "after", 0.85, 0.93, 0.2),
            _told("2027-03-30", "after", 0.1, 0.1, 1.0),
        ],
    }
    return project_from_raw({**raw, **changes})


def _told(day: str, moment: str, lock: float, deadline: float, used: float) -> dict[str, Any]:
    return {
        "as_of": day,
        "moment": moment,
        "futures": 1000,
        "seed": 1,
        "odds": {"lock": lock, "deadline": deadline},
        "buffer": {"lock": {"have_hours": 5, "need_hours": 4, "used": used}},
    }


def forecast(lock: float = 0.714, deadline: float = 0.93, of: Project | None = None) -> Forecast:
    of = of or project()
    dates = Percentiles(d(11), d(13), d(16), d(18))
    return Forecast(
        AS_OF,
        1000,
        1,
        (
            GateForecast(
                "lock", "Personal lock", dt.datetime(2027, 3, 20, tzinfo=UTC), lock, dates, Buffer(3.5, 4.25, 0.4)
            ),
            GateForecast(
                "deadline", "Hand-in", dt.datetime(2027, 3, 22, 12, tzinfo=UTC), deadline, dates, Buffer(5, 4, 0.3)
            ),
        ),
        (ItemForecast("fins", dates), ItemForecast("swim", Percentiles(d(13), d(16), d(18), None))),
        (ItemForecast("render", dates),),
        (Driver("fins", "item", 0.6), Driver("2027-03-13", "evening", 0.3), Driver("render", "job", 0.1)),
        Learned(1, 0.5, 0.8),
        6.5,
        (
            BurnPoint(d(9), 3.0, 5.0, 6.0),
            BurnPoint(d(11), 1.5, 3.5, 5.0),
            BurnPoint(d(13), 0.0, 1.5, 4.0),
            BurnPoint(d(16), 0.0, 0.5, 2.5),
        ),
        {
            "lock": tuple(
                DateOdds(d(n), o) for n, o in ((9, 0.0), (11, 0.2), (13, 0.5), (16, 0.65), (18, 0.714), (20, 0.99))
            ),
            "deadline": tuple(
                DateOdds(d(n), o) for n, o in ((9, 0.0), (11, 0.1), (13, 0.4), (16, 0.6), (18, 0.8), (20, 0.93))
            ),
        },
        past=past_points(of, calendar(of), AS_OF),
    )


def plan(**gate: Any) -> Plan:
    evening = dt.time(20)

    def row(
        day: int, hours: float, status: Any, *work: tuple[str, float], chance: float = 0.9, why: str = ""
    ) -> PlannedEvening:
        return PlannedEvening(d(day), evening, hours, chance, status, tuple(PlannedWork(*w) for w in work), why)

    return Plan(
        AS_OF,
        (
            row(2, 2, "worked", ("body", 2.0)),
            row(4, 2, "lost", why="ill"),
            row(6, 3, "worked", ("body", 2.0), ("fins", 1.0), chance=0.5),
            row(9, 2, "planned", ("fins", 1.5), ("swim", 0.5)),
            row(11, 2, "planned", ("swim", 2.0)),
            row(13, 4, "relied", ("swim", 1.5), chance=0.5),
            row(16, 2, "buffer"),
            row(18, 2, "buffer"),
            row(20, 4, "buffer", chance=0.5),
        ),
        (
            PlannedItem("body", "model", d(6), 0.0, 4.0),
            PlannedItem("fins", "model", d(9), 1.5, 1.0),
            PlannedItem("swim", "motion", d(13), 4.0),
        ),
        (PlannedJob("render", dt.datetime(2027, 3, 13, 22, tzinfo=UTC), dt.datetime(2027, 3, 14, 4, tzinfo=UTC)),),
        (
            PlannedGate("lock", dt.datetime(2027, 3, 20, tzinfo=UTC), True, 0.0, d(9)),
            PlannedGate(
                "deadline",
                dt.datetime(2027, 3, 22, 12, tzinfo=UTC),
                **{"met": True, "short_hours": 0.0, "finish": d(13), **gate},
            ),
        ),
        (d(13),),
    )
