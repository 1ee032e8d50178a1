# SPDX-License-Identifier: GPL-3.0-or-later
"""Accepting the plan and comparing with it later. The rules are the project's own (no source)."""

from __future__ import annotations

import pytest
from small_project import MONDAY, NEXT_MONDAY, small

from nightplan.actions import edit
from nightplan.actions.baseline import accept_baseline, compare
from nightplan.actions.tick import Evening, tick
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan


def test_a_baseline_holds_the_plan_as_it_stands() -> None:
    project = accept_baseline(small(), MONDAY, "start", futures=400)
    base = project.baselines[-1]
    planned, found = plan(small(), MONDAY), forecast(small(), MONDAY, futures=400)
    assert (base.on, base.why) == (MONDAY, "start")
    assert {k: (s.likely, s.high) for k, s in base.estimates.items()} == {
        k: (i.likely, i.high) for k, i in small().items.items()
    }
    assert base.finish == {i.id: i.finish for i in planned.items}
    assert base.odds == {g.id: g.odds for g in found.gates}
    assert base.buffer_hours == {g.id: pytest.approx(g.buffer.have_hours, abs=1e-3) for g in found.gates}
    left = list(base.burn_down.values())
    assert left == sorted(left, reverse=True)
    assert left[-1] == 0
    assert project.forecasts[-1].moment == "accepted"


def test_used_is_nothing_at_first_and_grows_with_an_overrun() -> None:
    project = accept_baseline(small(), MONDAY, futures=400)
    assert forecast(project, MONDAY, futures=400).gate("lock").buffer.used == pytest.approx(0, abs=1e-3)
    late = tick(project, Evening(MONDAY, missed=True))
    used = forecast(late, NEXT_MONDAY, futures=400).gate("lock").buffer.used
    assert used is not None
    assert used > 0


def test_earlier_baselines_are_kept() -> None:
    project = accept_baseline(accept_baseline(small(), MONDAY, "one", futures=100), MONDAY, "two", futures=100)
    assert [b.why for b in project.baselines] == ["one", "two"]


def test_compare() -> None:
    assert compare(small(), plan(small(), MONDAY)) == ()
    project = accept_baseline(small(), MONDAY, futures=100)
    same = compare(project, plan(project, MONDAY))
    assert [s.item for s in same] == list(small().items)
    assert all(s.likely_then == s.likely_now and s.finish_then == s.finish_now for s in same)
    project = edit.set_estimate(project, "block", 6, 9)
    project = edit.remove_item(edit.leave_out(project, ["polish"]), "boards")
    project = edit.add_item(project, "edit", "Sound", likely=1, high=2)
    rows = {s.item: s for s in compare(project, plan(project, MONDAY))}
    assert (rows["block"].likely_then, rows["block"].likely_now) == (3, 6)
    assert (rows["polish"].likely_then, rows["polish"].likely_now, rows["polish"].finish_now) == (2, None, None)
    assert (rows["boards"].name, rows["boards"].likely_now) == ("boards", None)
    assert (rows["sound"].likely_then, rows["sound"].finish_then, rows["sound"].likely_now) == (None, None, 1)


def test_a_changed_plan_finishes_later() -> None:
    project = accept_baseline(small(), MONDAY, futures=100)
    slower = edit.set_estimate(project, "boards", 6, 9)
    rows = {s.item: s for s in compare(slower, plan(slower, MONDAY))}
    assert rows["boards"].finish_now is not None
    assert rows["boards"].finish_then is not None
    assert rows["boards"].finish_now > rows["boards"].finish_then
