# SPDX-License-Identifier: GPL-3.0-or-later
"""Nothing in a file steers the terminal that its plan is shown on. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import io
import json
import unicodedata
from pathlib import Path

import pytest

from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.files.data import data_folder

ODD = "\x1b[2J\x9b31m\x85\u202egnp\u2066\u200b[red]x[/red][/]"
DAY = dt.date(2027, 10, 4)


@pytest.fixture
def odd_file(tmp_path: Path) -> Path:
    raw = json.loads((data_folder("sample_projects") / "still-harbour.nightplan").read_text("utf-8"))
    raw["title"] = raw["piece"] = ODD
    for one in [*raw["gates"], *raw["stages"], *raw["jobs"], *(i for s in raw["stages"] for i in s["items"])]:
        one["name"] = ODD + one["id"]
    path = tmp_path / "odd.nightplan"
    path.write_text(json.dumps(raw), "utf-8")
    return path


@pytest.mark.parametrize(
    "verb", [["plan"], ["odds", "--futures", "64"], ["recover", "--futures", "64"], ["nights", "--futures", "64"]]
)
@pytest.mark.parametrize("form", [[], ["--json"]])
def test_texts_of_a_file_are_shown_and_do_nothing(odd_file: Path, verb: list[str], form: list[str]) -> None:
    out = io.StringIO()
    assert main([verb[0], str(odd_file), *verb[1:], *form], out, out, Context(out, lambda: DAY)) in (0, 1)
    steering = [c for c in out.getvalue() if unicodedata.category(c) in ("Cc", "Cf", "Cs") and c != "\n"]
    assert steering == []
    if form:
        assert json.loads(out.getvalue())["title"] == ODD
    elif verb[0] != "nights":
        assert "[red]" in out.getvalue()
