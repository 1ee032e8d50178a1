# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan sample`` without a screen."""

from __future__ import annotations

from pathlib import Path

import pytest
from cli_calls import SAMPLES, call

from nightplan.files.data import SAMPLES as NAMES
from nightplan.files.store import load

FILES = sorted(f"{name}.nightplan" for name in NAMES)


@pytest.fixture(autouse=True)
def plain_report(monkeypatch: pytest.MonkeyPatch) -> None:
    """These tests are not about the report, which takes a second to draw; that of the process draws it."""
    monkeypatch.setattr("nightplan.cli.verbs.sample._report", lambda *args: args[-1].write_text("<html>"))


def test_it_copies_prints_and_reports(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    answer = call("sample")
    assert (answer.code, answer.err) == (0, "")
    folder = tmp_path / "nightplan-samples"
    assert sorted(p.name for p in folder.iterdir()) == sorted([*FILES, "report.html"])
    for name in FILES:
        assert (folder / name).read_bytes() == (SAMPLES / name).read_bytes()
    for part in (
        "Moth and Lantern",
        "── Personal lock",
        " in 100",
        "report.html",
        "nightplan-samples/moth-and-lantern",
    ):
        assert part in answer.out


def test_it_writes_over_nothing(tmp_path: Path) -> None:
    mine = tmp_path / f"{NAMES[1]}.nightplan"
    mine.write_text("my own work")
    answer = call("sample", tmp_path)
    assert answer.code == 0
    assert mine.read_text() == "my own work"
    assert "Files that were there already were left as they are" in answer.out
    assert call("sample", tmp_path).code == 0


def test_a_first_sample_of_the_artists_own_is_shown_as_it_is(tmp_path: Path) -> None:
    mine = tmp_path / f"{NAMES[0]}.nightplan"
    mine.write_text("my own work")
    answer = call("sample", tmp_path)
    assert answer.code == 2
    assert answer.err.startswith(f"nightplan: {mine.name}: line 1, column 1: this is no JSON")
    assert mine.read_text() == "my own work"


def test_json(tmp_path: Path) -> None:
    found = call("sample", tmp_path, "--json").json
    assert sorted(Path(p).name for p in found["copied"]) == FILES
    assert found["kept"] == []
    assert found["plan"]["title"] == found["odds"]["title"] == load(tmp_path / f"{NAMES[0]}.nightplan").title
    assert Path(found["report"]).is_file()


def test_a_place_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    answer = call("sample", tmp_path / "file" / "samples")
    assert (answer.code, answer.out) == (2, "")
    assert "a part of the path is no folder" in answer.err
