# SPDX-License-Identifier: GPL-3.0-or-later
"""What becomes an evening, what is taken away, where a gate cuts, and what is refused.

The rules are the project's own (design page, Evenings): no outside source, the expected values are
counted by hand on the calendar of autumn 2027 (20 September is a Monday).
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from evening_cases import dated, made, raw, utc, week

from nightplan.evenings.dated import TAIL_WEEKS, calendar
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate, Project


def days(found: Any) -> list[str]:
    return [f"{e.date:%m-%d}" for e in found.evenings if not e.tail]


def test_pattern_extras_days_off_and_changes() -> None:
    found = dated(
        "2027-09-20",
        "2027-10-17",
        week=week("tue 20:30 2.5", "sat 14:00 4"),
        extra=[{"on": "2027-10-10", "start": "10:00", "hours": 5, "chance": 0.5}],
        off=[{"from": "2027-10-04", "to": "2027-10-08", "why": "work trip"}],
        changes=[
            {"on": "2027-09-25", "lost": True, "why": "ill"},
            {"on": "2027-09-28", "chance": 0.5},
            {"on": "2027-10-12", "start": "19:00", "hours": 4},
        ],
        busy=[{"from": "2027-10-16T17:30", "to": "2027-10-16T23:00", "why": "wedding"}],
    )
    assert days(found) == ["09-21", "09-28", "10-02", "10-09", "10-10", "10-12"]
    until = dt.date(2027, 10, 17)
    assert [(f"{t.date:%m-%d}", t.cause, t.why) for t in found.taken if t.date <= until] == [
        ("09-25", "lost", "ill"),
        ("10-05", "off", "work trip"),
        ("10-16", "busy", "wedding"),
    ]
    by_day = {f"{e.date:%m-%d}": e for e in found.evenings}
    assert by_day["09-28"].chance == 0.5
    assert (by_day["10-12"].start, by_day["10-12"].hours) == (dt.time(19), 4)
    assert (by_day["10-10"].origin, by_day["10-10"].chance) == ("extra", 0.5)


def test_an_extra_replaces_the_evening_of_the_pattern_that_it_overlaps() -> None:
    found = dated("2027-09-20", "2027-09-26", extra=[{"on": "2027-09-21", "start": "19:00", "hours": 2}])
    assert [(e.start, e.hours, e.origin) for e in found.on(dt.date(2027, 9, 21))] == [(dt.time(19), 2, "extra")]


def test_two_evenings_on_one_date() -> None:
    found = dated("2027-09-20", "2027-09-26", week=week("sat 10:00 3", "sat 20:00 2"))
    assert [e.start.hour for e in found.on(dt.date(2027, 9, 25))] == [10, 20]
    assert found.on(dt.date(2027, 9, 24)) == ()


@pytest.mark.parametrize(
    ("busy", "there"),
    [
        (("2027-09-21T18:00", "2027-09-21T20:30"), True),
        (("2027-09-21T18:00", "2027-09-21T20:31"), False),
        (("2027-09-21T23:00", "2027-09-22T01:00"), True),
        (("2027-09-21T22:59", "2027-09-22T01:00"), False),
        (("2027-09-21T21:00", "2027-09-21T21:00"), True),
        (("2027-09-21T22:00", "2027-09-21T21:00"), True),
        (("0001-01-01T00:00", "2027-09-19T10:00"), True),
        (("9999-01-01T00:00", "9999-12-31T23:59"), True),
    ],
)
def test_a_busy_time_takes_the_evening_that_it_touches(busy: tuple[str, str], there: bool) -> None:
    # the extra lies outside the pattern's evening, so that one is left whatever is taken
    found = dated(
        "2027-09-20",
        "2027-09-26",
        extra=[{"on": "2027-09-20", "start": "10:00", "hours": 1}],
        busy=[{"from": busy[0], "to": busy[1]}],
    )
    assert bool(found.on(dt.date(2027, 9, 21))) is there


def test_busy_all_the_time_is_said() -> None:
    with pytest.raises(BadInput, match="1 of the pattern fall on days off, busy times or lost evenings"):
        dated("2027-09-20", "2027-09-26", busy=[{"from": "0001-01-01T00:00", "to": "9999-12-31T23:59"}])


def test_the_last_instant_cuts_the_evening_that_it_falls_into() -> None:
    found = dated("2027-09-20", "2027-09-26", {"at": "2027-09-28T15:30", "zone": "America/New_York"})
    cut = found.on(dt.date(2027, 9, 28))[0]
    # 15:30 in New York is 20:30 in Lisbon, when this evening starts: nothing of it is left
    assert cut.tail
    later = dated("2027-09-20", "2027-09-26", {"at": "2027-09-28T16:45", "zone": "America/New_York"})
    cut = later.on(dt.date(2027, 9, 28))[0]
    assert (cut.hours, cut.clipped_by, cut.tail) == (1.25, "deadline", False)
    assert cut.end_at == later.gate("deadline").instant


def test_an_earlier_instant_cuts_nothing() -> None:
    gates = [
        {"id": "post", "name": "Progress post", "at": "2027-09-21T21:00", "zone": "Europe/Lisbon"},
        {"id": "lock", "name": "Lock", "on": "2027-09-28"},
        {"id": "deadline", "name": "Hand-in", "on": "2027-10-03"},
    ]
    found = calendar(made("2027-09-20", "2027-09-28", gates=gates))
    assert found.evenings[0].hours == 2.5
    assert [(f"{e.date:%m-%d}", h) for e, h in found.before(found.gate("post"))] == [("09-21", 0.5)]


def test_a_lock_on_the_date_of_the_deadline_ends_with_it() -> None:
    slots = week("tue 22:00 4")
    found = dated("2027-09-20", "2027-09-28", {"at": "2027-09-28T23:59", "zone": "Europe/Lisbon"}, week=slots)
    assert found.on(dt.date(2027, 9, 28))[0].hours == pytest.approx(119 / 60)
    assert found.gate("lock").instant == found.gate("deadline").instant
    # past midnight the same: the deadline falls into the evening of the date before
    after = dated("2027-09-20", "2027-09-28", {"at": "2027-09-29T01:00", "zone": "Europe/Lisbon"}, week=slots)
    assert after.on(dt.date(2027, 9, 28))[0].hours == 3
    assert after.gate("lock").instant == after.gate("deadline").instant == utc("2027-09-29T00:00")
    # a lock on a later date counts the evening in full
    later = dated("2027-09-20", "2027-09-29", {"at": "2027-09-29T01:00", "zone": "Europe/Lisbon"}, week=slots)
    assert later.on(dt.date(2027, 9, 28))[0].hours == 4


def test_what_is_busy_after_the_hand_in_takes_nothing_away() -> None:
    found = dated(
        "2027-09-20",
        "2027-09-26",
        {"at": "2027-09-28T22:00", "zone": "Europe/Lisbon"},
        busy=[{"from": "2027-09-28T22:00", "to": "2027-09-29T12:00"}],
    )
    assert found.on(dt.date(2027, 9, 28))[0].hours == 1.5


def test_a_date_gate_counts_its_whole_evening_also_past_midnight() -> None:
    slots = week("sat 22:00 5")
    found = dated("2027-09-20", "2027-09-25", week=slots)
    assert found.gate("lock").instant == utc("2027-09-26T02:00")
    assert found.gate("lock").local == dt.datetime(2027, 9, 26, 3)
    assert found.evenings[0].hours == 5
    # where that evening is taken away, the date ends at midnight as any other
    lost = dated("2027-09-13", "2027-09-25", week=slots, changes=[{"on": "2027-09-25", "lost": True}])
    assert lost.gate("lock").instant == utc("2027-09-25T23:00")


def test_gates_in_every_form() -> None:
    forms = [
        ({"on": "2027-10-31"}, "2027-11-01T00:00", False),
        ({"at": "2027-10-31T23:59"}, "2027-10-31T23:59", False),
        ({"at": "2027-10-31T23:59", "zone": "America/Los_Angeles"}, "2027-11-01T06:59", False),
        ({"at": "2027-10-31T23:59", "zone": "-08:00"}, "2027-11-01T07:59", False),
        ({"at": "2027-10-31T23:59", "zone": "UTC+2"}, "2027-10-31T21:59", False),
        ({"on": "2027-10-31", "zone": "America/Los_Angeles"}, "2027-11-01T07:00", False),
        ({"on": "2027-10-31", "wording": "October 31st"}, "2027-10-31T10:00", True),
        ({"at": "2027-10-31T23:59", "wording": "Oct 31, 11:59 pm"}, "2027-10-31T09:59", True),
    ]
    for form, instant, uncertain in forms:
        gate = dated("2027-10-01", "2027-10-20", form).gate("deadline")
        assert (gate.instant, gate.uncertain) == (utc(instant), uncertain), form
        assert gate.named_date == dt.date(2027, 10, 31)


def test_a_deadline_on_a_night_of_change_is_read_and_says_so() -> None:
    """RFC 5545, 3.3.5: the offset before the gap; the first of two."""
    skipped = dated("2027-03-01", "2027-03-10", {"at": "2027-03-14T02:30", "zone": "America/New_York"}).gate("deadline")
    assert skipped.instant == utc("2027-03-14T07:30")
    assert "skips 02:30" in skipped.reading
    assert "03:30" in skipped.reading
    twice = dated("2027-10-01", "2027-10-10", {"at": "2027-11-07T01:30", "zone": "America/New_York"}).gate("deadline")
    assert twice.instant == utc("2027-11-07T05:30")
    assert "twice" in twice.reading


def test_the_tail_is_eight_weeks_of_the_pattern() -> None:
    found = dated("2027-09-20", "2027-09-26")
    assert [e.tail for e in found.evenings] == [False] + [True] * TAIL_WEEKS
    assert found.evenings[-1].date == dt.date(2027, 11, 16)


def test_the_date_of_an_instant() -> None:
    found = dated("2027-09-20", "2027-10-10", week=week("tue 22:00 4", "wed 02:00 1"))
    late = dt.date(2027, 9, 21)
    assert found.evening_date(utc("2027-09-22T00:30")) == late
    # an evening ends as the next one begins: the instant belongs to the one that ends
    assert found.evening_date(utc("2027-09-22T01:00")) == late
    assert found.evening_date(utc("2027-09-22T01:01")) == dt.date(2027, 9, 22)
    assert found.evening_date(utc("2027-09-21T21:00")) == late
    assert found.evening_date(utc("2027-09-21T23:30") + dt.timedelta(days=3)) == dt.date(2027, 9, 25)
    with pytest.raises(KeyError):
        found.gate("post")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            {"week": week("tue 20:00 3", "tue 22:00 2")},
            r"week\[1\] = tue 22:00: .* week\[0\] ends \(tue 20:00 for 3 h\)",
        ),
        ({"week": week("tue 20:00 3", "tue 20:00 3")}, r"week\[1\] .* week\[0\]"),
        ({"week": week("mon 01:00 2", "sun 22:00 4")}, r"week\[0\] = mon 01:00: .* week\[1\] ends \(sun 22:00"),
        (
            {"extra": [{"on": "2027-09-22", "start": "00:30", "hours": 1}], "week": week("tue 22:00 4")},
            r"extra\[0\]\.start = 00:30: the evening of 2027-09-22 .* ends \(week\[0\]\.start, 22:00 for 4 h\)",
        ),
        (
            {
                "extra": [
                    {"on": "2027-09-22", "start": "10:00", "hours": 2},
                    {"on": "2027-09-22", "start": "11:00", "hours": 2},
                ]
            },
            r"extra\[1\]\.start = 11:00: .*extra\[0\]\.start",
        ),
        (
            {"changes": [{"on": "2027-09-21", "hours": 24}], "week": week("tue 20:00 1", "wed 19:00 1")},
            r"week\[1\]\.start = 19:00: the evening of 2027-09-22 starts before the one of 2027-09-21 ends",
        ),
        ({"week": []}, "no evening is left"),
        ({"week": [], "extra": [{"on": "2026-01-01", "start": "20:00", "hours": 1}]}, "no evening is left"),
        ({"off": [{"from": "0001-01-01", "to": "9999-12-31"}]}, "no evening is left .*; 1 of the pattern"),
        ({"zone": "Mars/Olympus"}, "zone = 'Mars/Olympus'"),
        (
            {"extra": [{"on": f"2027-09-{d:02d}", "start": "10:00", "hours": 0.001} for d in range(21, 25)] * 1300},
            "at most 5000",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(more: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said) as error:
        dated("2027-09-20", "2027-09-26", **more)
    assert "\n" not in error.value.sentence


def test_an_overlap_that_is_taken_away_is_none() -> None:
    more = {"week": week("tue 22:00 4"), "extra": [{"on": "2027-09-22", "start": "00:30", "hours": 1}]}
    found = dated("2027-09-20", "2027-09-30", **more, changes=[{"on": "2027-09-21", "lost": True}])
    assert days(found) == ["09-22", "09-28"]


@pytest.mark.parametrize(
    "gate",
    [
        {"on": dt.date(9999, 12, 31)},
        {"at": dt.datetime(9999, 12, 31, 23, 59), "zone": "-12:00"},
        {"at": dt.datetime(1, 1, 1), "zone": "+14:00"},
        {"on": dt.date(2099, 1, 1)},
    ],
)
def test_a_gate_out_of_all_time_is_one_sentence(gate: dict[str, Any]) -> None:
    # not through the file: these are values put together in code
    project = Project.model_validate(raw("2027-09-20", "2027-09-26"))
    far = Gate(id="deadline", name="Hand-in", **gate)
    with pytest.raises(BadInput, match="gates"):
        calendar(project.but(gates=(project.gates[0], far)))


def test_several_entries_for_one_date_are_one_word() -> None:
    found = dated(
        "2027-09-20", "2027-09-30", changes=[{"on": "2027-09-21", "hours": 1}, {"on": "2027-09-21", "chance": 0.5}]
    )
    assert [(e.hours, e.chance) for e in found.on(dt.date(2027, 9, 21))] == [(1, 0.5)]
