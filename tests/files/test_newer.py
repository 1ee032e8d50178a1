# SPDX-License-Identifier: GPL-3.0-or-later
"""A file of a later format: refused by name, shown as far as it is understood. The rules are the format's own."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from project_strategies import raw_projects, sample_raw, values

from nightplan.files.errors import NewerFile
from nightplan.files.newer import Looked, load_for_looking
from nightplan.files.store import load, parse
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import VERSION


def looked(folder: Path, raw: Any) -> Looked:
    path = folder / "piece.nightplan"
    path.write_text(json.dumps(raw), encoding="utf-8")
    return load_for_looking(path)


def newer(**changes: Any) -> dict[str, Any]:
    return {**sample_raw(), "version": VERSION + 1, **changes}


def test_a_newer_file_is_refused_and_says_that_it_is_newer(tmp_path: Path) -> None:
    (tmp_path / "a.nightplan").write_text(json.dumps(newer()))
    with pytest.raises(NewerFile, match="from a newer nightplan; this one reads up to version") as caught:
        load(tmp_path / "a.nightplan")
    assert caught.value.version == VERSION + 1


@pytest.mark.parametrize("raw", [{**sample_raw(), "format": "other", "version": 9}, {"version": 9}, [], 7])
def test_what_is_no_project_is_not_called_a_newer_one(raw: Any) -> None:
    with pytest.raises(BadInput) as caught:
        parse(json.dumps(raw).encode(), "a")
    assert not isinstance(caught.value, NewerFile)


def test_what_did_not_change_is_shown_whole(tmp_path: Path) -> None:
    found = looked(tmp_path, newer())
    assert found.version == VERSION + 1
    assert found.project == project_from_raw(sample_raw())
    assert found.left_out == ()


def test_what_is_not_understood_is_left_out_and_named(tmp_path: Path) -> None:
    raw = newer(mood="blue", target_odds={"lock": 0.9})
    raw["stages"][0]["items"][0]["tier"] = "fourth"
    raw["stages"][0]["items"][1]["likely"] = "two hours"
    raw["week"][0] = "every second Monday"
    gone = raw["stages"][0]["items"][1]["id"]
    found = looked(tmp_path, raw)
    assert {"target_odds", "stages[0].items[0].tier", "week[0]", "mood"} <= set(found.left_out)
    assert "stages[0].items[1]" in found.left_out, "an item without its hours is none"
    assert gone not in found.project.items
    assert found.project.title == raw["title"]
    assert len(found.project.items) == sum(len(s["items"]) for s in raw["stages"]) - 1


def test_what_names_something_that_is_left_out_is_left_out_too(tmp_path: Path) -> None:
    raw = newer()
    raw["stages"][1]["gate"] = "somewhere-new"
    raw["jobs"] = [{"id": "j", "name": "J", "hours": 1, "after": ["nothing-of-this-name"]}]
    found = looked(tmp_path, raw)
    assert "stages[1].gate" in found.left_out
    assert any(place.startswith("jobs[0].after") for place in found.left_out)
    assert "j" in found.project.jobs_by_id


@pytest.mark.parametrize("key", ["title", "zone", "announced", "gates"])
def test_without_what_every_project_has_nothing_is_shown(tmp_path: Path, key: str) -> None:
    raw = newer()
    del raw[key]
    with pytest.raises(BadInput, match=r"^piece.nightplan: too little of this file is understood to show it \("):
        looked(tmp_path, raw)


def test_a_file_of_our_own_format_is_opened_not_looked_at(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no project of a newer nightplan"):
        looked(tmp_path, sample_raw())


@settings(max_examples=80, deadline=None)
@given(raw=raw_projects(), data=st.data())
def test_whatever_a_later_format_changes_it_is_shown_or_refused(
    raw: dict[str, Any], data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    raw["version"] = VERSION + data.draw(st.integers(1, 5))
    for _ in range(data.draw(st.integers(1, 4))):
        inner: Any = raw
        while True:
            keys = list(inner) if isinstance(inner, dict) else list(range(len(inner)))
            if not keys:
                break
            key = data.draw(st.sampled_from(keys))
            if isinstance(inner[key], (dict, list)) and data.draw(st.booleans()):
                inner = inner[key]
                continue
            if key not in ("format", "version"):
                inner[key] = data.draw(values)
            break
    try:
        found = looked(tmp_path_factory.mktemp("newer"), raw)
    except BadInput as error:
        refused = error.sentence
        assert refused.startswith("piece.nightplan: ")
        return
    # what is shown is a project in its own right
    assert found.project.version == VERSION
    assert project_from_raw({**json.loads(found.project.model_dump_json())}) == found.project
