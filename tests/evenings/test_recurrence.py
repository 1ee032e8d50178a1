# SPDX-License-Identifier: GPL-3.0-or-later
"""Recurrences against RFC 5545 (B. Desruisseaux, 2009), section 3.8.5.3, as printed there."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from nightplan.evenings.recurrence import expand
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
    found = expand(start, zone, row["rrule"], until=until, excluded=excluded)
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
    ],
)
def test_what_is_no_rule_is_refused_in_a_sentence(rule: str) -> None:
    with pytest.raises(BadInput, match="RRULE"):
        expand(dt.datetime(2027, 1, 1, 9), UTC, rule, until=dt.datetime(2028, 1, 1, tzinfo=UTC))


def test_a_rule_that_yields_nothing_ends() -> None:
    nothing = expand(
        dt.datetime(2027, 1, 1, 9),
        UTC,
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30;COUNT=5",
        until=dt.datetime(2032, 1, 1, tzinfo=UTC),
    )
    assert nothing == ()


def test_an_endless_rule_is_bounded() -> None:
    found = expand(
        dt.datetime(2027, 1, 1, 9), UTC, "FREQ=HOURLY", until=dt.datetime(2032, 1, 1, tzinfo=UTC), max_count=50
    )
    assert len(found) == 50
