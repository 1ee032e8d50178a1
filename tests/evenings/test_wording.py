# SPDX-License-Identifier: GPL-3.0-or-later
"""Deadline sentences: the instants of the reference table, and the earliest sensible reading."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nightplan.evenings.wording import apply_reading, read_deadline
from nightplan.evenings.zone_names import CODES, SEASONAL
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
        # the start of that day where it begins first on Earth
        ("2027-10-31 midnight", "2027-10-30T10:00", "midnight"),
        ("31 Oct 2027 PT", "2027-11-01T06:59", "no time"),
        ("end of day, 31 Oct", "2027-10-31T09:59", "no zone"),
        ("31 Oct 2027 23:59 local time", "2027-10-31T09:59", "no zone"),
        ("31 Oct 2027 23:59 XYZT", "2027-10-31T09:59", "the zone 'XYZT' is not known"),
        ("31 Oct 2027 23:59 Atlantis time", "2027-10-31T09:59", "the zone 'Atlantis time' is not known"),
        # the clocks of New York go from 02:00 to 03:00 (tests/data/rfc5545_new_york_transitions.csv): by the
        # clock after the gap it is an hour earlier than by the one before it
        ("14 March 2027 2:30 am ET", "2027-03-14T06:30", "go forward over that time"),
        ("10/11/2027 12:00 UTC", "2027-10-11T12:00", "either way"),
        ("27/10/31 12:00 UTC", "2027-10-31T12:00", "either way"),
        ("1 July 2027 12:00 BST", "2027-07-01T06:00", "several"),
        ("1 Dec 2027 12:00 CST", "2027-12-01T04:00", "several"),
        ("1 Dec 2027 12:00 CET (UTC+2)", "2027-12-01T10:00", "different zones"),
        ("1 Dec 2027 11:59 UTC", "2027-12-01T11:59", "am or pm"),
        ("1 Dec 2026 12:00 UTC", "2026-12-01T12:00", "before the announcement"),
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
        ("31 Oct AoE", "2027-11-01T11:59"),
        ("31 Oct 2027, anywhere on Earth", "2027-11-01T11:59"),
        ("Sunday 31 October, noon, Berlin time", "2027-10-31T11:00"),
        ("31 Oct, 11:59 PM Pacific", "2027-11-01T06:59"),
        ("31 Oct 2027 18:00 Eastern", "2027-10-31T22:00"),
        ("31 Oct 2027 23:59 Newfoundland time", "2027-11-01T02:29"),
        ("31.10.2027 23:59 Uhr MEZ", "2027-10-31T22:59"),
        ("30.10.2027 23:59 Uhr MESZ", "2027-10-30T21:59"),
        ("31 Oct 2027 18:00 New York time", "2027-10-31T22:00"),
        ("Submissions are due by Dec 1st, 2027 at 11:59 PM Pacific Standard Time (PST)", "2027-12-02T07:59"),
        ("11:59 PM PDT (UTC-7), 31 October", "2027-11-01T06:59"),
        ("1 July 2028 6pm EST/EDT", "2028-07-01T22:00"),
        ("1 July 2028 12:00 British Summer Time", "2028-07-01T11:00"),
        ("Sat 03/04/2028 12:00 UTC", "2028-03-04T12:00"),
        ("25/12/2027 12:00 UTC", "2027-12-25T12:00"),
        ("03.04.2028 12:00 UTC", "2028-04-03T12:00"),
        ("midnight (23:59) 31 Oct 2027 UTC", "2027-10-31T23:59"),
        ("00:00, 31 Oct 2027 UTC", "2027-10-31T00:00"),
        ("Oct 31, 2027 \u2013 23.59 Uhr CET", "2027-10-31T22:59"),
        ("31 Oct '27 at 18h30 Paris time", "2027-10-31T17:30"),
        ("31 Oct 2027 at 1800 hrs GMT", "2027-10-31T18:00"),
        ("29 Feb 18:00 UTC", "2028-02-29T18:00"),
        ("31 Oct 2027 23:59 UTC\u22128", "2027-11-01T07:59"),
        ("2027-10-31T23:59:59Z", "2027-10-31T23:59:59"),
        # the first of two (RFC 5545, 3.3.5), which is the earlier
        ("7 Nov 2027 1:30 am ET", "2027-11-07T05:30"),
    ],
)
def test_clear_wording_is_certain(text: str, instant: str) -> None:
    found = read(text, dt.date(2027, 9, 20))
    assert found.instant == dt.datetime.fromisoformat(instant).replace(tzinfo=UTC)
    assert not found.uncertain, found.reading


@pytest.mark.parametrize(
    "text",
    [
        "",
        " \n",
        "soon",
        "Friday",
        "30 Feb 2027 UTC",
        "31 Oct 2027 27:00 UTC",
        "31 Oct 2027 12:60 UTC",
        "31 Oct 2027 23:59 UTC+15",
        "Oct 31 or Nov 2, 23:59 UTC",
        "31 Oct 18:00 UTC (20:00 CEST)",
        "31 Oct 2027 noon or midnight UTC",
        "31 Oct 2027 6 o'clock UTC",
        "31 Oct 9999",
        "the 31st, 6 pm",
        "x" * 600,
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(text: str) -> None:
    with pytest.raises(BadInput, match="deadline"):
        read(text)


def test_the_rows_of_the_reference_table_that_leave_a_doubt() -> None:
    """2015-03-31 23:59 "PST" is 06:59 or 07:59 UTC: the table has both, the earlier is taken."""
    by_row = {row: dt.datetime.fromisoformat(instant.replace("Z", "+00:00")) for row, instant in DEADLINES}
    summer = read("March 31, 2015, 11:59 pm PST")
    assert summer.uncertain
    assert summer.instant == by_row["2015-03-31 23:59 America/Los_Angeles"]
    assert [o.instant for o in summer.others] == [by_row["2015-03-31 23:59 fixed PST -08:00"]]
    midnight = read("26 November 2024, midnight PST")
    assert midnight.uncertain
    assert midnight.instant == by_row["2024-11-26 00:00 fixed PST -08:00 (start of day)"]
    assert [o.instant for o in midnight.others] == [by_row["2024-11-26 24:00 fixed PST -08:00 (end of day)"]]
    assert read("2024-11-26 24:00 PST").instant == midnight.others[0].instant
    gap = read("29 March 2026 02:30 Berlin time")
    assert gap.uncertain
    assert [o.instant for o in gap.others] == [by_row["2026-03-29 02:30 Europe/Berlin (does not exist; fold=0)"]]
    assert gap.instant == gap.others[0].instant - dt.timedelta(hours=1)
    assert len(DEADLINES) == len(SENTENCES) + 4


def test_without_a_zone_the_other_readings_are_told_in_the_artists_own_time() -> None:
    found = read("31 Oct 2027, 18:00", dt.date(2027, 9, 1))
    assert found.words == "Sun 31 Oct 2027 18:00 (UTC+14:00), that is Sun 31 Oct 2027 05:00 your time"
    assert [o.words.partition(", that is ")[2] for o in found.others] == [
        "Sun 31 Oct 2027 18:00 your time",
        "Sun 31 Oct 2027 19:00 your time",
        "Mon 1 Nov 2027 07:00 your time",
    ]


def test_a_missing_year_is_said_and_is_no_doubt() -> None:
    found = read("Oct 31, 11:59 pm PT", dt.date(2027, 11, 1))
    assert found.at == dt.datetime(2028, 10, 31, 23, 59)
    assert found.reading == "no year is given: read as 2028"
    assert not found.uncertain
    assert read("Oct 31, 11:59 pm PT", dt.date(2027, 10, 31)).at.year == 2027


def test_day_and_month_in_doubt_take_the_earliest_that_is_still_to_come() -> None:
    """3 April or 4 March: on 10 March only April is still to come, and the doubt is said all the same."""
    before, between = (read("03/04/2027 12:00 UTC", dt.date(2027, 3, day)) for day in (1, 10))
    assert (before.at.month, [o.at.month for o in before.others]) == (3, [4])
    assert (between.at.month, between.others, between.uncertain) == (4, (), True)


@pytest.mark.parametrize("code", sorted(SEASONAL))
def test_letter_codes_are_those_of_the_time_zone_database(code: str) -> None:
    """Source: tzdata, the abbreviation and the offset of the place in that season of 2027."""
    bearer = SEASONAL[code]
    assert bearer.place is not None
    assert bearer.offset is not None
    seasons = [dt.datetime(2027, month, 15, 12, tzinfo=zone_info(bearer.place)) for month in (1, 7)]
    offsets = {s.tzname(): s.utcoffset() for s in seasons}
    assert offsets[code] == dt.datetime(2027, 1, 1, tzinfo=zone_info(bearer.offset)).utcoffset()


@pytest.mark.parametrize("code", sorted(code for code, bearers in CODES.items() if len(bearers) > 1))
def test_every_bearer_of_a_code_has_that_offset_at_some_time_of_the_year(code: str) -> None:
    """Source: tzdata."""
    for bearer in CODES[code]:
        assert bearer.place is not None
        assert bearer.offset is not None
        place = zone_info(bearer.place)
        offsets = {dt.datetime(2027, month, 15, tzinfo=place).utcoffset() for month in (1, 7)}
        assert dt.datetime(2027, 1, 1, tzinfo=zone_info(bearer.offset)).utcoffset() in offsets


def test_every_fixed_code_and_place_is_a_zone() -> None:
    for bearers in CODES.values():
        for bearer in bearers:
            assert zone_info(bearer.place or bearer.offset or "")


PIECES = [
    *("31 Oct 2027", "Oct 31", "03/04/27", "31.10.", "2027-10-31", "23:59", "11:59 pm", "noon", "midnight", "24:00"),
    *("PT", "PST", "IST", "UTC+2", "AoE", "Berlin time", "Friday", "(", ")", ",", "/", "-", "T", "Z", "at", "'27", "0"),
]


@settings(max_examples=300, deadline=None)
@given(
    st.text(max_size=40) | st.lists(st.sampled_from(PIECES), max_size=7).map(" ".join),
    st.dates(dt.date(1990, 1, 1), dt.date(2190, 1, 1)),
)
def test_any_text_is_read_or_refused_in_one_sentence(text: str, not_before: dt.date) -> None:
    refused = ""
    try:
        found = read(text, not_before)
    except BadInput as error:
        refused = error.sentence
    if refused:
        assert refused.startswith("deadline = ")
        assert "\n" not in refused
        return
    assert found.instant == to_utc(found.at, zone_info(found.zone))
    assert all(found.instant < other.instant for other in found.others)
    assert not found.others or found.uncertain
    assert not found.uncertain or found.reading
    gate = apply_reading(found, "deadline", "Hand-in")
    assert (gate.at, gate.zone, gate.wording) == (found.at, found.zone, text.strip())


def test_a_reading_becomes_a_gate_with_its_wording() -> None:
    gate = apply_reading(read("October 31st", dt.date(2027, 9, 1)), "deadline", "Hand-in")
    assert (gate.at, gate.zone, gate.uncertain) == (dt.datetime(2027, 10, 31, 23, 59), "+14:00", True)
    assert gate.wording == "October 31st"
