# SPDX-License-Identifier: GPL-3.0-or-later
"""Deadline sentences: the instants of the reference table, and the earliest sensible reading."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest

from nightplan.evenings.wording import apply_reading, read_deadline
from nightplan.evenings.zones import UTC, to_utc, zone_info
from nightplan.model.errors import BadInput

DEADLINES = json.loads((Path(__file__).parent.parent / "data" / "media_values.json").read_text("utf-8"))["deadlines"]

#: how the rows of the table are written as an organiser would; the rest stand as they are
SENTENCES = {
    "2023-11-15 23:59 America/Los_Angeles": "Nov 15, 2023, 11:59 pm PT",
    "2015-03-31 23:59 America/Los_Angeles": "31 March 2015 11:59 pm Pacific Time",
    "2019-07-24 23:59 CEST": "24 July 2019, 23:59 CEST",
    "2020-10-09 22:00 EEST": "9 Oct 2020 10 pm EEST",
    "2009-06-27 23:59 UTC": "27.06.2009 23:59 UTC",
    "2020-08-31 22:30 GMT (UK clock shows 23:30 BST)": "31 August 2020, 22:30 GMT",
    "2014-12-11 12:00 America/New_York": "Dec 11 2014, noon ET",
    "2025-06-30 23:59 AoE (UTC-12)": "30 June 2025 23:59 AoE",
}


def read(text: str, not_before: dt.date = dt.date(2005, 1, 1)):  # type: ignore[no-untyped-def]
    return read_deadline(text, home_zone="Europe/Berlin", not_before=not_before)


@pytest.mark.parametrize(("row", "instant"), [d for d in DEADLINES if d[0] in SENTENCES], ids=lambda v: str(v)[:30])
def test_deadlines_of_the_reference_table(row: str, instant: str) -> None:
    found = read(SENTENCES[row])
    assert found.instant == dt.datetime.fromisoformat(instant.replace("Z", "+00:00"))
    assert not found.uncertain


@pytest.mark.parametrize(
    ("local", "zone", "instant"),
    [
        ("2015-03-31T23:59", "-08:00", "2015-04-01T07:59Z"),
        ("2024-11-26T00:00", "-08:00", "2024-11-26T08:00Z"),
        ("2024-11-27T00:00", "-08:00", "2024-11-27T08:00Z"),
        ("2026-03-29T02:30", "Europe/Berlin", "2026-03-29T01:30Z"),
    ],
)
def test_fixed_offsets_and_the_gap_of_the_reference_table(local: str, zone: str, instant: str) -> None:
    assert instant in [row[1] for row in DEADLINES]
    found = to_utc(dt.datetime.fromisoformat(local), zone_info(zone))
    assert found == dt.datetime.fromisoformat(instant.replace("Z", "+00:00"))


@pytest.mark.parametrize(
    ("text", "instant", "said"),
    [
        # the end of that day where the day ends first on Earth (UTC+14)
        ("October 31st", "2027-10-31T09:59", "no zone"),
        ("31.10.2027", "2027-10-31T09:59", "no time"),
        ("31 October 2027 18:00", "2027-10-31T04:00", "no zone"),
        ("2027-10-31 midnight UTC", "2027-10-31T00:00", "midnight"),
        ("12 am, 31 Oct 2027 UTC", "2027-10-31T00:00", "midnight"),
        # PST in summer: by the letters 06:59 standard time or the place's own 23:59 daylight time
        ("July 4, 2027 23:59 PST", "2027-07-05T06:59", "season"),
        ("15 Dec 2027 23:59 CEST", "2027-12-15T21:59", "season"),
        ("1 Dec 2027 17:00 IST", "2027-12-01T11:30", "several"),
        ("04/11/2027 12:00 UTC", "2027-04-11T12:00", "either way"),
        ("Monday 31 Oct 2027 12:00 UTC", "2027-10-31T12:00", "weekday"),
    ],
)
def test_doubt_takes_the_earliest_sensible_reading_and_says_so(text: str, instant: str, said: str) -> None:
    found = read(text, dt.date(2027, 1, 1))
    assert found.instant == dt.datetime.fromisoformat(instant).replace(tzinfo=UTC)
    assert found.uncertain
    assert said in found.reading
    assert all(other.instant > found.instant for other in found.others)


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("Oct 31, 11:59 pm PT", "2027-11-01T06:59"),
        ("31st of October, 23:59 CET", "2027-10-31T22:59"),
        ("30 Nov 2027, 18:00 UTC+2", "2027-11-30T16:00"),
        ("2027-11-05 18:00 +02:00", "2027-11-05T16:00"),
        ("2027-11-05 18:00 GMT-3:30", "2027-11-05T21:30"),
        ("2027-10-31T23:59 Europe/Berlin", "2027-10-31T22:59"),
        ("31 Oct 2027 24:00 UTC", "2027-11-01T00:00"),
        ("Nov 15 noon EST", "2027-11-15T17:00"),
        ("Sept. 30, 2027 5:30pm EDT", "2027-09-30T21:30"),
        ("31 Oct 2027 end of day GMT", "2027-10-31T23:59"),
        ("2 Jan, 10:00 UTC", "2028-01-02T10:00"),
    ],
)
def test_clear_wording_is_certain(text: str, instant: str) -> None:
    found = read(text, dt.date(2027, 9, 20))
    assert found.instant == dt.datetime.fromisoformat(instant).replace(tzinfo=UTC)
    assert not found.uncertain, found.reading


@pytest.mark.parametrize("text", ["", "soon", "30 Feb 2027 UTC", "31 Oct 2027 27:00 UTC", "x" * 600])
def test_what_cannot_be_read_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(BadInput, match="deadline"):
        read(text)


def test_a_reading_becomes_a_gate_with_its_wording() -> None:
    gate = apply_reading(read("October 31st", dt.date(2027, 9, 1)), "deadline", "Hand-in")
    assert (gate.at, gate.zone, gate.uncertain) == (dt.datetime(2027, 10, 31, 23, 59), "+14:00", True)
    assert gate.wording == "October 31st"
