# SPDX-License-Identifier: GPL-3.0-or-later
"""Time zones at the edges: IANA names and fixed offsets, and local times to instants.

Gap and overlap follow the first reading of RFC 5545, 3.3.5: a local time that occurs twice is the
first. For one that does not exist, an evening is refused (its start could be meant either way) while
a gate takes the offset before the gap, as the RFC does.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from nightplan.model.errors import BadInput
from nightplan.speech import tr

UTC = dt.timezone.utc  # noqa: UP017 - one name for it everywhere
#: where a calendar day ends first on Earth: the earliest reading of a date without a zone
EARLIEST_ZONE = "+14:00"

# re.ASCII: other scripts' digits are not an offset that anybody writes
_OFFSET = re.compile(r"(?:UTC|GMT)?([+-])(\d{1,2})(?::?(\d{2}))?", re.ASCII)


@lru_cache(maxsize=256)
def zone_info(name: str) -> dt.tzinfo:
    """The zone for an IANA name (``Europe/Lisbon``), ``UTC``, or a fixed offset (``+14:00``, ``UTC-8``).

    Raises:
        BadInput: the name is neither.
    """
    if name in ("UTC", "Z"):
        return UTC
    match = _OFFSET.fullmatch(name)
    if match:
        sign, hours, minutes = match[1], int(match[2]), int(match[3] or 0)
        total = (hours * 60 + minutes) * (-1 if sign == "-" else 1)
        if minutes < 60 and -12 * 60 <= total <= 14 * 60:
            return dt.timezone(dt.timedelta(minutes=total))
        raise BadInput.at("zone", name, tr("a fixed offset lies between -12:00 and +14:00"))
    try:
        # names that mean another zone on another computer
        if name in ("localtime", "posixrules", "Factory"):
            raise ValueError(name)
        # an absolute path or "..": ZoneInfo refuses it with ValueError; a directory with an OSError
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput.at(
            "zone", name, tr("is neither a time zone such as Europe/Lisbon nor an offset such as -08:00")
        ) from None


def exists(local: dt.datetime, zone: dt.tzinfo) -> bool:
    """Whether the naive local time occurs at all in the zone (False inside a spring gap)."""
    back = local.replace(tzinfo=zone).astimezone(UTC).astimezone(zone)
    return back.replace(tzinfo=None) == local


def repeated(local: dt.datetime, zone: dt.tzinfo) -> bool:
    """Whether the naive local time occurs twice in the zone (the clock goes back over it)."""
    first, second = (local.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1))
    return first != second and exists(local, zone)


def to_utc(local: dt.datetime, zone: dt.tzinfo) -> dt.datetime:
    """A naive local time as an instant: the first of two, the offset before a gap (RFC 5545, 3.3.5)."""
    return local.replace(tzinfo=zone, fold=0).astimezone(UTC)


def to_local(instant: dt.datetime, zone: dt.tzinfo) -> dt.datetime:
    """An instant as naive local time of the zone."""
    return instant.astimezone(zone).replace(tzinfo=None)
