# SPDX-License-Identifier: GPL-3.0-or-later
"""The page on the file says what the model says. Examples are judged by jsonschema and by the reader itself."""

from __future__ import annotations

import importlib
import json
import sys
from types import ModuleType
from typing import Any

import jsonschema
import pytest
from docs_pages import DOCS, ROOT, blocks

from nightplan.actions.today import as_it_stands
from nightplan.engine.plan import plan
from nightplan.files.store import parse

PAGE = DOCS / "file-format.md"


@pytest.fixture(scope="module")
def made() -> ModuleType:
    sys.path.insert(0, str(ROOT / "benchmarks"))
    try:
        return importlib.import_module("file_format")
    finally:
        sys.path.remove(str(ROOT / "benchmarks"))


def test_the_tables_are_those_of_the_model(made: ModuleType) -> None:
    text = PAGE.read_text(encoding="utf-8")
    shown = text.split(made.MARKS[0])[1].split(made.MARKS[1])[0]
    assert shown == made.tables(), "the model has changed: run python benchmarks/file_format.py"


def test_every_key_has_a_meaning(made: ModuleType) -> None:
    assert [(m.__name__, row[0]) for _, m, _ in made.OBJECTS for row in made.rows(m) if not row[3]] == []


def test_no_meaning_is_left_over(made: ModuleType) -> None:
    known = {f"{m.__name__}.{row[0]}" for _, m, _ in made.OBJECTS for row in made.rows(m)}
    assert set(made.KEYS) <= known
    assert set(made.FREE) <= known


def test_every_value_of_the_model_has_a_table(made: ModuleType) -> None:
    from nightplan.files.schema import schema

    told = {m.__name__ for _, m, _ in made.OBJECTS}
    assert set(schema()["$defs"]) - {"JsonValue"} <= told


def test_examples_are_what_the_schema_accepts(made: ModuleType) -> None:
    wrong: list[Any] = []
    for _, model, _ in made.OBJECTS:
        schema = model.model_json_schema(by_alias=True)
        definitions = schema.get("$defs", {})
        its = definitions.get(model.__name__, schema)
        its = next((s for s in its.get("anyOf", ()) if s.get("type") == "object"), its)
        for key, rule in its["properties"].items():
            example = made.KEYS.get(f"{model.__name__}.{key}", ("", None))[1]
            if example is None:
                continue
            found = jsonschema.Draft202012Validator({**rule, "$defs": definitions})
            wrong += [(model.__name__, key, e.message) for e in found.iter_errors(example)]
    assert wrong == []


def test_the_smallest_project_has_a_plan() -> None:
    found = [parse(block.text.encode(), "example.nightplan") for block in blocks(PAGE, "json")]
    assert found
    for project in found:
        assert any(e.work for e in plan(project, as_it_stands(project)).evenings)


def test_the_file_says_every_key_that_the_page_names(made: ModuleType) -> None:
    """Keys of the samples are all on the page."""
    named = {row[0] for _, m, _ in made.OBJECTS for row in made.rows(m)}

    def keys(raw: Any, free: bool = False) -> set[str]:
        if isinstance(raw, list):
            return set().union(*(keys(r, free) for r in raw))
        if not isinstance(raw, dict):
            return set()
        inner = (keys(v, k in FREE_NAMES) for k, v in raw.items() if k not in FREE_FORM)
        return (set() if free else set(raw) - FREE_FORM).union(*inner)

    for path in sorted((ROOT / "sample_projects").glob("*.nightplan")):
        assert keys(json.loads(path.read_text(encoding="utf-8"))) <= named, path.name


#: objects whose keys are ids or dates
FREE_NAMES = {"estimates", "buffer_hours", "finish", "burn_down", "odds", "buffer"}
#: told in words on the page
FREE_FORM = {"replans", "lookback", "calendar_told", "making_of_weights", "p10", "p50", "p80", "p90"} | {
    "have_hours",
    "need_hours",
    "used",
}
