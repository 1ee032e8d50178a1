# SPDX-License-Identifier: GPL-3.0-or-later
"""The artist's word on evenings, and what holds for the whole project. The rules are the project's own (no source)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from small_project import MONDAY, NEXT_MONDAY, TUESDAY, WEDNESDAY, small

from nightplan.actions import evening
from nightplan.actions.settings import change_settings
from nightplan.actions.tick import Evening, tick
from nightplan.actions.today import as_it_stands, default_as_of, missed_evenings
from nightplan.evenings.dated import calendar
from nightplan.model.errors import BadInput
from nightplan.model.project import DaysOff, EveningChange, Project, WeekSlot

SATURDAY = dt.date(2027, 9, 25)


def hours_and_chance(project: Project, day: dt.date) -> list[tuple[float, float]]:
    return [(e.hours, e.chance) for e in calendar(project).on(day)]


def test_sure_maybe_lost_and_back() -> None:
    project = small()
    assert hours_and_chance(project, MONDAY) == [(2.5, 0.9)]
    assert hours_and_chance(evening.mark_maybe(project, MONDAY), MONDAY) == [(2.5, 0.5)]
    assert hours_and_chance(evening.mark_sure(project, SATURDAY), SATURDAY) == [(4.0, 0.9)]
    lost = evening.mark_lost(project, MONDAY, "concert")
    assert hours_and_chance(lost, MONDAY) == []
    assert evening.mark_on(lost, MONDAY) == project


def test_longer_and_shorter() -> None:
    project = evening.lengthen(small(), MONDAY, 0.5)
    assert hours_and_chance(project, MONDAY) == [(3.0, 0.9)]
    assert hours_and_chance(evening.lengthen(project, MONDAY, -1), MONDAY) == [(2.0, 0.9)]
    assert hours_and_chance(project, NEXT_MONDAY) == [(2.5, 0.9)]


def test_an_evening_cut_by_the_deadline_is_lengthened_from_its_full_hours() -> None:
    project = small()
    gates = tuple(g.but(at=dt.datetime(2027, 10, 13, 20, 30)) if g.id == "deadline" else g for g in project.gates)
    project = project.but(gates=gates)
    last = dt.date(2027, 10, 13)
    # 20:30 in UTC is 21:30 in Lisbon in October: an hour of the evening is left
    assert hours_and_chance(project, last) == [(1.0, 0.9)]
    longer = evening.lengthen(project, last, 0.5)
    assert [c.hours for c in longer.changes] == [3.0]


def test_days_off_and_one_of_them_back() -> None:
    project = evening.mark_off(small(), MONDAY, NEXT_MONDAY, "trip")
    assert hours_and_chance(project, WEDNESDAY) == []
    back = evening.mark_on(project, WEDNESDAY)
    assert hours_and_chance(back, WEDNESDAY) == [(2.5, 0.9)]
    assert [(o.from_, o.to, o.why) for o in back.off] == [
        (MONDAY, TUESDAY, "trip"),
        (dt.date(2027, 9, 23), NEXT_MONDAY, "trip"),
    ]


def test_an_extra_evening_and_its_end() -> None:
    project = evening.add_evening(small(), TUESDAY, dt.time(19), 3, why="holiday")
    assert hours_and_chance(project, TUESDAY) == [(3.0, 0.9)]
    assert hours_and_chance(evening.lengthen(project, TUESDAY, 1), TUESDAY) == [(4.0, 0.9)]
    assert evening.remove_extra(project, TUESDAY) == small()


def test_week_and_days_off_anew() -> None:
    slot = WeekSlot.model_validate({"day": "tue", "start": "21:00", "hours": 1, "chance": 0.7})
    project = evening.with_dates(small(), week=(slot,))
    assert hours_and_chance(project, TUESDAY) == [(1.0, 0.7)]
    assert hours_and_chance(project, MONDAY) == []
    rest = DaysOff.model_validate({"from": MONDAY, "to": MONDAY, "why": "rest"})
    project = evening.with_dates(small(), off=(rest,))
    assert hours_and_chance(project, MONDAY) == []


def test_a_second_word_on_a_date_keeps_the_first_and_unknown_keys() -> None:
    noted = EveningChange.model_validate({"on": MONDAY, "hours": 2, "x-mood": "tired"})
    project = evening.mark_maybe(small().but(changes=(noted,)), MONDAY)
    assert project.changes[0].unknown == {"x-mood": "tired"}
    assert hours_and_chance(project, MONDAY) == [(2.0, 0.5)]


def test_settings() -> None:
    project = change_settings(
        small(), title="Other", piece="", zone="Asia/Tokyo", target_odds=0.9, correlation=0.0, switching_minutes=10,
        bedtime=dt.time(23),
    )  # fmt: skip
    assert (project.title, project.zone, project.target_odds, project.bedtime) == (
        "Other",
        "Asia/Tokyo",
        0.9,
        dt.time(23),
    )


REFUSED: list[tuple[Callable[[Project], Any], str]] = [
    (lambda p: evening.mark_lost(p, TUESDAY), "2027-09-21 has no evening"),
    (lambda p: evening.lengthen(p, TUESDAY, 1), "2027-09-21 has no evening to lengthen"),
    (lambda p: evening.lengthen(p, MONDAY, -2.5), r"^changes\[0\]\.hours = 0\.0: must be above 0"),
    (lambda p: evening.lengthen(p, MONDAY, 30), r"^changes\[0\]\.hours = 32\.5: must be at most 24"),
    (
        lambda p: evening.add_evening(p, MONDAY - dt.timedelta(1), dt.time(19), 3),
        r"^extra\[0\]\.on = 2027-09-19: lies outside",
    ),
    (
        lambda p: evening.add_evening(p, dt.date(2028, 9, 20), dt.time(19), 3),
        r"^extra\[0\]\.on = 2028-09-20: lies outside",
    ),
    (lambda p: evening.add_evening(p, TUESDAY, dt.time(19), -3), r"^extra\[0\]\.hours = -3(\.0)?: must be above 0"),
    (lambda p: evening.mark_off(p, NEXT_MONDAY, MONDAY), r"^off\[0\]\.to = 2027-09-20: must not be before from"),
    (lambda p: evening.remove_extra(p, MONDAY), "2027-09-20 has no extra evening"),
    (lambda p: evening.mark_off(p, MONDAY, dt.date(2027, 10, 14)), "no evening is left"),
    (lambda p: change_settings(p, zone="Mars/Olympus"), r"^zone = 'Mars/Olympus': is neither"),
    (lambda p: change_settings(p, target_odds=1.0), r"^target_odds = 1\.0: must be below 1"),
    (lambda p: change_settings(p, correlation=float("nan")), r"^correlation = nan"),
    (lambda p: change_settings(p, title=""), r"^title = '': must not be empty"),
    (lambda p: change_settings(p, announced=dt.date(2030, 1, 1)), r"is before the announcement"),
    (lambda p: change_settings(p, stages=()), r"^stages: one of title, piece"),
]


@pytest.mark.parametrize(("act", "words"), REFUSED)
def test_refused(act: Callable[[Project], Any], words: str) -> None:
    project = small()
    with pytest.raises(BadInput, match=words):
        act(project)
    assert project == small()


def test_the_day_to_look_from() -> None:
    project = small()
    assert default_as_of(project, dt.date(2020, 1, 1)) == MONDAY
    assert default_as_of(project, NEXT_MONDAY) == NEXT_MONDAY
    logged = tick(project, Evening(WEDNESDAY, 1))
    assert default_as_of(logged, TUESDAY) == WEDNESDAY
    assert as_it_stands(project) == MONDAY
    assert as_it_stands(logged) == WEDNESDAY + dt.timedelta(days=1)


def test_evenings_that_nobody_has_said_anything_about() -> None:
    project = tick(small(), Evening(WEDNESDAY, 1))
    assert missed_evenings(project, NEXT_MONDAY) == (MONDAY, SATURDAY)
    assert missed_evenings(project, MONDAY) == ()
