# SPDX-License-Identifier: GPL-3.0-or-later
"""The project as a value: unknown keys, copies, precedence through stages."""

from __future__ import annotations

from typing import Any

import pytest
from bare_project import bare
from pydantic import ValidationError

from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Span


def _stage(key: str, items: list[str], after: list[str] | None = None) -> dict[str, Any]:
    rows = [{"id": i, "name": i, "likely": 1, "high": 2} for i in items]
    return {"id": key, "name": key, "after": after or [], "items": rows}


def test_unknown_keys_are_kept_everywhere() -> None:
    # source: design.md, section 4: unknown keys are kept when a file is saved
    raw = bare(stages=[_stage("set", ["rocks"])], mood={"colour": [1, None]})
    raw["gates"][0]["bell"] = True
    raw["stages"][0]["shade"] = "dusk"
    raw["stages"][0]["items"][0]["links"] = [{"a": None}]
    raw["jobs"] = [{"id": "r", "name": "r", "hours": {"likely": 1, "high": 1, "unit": "h"}}]
    project = project_from_raw(raw)
    again = project_to_raw(project)
    assert again["mood"] == {"colour": [1, None]}
    assert again["gates"][0]["bell"] is True
    assert again["stages"][0]["shade"] == "dusk"
    assert again["stages"][0]["items"][0]["links"] == [{"a": None}]
    assert again["jobs"][0]["hours"]["unit"] == "h"
    # a copy with one change keeps them too
    changed = project_to_raw(project.but(title="Heron"))
    assert changed == {**again, "title": "Heron"}


def test_a_copy_is_checked_like_a_file() -> None:
    project = project_from_raw(bare(stages=[_stage("set", ["rocks"])]))
    with pytest.raises(ValidationError):
        project.stages[0].items[0].but(high=0.5)
    with pytest.raises(ValidationError):
        project.but(title="")


def test_a_value_is_frozen() -> None:
    project = project_from_raw(bare(stages=[_stage("set", ["rocks"])]))
    with pytest.raises(ValidationError):
        project.title = "Other"  # type: ignore[misc]


def test_a_stage_stands_for_all_its_items() -> None:
    # source: design.md, section 4
    project = project_from_raw(
        bare(stages=[_stage("set", ["rocks", "grass"]), _stage("light", ["key", "rim"], ["set"])])
    )
    assert project.predecessors["key"] == project.predecessors["rim"] == {"rocks", "grass"}


def test_a_chain_holds_through_an_empty_stage() -> None:
    project = project_from_raw(
        bare(stages=[_stage("set", ["rocks"]), _stage("wait", [], ["set"]), _stage("light", ["key"], ["wait"])])
    )
    assert project.predecessors["key"] == {"rocks"}


def test_job_before_a_stage_holds_all_its_items() -> None:
    jobs = [{"id": "cache", "name": "Cache", "after": ["set"], "before": ["light"], "hours": 3}]
    project = project_from_raw(bare(stages=[_stage("set", ["rocks"]), _stage("light", ["key", "rim"])], jobs=jobs))
    assert project.predecessors["cache"] == {"rocks"}
    assert project.predecessors["key"] == project.predecessors["rim"] == {"cache"}


def test_job_before_an_empty_stage_holds_what_comes_after_it() -> None:
    jobs = [{"id": "cache", "name": "Cache", "after": ["set"], "before": ["wait"], "hours": 3}]
    project = project_from_raw(
        bare(stages=[_stage("set", ["rocks"]), _stage("wait", []), _stage("light", ["key"], ["wait"])], jobs=jobs)
    )
    assert project.predecessors["cache"] == {"rocks"}


def test_a_plain_number_is_a_certain_span() -> None:
    # source: design.md, section 4: each a number or {likely, high}
    assert Span.model_validate(3) == Span(likely=3, high=3)
    assert Span.model_validate({"likely": 3}).certain
    assert Span.sure(2.5).model_dump() == 2.5
    assert Span(likely=2, high=3).model_dump() == {"likely": 2.0, "high": 3.0}
