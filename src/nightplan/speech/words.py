# SPDX-License-Identifier: GPL-3.0-or-later
"""Hours, odds and counts in plain words, for the window, the terminal and the pages alike."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from nightplan.speech import dates
from nightplan.speech.texts import tr, trc, trn


def day(of: dt.date | None, *, year: bool = False) -> str:
    """``Tue 12 Oct``; None lies beyond the plan."""
    return tr("beyond the plan") if of is None else dates.date(of, year=year)


def per_100(odds: float) -> str:
    """Odds as a number of 100; only a certainty is 0 or 100."""
    whole = round(odds * 100)
    if whole == 100 and odds < 1:
        return tr("over 99")
    if whole == 0 and odds > 0:
        return tr("under 1")
    return str(whole)


def in_100(odds: float) -> str:
    """``71 in 100``; never rounded to a certainty that is not there."""
    return tr("{odds} in 100", odds=per_100(odds))


def in_100_against(odds: float, asked: float) -> str:
    """As ``in_100``; ``79.6 in 100`` where rounding would hide that 80 are not reached."""
    if odds < asked and round(odds * 100) >= round(asked * 100):
        return tr("{odds} in 100", odds=dates.decimal(int(odds * 1000) / 10, 1))
    return in_100(odds)


def hours(value: float) -> str:
    """``2.5 h``"""
    return tr("{hours} h", hours=dates.decimal(value, 1))


def short_hours(value: float) -> str:
    """``4 h``, ``2.5 h``"""
    return tr("{hours} h", hours=dates.decimal(value, 1, least=0))


def exact_hours(value: float) -> str:
    """Hours to the quarter that estimates are made in: ``0.75 h``."""
    return tr("{hours} h", hours=dates.decimal(value, 2, least=0))


def known_hours(value: float) -> str:
    """Quarters as they were said, ``3.25 h``; what was worked out to a tenth, ``3.8 h``."""
    quarters = value * 4
    return exact_hours(value) if abs(quarters - round(quarters)) < 1e-6 else short_hours(value)


def minutes(value_hours: float) -> str:
    """``15 min``, of hours"""
    return tr("{minutes} min", minutes=round(value_hours * 60))


def duration(span: dt.timedelta) -> str:
    """``11 h 12 min``"""
    whole, rest = divmod(round(span.total_seconds() / 60), 60)
    if not whole:
        return tr("{minutes} min", minutes=rest)
    return tr("{hours} h {minutes} min", hours=whole, minutes=rest) if rest else tr("{hours} h", hours=whole)


def percent(share: float) -> str:
    """``71 %``, of a share from 0 to 1"""
    return tr("{share} %", share=dates.decimal(share * 100, 0))


def listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``"""
    if len(words) < 2:
        return "".join(words)
    return tr("{most} and {last}", most=trc("between the parts of a list", ", ").join(words[:-1]), last=words[-1])


def evenings(n: int) -> str:
    """``1 evening``, ``3 evenings``"""
    return trn("{n} evening", "{n} evenings", n)
