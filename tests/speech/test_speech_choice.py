# SPDX-License-Identifier: GPL-3.0-or-later
"""Which language is spoken: order of the places that say so as POSIX has it (LC_ALL, LC_MESSAGES, LANG)."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from nightplan.cli.start import settle
from nightplan.speech import choice, language, use

SAMPLE = Path(__file__).resolve().parents[2] / "sample_projects" / "moth-and-lantern.nightplan"


@pytest.mark.parametrize(
    ("environment", "kept", "expected"),
    [
        ({}, "ja", "ja"),
        ({"NIGHTPLAN_LANGUAGE": "de", "LANG": "es_ES.UTF-8"}, "ja", "de"),
        ({"LANG": "es_ES.UTF-8"}, None, "es_ES.UTF-8"),
        ({"LC_ALL": "de_AT", "LC_MESSAGES": "ja_JP", "LANG": "es_ES.UTF-8"}, None, "de_AT"),
        ({"LC_ALL": "", "LC_MESSAGES": "ja_JP", "LANG": "es_ES.UTF-8"}, None, "ja_JP"),
        ({"LANG": "C"}, None, "en"),
        ({"LANG": "fr_FR.UTF-8"}, None, "en"),
    ],
)
def test_the_program_is_asked_then_the_artist_then_the_system(
    environment: dict[str, str], kept: str | None, expected: str
) -> None:
    assert choice.wanted(environment, kept) == expected


def test_a_choice_is_kept_and_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NIGHTPLAN_SETTINGS", str(tmp_path / "new"))
    assert choice.kept() is None
    choice.keep("de")
    assert choice.kept() == "de"
    (tmp_path / "new" / "language").write_bytes(b"\xff klingon")
    assert choice.kept() is None
    choice.keep(None)
    choice.keep(None)
    assert choice.kept() is None


def test_the_command_line_is_asked_first(monkeypatch: pytest.MonkeyPatch) -> None:
    try:
        assert settle(["--language", "de", "odds", "x"]) == ["odds", "x"]
        assert language() == "de"
        monkeypatch.setenv("NIGHTPLAN_LANGUAGE", "es")
        assert settle(["--language=ja", "odds"]) == ["odds"]
        assert language() == "ja"
        monkeypatch.setenv("NIGHTPLAN_LANGUAGE", "es")
        # left for the parser to refuse
        assert settle(["--language", "tlh"]) == ["--language", "tlh"]
        assert language() == "es"
    finally:
        use("en")


def test_numbers_for_programs_are_the_same_in_every_language() -> None:
    start = (sys.executable, "-c", "from nightplan.cli.start import run; run()")
    said = []
    for code in ("en", "de", "ja"):
        done = subprocess.run(
            [*start, "--language", code, "odds", str(SAMPLE), "--json", "--futures", "500"],
            capture_output=True,
            text=True,
            encoding="utf-8",
            env=os.environ | {"PYTHONIOENCODING": "utf-8"},
            check=True,
        )
        said.append(json.loads(done.stdout))
    assert said[0]["gates"][0]["odds"] == said[1]["gates"][0]["odds"] == said[2]["gates"][0]["odds"]
    assert said[0].keys() == said[1].keys() == said[2].keys()
