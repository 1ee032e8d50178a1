# SPDX-License-Identifier: GPL-3.0-or-later
"""Presets are valid, and rules that need work become gates and items to be taken."""

from __future__ import annotations

import datetime as dt

import pytest

from nightplan.brief.presets import PRESETS, preset
from nightplan.brief.rules import deliverables_from_raw, deliverables_to_raw
from nightplan.brief.work import work_from_brief
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate, Item


@pytest.mark.parametrize("name", PRESETS)
def test_presets_are_whole_and_survive_the_file(name: str) -> None:
    made = preset(name, id="one")
    assert deliverables_from_raw(list(deliverables_to_raw((made,)))) == (made,)
    assert made.id == "one"
    assert made.rules


def test_an_unknown_preset_is_refused() -> None:
    with pytest.raises(BadInput, match="preset = 'poem': must be one of: animated shot"):
        preset("poem")


BRIEF = [
    {
        "id": "shot",
        "name": "The shot",
        "what": "movie",
        "rules": [
            {
                "id": "posts",
                "kind": "progress-post",
                "comparison": "at least",
                "value": 2,
                "due": ["2027-10-01"],
                "wording": "Two posts.",
            },
            {"id": "wires", "kind": "kept-stage", "value": "wireframes"},
            {"id": "card", "kind": "slate", "value": "2 s"},
            {"id": "black", "kind": "slate", "value": "2 s", "look": "black"},
        ],
    },
    {"id": "film", "name": "Making-of film", "what": "movie"},
    {"id": "extra", "name": "Behind the scenes", "what": "movie", "condition": "if selected"},
]


def test_posts_become_gates_and_kept_stages_items() -> None:
    found = work_from_brief(deliverables_from_raw(BRIEF))
    assert [(p.make, p.id) for p in found] == [
        ("gate", "shot-posts-1"),
        ("item", "shot-posts-1-make"),
        ("gate", "shot-posts-2"),
        ("item", "shot-posts-2-make"),
        ("item", "shot-wires"),
        ("item", "shot-card"),
        ("item", "film-make"),
    ]
    assert [p.on for p in found if p.make == "gate"] == [dt.date(2027, 10, 1), None]
    assert found[1].gate == "shot-posts-1"
    assert found[0].why == "Two posts."
    # what is proposed fits into a project
    for p in found:
        if p.make == "gate":
            Gate(id=p.id, name=p.name, on=p.on or dt.date(2027, 10, 2))
        else:
            Item(id=p.id, name=p.name, likely=p.likely_hours, high=p.high_hours)  # type: ignore[arg-type]


def test_what_is_not_selected_is_no_work() -> None:
    chosen = [BRIEF[0], BRIEF[1], {**BRIEF[2], "selected": True}]
    assert "extra-make" in {p.id for p in work_from_brief(deliverables_from_raw(chosen))}
