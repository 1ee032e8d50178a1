# SPDX-License-Identifier: GPL-3.0-or-later
"""A project with a key that this version does not know in every object of its file.

The value of each key says whose it is: ``stages/animate/items/polish``.
"""

from __future__ import annotations

import copy
from typing import Any

from small_project import small_raw

from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

MARK = "x-mark"
#: maps from a name to a value, which are no objects of the format
_MAPS = ("buffer_hours", "finish", "burn_down", "odds", "buffer", "estimates", "making_of_weights", "tree", "answers")


def full_raw() -> dict[str, Any]:
    """A bit of everything."""
    raw = small_raw()
    raw["off"] = [{"from": "2027-09-27", "to": "2027-09-29", "why": "away"}]
    raw["extra"] = [{"on": "2027-09-24", "start": "19:00", "hours": 2}]
    raw["busy"] = [{"from": "2027-10-04T20:00", "to": "2027-10-04T21:00", "why": "choir", "source": "a.ics"}]
    raw["changes"] = [{"on": "2027-10-06", "lost": True}]
    raw["gates"].append({"id": "post", "name": "Progress post", "on": "2027-10-01"})
    raw["machines"] = [
        {
            "name": "desk",
            "speed": 2,
            "window": {"from": "22:00", "to": "08:00"},
            "off": [{"from": "2027-10-02", "to": "2027-10-02"}],
        }
    ]
    raw["jobs"][0]["pinned"] = False
    raw["jobs"].append(
        {
            "id": "frames",
            "name": "Frames",
            "frames": 40,
            "test_frames": [{"load": "light", "minutes": 2, "frames": 40}],
            "minutes_per_frame": {"likely": 2, "high": 3},
            "folder": "out",
            "started": "2027-10-01T20:00",
            "seen": {"oldest": "2027-10-01T20:05", "newest": "2027-10-01T21:05", "frames": 12},
        }
    )
    raw["stages"].append({"id": "later", "name": "Later", "gate": "post", "items": []})
    raw["log"] = [
        {
            "evening": "2027-09-20",
            "hours": 2,
            "work": [
                {"item": "boards", "hours": 1, "done": True},
                {"item": "timing", "hours": 1, "left": {"likely": 1, "high": 2}},
            ],
            "captures": [{"path": "a.png"}],
        }
    ]
    raw["stages"][0]["items"][0]["state"] = "done"
    raw["baselines"] = [{"on": "2027-09-20", "estimates": {"boards": 1}}]
    raw["forecasts"] = [{"as_of": "2027-09-20", "futures": 100, "seed": 1, "odds": {"lock": 0.5}}]
    raw["replans"] = [{"date": "2027-09-21", "reason": "late", "moves": [{"id": "m", "kind": "cut"}]}]
    raw["deliverables"] = [
        {
            "id": "film",
            "name": "Film",
            "what": "movie",
            "rules": [
                {"id": "fps", "kind": "fps", "comparison": "exactly", "value": 24},
                {"id": "posts", "kind": "progress-post", "value": 2, "comparison": "at least"},
            ],
        },
        {"id": "clip", "name": "Clip", "what": "movie", "rules": []},
    ]
    raw["brief"] = {
        "text": "The film must be 25 fps.",
        "refused": [{"kind": "fps", "comparison": "exactly", "value": 30, "sentence": "30 fps"}],
    }
    raw["handins"] = [
        {
            "deliverable": "film",
            "verdict": "pass",
            "findings": [{"rule": "fps", "verdict": "pass"}],
            "files": [{"name": "a.mov", "bytes": 3, "sha256": "0" * 64}],
        }
    ]
    raw["assets"] = [{"id": "moon", "title": "Moon", "licence": "CC-BY-4.0"}, {"id": "wind", "title": "Wind"}]
    raw["asset_terms"] = {"result": "", "prize": True}
    raw["making_of_weights"] = {"sketch": 1.0}
    raw["lookback"] = {"answers": {"on": "2027-09-21"}, "applied": [{"kind": "evening"}]}
    return raw


def marked(raw: Any, place: str = "project") -> Any:
    """The same with a key of its own in every object."""
    if isinstance(raw, list):
        return [marked(value, f"{place}/{_name(value, n)}") for n, value in enumerate(raw)]
    if not isinstance(raw, dict):
        return raw
    found = {k: copy.deepcopy(v) if k in _MAPS else marked(v, f"{place}/{k}") for k, v in raw.items()}
    return {**found, MARK: place.removeprefix("project/")}


def _name(value: Any, n: int) -> str:
    if not isinstance(value, dict):
        return str(n)
    return str(
        next((value[k] for k in ("id", "item", "evening", "on", "from", "day", "name", "path") if k in value), n)
    )


def marks(raw: Any) -> set[str]:
    """The values of all those keys."""
    if isinstance(raw, list):
        return set().union(*(marks(value) for value in raw)) if raw else set()
    if not isinstance(raw, dict):
        return set()
    inner = set().union(*(marks(value) for value in raw.values())) if raw else set()
    return inner | ({raw[MARK]} if MARK in raw else set())


def full() -> Project:
    return project_from_raw(marked(full_raw()))


def marks_of(project: Project) -> set[str]:
    return marks(project_to_raw(project))
