# SPDX-License-Identifier: GPL-3.0-or-later
"""Older files: one step a version, on raw values."""

from __future__ import annotations

from typing import Any

import pytest

from nightplan.files.migrations import STEPS, migrate
from nightplan.model.errors import BadInput
from nightplan.model.project import VERSION


def minutes_to_hours(raw: dict[str, Any]) -> dict[str, Any]:
    """A made-up step: version -1 had minutes."""
    slots = [{**{k: v for k, v in s.items() if k != "minutes"}, "hours": s["minutes"] / 60} for s in raw["week"]]
    return {**raw, "week": slots}


def heading_to_title(raw: dict[str, Any]) -> dict[str, Any]:
    """A made-up step: version 0 had another key."""
    return {("title" if k == "heading" else k): v for k, v in raw.items()}


TABLE = {-1: minutes_to_hours, 0: heading_to_title}


def test_steps_follow_each_other_and_unknown_keys_pass() -> None:
    old = {"version": -1, "heading": "Moth", "week": [{"day": "mon", "minutes": 150, "x-a": 1}], "x-b": {"c": [2]}}
    kept = {"version": -1, "heading": "Moth", "week": [{"day": "mon", "minutes": 150, "x-a": 1}], "x-b": {"c": [2]}}
    assert migrate(old, TABLE, 1) == {
        "version": 1,
        "title": "Moth",
        "week": [{"day": "mon", "hours": 2.5, "x-a": 1}],
        "x-b": {"c": [2]},
    }
    assert old == kept


def test_the_present_version_passes_as_it_is() -> None:
    raw = {"version": VERSION, "title": "Moth"}
    assert migrate(raw) is raw


def test_a_version_that_no_step_knows_is_refused() -> None:
    with pytest.raises(BadInput, match=r"^version = -5: versions -1 to 1 can be read"):
        migrate({"version": -5}, TABLE, 1)
    with pytest.raises(BadInput, match=r"^version = 0: versions 1 to 1 can be read"):
        migrate({"version": 0})


@pytest.mark.parametrize("raw", [None, [], 3, {}, {"version": "1"}, {"version": True}, {"version": 99}])
def test_what_is_no_old_project_is_left_to_the_model(raw: Any) -> None:
    assert migrate(raw) is raw


def test_there_is_a_step_from_every_earlier_version() -> None:
    assert sorted(STEPS) == list(range(1, VERSION))
