# SPDX-License-Identifier: GPL-3.0-or-later
"""Ticking off an evening: what is written, what is refused. The rules are the project's own (no source)."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_project import MONDAY, NEXT_MONDAY, TUESDAY, WEDNESDAY, small

from nightplan.actions.edit import change_item, change_job, leave_out
from nightplan.actions.evening import mark_lost
from nightplan.actions.tick import Evening, share_out, tick, tick_with_odds
from nightplan.engine.forecast import forecast
from nightplan.model.errors import BadInput
from nightplan.model.project import Project, Span


def worked(project: Project, day: dt.date) -> dict[str, float]:
    return {w.item: w.hours for w in project.log_by_date[day].work}


def test_hours_without_items_go_where_the_plan_puts_them() -> None:
    # the plan of Monday: boards 1 h, then 1.5 h of timing
    assert worked(tick(small(), Evening(MONDAY, 2.5)), MONDAY) == {"boards": 1.0, "timing": 1.5}
    assert worked(tick(small(), Evening(MONDAY, 0.5)), MONDAY) == {"boards": 0.5}
    # a longer evening than planned: the rest belongs to what came last
    assert worked(tick(small(), Evening(MONDAY, 4)), MONDAY) == {"boards": 1.0, "timing": 3.0}


def test_an_evening_that_the_plan_kept_free_goes_to_what_is_next() -> None:
    saturday = MONDAY + dt.timedelta(days=5)
    project = leave_out(small(), ["block", "polish", "cut", "send"])
    assert worked(tick(project, Evening(saturday, 3)), saturday) == {"boards": 3.0}
    assert worked(tick(small(), Evening(TUESDAY, 1), extra=True), TUESDAY) == {"boards": 1.0}


def test_what_is_named_as_done_gets_the_hours_where_the_plan_had_something_else() -> None:
    assert worked(tick(small(), Evening(MONDAY, 2, done=("block",))), MONDAY) == {"block": 2.0}
    both = Evening(MONDAY, 2, done=("block",), left={"polish": Span.sure(1)})
    assert worked(tick(small(), both), MONDAY) == {"block": 1.0, "polish": 1.0}
    assert worked(tick(small(), Evening(MONDAY, 2.5, done=("boards",))), MONDAY) == {"boards": 1.0, "timing": 1.5}


def test_what_waits_for_an_item_that_goes_on_gets_no_hours() -> None:
    # the plan has an hour of boards and then timing, which cannot begin before boards is done
    assert worked(tick(small(), Evening(MONDAY, 2.5)), MONDAY) == {"boards": 1.0, "timing": 1.5}
    goes_on = Evening(MONDAY, 2.5, left={"boards": Span.sure(1)})
    assert worked(tick(small(), goes_on), MONDAY) == {"boards": 2.5}


@settings(max_examples=60, deadline=None)
@given(
    quarter=st.integers(1, 96),
    day=st.sampled_from([MONDAY, TUESDAY, WEDNESDAY, MONDAY + dt.timedelta(days=5), dt.date(2027, 12, 25)]),
    named=st.lists(st.sampled_from(["boards", "timing", "cut"]), unique=True),
)
def test_no_hour_is_lost_or_made(quarter: int, day: dt.date, named: list[str]) -> None:
    shared = share_out(small(), day, quarter / 4, tuple(named))
    assert sum(shared.values()) == pytest.approx(quarter / 4, abs=1e-9)
    assert all(hours > 0 for hours in shared.values())


def test_items_with_hours_may_leave_some_of_the_evening_unsaid() -> None:
    entry = tick(small(), Evening(MONDAY, 2.5, work={"timing": 1.0})).log_by_date[MONDAY]
    assert entry.hours == 2.5
    assert {w.item: w.hours for w in entry.work} == {"timing": 1.0}


def test_done_marks_items_and_jobs() -> None:
    project = tick(small(), Evening(MONDAY, 2.5, done=("boards", "render")))
    assert project.items["boards"].state == "done"
    assert project.jobs_by_id["render"].state == "done"
    entry = project.log_by_date[MONDAY]
    assert entry.jobs_done == ("render",)
    assert [w.item for w in entry.work if w.done] == ["boards"]


def test_left_is_kept_with_the_evening() -> None:
    project = tick(small(), Evening(MONDAY, 2.5, work={"timing": 2.5}, left={"timing": Span(likely=3, high=5)}))
    assert project.log_by_date[MONDAY].work[0].left == Span(likely=3, high=5)


def test_a_missed_evening() -> None:
    entry = tick(small(), Evening(MONDAY, missed=True, note="late at work")).log_by_date[MONDAY]
    assert (entry.happened, entry.hours, entry.work, entry.note) == (False, 0.0, (), "late at work")


def test_the_log_is_in_order_of_dates_and_unknown_keys_stay() -> None:
    project = tick(tick(small(), Evening(WEDNESDAY, 1)), Evening(MONDAY, 1))
    assert [e.evening for e in project.log] == [MONDAY, WEDNESDAY]
    assert project.unknown == {"x-kept": {"a": 1}}


def test_replace_takes_back_what_the_earlier_entry_did() -> None:
    first = tick(small(), Evening(MONDAY, 2.5, done=("boards", "render")))
    second = tick(first, Evening(MONDAY, 1, work={"timing": 1.0}), replace=True)
    assert second == tick(small(), Evening(MONDAY, 1, work={"timing": 1.0}))


def test_replace_leaves_alone_what_was_left_out_or_finished_on_another_evening() -> None:
    project = tick(small(), Evening(MONDAY, 2.5, done=("boards",)))
    project = tick(project, Evening(WEDNESDAY, 1, work={"boards": 1.0}, done=("boards",)))
    assert tick(project, Evening(MONDAY, 1), replace=True).items["boards"].state == "done"
    cut = leave_out(tick(small(), Evening(MONDAY, 2.5, done=("boards",))), ["boards"])
    assert tick(cut, Evening(MONDAY, missed=True), replace=True).items["boards"].state == "cut"


def test_replace_without_an_earlier_entry_is_a_tick() -> None:
    assert tick(small(), Evening(MONDAY, 1), replace=True) == tick(small(), Evening(MONDAY, 1))


REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"date": TUESDAY, "hours": 1}, r"2027-09-21 has no evening; the nearest are 2027-09-20 and 2027-09-22"),
    ({"date": MONDAY - dt.timedelta(days=7), "hours": 1}, r"is before the announcement \(2027-09-20\)"),
    ({"hours": -1}, r"^hours = -1: 0 to 24 are accepted"),
    ({"hours": 25}, r"^hours = 25: 0 to 24 are accepted"),
    ({"hours": float("nan")}, r"^hours = nan: 0 to 24 are accepted"),
    (
        {"hours": 2, "work": {"boards": 1.5, "timing": 1}},
        r"the items have 2\.5 h together, more than the evening's 2 h",
    ),
    ({"hours": 2, "work": {"boards": -1}}, r"^hours of boards = -1: 0 to 24"),
    ({"hours": 2, "work": {"ghost": 1}}, r"'ghost' is no item of this project; there are boards, timing"),
    ({"hours": 2, "work": {"render": 1}}, r"'render' is no item of this project"),
    ({"hours": 2, "done": ("ghost",)}, r"'ghost' is no item or job of this project"),
    ({"hours": 2, "left": {"ghost": Span.sure(1)}}, r"'ghost' is no item of this project"),
    ({"hours": 2, "done": ("boards",), "left": {"boards": Span.sure(1)}}, r"'boards' is done, so nothing is left"),
    ({"missed": True, "hours": 1}, r"a missed evening has no hours"),
    ({"missed": True, "done": ("boards",)}, r"a missed evening has no hours, no work and nothing done"),
]


@pytest.mark.parametrize(("keys", "words"), REFUSED)
def test_refused(keys: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        tick(small(), Evening(**{"date": MONDAY, **keys}))


def test_a_second_tick_for_a_date_is_refused() -> None:
    with pytest.raises(BadInput, match=r"2027-09-20 is ticked off already; say --replace"):
        tick(tick(small(), Evening(MONDAY, 1)), Evening(MONDAY, 2))


def test_a_lost_evening_says_why_it_is_none() -> None:
    lost = mark_lost(small(), MONDAY, "concert")
    with pytest.raises(BadInput, match=r"has no evening \(lost: concert\)"):
        tick(lost, Evening(MONDAY, 1))
    assert tick(lost, Evening(MONDAY, 1), extra=True).log_by_date[MONDAY].hours == 1


def test_what_is_left_out_cannot_be_worked_on() -> None:
    project = leave_out(small(), ["polish"])
    with pytest.raises(BadInput, match="'polish' is left out"):
        tick(project, Evening(MONDAY, 1, work={"polish": 1.0}))
    with pytest.raises(BadInput, match="'render' is left out"):
        tick(change_job(small(), "render", state="cut"), Evening(MONDAY, 1, done=("render",)))


def test_left_of_a_finished_item_is_refused() -> None:
    project = change_item(small(), "boards", state="done")
    with pytest.raises(BadInput, match="'boards' is done"):
        tick(project, Evening(MONDAY, 1, left={"boards": Span.sure(1)}))


# --- with the odds --------------------------------------------------------------------------------


def test_the_forecasts_before_and_after_are_kept() -> None:
    ticked = tick_with_odds(small(), Evening(MONDAY, 2.5, done=("boards",)), futures=400)
    before, after = ticked.project.forecasts
    assert (before.moment, before.as_of, after.moment, after.as_of) == ("before", MONDAY, "after", MONDAY)
    assert before.odds == {g.id: g.odds for g in forecast(small(), MONDAY, futures=400).gates}
    plain = tick(small(), Evening(MONDAY, 2.5, done=("boards",)))
    assert after.odds == {g.id: g.odds for g in forecast(plain, MONDAY, futures=400).gates}
    assert ticked.project.but(forecasts=()) == plain
    assert set(before.finish) == {"lock", "deadline", *small().items}


def test_a_missed_evening_never_raises_the_odds() -> None:
    ticked = tick_with_odds(small(), Evening(MONDAY, missed=True), futures=2000)
    for gate in ticked.before.gates:
        assert ticked.after.gate(gate.id).odds <= gate.odds


def test_replace_keeps_one_pair_of_forecasts_for_the_day() -> None:
    first = tick_with_odds(small(), Evening(MONDAY, missed=True), futures=400).project
    second = tick_with_odds(first, Evening(MONDAY, 2.5), replace=True, futures=400)
    assert [(f.as_of, f.moment) for f in second.project.forecasts] == [(MONDAY, "before"), (MONDAY, "after")]
    assert second.project == tick_with_odds(small(), Evening(MONDAY, 2.5), futures=400).project


def test_a_late_tick_is_seen_from_the_last_logged_evening() -> None:
    project = tick_with_odds(small(), Evening(WEDNESDAY, 2.5), futures=400).project
    late = tick_with_odds(project, Evening(MONDAY, 2.5), futures=400)
    assert late.after.as_of == WEDNESDAY
    assert late.after.hours_left < late.before.hours_left
    assert [(f.as_of, f.moment) for f in late.project.forecasts] == [(WEDNESDAY, "before"), (WEDNESDAY, "after")]
    assert late.project.forecasts[0] == project.forecasts[0]
    assert late.project.forecasts[1].odds == {g.id: g.odds for g in late.after.gates}


def test_progress_goes_from_nothing_to_all() -> None:
    seen: list[float] = []
    tick_with_odds(small(), Evening(MONDAY, 1), futures=400, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0


def test_refused_ticks_leave_no_trace() -> None:
    project = small()
    with pytest.raises(BadInput):
        tick_with_odds(project, Evening(TUESDAY, 1), futures=400)
    assert project == small()


def test_next_monday_after_a_logged_wednesday() -> None:
    project = tick(tick(small(), Evening(MONDAY, 2.5, done=("boards",))), Evening(WEDNESDAY, 2.5, done=("timing",)))
    assert list(worked(project, WEDNESDAY)) == ["timing", "block"]
    assert all(round(hours, 2) == hours for hours in worked(project, WEDNESDAY).values())
    assert list(worked(tick(project, Evening(NEXT_MONDAY, 2.5)), NEXT_MONDAY)) == ["block", "polish"]
