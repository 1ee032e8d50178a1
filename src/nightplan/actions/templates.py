# SPDX-License-Identifier: GPL-3.0-or-later
"""Starting points: the usual stages of five kinds of piece, sized to the evenings that exist.

The shares of evenings per stage are defaults proposed by this project, to be changed by the artist;
no source claims them. 30 percent of the hours are kept free, since people who had no record of their
own needed 55.5 days for what they predicted to take 33.9 (R. Buehler, D. Griffin, M. Ross, Exploring
the "planning fallacy", Journal of Personality and Social Psychology 67, 1994).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from nightplan.evenings.dated import calendar
from nightplan.evenings.zones import zone_info
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import PLANNED_CHANCE, Project

#: share of the sure hours before the lock that a template leaves free
KEEP_FREE = 0.30
#: high over likely of a fresh estimate (common practice, no source)
HIGH_FACTOR = 1.75
#: hours are proposed in quarters
_STEP = 0.25


@dataclass(frozen=True)
class Piece:
    """An item of a template; ``share`` of its stage's hours."""

    id: str
    name: str
    share: float = 1.0
    tier: str = "primary"
    role: str = "work"


@dataclass(frozen=True)
class Part:
    """A stage of a template; ``percent`` of the hours."""

    id: str
    name: str
    percent: float
    items: tuple[Piece, ...] = field(default=())


def _part(name: str, percent: float, *items: tuple[Any, ...]) -> Part:
    key = name.lower().replace(" ", "-").replace("&", "and")
    pieces = tuple(Piece(i[0], i[1], *i[2:]) for i in items) or (Piece(f"{key}-pass", name),)
    return Part(key, name, percent, pieces)


_REFERENCE = (("ref-gather", "Gather and sort", 0.6), ("ref-boards", "Boards", 0.4))
_CHAIN = (("chain-run", "The whole chain once, ugly", 1.0, "primary", "chain-test"),)
_SET = (
    ("set-primary", "Silhouette and story pieces", 0.55),
    ("set-secondary", "Supporting pieces", 0.3, "secondary"),
    ("set-tertiary", "Scatter", 0.15, "tertiary"),
)
_LIGHT = (
    ("light-key", "Key and mood", 0.65),
    ("critique-render", "Look at the first full render", 0.15, "primary", "critique"),
    ("light-refine", "Refine", 0.2, "secondary"),
)
_POLISH = (("polish-main", "What the eye finds first", 0.7), ("polish-rest", "The rest", 0.3, "tertiary"))
_HAND_IN = (("edit-cut", "Edit", 0.6), ("hand-in", "Check and hand in", 0.4, "primary", "hand-in"))
_MODEL = (
    ("model-block", "Block-out", 0.3),
    ("critique-block", "Look at the block-out", 0.06, "primary", "critique"),
    ("model-main", "Main forms", 0.44),
    ("model-detail", "Detail", 0.2, "secondary"),
)
_SHADE = (("shade-main", "Main materials", 0.7), ("shade-detail", "Wear and detail", 0.3, "secondary"))

TEMPLATES: dict[str, tuple[Part, ...]] = {
    "animated shot": (
        _part("Reference", 8, *_REFERENCE),
        _part("Layout", 10, ("layout-camera", "Camera and staging")),
        _part("Chain test", 4, *_CHAIN),
        _part("Model", 4, ("model-fit", "Fit the model to the shot")),
        _part("Rig", 4, ("rig-adapt", "Adapt the rig")),
        _part("Shade", 4, ("shade-adapt", "Adapt the materials")),
        _part(
            "Animate",
            36,
            ("animate-block", "Blocking", 0.4),
            ("critique-block", "Look at the blocking", 0.04, "primary", "critique"),
            ("animate-spline", "Splining", 0.36),
            ("animate-polish", "Polish", 0.2, "secondary"),
        ),
        _part("Set", 6, *_SET),
        _part("Light", 10, *_LIGHT),
        _part("Polish", 6, *_POLISH),
        _part("Edit", 8, *_HAND_IN),
    ),
    "still environment": (
        _part("Reference", 8, *_REFERENCE),
        _part("Layout", 15, ("layout-block", "Block-out and composition")),
        _part("Chain test", 4, *_CHAIN),
        _part("Model", 24, *_MODEL),
        _part("Shade", 17, *_SHADE),
        _part("Set", 16, *_SET),
        _part("Light", 8, *_LIGHT),
        _part("Polish", 4, *_POLISH),
        _part("Edit", 4, *_HAND_IN),
    ),
    "still character": (
        _part("Reference", 8, *_REFERENCE),
        _part("Layout", 10, ("layout-pose", "Pose sketches and framing")),
        _part("Chain test", 3, *_CHAIN),
        _part("Model", 32, *_MODEL),
        _part("Rig", 4, ("rig-simple", "Simple rig for the pose")),
        _part("Shade", 20, *_SHADE),
        _part("Pose", 5, ("pose-final", "Final pose")),
        _part("Set", 2, ("set-base", "Base and backdrop")),
        _part("Light", 8, *_LIGHT),
        _part("Polish", 5, *_POLISH),
        _part("Edit", 3, *_HAND_IN),
    ),
    "motion loop": (
        _part("Reference", 12, *_REFERENCE),
        _part("Layout", 15, ("layout-timing", "Timing sketch")),
        _part("Chain test", 5, *_CHAIN),
        _part("Model", 12, ("model-parts", "Parts")),
        _part("Rig", 4, ("rig-setup", "Set-up")),
        _part("Shade", 12, *_SHADE),
        _part(
            "Animate",
            18,
            ("animate-block", "Blocking", 0.5),
            ("critique-block", "Look at the loop", 0.1, "primary", "critique"),
            ("animate-polish", "Polish and loop point", 0.4),
        ),
        _part("Set", 4, ("set-backdrop", "Backdrop")),
        _part("Light", 8, *_LIGHT),
        _part("Polish", 5, *_POLISH),
        _part("Edit", 5, *_HAND_IN),
    ),
    "game asset": (
        _part("Reference", 8, *_REFERENCE),
        _part("Layout", 10, ("layout-block", "Block-out to scale")),
        _part("Chain test", 4, *_CHAIN),
        _part("Model", 34, *_MODEL),
        _part("Shade", 26, *_SHADE),
        _part("Light", 8, *_LIGHT),
        _part("Polish", 4, *_POLISH),
        _part("Edit", 6, *_HAND_IN),
    ),
}

_RENDERS = {"animated shot": (120, 4.0), "motion loop": (96, 2.0)}


def template_stages(piece: str, hours: float) -> list[dict[str, Any]]:
    """Stages as raw values for a kind of piece, sized to so many likely hours.

    Each stage waits for the one before it; within a stage items follow in order.

    Raises:
        BadInput: no such kind.
    """
    if piece not in TEMPLATES:
        raise BadInput.at("piece", piece, f"templates exist for {', '.join(TEMPLATES)}")
    parts = TEMPLATES[piece]
    whole = sum(part.percent for part in parts)
    stages = []
    for n, part in enumerate(parts):
        items = []
        for k, item in enumerate(part.items):
            likely = max(_STEP, round(hours * part.percent / whole * item.share / _STEP) * _STEP)
            high = max(likely, round(likely * HIGH_FACTOR / _STEP) * _STEP)
            items.append(
                {
                    "id": item.id,
                    "name": item.name,
                    "tier": item.tier,
                    "role": item.role,
                    "likely": likely,
                    "high": high,
                    "after": [part.items[k - 1].id] if k else [],
                }
            )
        stages.append(
            {"id": part.id, "name": part.name, "gate": "lock", "after": [parts[n - 1].id] if n else [], "items": items}
        )
    return stages


def template_jobs(piece: str) -> list[dict[str, Any]]:
    """The machine jobs that nearly every piece has: a final render before the edit, an upload at the end."""
    frames, minutes = _RENDERS.get(piece, (1, 60.0))
    return [
        {
            "id": "final-render",
            "name": "Final render",
            "kind": "render",
            "after": ["polish"],
            "before": ["edit-cut"],
            "gate": "lock",
            "frames": frames,
            "minutes_per_frame": {"likely": minutes, "high": minutes * HIGH_FACTOR},
            "fail_chance": 0.1,
        },
        {
            "id": "upload",
            "name": "Upload",
            "kind": "upload",
            "after": ["hand-in"],
            "gate": "deadline",
            "machine": "line",
            "gigabytes": 1 if frames > 1 else 0.2,
            "megabits_per_second": 16,
            "fail_chance": 0.1,
        },
    ]


def new_project(
    *,
    title: str,
    piece: str,
    zone: str,
    announced: dt.date,
    lock: dict[str, Any],
    deadline: dict[str, Any],
    week: Sequence[dict[str, Any]],
    off: Sequence[dict[str, Any]] = (),
    extra: Sequence[dict[str, Any]] = (),
    bedtime: str | None = None,
) -> Project:
    """A project from a template, sized to the sure evenings before its lock.

    Args:
        lock, deadline: keys of a gate without id and name (``on``, or ``at`` and ``zone``, ``wording`` …).
        week, off, extra: as in the file.

    Raises:
        BadInput: naming the place and what is accepted.
    """
    raw: dict[str, Any] = {
        "format": "nightplan",
        "version": 1,
        "title": title,
        "piece": piece,
        "zone": zone,
        "announced": announced.isoformat(),
        "gates": [
            {"id": "lock", "name": "Personal lock", **lock},
            {"id": "deadline", "name": "Hand-in", **deadline},
        ],
        "week": list(week),
        "off": list(off),
        "extra": list(extra),
    }
    if bedtime is not None:
        raw["bedtime"] = bedtime
    zone_info(zone)
    bare = project_from_raw(raw)
    dated = calendar(bare)
    gate = dated.gate("lock")
    sure = sum(hours for e, hours in dated.before(gate) if e.chance >= PLANNED_CHANCE)
    every = sum(hours * e.chance for e, hours in dated.before(gate))
    if every <= 0:
        raise BadInput.at("gates[0]", gate.date, "no evening lies before the lock; add evenings or move it later")
    if gate.instant > dated.gate("deadline").instant:
        raise BadInput.at("gates[0]", gate.date, "the lock comes before the deadline")
    raw["stages"] = template_stages(piece, (1 - KEEP_FREE) * (sure or every))
    raw["jobs"] = template_jobs(piece)
    return project_from_raw(raw)
