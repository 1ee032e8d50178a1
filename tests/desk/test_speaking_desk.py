# SPDX-License-Identifier: GPL-3.0-or-later
"""The whole desk in other languages: every text is translated, and none is cut off. Common practice, no source."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("speaking_desk.py")
SAMPLE = Path(__file__).resolve().parents[2] / "sample_projects" / "moth-and-lantern.nightplan"
#: names that are the same in every language: zones, licences, units
_SAME = re.compile(
    r"/[A-Z][\w-]+(/|'|$)|Licen[cs]e|CC0|Public Domain Mark|Mbit/s|\bGB\b|The Unlicense|Etc/|US/|Brazil/|Chile/|Canada/"
)


@cache
def desk(language: str) -> dict[str, dict[str, list[str]]]:
    done = subprocess.run(
        [sys.executable, str(SCRIPT), str(SAMPLE)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=os.environ | {"NIGHTPLAN_LANGUAGE": language, "PYTHONIOENCODING": "utf-8", "QT_QPA_PLATFORM": "offscreen"},
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    found: dict[str, dict[str, list[str]]] = json.loads(done.stdout.splitlines()[-1])
    return found


def test_every_text_of_every_page_and_dialog_is_translated() -> None:
    left = {
        place: texts
        for place, told in desk("qps")["left"].items()
        if (texts := [t for t in told if not _SAME.search(t) and not t.startswith("ShortLabel")])
    }
    assert left == {}


@pytest.mark.parametrize("language", ["de", "es", "ja"])
def test_nothing_is_cut_off_in_another_language(language: str) -> None:
    assert desk(language)["cut"] == {}
