# SPDX-License-Identifier: GPL-3.0-or-later
"""Tables that leave: CSV read back by Python's reader and by pandas, equal to the numbers of the engine."""

from __future__ import annotations

import csv
import datetime as dt
import io
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest

from nightplan.actions.today import as_it_stands
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.exports.tables import NAMES, Table, csv_text, frame, frames, table
from nightplan.files.store import load
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan

SAMPLES = Path(__file__).parents[2] / "sample_projects"
Case = tuple[Project, Plan, Forecast]


@pytest.fixture(scope="module", params=["moth-and-lantern", "clockwork-heron"])
def case(request: pytest.FixtureRequest) -> Case:
    project = load(SAMPLES / f"{request.param}.nightplan")
    day = as_it_stands(project)
    return project, plan(project, day), forecast(project, day, futures=400)


def _back(text: str, like: object) -> object:
    if text == "":
        return "" if like == "" else None
    if isinstance(like, bool):
        return {"true": True, "false": False}[text]
    if isinstance(like, float):
        return float(text)
    if isinstance(like, int):
        return int(text)
    if isinstance(like, dt.datetime):
        return dt.datetime.fromisoformat(text)
    if isinstance(like, dt.date):
        return dt.date.fromisoformat(text)
    return text


@pytest.mark.parametrize("name", NAMES)
def test_csv_read_back_is_equal_to_the_last_digit(case: Case, name: str) -> None:
    # source: RFC 4180 as Python's csv reads it
    made = table(name, *case)
    text = csv_text(made)
    assert "\n" not in text.replace("\r\n", "")
    head, *rows = csv.reader(io.StringIO(text, newline=""))
    assert tuple(head) == made.columns
    assert len(rows) == len(made.rows) > 0
    for row, wanted in zip(rows, made.rows, strict=True):
        assert tuple(_back(cell, like) for cell, like in zip(row, wanted, strict=True)) == wanted


@pytest.mark.parametrize("name", NAMES)
def test_pandas_reads_the_csv_as_our_frame(case: Case, name: str) -> None:
    made = table(name, *case)
    ours = frame(made)
    read = pd.read_csv(io.StringIO(csv_text(made)), parse_dates=[*made.dates, *made.instants])
    assert list(read.columns) == list(ours.columns)
    for column in ours.columns:
        if column in made.dates or column in made.instants:
            assert [x if pd.notna(x) else None for x in read[column]] == [
                x if pd.notna(x) else None for x in ours[column]
            ]
        elif pd.api.types.is_float_dtype(ours[column]):
            pd.testing.assert_series_equal(read[column].astype(float), ours[column], rtol=1e-14)
        elif pd.api.types.is_string_dtype(ours[column]):
            assert list(read[column].fillna("")) == list(ours[column].fillna(""))


def test_the_tables_hold_what_the_engine_said(case: Case) -> None:
    project, planned, found = case
    by = frames(project, planned, found)
    logged = by["log"]
    assert logged["hours"].sum() == pytest.approx(sum(w.hours for e in project.log for w in e.work), abs=1e-9)
    assert set(logged["evening"].dt.date) == {e.evening for e in project.log}
    assert by["plan"]["hours"].sum() == pytest.approx(sum(w.hours for e in planned.evenings for w in e.work), abs=1e-9)
    futures = by["futures"].set_index(["kind", "id"])
    for gate in found.gates:
        assert futures.loc[("gate", gate.id), "odds"] == gate.odds
        assert futures.loc[("gate", gate.id), "instant"] == gate.instant
    assert futures["driver_share"].sum() == pytest.approx(
        sum(d.share for d in found.drivers if d.kind != "evening"), abs=1e-12
    )
    burn = by["burn-down"].set_index("evening")
    for point in found.burn_down:
        assert burn.loc[pd.Timestamp(point.date), "p50"] == point.p50


def test_text_that_a_spreadsheet_would_work_out_is_held_back() -> None:
    # source: OWASP, CSV Injection: cells that begin with = + - @ tab or carriage return
    made = Table("t", ("a", "b"), (("=1+1", -2.5), ("@x", 1), ('say "a", b\nc', None)))
    rows = list(csv.reader(io.StringIO(csv_text(made), newline="")))
    assert rows[1:] == [["'=1+1", "-2.5"], ["'@x", "1"], ['say "a", b\nc', ""]]


def test_another_name_is_refused(case: Case) -> None:
    with pytest.raises(BadInput, match=r"what = 'cost': a table is one of log, plan, futures, burn-down"):
        table("cost", *case)


def test_csv_needs_no_pandas() -> None:
    code = (
        "import sys; sys.modules['pandas'] = None\n"
        "from nightplan.exports.tables import Table, csv_text, frame\n"
        "from nightplan.model.errors import BadInput\n"
        "t = Table('t', ('a',), ((1.5,),))\n"
        "assert csv_text(t) == 'a\\r\\n1.5\\r\\n'\n"
        "try:\n    frame(t)\nexcept BadInput as e:\n    print(e)\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.startswith("pandas is not installed; CSV holds the same numbers")
