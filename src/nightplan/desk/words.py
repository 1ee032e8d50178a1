# SPDX-License-Identifier: GPL-3.0-or-later
"""Plain words for dates, odds and hours on the desk."""

from __future__ import annotations

import datetime as dt
import re

from nightplan.speech.words import day, evenings, exact_hours, hours, in_100, known_hours, listed, minutes

__all__ = [
    "clock",
    "day",
    "evenings",
    "exact_hours",
    "hours",
    "in_100",
    "known_hours",
    "listed",
    "minutes",
    "moment",
    "spoken",
    "until",
]


def moment(local: dt.datetime) -> str:
    """``Tue 26 Jan 20:30``"""
    return f"{day(local.date())} {local:%H:%M}"


def clock(moment: dt.time) -> str:
    """``20:30``"""
    return moment.strftime("%H:%M")


def spoken(label: str) -> str:
    """A label without the sign of its key: ``&Missed it`` and ``休みました(&M)`` as they are read aloud."""
    return re.sub(r"\(&.\)", "", label).replace("&", "")


def until(start: dt.time, hours_long: float) -> dt.time:
    """Time on the wall after so many hours of an ordinary night."""
    whole = dt.datetime.combine(dt.date(2000, 1, 1), start) + dt.timedelta(hours=hours_long)
    return whole.time().replace(second=0, microsecond=0)
