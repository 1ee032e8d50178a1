# SPDX-License-Identifier: GPL-3.0-or-later
"""Small plain words that the recoveries share."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

# own names: those of the system's language would change with it
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def weekday(date: dt.date) -> str:
    """``Monday``."""
    return _WEEKDAYS[date.weekday()]


def hours(amount: float) -> str:
    """``2.5 h``"""
    return f"{round(amount, 1):g} h"


def minutes_of(amount_hours: float) -> int:
    """Hours as whole minutes, at least one: no move is free."""
    return max(1, round(amount_hours * 60.0))


def days(dates: Sequence[dt.date], most: int = 3) -> str:
    """``Sat 6 Feb`` or ``Sat 6 Feb, Sun 7 Feb and 3 more``."""
    shown = [f"{weekday(d)[:3]} {d.day} {_MONTHS[d.month - 1]}" for d in dates[:most]]
    rest = len(dates) - most
    return join([*shown, f"{rest} more"]) if rest > 0 else join(shown)


def join(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``"""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def in_100(odds: float) -> str:
    """``71 in 100``; never a 100 or 0 that is not one."""
    whole = round(odds * 100)
    if whole == 100 and odds < 1.0:
        return "over 99 in 100"
    if whole == 0 and odds > 0.0:
        return "under 1 in 100"
    return f"{whole} in 100"
