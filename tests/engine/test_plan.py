# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan: which evening does what, and what it leans on. Source: design.md, The walk, throughout."""

from __future__ import annotations

from typing import Any

import pytest
from engine_cases import day, item, make

from nightplan.engine.plan import plan
from nightplan.model.project import Project

# Monday, Wednesday, Friday are sure; Saturday and Sunday may be
WEEK = [
    {"day": "mon", "start": "20:00", "hours": 2.0, "chance": 0.9},
    {"day": "wed", "start": "20:00", "hours": 2.0, "chance": 0.75},
    {"day": "fri", "start": "20:00", "hours": 2.0, "chance": 0.9},
    {"day": "sat", "start": "14:00", "hours": 3.0, "chance": 0.74},
    {"day": "sun", "start": "14:00", "hours": 3.0, "chance": 0.5},
]
#: days of the sure evenings of two weeks, and of the others
SURE, MAYBE = (0, 2, 4, 7, 9, 11), (5, 6, 12, 13)


def _project(likely: float, lock: int = 13, **more: Any) -> Project:
    return make([item("a", likely, likely * 2)], lock=lock, week=WEEK, **more)


def _rows(project: Project, n: int = 0) -> dict[int, tuple[str, float]]:
    """day number -> status and hours worked"""
    found = plan(project, day(n))
    return {(e.date - day(0)).days: (e.status, sum(w.hours for w in e.work)) for e in found.evenings}


def test_sure_evenings_are_planned_on_and_maybe_ones_stay_as_buffer() -> None:
    rows = _rows(_project(9.0))
    assert [rows[n] for n in SURE] == [("planned", 2.0)] * 4 + [("planned", 1.0), ("buffer", 0.0)]
    assert all(rows[n] == ("buffer", 0.0) for n in MAYBE)
    assert plan(_project(9.0), day(0)).relied_on == ()


@pytest.mark.parametrize(("likely", "drawn"), [(12.0, 0), (12.5, 1), (15.0, 1), (15.1, 2), (20.0, 3), (24.0, 4)])
def test_maybe_evenings_are_drawn_in_earliest_first_and_no_more_than_needed(likely: float, drawn: int) -> None:
    # six sure evenings of two hours, then three hours for each maybe one
    found = plan(_project(likely), day(0))
    assert found.relied_on == tuple(day(n) for n in MAYBE[:drawn])
    assert found.gates[0].met
    rows = _rows(_project(likely))
    for n in MAYBE[:drawn]:
        assert rows[n][0] == "relied"
    for n in MAYBE[drawn:]:
        assert rows[n] == ("buffer", 0.0)


def test_every_maybe_evening_is_needed() -> None:
    # outside check of "as many as needed": without the last one drawn in, the gate is missed
    for tenths in range(121, 240, 7):
        project = _project(tenths / 10)
        found = plan(project, day(0))
        assert found.gates[0].met
        last = found.relied_on[-1]
        fewer = project.but(changes=({"on": last.isoformat(), "lost": True},))
        later = [d for d in found.relied_on if d != last]
        # the next maybe evening has to stand in for it, or the gate is missed
        again = plan(fewer, day(0))
        assert not again.gates[0].met or len(again.relied_on) > len(later)


def test_plan_runs_on_and_says_by_how_much() -> None:
    found = plan(_project(27.5), day(0))
    gate = found.gates[0]
    assert not gate.met
    # 12 sure hours and 12 of maybe evenings lie before the lock
    assert gate.short_hours == pytest.approx(3.5)
    assert len(found.relied_on) == 4
    late = {(e.date - day(0)).days: sum(w.hours for w in e.work) for e in found.evenings if e.status == "late"}
    # after the last gate the sure evenings go on; those without work are not shown
    assert late == {14: 2.0, 16: 1.5}
    assert gate.finish == day(16)
    assert found.items[0].finish == day(16)


def test_short_hours_count_the_part_of_an_evening_before_an_instant() -> None:
    gates = [
        {"id": "lock", "name": "Lock", "at": f"{day(2)}T21:00", "zone": "UTC"},
        {"id": "deadline", "name": "Hand-in", "on": day(20).isoformat()},
    ]
    found = plan(_project(4.0, gates=gates), day(0))
    assert not found.gates[0].met
    assert found.gates[0].short_hours == pytest.approx(1.0)


def test_beyond_the_horizon_nothing_has_a_date() -> None:
    found = plan(_project(500.0), day(0))
    assert found.items[0].finish is None
    assert found.gates[0].finish is None
    # every hour that there is before the lock is used: 24
    assert found.gates[0].short_hours == pytest.approx(500 - 24)


def test_the_next_gate_draws_on_top() -> None:
    # 12.5 h for the lock (one maybe evening), and 3 more hours for a deadline four days later (fri sure = 2 h)
    stages = [
        {"id": "s1", "name": "s1", "gate": "lock", "items": [item("a", 6.5)]},
        {"id": "s2", "name": "s2", "gate": "deadline", "items": [item("b", 8.0)]},
    ]
    found = plan(make(stages=stages, week=WEEK, lock=4, deadline=9), day(0))
    # the lock has only 6 sure hours and no maybe evening before it: it is missed
    assert [g.met for g in found.gates] == [False, True]
    assert found.gates[0].short_hours == pytest.approx(0.5)
    # 10 sure hours until day 9, 14.5 are wanted: two maybe evenings
    assert found.relied_on == (day(5), day(6))


def test_never_on_evenings_without_a_chance() -> None:
    week = [{"day": "mon", "start": "20:00", "hours": 2.0, "chance": 0.9}, {**WEEK[0], "day": "tue", "chance": 0.0}]
    found = plan(make([item("a", 6.0)], week=week, lock=8), day(0))
    assert found.relied_on == ()
    assert not found.gates[0].met


def test_statuses_of_the_past() -> None:
    log = [
        {"evening": day(0).isoformat(), "happened": True, "hours": 2.0, "work": [{"item": "a", "hours": 1.5}]},
        {"evening": day(2).isoformat(), "happened": False, "note": "flu"},
    ]
    found = plan(_project(6.0, log=log, changes=[{"on": day(9).isoformat(), "lost": True, "why": "trip"}]), day(5))
    rows = {(e.date - day(0)).days: e for e in found.evenings}
    assert rows[0].status == "worked"
    assert [(w.item, w.hours) for w in rows[0].work] == [("a", 1.5)]
    assert (rows[2].status, rows[2].why) == ("lost", "flu")
    assert rows[4].status == "unlogged"
    assert (rows[9].status, rows[9].why) == ("lost", "trip")
    assert rows[7].status == "planned"
    assert found.items[0].spent == 1.5


def test_the_plan_is_in_time_order_and_has_every_evening_once() -> None:
    found = plan(_project(15.0, extra=[{"on": day(1).isoformat(), "start": "07:00", "hours": 1.0}]), day(0))
    keys = [(e.date, e.start) for e in found.evenings]
    assert keys == sorted(set(keys))


def test_the_plan_is_the_artists_own_word() -> None:
    # an overrun so far moves the odds, not the likely hours of the plan (the plan is the walk with likely hours)
    log = [
        {"evening": day(0).isoformat(), "hours": 2.0, "work": [{"item": "x", "hours": 2.0, "done": True}]},
    ]
    project = make([item("x", 0.5, 0.8), item("a", 5.0, 9.0)], week=WEEK, lock=13, correlation=0.3, log=log)
    rows = {i.id: i for i in plan(project, day(1)).items}
    assert rows["a"].hours == pytest.approx(5.0)
    assert (rows["x"].hours, rows["x"].finish) == (0.0, day(0))


def test_switching_minutes_are_lost_between_items() -> None:
    # three items in an evening of three hours: two moves of half an hour
    items = [item("a", 1.0), item("b", 0.5), item("c", 1.0)]
    found = plan(make(items, hours=3.0, lock=3, switching_minutes=30), day(0))
    assert [(w.item, w.hours) for w in found.evenings[0].work] == [("a", 1.0), ("b", 0.5), ("c", 0.5)]
    assert [(w.item, w.hours) for w in found.evenings[1].work] == [("c", 0.5)]


def test_jobs_have_moments_in_the_plan() -> None:
    jobs = [{"id": "r", "name": "r", "after": ["a"], "before": ["b"], "frames": 240, "minutes_per_frame": 5}]
    found = plan(make([item("a", 1.0), item("b", 1.0)], jobs=jobs, lock=6), day(0))
    job = found.jobs[0]
    assert job.start is not None
    assert job.end is not None
    assert (job.start.hour, (job.end - job.start).total_seconds() / 3600) == (21, 20.0)
    # 17:00 the next day: that evening is free for what waits
    assert found.items[1].finish == day(1)


def test_lower_priority_work_fills_the_wait() -> None:
    jobs = [{"id": "r", "name": "r", "after": ["a"], "before": ["b"], "hours": 30}]
    stages = [
        {"id": "s1", "name": "s1", "gate": "lock", "items": [item("a", 1.0), item("b", 1.0)]},
        {"id": "s2", "name": "s2", "gate": "deadline", "items": [item("c", 4.0)]},
    ]
    found = plan(make(stages=stages, jobs=jobs, lock=9, deadline=10), day(0))
    work = [[(w.item, w.hours) for w in e.work] for e in found.evenings[:3]]
    assert work == [[("a", 1.0), ("c", 1.0)], [("c", 2.0)], [("b", 1.0), ("c", 1.0)]]


def test_what_waits_for_a_machine_job_keeps_its_place_in_the_artists_order() -> None:
    """Equal due dates are served in the artist's order (design: ties), also across a machine job."""
    from nightplan.engine.order import priority

    due = {"block": 10.0, "fix": 10.0, "extra": 10.0, "cache": 10.0}
    before = {"block": frozenset(), "cache": frozenset({"block"}), "fix": frozenset({"cache"}), "extra": frozenset()}
    order = [k for k in priority(due, before, {"cache": 2.0}) if k != "cache"]
    assert order == ["block", "fix", "extra"]
