# SPDX-License-Identifier: GPL-3.0-or-later
"""A save that is killed at any moment leaves the old file or the new one, whole."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from project_strategies import SAMPLES

from nightplan.files.store import load, save

_SAVE_FOR_EVER = """
import sys
from nightplan.files.store import load, save
path = sys.argv[1]
project = load(path)
sides = [project.but(title="A" * 150), project.but(title="B" * 200)]
n = 0
while True:
    save(sides[n % 2], path)
    n += 1
    print(n, flush=True)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be killed in mid-call there")
@pytest.mark.parametrize("saves", [1, 2, 5, 9, 14])
def test_killed_while_saving(tmp_path: Path, saves: int) -> None:
    path = tmp_path / "a.nightplan"
    project = load(SAMPLES / "still-harbour.nightplan").but(title="A" * 200)
    save(project, path)
    process = subprocess.Popen(
        [sys.executable, "-c", _SAVE_FOR_EVER, str(path)],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    for _ in range(saves):
        assert process.stdout.readline()
    # it is within the next save or the one after, nobody knows where
    process.kill()
    process.stdout.close()
    process.wait()
    left = load(path)
    assert left.but(title="x") == project.but(title="x")
    assert left.title in ("A" * 150, "B" * 200)
