# SPDX-License-Identifier: GPL-3.0-or-later
"""Small plain words that the recoveries share."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from nightplan.speech import dates, tr
from nightplan.speech.dates import long_weekday as weekday
from nightplan.speech.words import exact_hours as hours
from nightplan.speech.words import in_100
from nightplan.speech.words import listed as join

__all__ = ["days", "hours", "in_100", "join", "minutes_of", "weekday"]


def minutes_of(amount_hours: float) -> int:
    """Hours as whole minutes, at least one: no move is free."""
    return max(1, round(amount_hours * 60.0))


def days(of: Sequence[dt.date], most: int = 3) -> str:
    """``Sat 6 Feb`` or ``Sat 6 Feb, Sun 7 Feb and 3 more``: at most ``most`` of them by name."""
    shown = [dates.date(d) for d in of[:most]]
    rest = len(of) - most
    return join([*shown, tr("{rest} more", rest=rest)]) if rest > 0 else join(shown)
