# SPDX-License-Identifier: GPL-3.0-or-later
"""The published schema, held by an independent validator (jsonschema, draft 2020-12)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from project_strategies import raw_projects, sample_raw

from nightplan.files.data import SAMPLES, data_folder
from nightplan.files.schema import schema, schema_text
from nightplan.files.store import dumps
from nightplan.model.parse import project_from_raw

ROOT = Path(__file__).parents[2]
VALIDATOR = jsonschema.Draft202012Validator(schema())


def test_the_committed_schema_is_the_one_of_the_model() -> None:
    committed = (ROOT / "assets" / "project.schema.json").read_text(encoding="utf-8")
    assert committed == schema_text(), "python -m nightplan.files.schema > assets/project.schema.json"


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    assert schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_follow_it(name: str) -> None:
    VALIDATOR.validate(json.loads((data_folder("sample_projects") / f"{name}.nightplan").read_text(encoding="utf-8")))


@settings(max_examples=100, deadline=None)
@given(raw_projects())
def test_what_is_accepted_and_what_is_written_follows_it(raw: dict[str, Any]) -> None:
    VALIDATOR.validate(raw)
    VALIDATOR.validate(json.loads(dumps(project_from_raw(raw))))


def test_the_example_of_the_format_follows_it() -> None:
    # the keys that the format promises to keep (design of the file, version 1)
    raw = sample_raw()
    raw["jobs"] = [
        {"id": "a", "name": "A", "kind": "render", "frames": 192, "minutes_per_frame": {"likely": 3.5, "high": 6}},
        {"id": "b", "name": "B", "kind": "upload", "gigabytes": 2, "megabits_per_second": {"likely": 16, "high": 20}},
        {"id": "c", "name": "C", "kind": "simulation", "hours": 5, "fail_chance": 0.1, "machine": "desk"},
    ]
    raw["log"] = [
        {
            "evening": "2027-09-20",
            "happened": True,
            "hours": 2.5,
            "work": [{"item": raw["stages"][0]["items"][0]["id"], "hours": 2.5, "left": {"likely": 1, "high": 2}}],
            "note": "",
            "captures": [],
        }
    ]
    VALIDATOR.validate(raw)
    project_from_raw(raw)


WRONG = [
    ("version", 2),
    ("format", "other"),
    ("title", ""),
    ("title", None),
    ("target_odds", 1.0),
    ("correlation", -0.1),
    ("announced", "20 Sep"),
    ("announced", 20270920),
    ("week", [{"day": "noday", "start": "20:30", "hours": 2}]),
    ("week", [{"day": "mon", "start": "20:30", "hours": -2}]),
    ("week", [{"day": "mon", "start": "8pm", "hours": 2}]),
    ("week", [{"day": "mon", "start": "20:30", "hours": "2"}]),
    ("stages", [{"id": "a b", "name": "A"}]),
    ("stages", {"a": 1}),
    ("jobs", [{"id": "a", "name": "A", "fail_chance": 1.0, "hours": 1}]),
]


@pytest.mark.parametrize(("key", "value"), WRONG)
def test_what_the_model_refuses_the_schema_refuses(key: str, value: Any) -> None:
    assert not VALIDATOR.is_valid({**sample_raw(), key: value})
    assert VALIDATOR.is_valid(sample_raw())
