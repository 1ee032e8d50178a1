# SPDX-License-Identifier: GPL-3.0-or-later
"""Two copies of a project brought together: nothing that one side did is lost. The rules are the project's own."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_project import MONDAY, NEXT_MONDAY, WEDNESDAY, small

from nightplan.actions import edit, evening
from nightplan.actions.baseline import accept_baseline
from nightplan.actions.merge import merge
from nightplan.actions.settings import change_settings
from nightplan.actions.tick import Evening, tick, tick_with_odds
from nightplan.model.project import Project

Act = Callable[[Project], Project]

#: intentions that touch different things: any two of them go together, in any order
APART: dict[str, Act] = {
    "title": lambda p: change_settings(p, title="Other"),
    "zone": lambda p: change_settings(p, target_odds=0.9),
    "estimate": lambda p: edit.set_estimate(p, "boards", 2, 4),
    "name": lambda p: edit.change_item(p, "polish", name="Sheen"),
    "note of the same item": lambda p: edit.change_item(p, "polish", note="later"),
    "new item": lambda p: edit.add_item(p, "animate", "Dust"),
    "new stage": lambda p: edit.add_stage(p, "Sound", after=("edit",)),
    "order of items": lambda p: edit.move_item(p, "timing", -1),
    "order of stages": lambda p: edit.move_stage(p, "edit", -1),
    "gone": lambda p: edit.remove_item(p, "send"),
    "lost evening": lambda p: evening.mark_lost(p, WEDNESDAY),
    "maybe evening": lambda p: evening.mark_maybe(p, NEXT_MONDAY),
    "tick": lambda p: tick(p, Evening(MONDAY, 1, work={"block": 1.0})),
    "tick of another evening": lambda p: tick(p, Evening(NEXT_MONDAY, 1, work={"block": 1.0})),
    "unknown key": lambda p: p.but(**{"x-new": [1]}),
}


@pytest.mark.parametrize(("one", "other"), list(permutations(APART, 2)))
def test_different_things_go_together(one: str, other: str) -> None:
    base = small()
    merged = merge(base, APART[one](base), APART[other](base))
    assert merged.conflicts == ()
    assert merged.project in (APART[one](APART[other](base)), APART[other](APART[one](base)))


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from(sorted(APART)), unique=True), st.data())
def test_one_side_alone_is_taken_as_it_is(names: list[str], data: st.DataObject) -> None:
    base = changed = small()
    for name in names:
        changed = APART[name](changed)
    assert merge(base, changed, base).project == changed
    assert merge(base, base, changed).project == changed
    assert merge(base, changed, changed).project == changed


def test_the_same_thing_changed_twice_is_named_and_mine_is_kept() -> None:
    base = small()
    merged = merge(base, edit.set_estimate(base, "boards", 2, 4), edit.set_estimate(base, "boards", 3, 4))
    assert merged.conflicts == ("stages[sketch].items[boards].likely",)
    assert merged.project is not None
    assert merged.project.items["boards"].likely == 2


def test_the_same_evening_ticked_twice_is_named() -> None:
    base = small()
    merged = merge(base, tick(base, Evening(MONDAY, 1)), tick(base, Evening(MONDAY, 2)))
    assert merged.conflicts == ("log[2027-09-20]",)
    assert merged.project is not None
    assert merged.project.log[0].hours == 1


def test_changed_here_and_removed_there_keeps_the_change() -> None:
    base = small()
    merged = merge(base, edit.change_item(base, "send", note="x"), edit.remove_item(base, "send"))
    assert merged.conflicts == ("stages[edit].items[send]",)
    assert merged.project is not None
    assert merged.project.items["send"].note == "x"


def test_what_no_longer_goes_together_is_said() -> None:
    base = small()
    merged = merge(base, edit.change_item(base, "polish", after=("block", "boards")), edit.remove_stage(base, "sketch"))
    assert merged.project is None
    assert "names no stage, item or job" in merged.conflicts[-1]


def test_stored_forecasts_of_two_ticks_are_both_kept() -> None:
    base = tick_with_odds(small(), Evening(MONDAY, 1), futures=100).project
    mine = tick_with_odds(base, Evening(WEDNESDAY, 1), futures=100).project
    theirs = accept_baseline(base, dt.date(2027, 9, 21), futures=100)
    merged = merge(base, mine, theirs)
    assert merged.conflicts == ()
    assert merged.project is not None
    assert len(merged.project.forecasts) == 5
    assert merged.project.baselines == theirs.baselines
    assert [f.as_of for f in merged.project.forecasts] == sorted(f.as_of for f in merged.project.forecasts)


def test_two_baselines_of_one_day_are_both_kept() -> None:
    base = accept_baseline(small(), MONDAY, "one", futures=100)
    merged = merge(base, accept_baseline(base, MONDAY, "two", futures=100), base)
    assert merged.project is not None
    assert [b.why for b in merged.project.baselines] == ["one", "two"]
