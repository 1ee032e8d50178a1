# SPDX-License-Identifier: GPL-3.0-or-later
"""Evenings on the nights on which the clock changes, in both directions and several zones.

The changes are those of the time zone database (tzdata): Europe/Lisbon 28 March 01:00 and 31 October
2027 02:00; America/New_York 14 March and 7 November 2027 02:00; Australia/Lord_Howe, by half an hour,
3 October and 4 April 2027 02:00; Pacific/Apia skipped 30 December 2011 as it changed sides of the date line.
"""

from __future__ import annotations

import datetime as dt

import pytest
from evening_cases import dated, utc, week

from nightplan.model.errors import BadInput

#: zone, the Saturday night, start and elapsed hours, and the wall clock at the end of the evening
NIGHTS = [
    ("Europe/Lisbon", "2027-03-27", "2027-03-28T05:30"),
    ("Europe/Lisbon", "2027-10-30", "2027-10-31T03:30"),
    ("America/New_York", "2027-03-13", "2027-03-14T05:30"),
    ("America/New_York", "2027-11-06", "2027-11-07T03:30"),
    ("Australia/Lord_Howe", "2027-10-02", "2027-10-03T05:00"),
    ("Australia/Lord_Howe", "2027-04-03", "2027-04-04T04:00"),
]


@pytest.mark.parametrize(("zone", "day", "wall_end"), NIGHTS)
def test_hours_are_elapsed_hours(zone: str, day: str, wall_end: str) -> None:
    found = dated(day, day, zone=zone, week=week("sat 23:30 5"))
    (evening,) = [e for e in found.evenings if not e.tail]
    assert evening.date == dt.date.fromisoformat(day)
    assert (evening.end_at - evening.start_at) == dt.timedelta(hours=5)
    assert evening.end_at.astimezone(found.zone).replace(tzinfo=None) == dt.datetime.fromisoformat(wall_end)
    # a gate on that date counts the whole evening, also past midnight and past the change
    assert found.gate("lock").instant == evening.end_at


#: zone, a Sunday whose night skips this time, and the instant if it is counted with the offset before the gap
GAPS = [
    ("Europe/Lisbon", "2027-03-28", "01:30", "2027-03-28T01:30"),
    ("America/New_York", "2027-03-14", "02:30", "2027-03-14T07:30"),
    ("Australia/Lord_Howe", "2027-10-03", "02:15", "2027-10-02T15:45"),
]


@pytest.mark.parametrize(("zone", "day", "start", "instant"), GAPS)
def test_a_start_that_does_not_exist_is_refused_where_the_evening_counts(
    zone: str, day: str, start: str, instant: str
) -> None:
    slots = week("wed 20:00 1", f"sun {start} 2")
    with pytest.raises(BadInput) as error:
        dated("2027-01-04", day, zone=zone, week=slots)
    said = error.value.sentence
    assert "week[1].start" in said
    assert start in said
    assert day in said
    assert zone in said
    for taken in (
        {"off": [{"from": day, "to": day}]},
        {"changes": [{"on": day, "lost": True}]},
        {"busy": [{"from": f"{day}T00:00", "to": f"{day}T12:00"}]},
        {"changes": [{"on": day, "start": "12:00"}]},
    ):
        found = dated("2027-01-04", day, zone=zone, week=slots, **taken)
        assert [e for e in found.on(dt.date.fromisoformat(day)) if e.start != dt.time(12)] == []
    # in the weeks after the last gate nobody has promised it yet: it starts when the clock has moved on
    week_before = dt.date.fromisoformat(day) - dt.timedelta(days=7)
    (shifted,) = dated("2027-01-04", f"{week_before}", zone=zone, week=slots).on(dt.date.fromisoformat(day))
    assert shifted.tail
    assert shifted.start_at == utc(instant)
    assert shifted.start > dt.time.fromisoformat(start)


def test_a_change_to_a_time_that_does_not_exist_names_the_change() -> None:
    with pytest.raises(BadInput, match=r"changes\[0\]\.start = 01:30: this time does not exist on 2027-03-28"):
        dated("2027-03-01", "2027-04-01", week=week("sun 20:00 2"), changes=[{"on": "2027-03-28", "start": "01:30"}])


@pytest.mark.parametrize(
    ("zone", "day", "start", "instant"),
    [
        ("Europe/Lisbon", "2027-10-31", "01:30", "2027-10-31T00:30"),
        ("America/New_York", "2027-11-07", "01:30", "2027-11-07T05:30"),
        ("Australia/Lord_Howe", "2027-04-04", "01:45", "2027-04-03T14:45"),
    ],
)
def test_a_start_that_exists_twice_is_the_first(zone: str, day: str, start: str, instant: str) -> None:
    found = dated(day, day, zone=zone, week=week(f"sun {start} 2"))
    assert found.evenings[0].start_at == utc(instant)


def test_a_day_that_the_date_line_swallowed() -> None:
    slots = week("fri 20:00 2", "sat 20:00 2")
    with pytest.raises(BadInput, match="does not exist on 2011-12-30 in Pacific/Apia"):
        dated("2011-12-26", "2012-01-02", zone="Pacific/Apia", week=slots)
    off = dated(
        "2011-12-26", "2012-01-02", zone="Pacific/Apia", week=slots, off=[{"from": "2011-12-30", "to": "2011-12-30"}]
    )
    assert [str(e.date) for e in off.evenings if not e.tail] == ["2011-12-31"]
    # in the tail the missing Friday is left out, and Saturday's evening stays whole
    tail = dated("2011-12-19", "2011-12-24", zone="Pacific/Apia", week=slots)
    assert [str(e.date) for e in tail.evenings][:5] == [
        *("2011-12-23", "2011-12-24"),
        *("2011-12-31", "2012-01-06", "2012-01-07"),
    ]
    assert {e.hours for e in tail.evenings} == {2.0}


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "+14:00", "-12:00"])
def test_a_deadline_on_the_other_side_of_the_date_line(zone: str) -> None:
    """The end of 31 October: 10:00 UTC at +14, a day and an hour later at −11, two hours more at −12."""
    ends = {
        "Pacific/Kiritimati": "2027-10-31T10:00",
        "+14:00": "2027-10-31T10:00",
        "Pacific/Pago_Pago": "2027-11-01T11:00",
        "-12:00": "2027-11-01T12:00",
    }
    found = dated("2027-10-01", "2027-10-20", {"on": "2027-10-31", "zone": zone})
    assert found.gate("deadline").instant == utc(ends[zone])
    assert not found.gate("deadline").whole_evening


def test_an_evening_in_the_tail_gives_way_where_the_clock_goes_back() -> None:
    """Saturday's evening ends at 01:00 by the clock; the hour that comes twice makes it end before, not after."""
    slots = week("sat 22:00 3", "sun 01:00 2")
    found = dated("2027-10-04", "2027-10-10", week=slots)
    assert all(a.end_at <= b.start_at for a, b in zip(found.evenings, found.evenings[1:], strict=False))
    # in spring the clock takes an hour away: Sunday 01:00 is skipped, and starts as Saturday's ends
    spring = dated("2027-03-01", "2027-03-07", week=slots)
    assert all(a.end_at <= b.start_at for a, b in zip(spring.evenings, spring.evenings[1:], strict=False))
