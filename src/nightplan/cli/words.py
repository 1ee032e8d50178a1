# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates, odds and hours in plain words."""

from __future__ import annotations

import datetime as dt
import unicodedata

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def plain(text: str) -> str:
    """Text from a file for a terminal: one that would steer it, or turn the writing round, is shown as a square."""
    if text.isascii() and text.isprintable():
        return text
    return "".join("\u25a1" if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co") else c for c in text)


def marked(text: str) -> str:
    """Text from a file for a place where square brackets mean bold and the like."""
    from rich.markup import escape

    return escape(plain(text))


def day(date: dt.date | None) -> str:
    """``Tue 12 Oct``; the year is clear from the heading."""
    if date is None:
        return "beyond the plan"
    return f"{_DAYS[date.weekday()]} {date.day} {_MONTHS[date.month - 1]}"


def in_100(odds: float) -> str:
    """Odds as ``71 in 100``; never rounded to a certainty that is not there."""
    whole = round(odds * 100)
    if whole == 100 and odds < 1:
        return "over 99 in 100"
    if whole == 0 and odds > 0:
        return "under 1 in 100"
    return f"{whole} in 100"


def hours(value: float) -> str:
    return f"{value:.1f} h"


def chance(value: float) -> str:
    if value >= 0.9:
        return "sure"
    if abs(value - 0.5) < 1e-9:
        return "maybe"
    return f"{value * 10:.0f} in 10"
