# SPDX-License-Identifier: GPL-3.0-or-later
"""Recurrences of RFC 5545 as instants, bounded.

The rule is expanded by python-dateutil on naive local times (a recurrence is a pattern of civil
times); each occurrence then becomes an instant by our zone rules: the first of two, the offset
before a gap (RFC 5545, 3.3.5).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from itertools import islice

from nightplan.evenings.zones import UTC, to_local, to_utc
from nightplan.model.errors import BadInput

MAX_COUNT = 10_000
#: rules that repeat within the hour have no use among evenings and can be used to keep a reader busy
_TOO_FINE = ("SECONDLY", "MINUTELY")


def expand(
    start: dt.datetime,
    zone: dt.tzinfo,
    rule: str,
    *,
    until: dt.datetime,
    excluded: Iterable[dt.datetime] = (),
    max_count: int = MAX_COUNT,
) -> tuple[dt.datetime, ...]:
    """Occurrences of a rule as instants in UTC, in time order.

    Args:
        start: DTSTART, naive, local to ``zone``; an occurrence only where the rule yields it or has it first.
        rule: the RRULE value, for example ``FREQ=WEEKLY;BYDAY=TU,TH``; its UNTIL may be in UTC.
        until: aware; later occurrences are left out.
        excluded: EXDATE values, naive, local to ``zone``.
        max_count: at most so many are returned.

    Raises:
        BadInput: the rule cannot be read, or repeats more often than hourly.
    """
    from dateutil.rrule import rrulestr

    parts: dict[str, str] = {}
    for part in rule.strip().upper().split(";"):
        key, _, value = part.partition("=")
        parts[key] = value
    if parts.get("FREQ") in _TOO_FINE:
        raise BadInput.at("RRULE", rule, "rules that repeat more often than hourly are not read")
    end = to_local(until, zone)
    count = max_count
    try:
        # counted here: the library would search to the year 9999 for what a counted rule never yields
        count = min(count, int(parts.pop("COUNT", count)))
    except ValueError:
        raise BadInput.at("RRULE", rule, "its COUNT is no number") from None
    last = min(_local_until(parts["UNTIL"], zone, rule), end) if "UNTIL" in parts else end
    parts["UNTIL"] = last.strftime("%Y%m%dT%H%M%S")
    try:
        expanded = rrulestr(";".join(f"{k}={v}" for k, v in parts.items()), dtstart=start)
    except (ValueError, TypeError, KeyError, IndexError, OverflowError, AttributeError):
        raise BadInput.at("RRULE", rule, "is no recurrence rule of RFC 5545") from None
    gone = set(excluded)
    return tuple(to_utc(local, zone) for local in islice(expanded, count) if local not in gone)


def _local_until(value: str, zone: dt.tzinfo, rule: str) -> dt.datetime:
    """UNTIL as a naive local time of the zone."""
    try:
        if value.endswith("Z"):
            return to_local(dt.datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC), zone)
        if "T" in value:
            return dt.datetime.strptime(value, "%Y%m%dT%H%M%S")
        # a date: that whole day counts
        return dt.datetime.strptime(value, "%Y%m%d").replace(hour=23, minute=59, second=59)
    except ValueError:
        raise BadInput.at("RRULE", rule, "its UNTIL is no date or time") from None
