# SPDX-License-Identifier: GPL-3.0-or-later
"""The half-way project that the tests of the plan page share: an invented animated shot, five evenings in."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

AS_OF = dt.date(2027, 1, 26)


def _item(key: str, name: str, likely: float, high: float, tier: str = "primary") -> dict[str, Any]:
    return {"id": key, "name": name, "likely": likely, "high": high, "tier": tier}


def _stage(key: str, name: str, gate: str, after: list[str], items: list[dict[str, Any]]) -> dict[str, Any]:
    return {"id": key, "name": name, "gate": gate, "after": after, "items": items}


def _worked(day: str, **hours: float) -> dict[str, Any]:
    """An evening of the log; a key that ends with ``_done`` finishes the item."""
    work = [
        {"item": k.removesuffix("_done").replace("_", "-"), "hours": h, "done": k.endswith("_done")}
        for k, h in hours.items()
    ]
    return {"evening": day, "hours": sum(hours.values()), "work": work}


def raw() -> dict[str, Any]:
    """The file's JSON values, fresh for every caller."""
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Moth and Lantern",
        "piece": "animated shot",
        "zone": "Europe/Lisbon",
        "announced": "2027-01-12",
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": "2027-02-14"},
            {
                "id": "deadline",
                "name": "Hand-in",
                "at": "2027-02-21T23:59",
                "zone": "-08:00",
                "wording": "Feb 21, 11:59 pm PT",
            },
        ],
        "week": [
            {"day": "tue", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "thu", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 4.0, "chance": 0.5},
        ],
        "off": [{"from": "2027-02-04", "to": "2027-02-05", "why": "work trip"}],
        "stages": [
            _stage("reference", "Reference", "lock", [], [_item("ref-boards", "Boards", 2.5, 4.0)]),
            _stage(
                "rig",
                "Rig",
                "lock",
                ["reference"],
                [_item("rig-wings", "Wing rig", 3.0, 5.5), _item("rig-lantern", "Lantern rig", 2.0, 3.5, "secondary")],
            ),
            _stage(
                "animate",
                "Animate",
                "lock",
                ["rig"],
                [_item("block", "Blocking pass", 4.0, 7.0), _item("spline", "Splining pass", 4.0, 7.0)],
            ),
            _stage(
                "set",
                "Set",
                "lock",
                [],
                [
                    _item("set-porch", "Porch", 3.0, 5.0),
                    _item("far-roofs", "Far roofs", 1.0, 1.5, "tertiary"),
                    _item("ropes", "Rope coils", 1.0, 1.5, "tertiary"),
                ],
            ),
            _stage("light", "Light", "lock", ["set"], [_item("light-key", "Lantern light", 2.5, 5.0)]),
            _stage("polish", "Polish", "lock", ["animate", "light"], [_item("polish-pass", "Polish pass", 2.5, 5.0)]),
            _stage(
                "edit",
                "Edit (making-of)",
                "deadline",
                [],
                [_item("cut", "Cut", 3.0, 5.0), _item("write-up", "Write-up", 2.0, 3.0, "secondary")],
            ),
        ],
        "jobs": [
            {
                "id": "final-render",
                "name": "Final render",
                "kind": "render",
                "after": ["polish-pass"],
                "before": ["cut"],
                "gate": "lock",
                "machine": "desk",
                "frames": 192,
                "minutes_per_frame": {"likely": 2.8, "high": 4.5},
                "fail_chance": 0.1,
            },
            {
                "id": "cache",
                "name": "Cloth cache",
                "kind": "simulation",
                "after": ["block"],
                "before": ["spline"],
                "gate": "lock",
                "machine": "laptop",
                "hours": {"likely": 6, "high": 8},
            },
        ],
        "log": [
            _worked("2027-01-12", ref_boards_done=2.5),
            _worked("2027-01-14", rig_wings=2.5),
            {"evening": "2027-01-16", "happened": False, "note": "guests"},
            _worked("2027-01-19", rig_wings_done=1.5, rig_lantern=1.0),
            _worked("2027-01-23", rig_lantern_done=1.5, block=2.5),
        ],
    }


def project() -> Project:
    return project_from_raw(raw())
