# SPDX-License-Identifier: GPL-3.0-or-later
"""What changed, in words. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from small_project import MONDAY, WEDNESDAY, small

from nightplan.actions import edit, evening
from nightplan.actions.differences import differences
from nightplan.actions.merge import merge
from nightplan.actions.settings import change_settings
from nightplan.actions.tick import Evening, tick
from nightplan.model.project import Project

Act = Callable[[Project], Project]


def test_the_same_has_no_lines() -> None:
    assert differences(small(), small()) == ()


@pytest.mark.parametrize(
    ("act", "lines"),
    [
        (lambda p: change_settings(p, title="Other"), (f'title "{small().title}" → "Other"',)),
        (lambda p: edit.change_item(p, "polish", note="later"), ('item "Polish": note nothing → "later"',)),
        (lambda p: edit.change_item(p, "polish", name="Sheen"), ('item "Sheen": name "Polish" → "Sheen"',)),
        (lambda p: edit.add_item(p, "animate", "Dust"), ('item "Dust": added',)),
        (lambda p: edit.change_item(p, "polish", pinned=True), ('item "Polish": pinned no → yes',)),
        (lambda p: evening.mark_lost(p, WEDNESDAY), ("evening of 22 Sep 2027: lost",)),
        (lambda p: p.but(**{"x-new": {"a": 1}}), ("x-new nothing → object of 1",)),
        (lambda p: edit.move_stage(p, "edit", -1), ("order of stages changed",)),
    ],
)
def test_one_change_is_one_line(act: Act, lines: tuple[str, ...]) -> None:
    base = small()
    assert differences(base, act(base)) == lines


def test_a_tick_says_the_evening_and_its_hours() -> None:
    lines = differences(small(), tick(small(), Evening(MONDAY, 1.5, work={"block": 1.5})))
    assert lines[0] == "evening of 20 Sep 2027: ticked off, 1.5 h"


def test_the_other_way_round_is_taken_out() -> None:
    ticked = tick(small(), Evening(MONDAY, 1, work={"block": 1.0}))
    assert "evening of 20 Sep 2027: taken out" in differences(ticked, small())


def test_long_texts_of_a_file_make_short_lines() -> None:
    wild = small().but(title="A\n" * 100, piece="<b>" * 1000)
    for line in differences(small(), wild):
        assert len(line) < 200
        assert "\n" not in line


# --- bringing together what has no common state ---


def test_without_a_common_state_whatever_is_on_either_side_is_in() -> None:
    mine = tick(small(), Evening(MONDAY, 1, work={"block": 1.0}))
    theirs = edit.add_item(tick(small(), Evening(WEDNESDAY, 2, work={"block": 2.0})), "animate", "Dust")
    merged = merge(None, mine, theirs)
    assert merged.conflicts == ()
    assert merged.project is not None
    assert set(merged.project.log_by_date) == {MONDAY, WEDNESDAY}
    assert "Dust" in {item.name for item in merged.project.items.values()}


def test_without_a_common_state_what_differs_is_asked_and_ours_is_kept() -> None:
    merged = merge(None, small().but(title="Mine"), small().but(title="Theirs"))
    assert merged.conflicts == ("title",)
    assert merged.project is not None
    assert merged.project.title == "Mine"
