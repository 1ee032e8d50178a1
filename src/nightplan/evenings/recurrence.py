# SPDX-License-Identifier: GPL-3.0-or-later
"""Recurrences of RFC 5545 as instants, bounded in every direction.

The rule is expanded by python-dateutil on naive local times (a recurrence is a pattern of civil
times); each occurrence then becomes an instant by our zone rules: the first of two, the offset
before a gap (RFC 5545, 3.3.5). The RFC also says that an instance in a gap is ignored (3.3.10); an
appointment that takes place an hour later is the safer of the two for somebody who plans around it.

The library looks for the next occurrence until the year 9999, however long that takes. A calendar
comes from outside, so the search is held to a window of time and to a budget of steps.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from nightplan.evenings.zones import UTC, to_local, to_utc
from nightplan.model.errors import BadInput
from nightplan.speech import tr

MAX_COUNT = 10_000
#: rules that repeat within the hour have no use among evenings and can be used to keep a reader busy
_TOO_FINE = ("SECONDLY", "MINUTELY")
_FREQUENCIES = ("YEARLY", "MONTHLY", "WEEKLY", "DAILY", "HOURLY", *_TOO_FINE)
_BY = ("MONTH", "WEEKNO", "YEARDAY", "MONTHDAY", "DAY", "HOUR", "MINUTE", "SECOND", "SETPOS")
_KEYS = frozenset({"FREQ", "INTERVAL", "COUNT", "UNTIL", "WKST", *(f"BY{key}" for key in _BY)})
MAX_RULE_LENGTH = 500
#: BYHOUR × BYMINUTE × BYSECOND
_MAX_TIMES_A_DAY = 96
#: in days looked at; a step costs this much beside its days (about half a second in all)
_BUDGET, _STEP_COST = 3_000_000, 20
_MAX_LOOKED_AT = 200_000
_DAY = dt.timedelta(days=1)


@dataclass(slots=True)
class Budget:
    """What a search may still cost; one may be shared by all recurrences of a calendar."""

    steps: int = _BUDGET
    looked_at: int = _MAX_LOOKED_AT

    @property
    def spent(self) -> bool:
        """Whether nothing is left to spend."""
        return self.steps < 0 or self.looked_at <= 0


@dataclass(frozen=True, slots=True)
class Occurrences:
    """Instants of a recurrence."""

    #: aware, in UTC, in time order, each once
    instants: tuple[dt.datetime, ...]
    #: False where a bound other than the caller's window ended the search
    complete: bool


def occurrences(
    start: dt.datetime,
    zone: dt.tzinfo,
    rule: str,
    *,
    until: dt.datetime,
    excluded: Iterable[dt.datetime] = (),
    max_count: int = MAX_COUNT,
    since: dt.datetime | None = None,
    budget: Budget | None = None,
) -> Occurrences:
    """Occurrences of a rule between ``since`` and ``until``, both included.

    Args:
        start: DTSTART, naive, local to ``zone``; the first occurrence, also where the rule would not
            yield it (RFC 5545, 3.8.5.3).
        rule: the RRULE value, for example ``FREQ=WEEKLY;BYDAY=TU,TH``; its UNTIL may be in UTC.
        until: aware; later occurrences are left out.
        excluded: EXDATE values, naive, local to ``zone``. They count for COUNT.
        max_count: at most so many are returned.
        since: aware; earlier occurrences are left out (they count for COUNT).
        budget: what the search may cost, about half a second unless given; it is drawn from.

    Raises:
        BadInput: the rule cannot be read, or repeats more often than hourly.
    """
    parts = _parts(rule)
    count = _number(parts.pop("COUNT", None), "COUNT", rule)
    last = until
    if "UNTIL" in parts:
        last = min(last, _until(parts.pop("UNTIL"), zone, rule))
    if not 1000 <= start.year <= 2300:
        raise BadInput.at("DTSTART", start, tr("a year from 1000 to 2300 is accepted"))
    # a day more: around a change of the clock local times and instants are not in the same order
    end = to_local(last, zone) + _DAY
    _shorten_interval(parts, start, end)
    gone = set(excluded)
    found: set[dt.datetime] = set()
    complete = True
    allowed = budget or Budget()
    expanded = _with_start(start, _expanded(start, parts, rule, end, allowed))
    try:
        for n, local in enumerate(expanded):
            if count is not None and n >= count:
                break
            if local > end:
                break
            if allowed.looked_at <= 0:
                complete = False
                break
            allowed.looked_at -= 1
            instant = to_utc(local, zone)
            if local in gone or instant > last or (since is not None and instant < since):
                continue
            if len(found) >= max_count:
                complete = False
                break
            found.add(instant)
    except _EnoughError as stop:
        complete = stop.past_the_end
    except (ValueError, TypeError, KeyError, IndexError, OverflowError):
        raise BadInput.at("RRULE", rule, tr("yields nothing that can be dated")) from None
    return Occurrences(tuple(sorted(found)), complete)


def _parts(rule: str) -> dict[str, str]:
    if len(rule) > MAX_RULE_LENGTH:
        raise BadInput.at("RRULE", rule, tr("at most {n} characters are read", n=MAX_RULE_LENGTH))
    parts: dict[str, str] = {}
    for part in rule.strip().upper().removeprefix("RRULE:").split(";"):
        key, equals, value = part.partition("=")
        if not equals or key not in _KEYS or key in parts:
            raise BadInput.at(
                "RRULE", rule, tr("is no recurrence rule of RFC 5545, for example FREQ=WEEKLY;BYDAY=TU,TH")
            )
        parts[key] = value
    if parts.get("FREQ") not in _FREQUENCIES:
        raise BadInput.at("RRULE", rule, tr("has no FREQ of RFC 5545, for example FREQ=WEEKLY"))
    if parts["FREQ"] in _TOO_FINE:
        raise BadInput.at("RRULE", rule, tr("rules that repeat more often than hourly are not read"))
    if parts["FREQ"] == "HOURLY" and "BYSETPOS" in parts:
        raise BadInput.at("RRULE", rule, tr("BYSETPOS is not read together with FREQ=HOURLY"))
    _number(parts.get("INTERVAL"), "INTERVAL", rule)
    times = 1
    for key in ("BYHOUR", "BYMINUTE", "BYSECOND"):
        times *= len(set(parts.get(key, "0").split(",")))
    if times > _MAX_TIMES_A_DAY:
        raise BadInput.at(
            "RRULE", rule, tr("names {n} times a day, at most {most} are read", n=times, most=_MAX_TIMES_A_DAY)
        )
    return parts


#: the shortest that one step can be, in days
_UNIT_DAYS = {"HOURLY": 1 / 24, "DAILY": 1, "WEEKLY": 7, "MONTHLY": 28, "YEARLY": 365}


def _shorten_interval(parts: dict[str, str], start: dt.datetime, end: dt.datetime) -> None:
    """An interval that leads past the end is made one that does so with fewer steps inside the library.

    It goes month by month until the year 9999, for each rule, where the next occurrence is that far away.
    """
    if "INTERVAL" in parts:
        # the first period may begin a year before the first occurrence
        enough = (max(0, (end - start).days) + 800) / _UNIT_DAYS[parts["FREQ"]]
        parts["INTERVAL"] = str(min(int(parts["INTERVAL"]), int(enough) + 1))


def _number(text: str | None, key: str, rule: str) -> int | None:
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 10 and int(text) > 0):
        raise BadInput.at("RRULE", rule, tr("its {key} is no whole number from 1 to 999999999", key=key))
    return int(text)


def _until(value: str, zone: dt.tzinfo, rule: str) -> dt.datetime:
    """UNTIL as an instant: in UTC, local to the zone, or a date whose whole day counts."""
    try:
        if value.endswith("Z"):
            return dt.datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
        if "T" in value:
            return to_utc(dt.datetime.strptime(value, "%Y%m%dT%H%M%S"), zone)
        return to_utc(dt.datetime.strptime(value, "%Y%m%d").replace(hour=23, minute=59, second=59), zone)
    except (ValueError, OverflowError):
        raise BadInput.at("RRULE", rule, tr("its UNTIL is no date or time")) from None


def _with_start(start: dt.datetime, expanded: Iterator[dt.datetime]) -> Iterator[dt.datetime]:
    yield start
    for local in expanded:
        if local != start:
            yield local


def _expanded(
    start: dt.datetime, parts: dict[str, str], rule: str, end: dt.datetime, budget: Budget
) -> Iterator[dt.datetime]:
    from dateutil.rrule import rrulestr

    try:
        read: Any = rrulestr(";".join(f"{k}={v}" for k, v in parts.items()), dtstart=start.replace(microsecond=0))
    except (ValueError, TypeError, KeyError, IndexError, OverflowError, AttributeError):
        raise BadInput.at("RRULE", rule, tr("is no recurrence rule of RFC 5545")) from None
    read.__class__ = _bounded()
    read.nightplan_end = end.date()
    read.nightplan_budget = budget
    positions = parts.get("BYSETPOS")
    # months that the library counts through to get to the next step, dearer than a day that it looks at
    jump = int(parts.get("INTERVAL", "1")) * _UNIT_DAYS[parts["FREQ"]] / 28
    read.nightplan_cost_of_a_step = _STEP_COST + int(3 * jump)
    read.nightplan_cost_of_a_day = 1 + (0 if positions is None else positions.count(",") + 1)
    return iter(read)


class _EnoughError(Exception):
    """Ends a search inside the library."""

    def __init__(self, past_the_end: bool) -> None:
        super().__init__()
        self.past_the_end = past_the_end


@cache
def _bounded() -> Any:
    """The library's rule, its loop unchanged, but each step of it asks whether to go on.

    ``rrule._iter`` loops without a bound while a rule yields nothing, and calls one of four methods of
    ``_iterinfo`` once a step. The same code is run with a namespace in which ``_iterinfo`` is ours.
    """
    from types import FunctionType

    from dateutil import rrule as library

    class Steps(library._iterinfo):  # type: ignore[misc]
        def _step(self, days: int, year: int, month: int, day: int) -> None:
            end = self.rrule.nightplan_end
            if (year, month, day) > (end.year, end.month, end.day):
                raise _EnoughError(True)
            budget = self.rrule.nightplan_budget
            budget.steps -= self.rrule.nightplan_cost_of_a_step + days * self.rrule.nightplan_cost_of_a_day
            if budget.steps < 0:
                raise _EnoughError(False)

        def ydayset(self, year: int, month: int, day: int) -> Any:
            self._step(366, year, 1, 1)
            return super().ydayset(year, month, day)

        def mdayset(self, year: int, month: int, day: int) -> Any:
            self._step(31, year, month, 1)
            return super().mdayset(year, month, day)

        def wdayset(self, year: int, month: int, day: int) -> Any:
            self._step(7, year, month, day)
            return super().wdayset(year, month, day)

        def ddayset(self, year: int, month: int, day: int) -> Any:
            self._step(1, year, month, day)
            return super().ddayset(year, month, day)

    class BoundedRule(library.rrule):  # type: ignore[misc]
        _iter = FunctionType(library.rrule._iter.__code__, {**vars(library), "_iterinfo": Steps}, "_iter")

    return BoundedRule
