# SPDX-License-Identifier: GPL-3.0-or-later
"""The table of limits says what the source says, and names every limit. Common practice, no source."""

from __future__ import annotations

import ast
import importlib
import re
from typing import Any

import pytest
from docs_pages import DOCS, ROOT

from nightplan.brief.limits import LIMITS
from nightplan.model.check import MAX_ENTRIES

TEXT = (DOCS / "hostile-input.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| [^|]+ \| ([\d,]+) \| `([\w.]+)(?:\[(\w+)\])?` \|$", TEXT, re.MULTILINE)
#: of other programs' doing, or no limit of what comes in
ELSEWHERE = {
    "nightplan.actions.lookback.MAX_ANSWER",
    "nightplan.exports.credits.MAX_PIXELS",
    "nightplan.exports.lookback_figures.MAX_ROWS",
    "nightplan.model.brief.MAX_BRIEF_TEXT",
    "nightplan.model.brief.MAX_REFUSED",
}


def value_of(name: str, key: str) -> Any:
    module, _, rest = name.rpartition(".")
    if module.endswith(".LIMITS"):
        return getattr(LIMITS, rest)
    found = getattr(importlib.import_module(module), rest)
    return found[key] if key else found


@pytest.mark.parametrize(("number", "name", "key"), ROWS, ids=lambda part: part or "-")
def test_the_number_is_that_of_the_source(number: str, name: str, key: str) -> None:
    assert int(number.replace(",", "")) == value_of(name, key)


def test_every_limit_is_named() -> None:
    told = {name for _, name, _ in ROWS}
    there: set[str] = set()
    for path in (ROOT / "src" / "nightplan").rglob("*.py"):
        if "desk" in path.parts:
            # what is shown, and how large
            continue
        module = ".".join(path.relative_to(ROOT / "src").with_suffix("").parts)
        for line in ast.parse(path.read_text(encoding="utf-8")).body:
            targets = line.targets if isinstance(line, ast.Assign) else []
            for target in targets:
                names = target.elts if isinstance(target, ast.Tuple) else [target]
                there |= {f"{module}.{n.id}" for n in names if isinstance(n, ast.Name) and n.id.startswith("MAX_")}
    assert there - told - ELSEWHERE - {"nightplan.model.check.MAX_ENTRIES"} == set()
    assert there >= ELSEWHERE
    assert {key for _, _, key in ROWS if key} | {"jobs"} == set(MAX_ENTRIES)
    assert {f"nightplan.brief.limits.LIMITS.{f}" for f in type(LIMITS).__dataclass_fields__} <= told
