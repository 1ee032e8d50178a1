# SPDX-License-Identifier: GPL-3.0-or-later
"""Recurrences against RFC 5545 (B. Desruisseaux, 2009), section 3.8.5.3, as printed there."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nightplan.evenings import recurrence
from nightplan.evenings.recurrence import Occurrences, occurrences
from nightplan.evenings.zones import UTC, to_utc, zone_info
from nightplan.model.errors import BadInput

DATA = Path(__file__).parent.parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def moment(text: str) -> tuple[ZoneInfo, dt.datetime]:
    zone, _, local = text.removeprefix("TZID=").partition(":")
    return ZoneInfo(zone), dt.datetime.strptime(local, "%Y%m%dT%H%M%S")


RRULES = rows("rfc5545_rrule.csv")


def test_the_table_has_all_21_recurrences() -> None:
    assert len(RRULES) == 21


@pytest.mark.parametrize("row", RRULES, ids=[r["title_in_rfc"][:40] for r in RRULES])
def test_rfc_5545_recurrence(row: dict[str, str]) -> None:
    zone, start = moment(row["dtstart"])
    printed = row["dates_printed"].split()
    excluded = [moment(row["exdate"])[1]] if row["exdate"] else []
    # one day after the last printed date: a complete set must end by itself, a prefix is cut there
    last = dt.datetime.fromisoformat(printed[-1]).replace(tzinfo=UTC)
    until = last + dt.timedelta(days=3650 if row["complete_or_prefix"] == "complete" else 1)
    found = occurrences(start, zone, row["rrule"], until=until, excluded=excluded).instants
    local = [instant.astimezone(zone) for instant in found]
    assert [f"{d.date()}" for d in local] == printed
    offsets = [int(d.utcoffset().total_seconds() // 3600) for d in local]  # type: ignore[union-attr]
    assert offsets == [int(x) for x in row["utc_offset_hours_recomputed"].split()]
    assert {d.timetz().replace(tzinfo=None) for d in local} == {start.time()}


@pytest.mark.parametrize("row", rows("rfc5545_local_time_examples.csv"), ids=lambda r: r["local"][:19])
def test_rfc_5545_local_times(row: dict[str, str]) -> None:
    """RFC 5545, 3.3.5: a time that occurs twice is the first; one in the gap takes the offset before it."""
    local = dt.datetime.fromisoformat(row["local"].split(" ")[0])
    expected = row["utc_printed_or_implied"].split(" ")[0].replace("Z", "+00:00")
    assert to_utc(local, zone_info(row["tzid"])).isoformat() == expected


@pytest.mark.parametrize("row", rows("rfc5545_new_york_transitions.csv"), ids=lambda r: r["year"])
def test_rfc_5545_new_york_transitions(row: dict[str, str]) -> None:
    """RFC 5545, 3.6.5: an evening that runs through the change has an hour more or less on the wall."""
    zone = zone_info("America/New_York")
    for key, wall_hours in (("dst_start_date", 13), ("std_start_date", 11)):
        day = dt.date.fromisoformat(row[key])
        before = dt.datetime.combine(day - dt.timedelta(days=1), dt.time(20))
        twelve_later = (to_utc(before, zone) + dt.timedelta(hours=12)).astimezone(zone).replace(tzinfo=None)
        assert (twelve_later - before).total_seconds() / 3600 == wall_hours


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=SECONDLY",
        "FREQ=MINUTELY;COUNT=9",
        "FREQ=WEEKLY;BYDAY=XX",
        "HELLO",
        "FREQ=DAILY;UNTIL=soon",
        "",
        "FREQ=DAILY;COUNT=x",
        "FREQ=DAILY;COUNT=0",
        "FREQ=DAILY;INTERVAL=0",
        "FREQ=DAILY;INTERVAL=-1",
        "FREQ=DAILY;FREQ=WEEKLY",
        "FREQ=YEARLY;BYEASTER=0",
        "FREQ=DAILY;BYHOUR=99",
        "FREQ=HOURLY;BYSETPOS=2",
        "FREQ=DAILY\nRDATE:20270101",
        f"FREQ=YEARLY;BYYEARDAY={','.join(str(n) for n in range(1, 300))}",
        f"FREQ=DAILY;BYMINUTE={','.join(str(n) for n in range(60))};BYSECOND=0,30",
    ],
)
def test_what_is_no_rule_is_refused_in_a_sentence(rule: str) -> None:
    with pytest.raises(BadInput, match="RRULE"):
        occurrences(dt.datetime(2027, 1, 1, 9), UTC, rule, until=dt.datetime(2028, 1, 1, tzinfo=UTC))


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30;COUNT=5",
        "FREQ=HOURLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=YEARLY;BYWEEKNO=53;BYMONTH=6",
        "FREQ=YEARLY;BYYEARDAY=366;BYMONTH=1",
        "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=9",
        "FREQ=WEEKLY;INTERVAL=999999999",
    ],
)
def test_a_rule_that_yields_nothing_more_ends_with_the_window(rule: str) -> None:
    """The start is the first occurrence all the same (RFC 5545, 3.8.5.3: DTSTART counts as the first)."""
    start = dt.datetime(2027, 1, 1, 9)
    found = occurrences(start, UTC, rule, until=dt.datetime(2032, 1, 1, tzinfo=UTC))
    assert found == Occurrences((start.replace(tzinfo=UTC),), True)


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=HOURLY",
        "FREQ=HOURLY;BYHOUR=3",
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=DAILY;BYHOUR=0,1,2,3,4,5,6,7;BYMINUTE=0,10,20,30,40,50",
        f"FREQ=DAILY;BYSETPOS={','.join(str(n) for n in range(200, 300))}",
    ],
)
def test_a_search_over_a_thousand_years_is_given_up_and_says_so(rule: str) -> None:
    found = occurrences(
        dt.datetime(1000, 1, 1, 9),
        UTC,
        rule,
        since=dt.datetime(2027, 1, 1, tzinfo=UTC),
        until=dt.datetime(2032, 1, 1, tzinfo=UTC),
    )
    assert not found.complete
    assert found.instants == ()


def test_the_library_still_has_the_parts_that_the_bound_is_hung_on() -> None:
    """A new version of python-dateutil that moved them would otherwise bring the endless search back."""
    from dateutil import rrule as library

    names = library.rrule._iter.__code__.co_names
    assert {"_iterinfo", "ydayset", "mdayset", "wdayset", "ddayset"} <= set(names)


def test_only_what_lies_in_the_window_is_counted() -> None:
    found = occurrences(
        dt.datetime(2020, 1, 6, 20),
        UTC,
        "FREQ=WEEKLY;COUNT=400",
        since=dt.datetime(2027, 1, 1, tzinfo=UTC),
        until=dt.datetime(2028, 1, 1, tzinfo=UTC),
        max_count=60,
    ).instants
    # 2020-01-06 is week 0; week 365 is 2027-01-04 and week 399 the last
    assert len(found) == 35
    assert found[0] == dt.datetime(2027, 1, 4, 20, tzinfo=UTC)


def test_an_occurrence_in_a_gap_moves_and_one_that_exists_twice_is_the_first() -> None:
    """RFC 5545, 3.3.5, for times given explicitly; 3.3.10 would leave the one in the gap out."""
    zone = zone_info("Europe/Lisbon")
    spring = occurrences(
        dt.datetime(2027, 3, 27, 1, 30), zone, "FREQ=DAILY;COUNT=3", until=dt.datetime(2027, 5, 1, tzinfo=UTC)
    ).instants
    assert [f"{d:%dT%H:%M}" for d in spring] == ["27T01:30", "28T01:30", "29T00:30"]
    autumn = occurrences(
        dt.datetime(2027, 10, 30, 1, 30), zone, "FREQ=DAILY;COUNT=3", until=dt.datetime(2027, 12, 1, tzinfo=UTC)
    ).instants
    assert [f"{d:%dT%H:%M}" for d in autumn] == ["30T00:30", "31T00:30", "01T01:30"]


def test_an_hour_that_a_gap_moves_onto_the_next_is_there_once() -> None:
    found = occurrences(
        dt.datetime(2027, 3, 28, 0, 30),
        zone_info("Europe/Lisbon"),
        "FREQ=HOURLY;COUNT=4",
        until=dt.datetime(2027, 5, 1, tzinfo=UTC),
    ).instants
    # 00:30, (01:30 is skipped and means 02:30), 02:30, 03:30 on the wall
    assert [f"{d:%H:%M}" for d in found] == ["00:30", "01:30", "02:30"]


DAY_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@st.composite
def rules(draw: st.DrawFn) -> tuple[dt.datetime, str]:
    """A start and a weekly or daily rule whose start is one of its own occurrences."""
    start = draw(st.datetimes(dt.datetime(2026, 9, 1), dt.datetime(2027, 3, 1))).replace(second=0, microsecond=0)
    parts = [f"FREQ={draw(st.sampled_from(['DAILY', 'WEEKLY']))}", f"INTERVAL={draw(st.integers(1, 3))}"]
    if parts[0] == "FREQ=WEEKLY":
        days = draw(st.sets(st.sampled_from(DAY_CODES))) | {DAY_CODES[start.weekday()]}
        parts.append(f"BYDAY={','.join(sorted(days))}")
    if draw(st.booleans()):
        parts.append(f"COUNT={draw(st.integers(1, 60))}")
    return start, ";".join(parts)


@settings(max_examples=60, deadline=None)
@given(rules(), st.sampled_from(["Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "UTC"]))
def test_the_same_as_recurring_ical_events(drawn: tuple[dt.datetime, str], zone_name: str) -> None:
    """By another route: the calendar reader recurring-ical-events (N. Kicherer and others)."""
    import icalendar
    import recurring_ical_events

    start, rule = drawn
    zone = ZoneInfo(zone_name)
    until = dt.datetime(2027, 6, 1, tzinfo=UTC)
    lines = [
        *("BEGIN:VCALENDAR", "BEGIN:VEVENT", "UID:1", "SUMMARY:dinner", f"RRULE:{rule}"),
        f"DTSTART;TZID={zone_name}:{start:%Y%m%dT%H%M%S}",
        *("DURATION:PT1M", "END:VEVENT", "END:VCALENDAR", ""),
    ]
    calendar = icalendar.Calendar.from_ical("\r\n".join(lines))
    events = recurring_ical_events.of(calendar).between(dt.datetime(2026, 8, 1, tzinfo=UTC), until)
    # compared on the wall: in a gap the reader keeps a time that no clock shows
    theirs = sorted(e["DTSTART"].dt.replace(tzinfo=None) for e in events)
    ours = [to_utc(local, zone) for local in theirs]
    mine = [d for d in occurrences(start, zone, rule, until=until).instants if d < until]
    assert mine == sorted(set(ours))


def test_an_endless_rule_is_bounded() -> None:
    found = occurrences(
        dt.datetime(2027, 1, 1, 9), UTC, "FREQ=HOURLY", until=dt.datetime(2032, 1, 1, tzinfo=UTC), max_count=50
    ).instants
    assert len(found) == 50


@pytest.mark.parametrize("freq", ["HOURLY", "DAILY", "WEEKLY", "MONTHLY", "YEARLY"])
def test_an_interval_that_leads_past_the_end_costs_no_more_than_it_must(freq: str) -> None:
    # the library counts through the months up to the year 9999 for each such rule; a calendar may have thousands
    start, until = dt.datetime(2027, 9, 1, 19), dt.datetime(2027, 12, 1, tzinfo=dt.UTC)
    budget = recurrence.Budget()
    before = budget.steps
    found = recurrence.occurrences(start, dt.UTC, f"FREQ={freq};INTERVAL=999999999", until=until, budget=budget)
    assert found.instants == (start.replace(tzinfo=dt.UTC),)
    assert before - budget.steps < 5_000
    parts = {"FREQ": freq, "INTERVAL": "999999999"}
    recurrence._shorten_interval(parts, start, dt.datetime(2027, 12, 1))
    assert int(parts["INTERVAL"]) < 25_000
