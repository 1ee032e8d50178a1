# SPDX-License-Identifier: GPL-3.0-or-later
"""Files of every format that was ever written, kept for ever: each is read, and loses nothing.

A file in tests/data/old is never changed; a new format adds one (``version-N-….nightplan``) and a step in
``files/migrations.py``.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from nightplan.files.migrations import STEPS, migrate
from nightplan.files.store import dumps, load, parse, save
from nightplan.model.project import VERSION

OLD = Path(__file__).parents[1] / "data" / "old"
#: file -> SHA-256 of its bytes, title, number of items, number of objects with a key that no version knows
KEPT = {
    "version-1-first.nightplan": (
        "cd240725d3ad25de9d08552de55c801af292100dbe7ee378cb7d658a934382cf",
        "Moth and Lantern",
        18,
        0,
    ),
    "version-1-every-key.nightplan": (
        "0f58f5b649f0500b179b04e965d55b007c1d717ea6aee83e95fded61d7debbe3",
        "Paper Comet",
        6,
        54,
    ),
}


def objects_with_a_mark(raw: Any) -> int:
    if isinstance(raw, list):
        return sum(map(objects_with_a_mark, raw))
    if not isinstance(raw, dict):
        return 0
    return ("x-mark" in raw) + sum(map(objects_with_a_mark, raw.values()))


def test_every_format_has_a_file_and_every_file_is_known() -> None:
    assert {path.name for path in OLD.iterdir()} == set(KEPT)
    versions = {json.loads((OLD / name).read_text(encoding="utf-8"))["version"] for name in KEPT}
    assert versions == set(range(1, VERSION + 1)), "a new format adds a file of the old one here"
    assert set(STEPS) == set(range(1, VERSION))


@pytest.mark.parametrize("name", KEPT)
def test_an_old_file_is_as_it_was_written(name: str) -> None:
    assert hashlib.sha256((OLD / name).read_bytes()).hexdigest() == KEPT[name][0]


@pytest.mark.parametrize("name", KEPT)
def test_an_old_file_is_read_and_says_what_it_said(name: str, tmp_path: Path) -> None:
    _hash, title, items, marked = KEPT[name]
    project = load(OLD / name)
    assert (project.title, len(project.items)) == (title, items)
    assert project.version == VERSION
    save(project, tmp_path / "new.nightplan")
    assert load(tmp_path / "new.nightplan") == project
    assert objects_with_a_mark(json.loads((tmp_path / "new.nightplan").read_text(encoding="utf-8"))) == marked


@pytest.mark.parametrize("name", KEPT)
def test_every_value_of_an_old_file_is_still_there(name: str) -> None:
    before = migrate(json.loads((OLD / name).read_text(encoding="utf-8")))
    after = json.loads(dumps(parse(json.dumps(before).encode(), name)))
    assert missing(before, after) == []


def missing(before: Any, after: Any, place: str = "") -> list[str]:
    """Places whose value is gone or another; a key that is null may be absent."""
    if isinstance(before, dict) and isinstance(after, dict):
        found = []
        for key, value in before.items():
            if key in after:
                found += missing(value, after[key], f"{place}.{key}")
            elif value is not None:
                found.append(f"{place}.{key}")
        return found
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        return [p for n, (b, a) in enumerate(zip(before, after, strict=True)) for p in missing(b, a, f"{place}[{n}]")]
    return [] if before == after else [place]
