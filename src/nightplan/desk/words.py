# SPDX-License-Identifier: GPL-3.0-or-later
"""Plain words for dates, odds and hours on the desk."""

from __future__ import annotations

import datetime as dt

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(date: dt.date | None) -> str:
    """``Tue 12 Oct``"""
    if date is None:
        return "beyond the plan"
    return f"{_DAYS[date.weekday()]} {date.day} {_MONTHS[date.month - 1]}"


def in_100(odds: float) -> str:
    """``71 in 100``; never rounded to a certainty that is not there."""
    whole = round(odds * 100)
    if whole == 100 and odds < 1:
        return "over 99 in 100"
    if whole == 0 and odds > 0:
        return "under 1 in 100"
    return f"{whole} in 100"


def hours(value: float) -> str:
    """``2.5 h``, a minus sign that is one, no ``-0.0``."""
    value = round(value, 1)
    return f"{abs(value):.1f} h" if value >= 0 or value == 0 else f"\u2212{abs(value):.1f} h"


def minutes(value_hours: float) -> str:
    """``15 min``"""
    return f"{round(value_hours * 60)} min"


def clock(moment: dt.time) -> str:
    return moment.strftime("%H:%M")


def count(number: int, one: str, many: str | None = None) -> str:
    """``1 evening``, ``3 evenings``"""
    return f"{number} {one if number == 1 else many or one + 's'}"


def until(start: dt.time, hours_long: float) -> dt.time:
    """Time on the wall after so many hours of an ordinary night."""
    whole = dt.datetime.combine(dt.date(2000, 1, 1), start) + dt.timedelta(hours=hours_long)
    return whole.time().replace(second=0, microsecond=0)
