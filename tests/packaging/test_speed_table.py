# SPDX-License-Identifier: GPL-3.0-or-later
"""The one table of all benchmarks: what a limit holds, how a row reads, where the table goes. Nothing is timed."""

from __future__ import annotations

import ast
import importlib
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "benchmarks"))

run_all = importlib.import_module("run_all")
rows_of = importlib.import_module("speed_rows")
Row, lines, shown = rows_of.Row, rows_of.lines, rows_of.shown


@pytest.mark.parametrize(
    ("held", "limit", "good", "words"),
    [
        ("ratio", 3.0, True, "3 ×"),
        ("ratio", 2.9, False, "2.9 ×"),
        ("measured", 30.0, True, "30 ms"),
        ("measured", 29.0, False, "29 ms"),
        ("over", 20.0, True, "floor + 20 ms"),
        ("over", 19.0, False, "floor + 19 ms"),
        ("ratio", None, True, ""),
    ],
)
def test_a_limit_holds_what_it_says(held: str, limit: float | None, good: bool, words: str) -> None:
    row = Row("odds", "a thing", 30.0, 10.0, "a floor", "ms", limit, held)
    assert row.ratio == 3.0
    assert row.good is good
    assert row.limit_words() == words


def test_a_row_reads_as_it_should() -> None:
    rows = [
        Row("check", "headers", 25.0, 10.0, "names alone", "ms", 3.0),
        Row("check", "pixels", 2.0, 1.0, "a decode", "s", 1.3),
        Row("memory", "a process", 137.2, 61.0, "after its imports", "MB"),
    ]
    assert lines(rows)[2:] == [
        "| check | headers | 25 ms | 10 ms: names alone | 2.50 | 3 × | yes |",
        "|  | pixels | 2 s | 1 s: a decode | 2.00 | 1.3 × | NO |",
        "| memory | a process | 137 MB | 61 MB: after its imports | 2.25 |  |  |",
    ]


@pytest.mark.parametrize(
    ("value", "unit", "words"), [(1234.5, "ms", "1234 ms"), (0.4123, "s", "0.412 s"), (12.34, "ms", "12.3 ms")]
)
def test_three_digits(value: float, unit: str, words: str) -> None:
    assert shown(value, unit) == words


def test_every_benchmark_of_the_table_gives_rows() -> None:
    for name in run_all.BENCHMARKS:
        tree = ast.parse((ROOT / "benchmarks" / f"bench_{name}.py").read_text(encoding="utf-8"))
        assert "measure" in {n.name for n in tree.body if isinstance(n, ast.FunctionDef)}, name


def test_every_area_of_the_page_is_measured() -> None:
    named = set()
    for name in run_all.BENCHMARKS:
        tree = ast.parse((ROOT / "benchmarks" / f"bench_{name}.py").read_text(encoding="utf-8"))
        calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call) and getattr(n.func, "id", "") == "Row"]
        named |= {n.args[0].value for n in calls if isinstance(n.args[0], ast.Constant)}
    assert named == set(run_all.AREAS)


def test_the_table_goes_between_the_marks_of_the_page() -> None:
    page = run_all.PAGE.read_text(encoding="utf-8")
    once = run_all.page_with(page, "a table\n")
    assert f"{run_all.BEGIN}a table\n{run_all.END}" in once
    assert run_all.page_with(once, "a table\n") == once
    assert once.split(run_all.END)[1] == page.split(run_all.END)[1]
    with pytest.raises(ValueError, match="lacks"):
        run_all.page_with("no marks here\n", "a table\n")
