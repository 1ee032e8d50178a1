# SPDX-License-Identifier: GPL-3.0-or-later
"""Numbers that the guide tells are those that the program gives (the guide's own stories; no outside source)."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

import pytest
from docs_pages import DOCS, ROOT

from nightplan.actions.tick import Evening, tick_with_odds
from nightplan.actions.today import as_it_stands
from nightplan.exports.words import per_100
from nightplan.files.store import load

SAMPLES = ROOT / "sample_projects"


@pytest.fixture(scope="module")
def looking() -> ModuleType:
    sys.path.insert(0, str(ROOT / "benchmarks"))
    try:
        return importlib.import_module("looking_back_walk")
    finally:
        sys.path.remove(str(ROOT / "benchmarks"))


def words(page: str) -> str:
    return " ".join((DOCS / "guide" / page).read_text(encoding="utf-8").split())


def test_an_evening() -> None:
    project = load(SAMPLES / "moth-and-lantern.nightplan")
    ticked = tick_with_odds(project, Evening(as_it_stands(project), 5.0, done=("spline", "critique-block")))
    before, after = (per_100(found.gate("lock").odds) for found in (ticked.before, ticked.after))
    assert f"the lock goes from {before} to {after} in 100" in words("an-evening.md")


def test_looking_back(looking: ModuleType, tmp_path: Path) -> None:
    pieces = looking.past(SAMPLES)
    assert all(not any(i.state == "open" for i in p.items.values()) for p in pieces)
    assert all(j.state == "done" for p in pieces for j in p.jobs)
    found = looking.told(pieces, tmp_path)
    page = DOCS / "guide" / "looking-back.md"
    assert looking.table(found) in page.read_text(encoding="utf-8"), "run python benchmarks/make_pictures.py"
    told = words(page.name)
    animate = next(s for s in found.looks.stages if s.stage == "Animate")
    assert f"says {animate.factor.value:.2f} and not {animate.ratio:.2f}" in told
    odds = [per_100(found.odds(p)["lock"]) for p in (found.before, found.after)]
    assert f"from {odds[0]} to {odds[1]} in 100" in told
    outcomes = sorted(g.outcome for g in found.facts.gates)
    assert outcomes == ["met"] * 4 + ["missed"]
    assert [g.gate for g in found.facts.gates if g.outcome == "missed"] == ["lock"]
    assert "one of five gates was missed" in told
    worst = next(b for b in found.scores.bins if b.said > b.made.high)
    assert f"about {worst.said * 100:.0f} in 100" in told
