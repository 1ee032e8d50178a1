# SPDX-License-Identifier: GPL-3.0-or-later
"""What is offered, and what is never offered. The rules are those of the design; common practice, no source."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from recovery_cases import ANNOUNCED, any_project, day, item, piece, slot, small, stage

from nightplan.actions.recover import pin
from nightplan.engine.recovery import Ways, recover
from nightplan.engine.recovery_evenings import Days
from nightplan.engine.recovery_moves import apply_moves
from nightplan.evenings.dated import calendar
from nightplan.evenings.zones import to_local
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results_recovery import EveningAdded, Move


def moves(project: Project, as_of: dt.date = ANNOUNCED, **more: bool) -> dict[str, Move]:
    return {m.id: m for m in Ways(project, as_of, futures=8, include_primary=more.get("primary", False)).moves()}


def kind(project: Project, name: str, as_of: dt.date = ANNOUNCED) -> list[Move]:
    return [m for m in moves(project, as_of).values() if m.kind == name]


# --- evenings -------------------------------------------------------------------------------------


def test_maybe_evenings_become_sure() -> None:
    project = small()
    changed = apply_moves(project, [moves(project)["maybe:all"]])
    before = {e.date: e.chance for e in calendar(project).evenings}
    after = {e.date: e.chance for e in calendar(changed).evenings}
    lock = calendar(project).gate("lock").date
    assert {d for d in before if before[d] != after[d]} == {d for d, p in before.items() if p < 0.75 and d <= lock}
    assert all(after[d] == 0.9 for d in before if before[d] != after[d])


def test_weekends_come_first_and_no_day_that_is_taken() -> None:
    project = small(
        off=[{"from": day(5).isoformat(), "to": day(5).isoformat()}],
        busy=[{"from": f"{day(6)}T15:00", "to": f"{day(6)}T16:00"}],
        changes=[{"on": day(3).isoformat(), "lost": True}],
    )
    added = [c.on for m in kind(project, "add") for c in m.changes if isinstance(c, EveningAdded)]
    # day 5 is off, day 6 busy, day 3 spoken for; 0, 2, 4, 7, 9 are evenings, 11 is the lock; 12 and 13 too late
    assert added == [day(1), day(8), day(10)]
    assert [m.changes[0].on for m in kind(small(), "add")][:2] == [day(5), day(6)]  # type: ignore[union-attr]


def test_a_busy_time_around_the_lock_s_evening_is_never_run_into() -> None:
    project = small(busy=[{"from": f"{day(2)}T22:45", "to": f"{day(2)}T23:00"}], bedtime="23:45")
    changed = apply_moves(project, [moves(project)["lengthen:60"]])
    hours = {e.date: e.hours for e in calendar(changed).evenings}
    assert hours[day(2)] == pytest.approx(2.25)
    assert hours[day(0)] == pytest.approx(3.0)
    assert hours[day(4)] == pytest.approx(3.0)


@settings(max_examples=40, deadline=None)
@given(
    bedtime=st.times().map(lambda t: t.replace(second=0, microsecond=0, minute=t.minute // 15 * 15)),
    hours=st.sampled_from([0.5, 1.5, 2.0, 3.0, 3.5]),
    off=st.integers(1, 10),
)
def test_no_proposed_evening_ends_after_bedtime_or_lies_on_a_day_off(bedtime: dt.time, hours: float, off: int) -> None:
    project = small(
        bedtime=bedtime.isoformat(timespec="minutes"),
        week=[slot("mon", hours, 0.9), slot("wed", hours, 0.5), slot("sat", 3.0, 0.9, "14:00")],
        off=[{"from": day(off).isoformat(), "to": day(off).isoformat()}],
    )
    before = {e.date: e for e in calendar(project).evenings}
    where = Days.of(project, ANNOUNCED, "lock")
    for move in moves(project).values():
        if move.kind not in ("add", "lengthen"):
            continue
        after = calendar(apply_moves(project, [move]))
        for e in after.evenings:
            old = before.get(e.date)
            if old is None or e.hours > old.hours + 1e-9:
                assert e.end_at <= where.bedtime(e.start_at) + dt.timedelta(seconds=1), move
                assert e.date != day(off)
        assert {e.date for e in after.evenings} >= set(before)


def test_without_a_bedtime_midnight_is_the_end() -> None:
    project = small(week=[slot("mon", 3.0, 0.9), slot("wed", 3.25, 0.9)])
    changed = apply_moves(project, kind(project, "lengthen")[-1:])
    ends = {e.date: to_local(e.end_at, dt.UTC) for e in calendar(changed).evenings}
    assert ends[day(0)] == dt.datetime.combine(day(1), dt.time())
    assert ends[day(2)] == dt.datetime.combine(day(3), dt.time())


def test_evenings_are_not_lengthened_beyond_an_hour_in_all() -> None:
    project = small(bedtime="23:59")
    once = apply_moves(project, [moves(project)["lengthen:45"]])
    left = moves(once)
    assert "lengthen:15" in left
    assert "lengthen:30" not in left


# --- work -----------------------------------------------------------------------------------------


def test_primary_is_left_out_only_when_asked_and_tertiary_goes_first() -> None:
    project = small()
    found = moves(project)
    assert "leave-out:body" not in found
    assert "leave-out:body" in moves(project, primary=True)
    assert found["leave-out:shade"].only_with == {"moths", "dust"}
    assert moves(project, primary=True)["leave-out:body"].only_with == {"moths", "dust", "shade"}
    assert found["leave-out:moths"].only_with == frozenset()


def test_a_secondary_item_is_part_of_a_combination_only_after_all_tertiary_ones() -> None:
    found = recover(small(), ANNOUNCED, target=0.97, futures=2_000)
    cut = frozenset[str]().union(*(m.cut_items for m in found.combination.moves))
    assert cut == {"moths", "dust", "shade"} or "shade" not in cut
    only = [v.move for v in found.moves if v.move.id in ("leave-out:moths", "leave-out:shade")]
    ways = Ways(small(), ANNOUNCED, futures=2_000, target=0.5)
    assert all("shade" not in m.cut_items for m in ways.recover(moves=only).combination.moves)


def test_pinned_items_and_jobs_are_never_touched() -> None:
    project = pin(piece(), ["scatter", "tail-sway", "final-render"])
    touched = {t for m in moves(project).values() for t in m.touches}
    assert not touched & {"scatter", "tail-sway", "final-render"}
    assert "polish" in touched
    assert "scatter" in {t for m in moves(pin(project, ["scatter"], False)).values() for t in m.touches}
    with pytest.raises(BadInput, match="no-such"):
        pin(project, ["no-such"])


@pytest.mark.parametrize("role", ["chain-test", "critique", "hand-in"])
def test_tests_critiques_and_the_hand_in_are_no_dressing(role: str) -> None:
    project = small(stages=[stage("s", [item("a", 2, 3), item("b", 1, 2, "tertiary", role=role)])])
    assert not kind(project, "leave-out")


def test_moves_that_exclude_each_other_are_refused_together() -> None:
    found = moves(piece())
    for one, other in (
        ("lengthen:15", "lengthen:60"),
        ("maybe:all", f"maybe:{day(1)}"),
        ("leave-out:all:tertiary", "leave-out:scatter"),
        ("job:final-render:samples", "job:final-render:picture"),
    ):
        with pytest.raises(BadInput, match="exclude each other"):
            apply_moves(piece(), [found[one], found[other]])
    assert all(a in found[b].forbids for a in found for b in found[a].forbids), "forbidding goes both ways"


def test_cheaper_jobs_scale_as_stated() -> None:
    project = piece()
    found = moves(project)

    def minutes(*ids: str) -> float:
        job = apply_moves(project, [found[i] for i in ids]).jobs_by_id["final-render"]
        assert job.minutes_per_frame is not None
        assert job.frames is not None
        return job.minutes_per_frame.likely * job.frames

    whole = 3.5 * 192
    assert minutes("job:final-render:samples") == pytest.approx(whole * 0.75)
    assert minutes("job:final-render:picture") == pytest.approx(whole * 0.5625)
    assert minutes("job:final-render:frames") == pytest.approx(whole / 2)
    assert minutes("job:final-render:halved") == pytest.approx(whole / 2)
    assert minutes("job:final-render:samples", "job:final-render:halved") == pytest.approx(whole * 0.375)
    assert not [m for m in found.values() if "upload" in m.touches], "a transfer cannot be made cheaper"


# --- the lock -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(60))
def test_the_lock_never_moves_past_the_deadline(seed: int) -> None:
    project = any_project(seed)
    if project is None:
        pytest.skip("the dice made a circle")
    for move in kind(project, "lock-later"):
        after = calendar(apply_moves(project, [move]))
        assert calendar(project).gate("lock").instant < after.gate("lock").instant <= after.gate("deadline").instant


def test_the_lock_never_moves_past_a_gate_between() -> None:
    gates = [
        {"id": "lock", "name": "Personal lock", "on": day(11).isoformat()},
        {"id": "post", "name": "Progress post", "on": day(14).isoformat()},
        {"id": "deadline", "name": "Hand-in", "on": day(25).isoformat()},
    ]
    assert [m.id for m in kind(small(gates=gates), "lock-later")] == [f"lock:{day(14)}"]
    assert not kind(small(gates=[gates[0], {**gates[2], "on": day(11).isoformat()}]), "lock-later")


def test_a_lock_on_the_clock_keeps_its_time_of_day() -> None:
    gates = [
        {"id": "lock", "name": "Personal lock", "at": f"{day(11)}T18:00", "zone": "UTC"},
        {"id": "deadline", "name": "Hand-in", "on": day(18).isoformat()},
    ]
    project = small(gates=gates)
    (first, *_) = kind(project, "lock-later")
    assert apply_moves(project, [first]).gates_by_id["lock"].at == dt.datetime.combine(day(14), dt.time(18))


# --- order and overlap ----------------------------------------------------------------------------


def test_a_stage_starts_earlier_where_precedence_allows() -> None:
    stages = [
        stage("model", [item("body", 4, 6)]),
        stage("paint", [item("coat", 4, 6)], ["model"]),
        stage("cloth", [item("cape", 2, 3)]),
    ]
    project = small(stages=stages)
    found = {m.id: m for m in kind(project, "order")}
    assert set(found) == {"order:cloth"}, "paint waits for model and cannot come before it"
    changed = apply_moves(project, [found["order:cloth"]])
    assert [s.id for s in changed.stages] == ["cloth", "model", "paint"]


def test_the_order_needs_no_move_where_a_long_job_tells_it_already() -> None:
    stages = [
        stage("model", [item("body", 6, 7)]),
        stage("cloth", [item("cape", 2, 2)]),
        stage("fit", [item("fit-a", 1, 1), item("fit-b", 1, 1)]),
    ]
    bake = {"id": "bake", "name": "Bake", "kind": "simulation", "after": ["cloth"], "before": ["fit"]}
    project = small(stages=stages, jobs=[{**bake, "hours": {"likely": 60, "high": 90}}])
    # its likely hours bring the cape forward: earliest due date, made consistent with precedence
    assert Ways(project, ANNOUNCED, futures=8).draws.setup.items[0] == "cape"


def test_overlap_leaves_the_last_item_waiting() -> None:
    stages = [
        stage("light", [item("key-light", 4, 6)]),
        stage("edit", [item("rough-cut", 3, 4), item("sound", 2, 3), item("final-cut", 1, 2)]),
    ]
    took = {"likely": 40, "high": 60}
    job = {"id": "render", "name": "Render", "after": ["light"], "before": ["edit"], "hours": took}
    project = small(stages=stages, jobs=[job])
    (move,) = kind(project, "overlap")
    changed = apply_moves(project, [move])
    assert changed.predecessors["rough-cut"] == {"key-light"}
    assert changed.predecessors["sound"] == {"key-light"}
    assert changed.predecessors["final-cut"] >= {"render"}
    ways = Ways(project, ANNOUNCED, futures=500)
    assert ways.value(move)[0].odds["lock"] > ways.before["lock"]
    # an item's own word is never loosened
    edit = stage("edit", [item("rough-cut", 3, 4, after=["render"]), item("b", 1, 1)])
    assert not kind(small(stages=[stages[0], edit], jobs=[{**job, "before": []}]), "overlap")
