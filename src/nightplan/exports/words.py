# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates, hours and odds in plain words; names from a file made safe to set in type."""

from __future__ import annotations

import datetime as dt
import unicodedata

_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def weekday(date: dt.date) -> str:
    return _DAYS[date.weekday()]


def month(date: dt.date) -> str:
    return _MONTHS[date.month - 1]


def day(date: dt.date | None, *, year: bool = False) -> str:
    """``Tue 26 Jan``, not in the machine's language as the rest is not; None lies beyond the horizon."""
    if date is None:
        return "later"
    text = f"{weekday(date)} {date.day} {month(date)}"
    return f"{text} {date.year}" if year else text


def hours(value: float) -> str:
    """``2.5 h``, ``4 h``; a true minus for negative hours."""
    rounded = round(value, 1) + 0.0
    return f"{rounded:g} h".replace("-", "−")


def exact_hours(value: float) -> str:
    """Hours to the quarter that estimates are made in: ``0.75 h``."""
    return f"{round(value, 2) + 0.0:g} h".replace("-", "−")


def per_100(odds: float) -> str:
    """Odds as a number of 100; only a certainty is 0 or 100."""
    if 0 < odds < 0.005:
        return "under 1"
    if 0.995 <= odds < 1:
        return "over 99"
    return f"{odds * 100:.0f}"


def in_100(odds: float) -> str:
    """``71 in 100``."""
    return f"{per_100(odds)} in 100"


def percent(share: float) -> str:
    return f"{round(share * 100) + 0:d} %".replace("-", "−")


def duration(span: dt.timedelta) -> str:
    """``11 h 12 min``."""
    minutes = round(span.total_seconds() / 60)
    whole, rest = divmod(minutes, 60)
    if not whole:
        return f"{rest} min"
    return f"{whole} h {rest} min" if rest else f"{whole} h"


def clean(text: str, limit: int = 200) -> str:
    """Text of a file on one line: no control characters, no halves of surrogate pairs, not endless.

    Marks that turn the direction of writing go too: left open, they would turn the rest of the page.
    """
    kept = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in text[: 4 * limit])
    safe = " ".join(kept.encode("utf-8", "replace").decode("utf-8").split())
    safe = "".join(c for c in safe if unicodedata.category(c) != "Cn" and c not in _TURNS)
    return safe if len(safe) <= limit else safe[: limit - 1] + "…"
