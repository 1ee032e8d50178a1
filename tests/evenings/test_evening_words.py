# SPDX-License-Identifier: GPL-3.0-or-later
"""What a gate means on the artist's own clock, in words (expected values read off a calendar)."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from evening_cases import dated

from nightplan.evenings.words import local_meaning, moment_words
from nightplan.model.errors import BadInput


@pytest.mark.parametrize(
    ("deadline", "zone", "words"),
    [
        (
            {"at": "2027-10-31T23:59", "zone": "America/Los_Angeles"},
            "Europe/Lisbon",
            "Mon 1 Nov 06:59 your time; that is the morning after the evening of Sun 31 Oct",
        ),
        ({"at": "2027-10-31T23:59", "zone": "Europe/Lisbon"}, "Europe/Lisbon", "Sun 31 Oct 23:59 your time"),
        (
            {"at": "2027-10-31T23:59", "zone": "-12:00"},
            "Pacific/Auckland",
            "Tue 2 Nov 00:59 your time; that is the morning after the evening of Mon 1 Nov",
        ),
        (
            {"at": "2027-10-31T20:00", "zone": "America/Los_Angeles"},
            "Pacific/Auckland",
            "Mon 1 Nov 16:00 your time; that is the day after the date that the deadline names, Sun 31 Oct",
        ),
        (
            {"at": "2027-11-01T03:00", "zone": "Asia/Tokyo"},
            "Europe/Lisbon",
            "Sun 31 Oct 18:00 your time; that is the day before the date that the deadline names, Mon 1 Nov",
        ),
        ({"on": "2027-10-31", "zone": "UTC"}, "UTC", "Mon 1 Nov 00:00 (the end of Sun 31 Oct) your time"),
        (
            {"on": "2027-10-31", "wording": "October 31st"},
            "Europe/Lisbon",
            "Sun 31 Oct 10:00 your time",
        ),
        ({"on": "2027-10-31"}, "Europe/Lisbon", "the whole evening of Sun 31 Oct"),
    ],
)
def test_local_meaning(deadline: dict[str, Any], zone: str, words: str) -> None:
    found = dated("2027-10-01", "2027-10-20", deadline, zone=zone)
    assert local_meaning(found.gate("deadline"), zone) == words
    assert local_meaning(found.gate("deadline"), found.zone) == words


def test_an_unknown_zone_is_refused() -> None:
    gate = dated("2027-10-01", "2027-10-20", {"at": "2027-10-31T23:59", "zone": "UTC"}).gate("deadline")
    with pytest.raises(BadInput, match="zone"):
        local_meaning(gate, "Mars/Olympus")


def test_moments() -> None:
    assert moment_words(dt.datetime(2027, 5, 3, 9, 5)) == "Mon 3 May 09:05"
    assert moment_words(dt.datetime(2028, 1, 1), year=True) == "Sat 1 Jan 2028 00:00 (the end of Fri 31 Dec)"
