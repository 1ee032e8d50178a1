# SPDX-License-Identifier: GPL-3.0-or-later
"""Projects for the tests of the library: random ones, and one that can be reckoned by hand."""

from __future__ import annotations

import datetime as dt
import json
import random
from pathlib import Path
from typing import Any

ANNOUNCED = dt.date(2027, 1, 4)  # a Monday


def iso(offset: int) -> str:
    return (ANNOUNCED + dt.timedelta(days=offset)).isoformat()


def by_hand(**changes: Any) -> dict[str, Any]:
    """Two items, two gates, five evenings; finished on day 14, between lock and deadline.

    Rig 2 h planned took 3 h, Light 1 h planned took 1.5 h; Mondays and Thursdays sure, Saturdays maybe.
    Evenings to day 14: Mon 0, 7, 14 (kept all), Thu 3, 10 (3 kept, 10 missed), Sat 5, 12 (5 silent, 12 kept).
    """
    log = [
        {"evening": iso(0), "hours": 1.5, "work": [{"item": "rig", "hours": 1.5, "left": {"likely": 1, "high": 2}}]},
        {"evening": iso(3), "hours": 1.5, "work": [{"item": "rig", "hours": 1.5, "done": True}]},
        {"evening": iso(7), "hours": 1.0, "work": [{"item": "light", "hours": 0.5}]},
        {"evening": iso(10), "happened": False, "hours": 0},
        {"evening": iso(12), "hours": 0.5, "work": [{"item": "light", "hours": 0.5}]},
        {"evening": iso(14), "hours": 0.5, "work": [{"item": "light", "hours": 0.5, "done": True}]},
    ]

    def forecast(day: int, moment: str, lock: float, deadline: float, left: float) -> dict[str, Any]:
        dates = {"p10": iso(7), "p50": iso(12), "p80": iso(17), "p90": None}
        return {
            "as_of": iso(day),
            "moment": moment,
            "futures": 1000,
            "seed": 1,
            "odds": {"lock": lock, "deadline": deadline},
            "finish": {"lock": dates, "deadline": dates, "rig": {**dates, "p90": iso(20)}},
            "hours_left": left,
        }

    return {
        "format": "nightplan",
        "version": 1,
        "title": "By hand",
        "zone": "Europe/Lisbon",
        "announced": iso(0),
        "gates": [
            {"id": "lock", "name": "Lock", "on": iso(12)},
            {"id": "deadline", "name": "Hand-in", "at": iso(14) + "T23:59", "zone": "Europe/Lisbon"},
        ],
        "week": [
            {"day": "mon", "start": "20:00", "hours": 2, "chance": 0.9},
            {"day": "thu", "start": "20:00", "hours": 2, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 3, "chance": 0.5},
        ],
        "stages": [
            {
                "id": "rig-stage",
                "name": "Rig",
                "items": [{"id": "rig", "name": "Rig", "likely": 2.5, "high": 4, "state": "done"}],
            },
            {
                "id": "light-stage",
                "name": "Light",
                "after": ["rig-stage"],
                "items": [{"id": "light", "name": "Light", "likely": 1, "high": 2, "state": "done"}],
            },
        ],
        "log": log,
        # the second one knows better and does not count
        "baselines": [
            {"on": iso(0), "estimates": {"rig": {"likely": 2, "high": 3.5}, "light": 1}},
            {"on": iso(5), "estimates": {"rig": {"likely": 3, "high": 3.5}, "light": 1}},
        ],
        "forecasts": [
            forecast(0, "accepted", 0.8, 0.9, 3.0),
            forecast(3, "before", 0.7, 0.85, 2.0),
            forecast(3, "after", 0.75, 0.9, 1.2),
            forecast(14, "before", 0.0, 0.6, 0.4),
            forecast(14, "after", 0.0, 1.0, 0.0),
        ],
        **changes,
    }


def random_project(seed: int) -> dict[str, Any]:
    """Patterns, extras that overlap, days off, busy times, changes, gates of every form; a log of some evenings."""
    rng = random.Random(seed)
    starts = ["18:00", "19:30", "20:30", "22:30"]

    def slot(**keys: Any) -> dict[str, Any]:
        return {
            "start": rng.choice(starts),
            "hours": rng.choice([1, 1.5, 2]),
            "chance": rng.choice([0.9, 0.5, 0.75, 0.3]),
            **keys,
        }

    days = rng.sample(["mon", "tue", "wed", "thu", "fri", "sat", "sun"], rng.randint(1, 4))
    last = rng.randint(15, 60)
    raw = by_hand(
        week=[slot(day=d) for d in days],
        extra=[slot(on=iso(d)) for d in rng.sample(range(last), rng.randint(0, 3))],
        off=[{"from": iso(a), "to": iso(a + rng.randint(0, 4))} for a in rng.sample(range(last), rng.randint(0, 2))],
        gates=[
            {"id": "lock", "name": "Lock", "on": iso(last - rng.randint(0, 4))},
            rng.choice(
                [
                    {"id": "deadline", "name": "In", "at": iso(last) + "T19:45", "zone": "America/Los_Angeles"},
                    {"id": "deadline", "name": "In", "on": iso(last), "zone": "-08:00"},
                    {"id": "deadline", "name": "In", "on": iso(last), "wording": "by the day"},
                    {"id": "deadline", "name": "In", "on": iso(last)},
                ]
            ),
        ],
        baselines=[],
        forecasts=[],
    )
    changes = []
    for day in rng.sample(range(last), rng.randint(0, 5)):
        change: dict[str, Any] = {"on": iso(day)}
        kind = rng.choice(["lost", "chance", "start", "hours"])
        change[kind] = {"lost": True, "chance": rng.choice([0.9, 0.2]), "start": "21:00", "hours": 1}[kind]
        changes.append(change)
    raw["changes"] = changes
    raw["busy"] = [
        {"from": iso(d) + "T18:30", "to": iso(d) + "T20:00"} for d in rng.sample(range(last), rng.randint(0, 4))
    ]
    end = rng.randint(5, last + 5)
    logged = sorted(rng.sample(range(end), rng.randint(2, min(end, 12))))
    raw["log"] = [
        {"evening": iso(d), "hours": 1.0, "work": [{"item": rng.choice(["rig", "light"]), "hours": 1.0}]}
        if rng.random() < 0.7
        else {"evening": iso(d), "happened": False, "hours": 0}
        for d in logged
    ]
    for name in ("rig", "light"):
        if rng.random() < 0.7:
            for entry in reversed(raw["log"]):
                work = [w for w in entry.get("work", ()) if w["item"] == name]
                if work:
                    work[0]["done"] = True
                    break
    for stage in raw["stages"]:
        stage["items"][0]["state"] = "open"
        stage["gate"] = rng.choice(["lock", "deadline"])
    return raw


def write(folder: Path, name: str, raw: Any) -> Path:
    path = folder / f"{name}.nightplan"
    path.write_text(raw if isinstance(raw, str) else json.dumps(raw), encoding="utf-8")
    return path
