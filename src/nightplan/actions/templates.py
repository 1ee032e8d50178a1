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
from nightplan.evenings.words import moment_words
from nightplan.evenings.zones import zone_info
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.speech import mark, tr, trc

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


def _part(key: str, name: str, percent: float, *items: tuple[Any, ...]) -> Part:
    pieces = tuple(Piece(i[0], i[1], *i[2:]) for i in items) or (Piece(f"{key}-pass", name),)
    return Part(key, name, percent, pieces)


_REFERENCE = (("ref-gather", tr("Gather and sort"), 0.6), ("ref-boards", trc("item", "Boards"), 0.4))
_CHAIN = (("chain-run", tr("The whole chain once, ugly"), 1.0, "primary", "chain-test"),)
_SET = (
    ("set-primary", tr("Silhouette and story pieces"), 0.55),
    ("set-secondary", tr("Supporting pieces"), 0.3, "secondary"),
    ("set-tertiary", trc("item", "Scatter"), 0.15, "tertiary"),
)
_LIGHT = (
    ("light-key", tr("Key and mood"), 0.65),
    ("critique-render", tr("Look at the first full render"), 0.15, "primary", "critique"),
    ("light-refine", trc("item", "Refine"), 0.2, "secondary"),
)
_POLISH = (("polish-main", tr("What the eye finds first"), 0.7), ("polish-rest", tr("The rest"), 0.3, "tertiary"))
_HAND_IN = (("edit-cut", trc("item", "Edit"), 0.6), ("hand-in", tr("Check and hand in"), 0.4, "primary", "hand-in"))
_MODEL = (
    ("model-block", trc("item", "Block-out"), 0.3),
    ("critique-block", tr("Look at the block-out"), 0.06, "primary", "critique"),
    ("model-main", tr("Main forms"), 0.44),
    ("model-detail", trc("item", "Detail"), 0.2, "secondary"),
)
_SHADE = (("shade-main", tr("Main materials"), 0.7), ("shade-detail", tr("Wear and detail"), 0.3, "secondary"))

# the keys are what the command line takes; a project keeps what it is in the artist's language
TEMPLATES: dict[str, tuple[Part, ...]] = {
    mark("animated shot"): (
        _part("reference", trc("stage", "Reference"), 8, *_REFERENCE),
        _part("layout", trc("stage", "Layout"), 10, ("layout-camera", tr("Camera and staging"))),
        _part("chain-test", trc("stage", "Chain test"), 4, *_CHAIN),
        _part("model", trc("stage", "Model"), 4, ("model-fit", tr("Fit the model to the shot"))),
        _part("rig", trc("stage", "Rig"), 4, ("rig-adapt", tr("Adapt the rig"))),
        _part("shade", trc("stage", "Shade"), 4, ("shade-adapt", tr("Adapt the materials"))),
        _part(
            "animate",
            trc("stage", "Animate"),
            36,
            ("animate-block", trc("item", "Blocking"), 0.4),
            ("critique-block", tr("Look at the blocking"), 0.04, "primary", "critique"),
            ("animate-spline", trc("item", "Splining"), 0.36),
            ("animate-polish", trc("item", "Polish"), 0.2, "secondary"),
        ),
        _part("set", trc("stage", "Set"), 6, *_SET),
        _part("light", trc("stage", "Light"), 10, *_LIGHT),
        _part("polish", trc("stage", "Polish"), 6, *_POLISH),
        _part("edit", trc("stage", "Edit"), 8, *_HAND_IN),
    ),
    mark("still environment"): (
        _part("reference", trc("stage", "Reference"), 8, *_REFERENCE),
        _part("layout", trc("stage", "Layout"), 15, ("layout-block", tr("Block-out and composition"))),
        _part("chain-test", trc("stage", "Chain test"), 4, *_CHAIN),
        _part("model", trc("stage", "Model"), 24, *_MODEL),
        _part("shade", trc("stage", "Shade"), 17, *_SHADE),
        _part("set", trc("stage", "Set"), 16, *_SET),
        _part("light", trc("stage", "Light"), 8, *_LIGHT),
        _part("polish", trc("stage", "Polish"), 4, *_POLISH),
        _part("edit", trc("stage", "Edit"), 4, *_HAND_IN),
    ),
    mark("still character"): (
        _part("reference", trc("stage", "Reference"), 8, *_REFERENCE),
        _part("layout", trc("stage", "Layout"), 10, ("layout-pose", tr("Pose sketches and framing"))),
        _part("chain-test", trc("stage", "Chain test"), 3, *_CHAIN),
        _part("model", trc("stage", "Model"), 32, *_MODEL),
        _part("rig", trc("stage", "Rig"), 4, ("rig-simple", tr("Simple rig for the pose"))),
        _part("shade", trc("stage", "Shade"), 20, *_SHADE),
        _part("pose", trc("stage", "Pose"), 5, ("pose-final", tr("Final pose"))),
        _part("set", trc("stage", "Set"), 2, ("set-base", tr("Base and backdrop"))),
        _part("light", trc("stage", "Light"), 8, *_LIGHT),
        _part("polish", trc("stage", "Polish"), 5, *_POLISH),
        _part("edit", trc("stage", "Edit"), 3, *_HAND_IN),
    ),
    mark("motion loop"): (
        _part("reference", trc("stage", "Reference"), 12, *_REFERENCE),
        _part("layout", trc("stage", "Layout"), 15, ("layout-timing", tr("Timing sketch"))),
        _part("chain-test", trc("stage", "Chain test"), 5, *_CHAIN),
        _part("model", trc("stage", "Model"), 12, ("model-parts", trc("item", "Parts"))),
        _part("rig", trc("stage", "Rig"), 4, ("rig-setup", trc("item", "Set-up"))),
        _part("shade", trc("stage", "Shade"), 12, *_SHADE),
        _part(
            "animate",
            trc("stage", "Animate"),
            18,
            ("animate-block", trc("item", "Blocking"), 0.5),
            ("critique-block", tr("Look at the loop"), 0.1, "primary", "critique"),
            ("animate-polish", tr("Polish and loop point"), 0.4),
        ),
        _part("set", trc("stage", "Set"), 4, ("set-backdrop", trc("item", "Backdrop"))),
        _part("light", trc("stage", "Light"), 8, *_LIGHT),
        _part("polish", trc("stage", "Polish"), 5, *_POLISH),
        _part("edit", trc("stage", "Edit"), 5, *_HAND_IN),
    ),
    mark("game asset"): (
        _part("reference", trc("stage", "Reference"), 8, *_REFERENCE),
        _part("layout", trc("stage", "Layout"), 10, ("layout-block", tr("Block-out to scale"))),
        _part("chain-test", trc("stage", "Chain test"), 4, *_CHAIN),
        _part("model", trc("stage", "Model"), 34, *_MODEL),
        _part("shade", trc("stage", "Shade"), 26, *_SHADE),
        _part("light", trc("stage", "Light"), 8, *_LIGHT),
        _part("polish", trc("stage", "Polish"), 4, *_POLISH),
        _part("edit", trc("stage", "Edit"), 6, *_HAND_IN),
    ),
}

#: kinds of piece to choose from, for people
KIND_WORDS = {
    "animated shot": tr("Animated shot"),
    "still environment": tr("Still environment"),
    "still character": tr("Still character"),
    "motion loop": tr("Motion loop"),
    "game asset": tr("Game asset"),
}  # untranslated: keys of the templates
_RENDERS = {"animated shot": (120, 4.0), "motion loop": (96, 2.0)}  # untranslated: keys of the templates


def template_stages(piece: str, hours: float) -> list[dict[str, Any]]:
    """Stages as raw values for a kind of piece, sized to so many likely hours.

    Each stage waits for the one before it; within a stage items follow in order.

    Raises:
        BadInput: no such kind.
    """
    if piece not in TEMPLATES:
        raise BadInput.at("piece", piece, tr("templates exist for {kinds}", kinds=", ".join(TEMPLATES)))
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
            "name": tr("Final render"),
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
            "name": tr("Upload"),
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
        "piece": tr(piece),
        "zone": zone,
        "announced": announced.isoformat(),
        "gates": [
            {"id": "lock", "name": tr("Personal lock"), **lock},
            {"id": "deadline", "name": tr("Hand-in"), **deadline},
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
        raise BadInput.at("gates[0]", gate.date, tr("no evening lies before the lock; add evenings or move it later"))
    if gate.instant > dated.gate("deadline").instant:
        hand_in = moment_words(dated.gate("deadline").local, year=True)
        raise BadInput.at(
            "gates[0]", gate.date, tr("the lock must come before the deadline ({moment} your time)", moment=hand_in)
        )
    raw["stages"] = template_stages(piece, (1 - KEEP_FREE) * (sure or every))
    raw["jobs"] = template_jobs(piece)
    return project_from_raw(raw)
