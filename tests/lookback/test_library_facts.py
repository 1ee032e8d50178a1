# SPDX-License-Identifier: GPL-3.0-or-later
"""What the quick reading of raw files says, against a project reckoned by hand and against evenings/ and engine/."""

from __future__ import annotations

import datetime as dt
import math
from array import array
from typing import Any

import pytest
from library_cases import ANNOUNCED, by_hand, iso, random_project

from nightplan.engine.problem import problem
from nightplan.engine.state import item_states
from nightplan.evenings.dated import calendar
from nightplan.evenings.pattern import merged_changes, promised
from nightplan.files.library_facts import extract
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw

DAY0 = ANNOUNCED.toordinal()


def doubles(packed: bytes) -> list[float]:
    return array("d", packed).tolist()


def test_the_project_reckoned_by_hand() -> None:
    row = extract(by_hand())
    assert row.items == [("Rig", 2.0, 3.5, 2.0, 3.0), ("Light", 1.0, 1.0, 1.0, 1.5)]
    assert (row.finished, row.last_log) == (DAY0 + 14, DAY0 + 14)
    # weekday, sure, promised, kept, unlogged, chances
    assert row.evenings == [(0, 1, 3, 3, 0, pytest.approx(2.7)), (3, 1, 2, 1, 0, 1.8), (5, 0, 2, 1, 1, 1.0)]
    assert row.left == [(1.0, 1.5)]
    # five evenings with work, none with two items, one with half an hour that no item got
    assert row.switching == (5, 0.0, 30.0, 0.0, 0.0, 900.0)
    lock, deadline = row.gates
    assert lock[:6] == ("lock", "Lock", DAY0 + 12, DAY0 + 14, "missed", DAY0 + 14 + 56)
    assert deadline[4] == "met"
    # once the lock is past or the work done nothing is foretold any more
    assert doubles(lock[8]) == [0.8, 0.7, 0.75]
    assert doubles(deadline[8]) == [0.9, 0.85, 0.9, 0.6]
    assert doubles(deadline[7]) == [DAY0, DAY0 + 3, DAY0 + 3, DAY0 + 14]
    assert doubles(deadline[10])[0] == DAY0 + 12
    assert math.isnan(doubles(deadline[12])[0])
    assert row.finishes == [(DAY0 + 7, DAY0 + 12, DAY0 + 17, DAY0 + 20, DAY0 + 3, DAY0 + 70)]
    # 0 h + 3 h of 4.5 h at the start; 3 h + 1.2 h after two thirds
    assert row.drift == [(0.0, pytest.approx(3 / 4.5)), (2 / 3, pytest.approx(4.2 / 4.5))]


def test_a_factor_from_history_is_taken_out_of_the_own_estimate() -> None:
    applied = [{"kind": "estimate", "stage": "Rig", "factor": 1.25, "items": ["rig"], "on": iso(0)}]
    row = extract(by_hand(lookback={"applied": applied}))
    assert row.items[0] == ("Rig", 2.0, 3.5, 1.6, 3.0)
    assert row.items[1][3] == 1.0


def test_without_a_baseline_the_items_own_estimate_counts() -> None:
    assert extract(by_hand(baselines=[])).items[0][:3] == ("Rig", 2.5, 4.0)


def test_a_job_that_nobody_ticked_off() -> None:
    job: dict[str, Any] = {"id": "render", "name": "Render", "hours": 5, "after": ["rig"], "gate": "lock"}
    assert extract(by_hand(jobs=[{**job, "before": ["light"]}])).gates[1][4] == "met"
    # nothing waited for it: whether it ever ended is not known
    assert extract(by_hand(jobs=[job])).gates[1][3:5] == (None, "unknown")
    assert extract(by_hand(jobs=[{**job, "state": "done"}])).gates[1][4] == "met"


def test_work_not_finished_stays_open() -> None:
    raw = by_hand()
    raw["log"] = raw["log"][:4]
    raw["stages"][1]["items"][0]["state"] = "open"
    row = extract(raw)
    assert [g[3:5] for g in row.gates] == [(None, "open"), (None, "open")]
    assert (row.finished, row.drift) == (None, [])
    # left out, it holds nothing up
    raw["stages"][1]["items"][0]["state"] = "cut"
    assert [g[3:5] for g in extract(raw).gates] == [(DAY0 + 3, "met"), (DAY0 + 3, "met")]
    raw["log"] = []
    raw["stages"][1]["items"][0]["state"] = "open"
    assert [g[4] for g in extract(raw).gates] == ["unknown", "unknown"]


@pytest.mark.parametrize("seed", range(250))
def test_random_projects_against_the_calendar_and_the_forecasts_own_rules(seed: int) -> None:
    raw = random_project(seed)
    try:
        project = project_from_raw(raw)
        dated = calendar(project)
    except BadInput:
        pytest.skip("overlapping evenings")
    row = extract(raw)
    last = max(e.evening for e in project.log)
    states = item_states(project, last)
    done = {k for k, s in states.items() if s.state == "done"}
    assert sorted((i[0].lower(), i[4]) for i in row.items) == sorted((k, states[k].spent) for k in done)
    found = problem(project, last + dt.timedelta(days=1), dated)
    for gate, got in zip(project.gates, row.gates, strict=True):
        work = next(g for g in found.gates if g.moment.id == gate.id)
        due_by = {g.moment.id for g in found.gates if g.moment.instant <= work.moment.instant}
        mine = {k for k in states if project.stage_of[k].gate in due_by}
        assert got[2] == work.moment.date.toordinal()
        if not mine:
            assert got[4] == "unknown"
        elif mine <= done:
            assert got[4] == ("missed" if work.missed else "met")
        else:
            assert got[4] == "open"
    # evenings: those of the calendar and those struck out, by date; the clipped and the tail's count as promised
    end = dt.date.fromordinal(row.finished) if row.finished is not None else last
    slots: dict[dt.date, float] = {}
    for s in promised(project, merged_changes(project), dated.zone, end):
        slots[s.date] = max(slots.get(s.date, 0.0), s.chance)
    gone = {t.date: t.cause for t in dated.taken}
    kept_dates = {e.evening for e in project.log if e.happened}
    wanted: dict[tuple[int, int], list[float]] = {}
    for date, chance in slots.items():
        if gone.get(date) == "off" or (gone.get(date) == "busy" and date not in kept_dates):
            continue
        counts = wanted.setdefault((date.weekday(), int(chance >= 0.75)), [0, 0, 0.0])
        counts[0] += 1
        counts[1] += date in kept_dates
        counts[2] += chance
    assert {(r[0], r[1]): [r[2], r[3], pytest.approx(r[5])] for r in row.evenings} == wanted
