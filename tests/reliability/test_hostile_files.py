# SPDX-License-Identifier: GPL-3.0-or-later
"""A slice of benchmarks/bench_reliability_hostile.py: files made wrong give an answer or one sentence.

Common practice (mutation of good files), no source. The whole bench is in docs/reliability.md.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

import bench_reliability_hostile as bench
import hostile_cases

#: cases that once failed; the numbers are those of the bench with seed 1 or 2
ONCE_FAILED = (
    ("project", 1, 0),
    ("project", 1, 9),
    ("project", 2, 13),
    ("calendar", 5, 1836),
)


@pytest.fixture(autouse=True)
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NIGHTPLAN_LOG_DIR", str(tmp_path / "log"))


@pytest.mark.parametrize("number", range(40))
def test_a_project_file_made_wrong(number: int, tmp_path: Path) -> None:
    assert bench.run_project(bench.case_bytes("project", 11, number), number, tmp_path) in (
        "refused",
        "read, not planned",
        "shown",
    )


@pytest.mark.parametrize("number", range(25))
def test_a_calendar_made_wrong(number: int, tmp_path: Path) -> None:
    assert bench.run_calendar(bench.case_bytes("calendar", 11, number), number, tmp_path) in ("refused", "shown")


@pytest.mark.parametrize(("kind", "seed", "number"), ONCE_FAILED)
def test_what_once_failed(kind: str, seed: int, number: int, tmp_path: Path) -> None:
    bench.RUNS[kind](bench.case_bytes(kind, seed, number), number, tmp_path)


def test_the_same_seed_makes_the_same_files() -> None:
    for number in range(30):
        assert hostile_cases.project_bytes(3, number) == hostile_cases.project_bytes(3, number)
        assert hostile_cases.calendar_bytes(3, number) == hostile_cases.calendar_bytes(3, number)
    assert len({hostile_cases.project_bytes(3, n) for n in range(30)}) > 25


def test_the_bench_sees_a_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_arguments: object) -> object:
        raise ZeroDivisionError

    good = (Path(hostile_cases.data_folder("sample_projects")) / "still-harbour.nightplan").read_bytes()
    monkeypatch.setattr("nightplan.cli.verbs.plan.plan", broken)
    with pytest.raises(bench.Wrong, match="plan ends with 3"):
        bench.run_project(good, 0, tmp_path)


def test_cases_run_in_processes_of_their_own(tmp_path: Path) -> None:
    # as the whole bench does it
    found = bench.run("calendar", 1, 4, 1, tmp_path / "failed")
    assert (found["failed"], sum(found["outcomes"].values())) == ([], 4)


def test_a_slow_answer_and_a_large_one_are_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def wrong() -> str:
        # a file that is refused at once is neither slow nor large
        return " ".join(bench.run_case("project", 1, n, tmp_path)["wrong"] for n in range(12))

    monkeypatch.setattr(bench, "SECONDS", -1.0)
    assert "of processor time" in wrong()
    monkeypatch.setattr(bench, "SECONDS", 60.0)
    monkeypatch.setattr(bench, "MEGABYTES", -1)
    assert " MB" in wrong()
