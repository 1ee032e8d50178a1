# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates, moments and finished gates in plain words."""

from __future__ import annotations

import datetime as dt

from nightplan.evenings.gates import GateMoment
from nightplan.evenings.zones import to_local, zone_info
from nightplan.model.results import GateForecast
from nightplan.speech import dates, tr

_TICK = dt.timedelta(seconds=1)
_DAY = dt.timedelta(days=1)


def moment_words(local: dt.datetime, *, year: bool = False) -> str:
    """``Mon 1 Nov 06:59``; a midnight names the day that it ends, since ``00:00`` is read both ways."""
    text = f"{dates.date(local.date(), year=year)} {local:%H:%M}"
    if local.time() == dt.time():
        # translators: "Mon 1 Nov 00:00 (the end of Sun 31 Oct)"
        return tr("{moment} (the end of {day})", moment=text, day=dates.date(local.date() - _DAY))
    return text


def finished_words(gate: GateForecast) -> str:
    """``finished on Sat 3 Oct`` of a gate without work left; empty where some of its work is open."""
    if gate.work_left:
        return ""
    if gate.finished_on is None:
        return tr("no work left")
    return tr("finished on {day}", day=dates.date(gate.finished_on))


def local_meaning(gate: GateMoment, zone: dt.tzinfo | str) -> str:
    """What a gate means on the artist's own clock, for a screen.

    ``zone`` is the artist's, as a tzinfo or a name. Examples: ``Mon 1 Nov 06:59 your time; that is the
    morning after the evening of Sun 31 Oct`` and ``the whole evening of Sun 24 Oct``.

    Raises:
        BadInput: ``zone`` is a name and not known.
    """
    if gate.whole_evening:
        return tr("the whole evening of {day}", day=dates.date(gate.date))
    local = to_local(gate.instant, zone_info(zone) if isinstance(zone, str) else zone)
    text = tr("{moment} your time", moment=moment_words(local))
    named = gate.named_date
    # a midnight belongs to the day that it ends
    here = (local - _TICK).date()
    if named is None or here == named:
        return text
    there = dates.date(named)
    if here > named and local.hour < 12:
        day = dates.date(local.date() - _DAY)
        return tr("{moment}; that is the morning after the evening of {day}", moment=text, day=day)
    if here > named:
        return tr("{moment}; that is the day after the date that the deadline names, {day}", moment=text, day=there)
    return tr("{moment}; that is the day before the date that the deadline names, {day}", moment=text, day=there)
