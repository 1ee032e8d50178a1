# SPDX-License-Identifier: GPL-3.0-or-later
"""A small slice of the reliability bench, as it is run for every change; the whole is in docs/reliability.md."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).parents[2] / "benchmarks" / "bench_reliability.py"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the bench needs a system that can fork")
@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("killed", "| a process is killed (SIGKILL) in the middle of a save | 25 |"),
        ("faults", "one system call of a save fails (ENOSPC, EIO, EACCES"),
        ("ticks", "| 6 of 6 ticks there, every state in the ring | 0 |"),
    ],
)
def test_a_slice_of_the_bench(part: str, said: str, tmp_path: Path) -> None:
    # a process of its own: forking one with threads is no good
    done = subprocess.run(
        [sys.executable, str(BENCH), "--small", "--only", part],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "NIGHTPLAN_DATA_DIR": str(tmp_path), "NIGHTPLAN_LOG_DIR": str(tmp_path)},
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert said in done.stdout
    assert all(line.endswith("| 0 |") for line in done.stdout.splitlines()[2:])


def test_the_page_holds_the_table_of_the_whole_bench() -> None:
    page = (BENCH.parents[1] / "docs" / "reliability.md").read_text(encoding="utf-8")
    table = page.partition("<!-- table: saves -->\n")[2].partition("<!-- end of table: saves -->")[0]
    assert "| a process is killed (SIGKILL) in the middle of a save | 1,000 |" in table
    assert "400 of 400 ticks there" in table
