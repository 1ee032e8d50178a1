# SPDX-License-Identifier: GPL-3.0-or-later
"""Projects for the checks of the recoveries."""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

#: a Monday
ANNOUNCED = dt.date(2027, 9, 6)


def day(n: int) -> dt.date:
    return ANNOUNCED + dt.timedelta(days=n)


def item(key: str, likely: float, high: float, tier: str = "primary", **more: Any) -> dict[str, Any]:
    return {"id": key, "name": key, "tier": tier, "likely": likely, "high": high, **more}


def stage(key: str, items: list[dict[str, Any]], after: list[str] | None = None, gate: str = "lock") -> dict[str, Any]:
    return {"id": key, "name": key.title(), "gate": gate, "after": after or [], "items": items}


def slot(day_name: str, hours: float, chance: float, start: str = "20:30") -> dict[str, Any]:
    return {"day": day_name, "start": start, "hours": hours, "chance": chance}


def raw_piece(scale: float = 1.0, **more: Any) -> dict[str, Any]:
    """12 items, 40 evenings before the lock, a render, an upload."""
    stages = [
        stage("reference", [item("boards", 2, 3.5)]),
        stage("layout", [item("blockout", 4, 6), item("camera", 2, 3)], ["reference"]),
        stage(
            "animate",
            [item("blocking", 8, 14), item("splining", 8, 13), item("tail-sway", 3, 6, "secondary")],
            ["layout"],
        ),
        stage(
            "set",
            [item("ground", 5, 8), item("plants", 4, 8, "secondary"), item("scatter", 3, 6, "tertiary")],
            ["layout"],
        ),
        stage("light", [item("key-light", 4, 7), item("polish", 3, 6, "tertiary")], ["animate", "set"]),
        stage("edit", [item("cut", 3, 5)]),
    ]
    for s in stages:
        for i in s["items"]:
            i["likely"], i["high"] = i["likely"] * scale, i["high"] * scale
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Moth and Lantern",
        "zone": "Europe/Lisbon",
        "announced": ANNOUNCED.isoformat(),
        "bedtime": "23:45",
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": "2027-10-24"},
            {"id": "deadline", "name": "Hand-in", "at": "2027-10-31T23:59", "zone": "America/Los_Angeles"},
        ],
        "week": [
            slot("mon", 2.5, 0.9),
            slot("tue", 2.0, 0.5),
            slot("wed", 2.0, 0.9),
            slot("thu", 2.0, 0.5),
            slot("fri", 1.5, 0.9),
            slot("sat", 3.0, 0.5, "14:00"),
        ],
        "off": [{"from": "2027-10-04", "to": "2027-10-06", "why": "work trip"}],
        "stages": stages,
        "jobs": [
            {
                "id": "final-render",
                "name": "Final render",
                "after": ["light"],
                "before": ["cut"],
                "frames": 192,
                "minutes_per_frame": {"likely": 3.5, "high": 6},
                "fail_chance": 0.1,
            },
            {
                "id": "upload",
                "name": "Upload",
                "kind": "upload",
                "after": ["cut"],
                "gate": "deadline",
                "machine": "line",
                "gigabytes": 4,
                "megabits_per_second": {"likely": 20, "high": 30},
            },
        ],
        **more,
    }


def piece(scale: float = 1.0, **more: Any) -> Project:
    return project_from_raw(raw_piece(scale, **more))


def small(**more: Any) -> Project:
    """A fortnight, four items, one free weekend."""
    raw = {
        "format": "nightplan",
        "version": 1,
        "title": "Small lamp",
        "zone": "UTC",
        "announced": ANNOUNCED.isoformat(),
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": day(11).isoformat()},
            {"id": "deadline", "name": "Hand-in", "on": day(18).isoformat()},
        ],
        "week": [slot("mon", 2.0, 0.9), slot("wed", 2.0, 0.5), slot("fri", 2.0, 0.9)],
        "stages": [
            stage("make", [item("body", 4, 7), item("shade", 2, 4, "secondary")]),
            stage("dress", [item("moths", 2, 3, "tertiary"), item("dust", 1, 2, "tertiary")], ["make"]),
        ],
        **more,
    }
    return project_from_raw(raw)


def any_project(seed: int) -> Project | None:
    """A random small project: stages, precedence, dates, jobs that meet on machines; None where it is none."""
    r = random.Random(seed)
    stages: list[dict[str, Any]] = []
    ids: list[str] = []
    count = r.randint(2, 4)
    for s in range(count):
        items = []
        for n in range(r.randint(1, 3)):
            likely = r.choice([1.0, 2.0, 3.0, 4.5])
            tier = r.choice(["primary", "secondary", "tertiary", "tertiary"])
            one = item(f"i{s}{n}", likely, likely * r.choice([1, 1.3, 2]), tier)
            if ids and r.random() < 0.3:
                one["after"] = [r.choice(ids)]
            if r.random() < 0.1:
                one["not_before"] = day(r.randint(1, 8)).isoformat()
            if r.random() < 0.1:
                one["pinned"] = True
            items.append(one)
        ids += [i["id"] for i in items]
        after = [f"s{r.randrange(s)}"] if s and r.random() < 0.6 else []
        stages.append(stage(f"s{s}", items, after, r.choice(["lock", "lock", "deadline"])))
    jobs = []
    for j in range(r.randint(0, 3)):
        a, b = r.randrange(count), r.randrange(count)
        jobs.append(
            {
                "id": f"j{j}",
                "name": f"J{j}",
                "kind": r.choice(["render", "simulation"]),
                "after": [f"s{a}"] if r.random() < 0.7 else [r.choice(stages[a]["items"])["id"]],
                "before": [f"s{b}"] if b > a else [],
                "gate": r.choice(["lock", "deadline"]),
                "machine": r.choice(["desk", "desk", "other"]),
                "hours": {"likely": r.choice([2, 10, 20.0]), "high": 30.0},
            }
        )
    raw = {
        "format": "nightplan",
        "version": 1,
        "title": "Any",
        "zone": "Europe/Lisbon",
        "announced": ANNOUNCED.isoformat(),
        "target_odds": r.choice([0.5, 0.7, 0.8, 0.9]),
        "switching_minutes": r.choice([0, 0, 20.0]),
        "bedtime": r.choice(["00:30", "23:15"]),
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": day(r.randint(9, 16)).isoformat()},
            {"id": "deadline", "name": "Hand-in", "on": day(r.randint(16, 20)).isoformat()},
        ],
        "week": [slot("mon", 2.5, 0.9), slot("wed", 2.0, 0.5), slot("fri", 2.0, 0.9), slot("sat", 3.0, 0.5, "14:00")],
        "stages": stages,
        "jobs": jobs,
    }
    try:
        return project_from_raw(raw)
    except BadInput:
        # the dice made a circle
        return None
