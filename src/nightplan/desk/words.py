# SPDX-License-Identifier: GPL-3.0-or-later
"""Plain words for dates, odds and hours on the desk."""

from __future__ import annotations

import datetime as dt

from nightplan.speech.words import day, hours, in_100, minutes

__all__ = ["clock", "count", "day", "hours", "in_100", "minutes", "until"]


def clock(moment: dt.time) -> str:
    """``20:30``"""
    return moment.strftime("%H:%M")


def count(number: int, one: str, many: str | None = None) -> str:
    """``1 evening``, ``3 evenings``"""
    return f"{number} {one if number == 1 else many or one + 's'}"


def until(start: dt.time, hours_long: float) -> dt.time:
    """Time on the wall after so many hours of an ordinary night."""
    whole = dt.datetime.combine(dt.date(2000, 1, 1), start) + dt.timedelta(hours=hours_long)
    return whole.time().replace(second=0, microsecond=0)
