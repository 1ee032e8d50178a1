# SPDX-License-Identifier: GPL-3.0-or-later
"""Walks of undo and redo over the real intents, and a slice of the soak. Common practice, no source."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

from history_walks import walk

BENCH = Path(__file__).parents[2] / "benchmarks"


@pytest.mark.parametrize("seed", range(12))
def test_undo_and_redo_give_the_same_bytes(seed: int) -> None:
    taken, _refused, wrong = walk(seed, 30)
    assert wrong == []
    assert taken > 3


def test_the_walk_sees_a_history_that_forgets(monkeypatch: pytest.MonkeyPatch) -> None:
    from nightplan.actions.history import History

    def careless(self: History) -> object:
        self.place = max(0, self.place - 1)
        if self.place == 0:
            self.steps[0] = (self.steps[0][0], self.steps[-1][1])
        return self.project

    monkeypatch.setattr(History, "undo", careless)
    assert any(walk(seed, 30)[2] for seed in range(3))


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="counts what /proc tells")
def test_a_short_soak_breaks_nothing(tmp_path: Path) -> None:
    # what grows cannot be told from so few actions; that nothing breaks can
    code = f"""
import os, sys
sys.path.insert(0, {str(BENCH)!r})
import bench_reliability_soak as bench
found = bench.soak(40, 3)
print(found["actions"], len(found["faults"]), found["late"]["windows"] - found["early"]["windows"], flush=True)
os._exit(0)
"""
    ended = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert ended.stdout.split() == ["40", "0", "0.0"], ended.stderr[-3_000:]
