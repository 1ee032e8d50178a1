# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates, hours and odds in plain words; names from a file made safe to set in type."""

from __future__ import annotations

import datetime as dt
import unicodedata
from typing import TYPE_CHECKING

from nightplan.speech import dates, tr
from nightplan.speech.dates import month, weekday
from nightplan.speech.words import duration, exact_hours, in_100, known_hours, per_100, percent
from nightplan.speech.words import short_hours as hours

__all__ = [
    "clean",
    "clock_day",
    "day",
    "duration",
    "exact_hours",
    "hours",
    "in_100",
    "known_hours",
    "moment",
    "month",
    "per_100",
    "percent",
    "weekday",
]

if TYPE_CHECKING:
    from nightplan.evenings.gates import GateMoment

_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def day(date: dt.date | None, *, year: bool = False) -> str:
    """``Tue 26 Jan``; None lies beyond the horizon."""
    return tr("later") if date is None else dates.date(date, year=year)


def clock_day(local: dt.datetime) -> str:
    """``Tue 26 Jan, 23:59``"""
    return tr("{day}, {time}", day=day(local.date()), time=f"{local:%H:%M}")


def moment(gate: GateMoment) -> str:
    """When a gate is: ``Tue 26 Jan 2027, whole evening``, ``Tue 26 Jan 2027, 23:59 your time``."""
    if gate.whole_evening:
        return tr("{day}, whole evening", day=day(gate.date, year=True))
    return tr("{day}, {time} your time", day=day(gate.local.date(), year=True), time=f"{gate.local:%H:%M}")


def clean(text: str, limit: int = 200) -> str:
    """Text of a file on one line: no control characters, no halves of surrogate pairs, not endless.

    Marks that turn the direction of writing go too: left open, they would turn the rest of the page.
    """
    kept = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in text[: 4 * limit])
    safe = " ".join(kept.encode("utf-8", "replace").decode("utf-8").split())
    safe = "".join(c for c in safe if unicodedata.category(c) != "Cn" and c not in _TURNS)
    return safe if len(safe) <= limit else safe[: limit - 1] + "…"
