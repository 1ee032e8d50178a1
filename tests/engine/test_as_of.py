# SPDX-License-Identifier: GPL-3.0-or-later
"""What a day knows: the log up to it, the evenings from it on, and gates that cut evenings.

Source: design.md, section 3 (Evenings, The walk) throughout.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from engine_cases import day, item, make

from nightplan.engine.forecast import forecast, simulate
from nightplan.engine.plan import plan
from nightplan.engine.problem import problem
from nightplan.evenings.dated import TAIL_WEEKS
from nightplan.evenings.words import finished_words
from nightplan.model.errors import BadInput
from nightplan.speech import dates


def _entry(n: int, happened: bool = True, hours: float = 2.0, **work: Any) -> dict[str, Any]:
    rows = [{"item": k, "hours": h} if isinstance(h, (int, float)) else {"item": k, **h} for k, h in work.items()]
    return {"evening": day(n).isoformat(), "happened": happened, "hours": hours if happened else 0, "work": rows}


def test_evening_of_the_day_is_to_come_unless_logged() -> None:
    project = make([item("a", 4, 6)], lock=5)
    assert problem(project, day(2)).evenings[0].date == day(2)
    for entry in (_entry(2, a=1.0), _entry(2, happened=False)):
        logged = make([item("a", 4, 6)], lock=5, log=[entry])
        assert problem(logged, day(2)).evenings[0].date == day(3)
        # the day before knows nothing of it
        assert problem(logged, day(1)).evenings[1].date == day(2)


def test_earlier_evening_without_an_entry_did_not_happen() -> None:
    silent = make([item("a", 4, 6)], lock=5)
    missed = make([item("a", 4, 6)], lock=5, log=[_entry(0, happened=False), _entry(1, happened=False)])
    one, two = forecast(silent, day(2), futures=500), forecast(missed, day(2), futures=500)
    # the past has a point for each entry of the log, with the same hours
    assert {p.hours_left for p in (*one.past, *two.past)} == {4.0}
    assert replace(one, past=()) == replace(two, past=())
    statuses = [e.status for e in plan(silent, day(2)).evenings[:3]]
    assert statuses[:2] == ["unlogged", "unlogged"]
    assert statuses[2] == "planned"
    assert [e.status for e in plan(missed, day(2)).evenings[:2]] == ["lost", "lost"]


def test_looking_back_ignores_what_was_logged_later() -> None:
    items = [item("a", 4, 6), item("b", 5, 9)]
    log = [
        _entry(0, a=2.0),
        _entry(1, a={"hours": 2.0, "done": True}),
        _entry(2, b={"hours": 2.0, "left": {"likely": 1, "high": 2}}),
        _entry(3, b={"hours": 1.0, "done": True}),
    ]
    # the file says done by now; on an earlier day the items were open
    closed = [{**i, "state": "done"} for i in items]
    whole = make(closed, lock=8, log=log)
    for n in range(4):
        until = make(items, lock=8, log=[e for e in log if e["evening"] <= day(n).isoformat()])
        assert forecast(whole, day(n), futures=300) == forecast(until, day(n), futures=300)
        assert plan(whole, day(n)) == plan(until, day(n))
    assert forecast(whole, day(3), futures=300).gate("lock").odds == 1.0


def test_item_done_without_a_log_is_done() -> None:
    project = make([item("a", 4, 6, state="done"), item("b", 1)], lock=5)
    assert problem(project, day(0)).items == ("b",)


def test_gate_as_instant_cuts_an_evening() -> None:
    # evenings 20:00 to 24:00 UTC; the lock falls at 21:30 of day 1, the deadline later
    gates = [
        {"id": "lock", "name": "Lock", "at": f"{day(1)}T21:30", "zone": "UTC"},
        {"id": "deadline", "name": "Hand-in", "at": f"{day(2)}T20:45", "zone": "UTC"},
    ]
    for likely, met in ((5.49, True), (5.5, True), (5.51, False)):
        found = forecast(make([item("a", likely)], hours=4.0, gates=gates), day(0), futures=20)
        assert found.gate("lock").odds == float(met)
        assert plan(make([item("a", likely)], hours=4.0, gates=gates), day(0)).gates[0].met is met
    # four hours, an hour and a half: have
    assert forecast(make([item("a", 1)], hours=4.0, gates=gates), day(0), futures=20).gate(
        "lock"
    ).buffer.have_hours == pytest.approx(4.5)
    # the last gate shortens its evening for good
    setup = problem(make([item("a", 1)], hours=4.0, gates=gates), day(0))
    assert [e.hours for e in setup.evenings[:3]] == [4.0, 4.0, 0.75]
    for likely, met in ((8.75, True), (8.76, False)):
        stages = [{"id": "s", "name": "s", "gate": "deadline", "items": [item("a", likely)]}]
        found = forecast(make(stages=stages, hours=4.0, gates=gates), day(0), futures=20)
        assert found.gate("deadline").odds == float(met)


def test_gate_in_another_zone() -> None:
    # 23:59 in Los Angeles (UTC−7 in September) is 06:59 UTC of the next day: that evening counts whole
    gates = [
        {"id": "lock", "name": "Lock", "at": f"{day(1)}T23:59", "zone": "America/Los_Angeles"},
        {"id": "deadline", "name": "Hand-in", "on": day(9).isoformat()},
    ]
    for likely, met in ((8.0, True), (8.1, False)):
        assert forecast(make([item("a", likely)], hours=4.0, gates=gates), day(0), futures=20).gate("lock").odds == met


def test_date_gate_counts_its_whole_evening_past_midnight() -> None:
    # 20:00 to 02:00; the lock is a date, so both hours after midnight count
    for likely, met in ((12.0, True), (12.1, False)):
        project = make([item("a", likely)], hours=6.0, lock=1, deadline=9)
        found = forecast(project, day(0), futures=20)
        assert found.gate("lock").odds == float(met)
        assert found.gate("lock").instant == dt.datetime.combine(day(2), dt.time(2), tzinfo=dt.UTC)
        # a finish after midnight belongs to the evening's date
        assert found.gate("lock").finish.p50 == day(1 if met else 2)
        assert plan(project, day(0)).items[0].finish == day(1 if met else 2)


def test_finish_exactly_at_the_gate_is_in_time() -> None:
    project = make([item("a", 4.0)], lock=1)
    assert forecast(project, day(0), futures=20).gate("lock").odds == 1.0
    assert plan(project, day(0)).gates[0].met


def test_item_finished_after_the_gate_has_missed_it() -> None:
    project = make([item("a", 2), item("b", 2)], lock=1, deadline=5, log=[_entry(3, a={"hours": 2.0, "done": True})])
    found = forecast(project, day(3), futures=20)
    assert found.gate("lock").odds == 0.0
    assert found.gate("deadline").odds == 1.0
    # the gate is lost, the work is not: b is done on the next evening
    assert found.gate("lock").finish.p50 == day(4)
    assert plan(project, day(3)).gates[0].finish == day(4)
    assert not plan(project, day(3)).gates[0].met
    in_time = make([item("a", 2)], lock=1, deadline=5, log=[_entry(1, a={"hours": 2.0, "done": True})])
    assert forecast(in_time, day(3), futures=20).gate("lock").odds == 1.0


@pytest.mark.parametrize(("evening", "odds"), [(1, 1.0), (3, 0.0)])
def test_a_finished_gate_has_the_evening_on_which_it_was(evening: int, odds: float) -> None:
    # source: design.md, section 3: finish evenings of a gate; all futures of what has happened are alike
    project = make([item("a", 2)], lock=2, deadline=5, log=[_entry(evening, a={"hours": 2.0, "done": True})])
    lock = forecast(project, day(4), futures=20).gate("lock")
    assert (lock.odds, lock.work_left, lock.finished_on) == (odds, False, day(evening))
    assert {lock.finish.p10, lock.finish.p50, lock.finish.p80, lock.finish.p90} == {day(evening)}
    gate = plan(project, day(4)).gates[0]
    assert (gate.met, gate.finish) == (odds == 1.0, day(evening))
    assert finished_words(lock) == f"finished on {dates.date(day(evening))}"


def test_a_gate_is_finished_with_the_last_of_its_work() -> None:
    # common practice, no source
    log = [_entry(1, a={"hours": 2.0, "done": True})]
    for state, left in (("open", True), ("done", False), ("cut", False)):
        gate = forecast(make([item("a", 2), item("b", 2, state=state)], lock=5, log=log), day(2), futures=20).gates[0]
        assert (gate.work_left, gate.finished_on) == (left, None if left else day(1))
    # ticked off without a log, or nothing there at all: nobody knows when
    for items in ([item("a", 2, state="done")], []):
        gate = forecast(make(items, lock=5), day(2), futures=20).gates[0]
        assert (gate.work_left, gate.finished_on, finished_words(gate)) == (False, None, "no work left")


def test_eight_weeks_beyond_the_last_gate() -> None:
    # 56 evenings follow a lock on day 0; what ends later has no date
    for hours, date in ((2.0 * (1 + 7 * TAIL_WEEKS), day(7 * TAIL_WEEKS)), (2.0 * (1 + 7 * TAIL_WEEKS) + 0.1, None)):
        found = forecast(make([item("a", hours)], lock=0), day(0), futures=20)
        assert found.gate("lock").finish.p90 == date
        assert found.items[0].finish.p90 == date


@pytest.mark.parametrize("n", [9, 60, 67, 400])
def test_days_after_everything(n: int) -> None:
    project = make(
        [item("a", 3, 5), item("b", 1, after=["a"])],
        lock=8,
        jobs=[{"id": "r", "name": "r", "after": ["a"], "before": ["b"], "hours": 3}],
    )
    found = forecast(project, day(n), futures=50)
    assert found.gate("lock").odds == 0.0
    assert not plan(project, day(n)).gates[0].met


def test_nothing_to_do() -> None:
    found = forecast(make([], lock=5), day(0), futures=50)
    assert [g.odds for g in found.gates] == [1.0, 1.0]
    assert found.drivers == ()
    assert found.hours_left == 0
    cut = make([item("a", 300, state="cut")], lock=5)
    assert forecast(cut, day(0), futures=50).gate("lock").odds == 1.0


def test_cut_item_passes_on_what_it_waited_for() -> None:
    items = [item("a", 3), item("b", 2, after=["a"], state="cut"), item("c", 1, after=["b"])]
    setup = problem(make(items, lock=5), day(0))
    assert setup.items == ("a", "c")
    assert setup.walk_items[1].after == (0,)


def test_unfinished_job_of_the_past_runs_by_the_clock() -> None:
    # its predecessor was done on day 0 (two hours from 20:00); ten hours later the job is over
    project = make(
        [item("a", 2), item("b", 1)],
        lock=5,
        jobs=[{"id": "r", "name": "r", "after": ["a"], "before": ["b"], "hours": 10}],
        log=[_entry(0, a={"hours": 2.0, "done": True})],
    )
    setup = problem(project, day(1))
    found = simulate(setup, 5, 1)
    assert (found.job_end[0] == -24 + 20 + 2 + 10).all()
    assert (found.completion[0] == 21.0).all()
    ticked = project.but(log=(project.log[0].but(jobs_done=("r",)),))
    assert problem(ticked, day(1)).jobs == ()


def test_no_evening_at_all_is_bad_input() -> None:
    project = make([item("a", 1)], days=(), lock=5)
    for answer in (forecast, plan):
        with pytest.raises(BadInput, match=r"^week: no evening is "):
            answer(project, day(0))


@pytest.mark.parametrize(("futures", "seed"), [(0, 1), (2_000_001, 1), (10, -1)])
def test_counts_out_of_range(futures: int, seed: int) -> None:
    with pytest.raises(BadInput, match="accepted"):
        forecast(make([item("a", 1)]), day(0), futures=futures, seed=seed)


def test_burn_down_starts_full_and_falls() -> None:
    found = forecast(make([item("a", 3, 6), item("b", 4, 5)], lock=6, chance=0.8), day(0), futures=2_000)
    middle = [p.p50 for p in found.burn_down]
    assert len(middle) == 7
    assert (np.diff(middle) <= 1e-9).all()
    assert all(p.p10 <= p.p50 <= p.p90 for p in found.burn_down)
