# SPDX-License-Identifier: GPL-3.0-or-later
"""Busy times out of an iCalendar file (RFC 5545): recurrences, exceptions, whole days, zones, cancelled, free.

The file comes from outside. What is read of it (``calendar_lines``), the cost of all its recurrences together and the
number of busy times it yields are bounded; what goes beyond is refused in one sentence, since a calendar read by half
would promise evenings that are not there. A single entry that cannot be read is left out and named.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from nightplan.evenings.calendar_lines import content_lines, known_zone
from nightplan.evenings.recurrence import Budget, occurrences
from nightplan.evenings.zones import UTC, to_local, to_utc
from nightplan.model.errors import BadInput, shorten
from nightplan.speech import tr

#: within the window that is asked for
MAX_BUSY = 5_000
#: of all recurrences together: about two seconds
_STEPS, _LOOKED_AT = 12_000_000, 400_000
#: a day of the calendar begins for an evening that runs past midnight when the night is over
DAY_BEGINS = dt.time(4)
_DAY = dt.timedelta(days=1)
_LONGEST = dt.timedelta(days=3660)
_FAULTS = (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError, RecursionError, ArithmeticError)


@dataclass(frozen=True, slots=True)
class Busy:
    """A time that is taken; naive, local to the zone asked for."""

    start: dt.datetime
    end: dt.datetime
    why: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An entry that takes no time, and the reason."""

    what: str
    reason: str


@dataclass(frozen=True, slots=True)
class BusyFound:
    """What a calendar file says of busy times."""

    #: in time order
    busy: tuple[Busy, ...]
    #: entries that take no time: free, cancelled, our own, unreadable
    left_out: tuple[LeftOut, ...]


def read_busy(
    text: str | bytes, zone: dt.tzinfo, *, since: dt.datetime, until: dt.datetime, own: str = ""
) -> BusyFound:
    """Busy times between two instants.

    Args:
        text: the file.
        zone: the artist's; floating times and whole days are in it (RFC 5545, 3.3.5).
        since: aware; what ends before is left out.
        until: aware; what starts at or after it is left out.
        own: entries whose UID ends with this are the project's own evenings and take nothing away.

    Raises:
        BadInput: no calendar, or one beyond the limits.
    """
    return _Reader(zone, since.astimezone(UTC), until.astimezone(UTC), own).read(content_lines(text))


@dataclass(frozen=True, slots=True)
class _FromOn:
    """What holds from one occurrence on (RANGE=THISANDFUTURE, RFC 5545, 3.2.13 and 3.8.4.4)."""

    since: dt.datetime
    #: of the wall clock of the series
    shift: dt.timedelta
    length: dt.timedelta
    name: str
    #: False: cancelled or free from there on
    takes: bool


class _BeyondError(BadInput):
    """The calendar as a whole is too much; no entry of it is taken."""


class _Reader:
    def __init__(self, zone: dt.tzinfo, since: dt.datetime, until: dt.datetime, own: str) -> None:
        self.zone, self.since, self.until, self.own = zone, since, until, own
        self.budget = Budget(_STEPS, _LOOKED_AT)
        self.found: list[Busy] = []
        self.left_out: list[LeftOut] = []

    def read(self, lines: list[str]) -> BusyFound:
        import warnings

        import icalendar

        # forgets the zones of an earlier file, which are not this one's
        forget: Any = icalendar.use_zoneinfo
        forget()
        try:
            with warnings.catch_warnings():
                # guesses about names of zones; ours are made in _zone_of
                warnings.simplefilter("ignore")
                calendars = icalendar.Calendar.from_ical("\r\n".join([*lines, ""]), multiple=True)
        except _FAULTS as error:
            raise BadInput(tr("the calendar cannot be read: {fault}", fault=shorten(str(error), 120))) from None
        finally:
            forget()
        series: dict[str, list[Any]] = defaultdict(list)
        for n, component in enumerate(c for calendar in calendars for c in calendar.walk()):
            if component.name == "VEVENT":
                # an entry without a UID stands for itself
                series[str(component.get("uid") or f"\0{n}")].append(component)
            elif component.name == "VFREEBUSY":
                self._free_busy(component)
        for uid, events in series.items():
            self._series(uid, events)
        found = sorted(set(self.found), key=lambda b: (b.start, b.end, b.why))
        return BusyFound(tuple(found), tuple(self.left_out))

    # ---- one series of entries -------------------------------------------------------------------
    def _series(self, uid: str, events: list[Any]) -> None:
        """The entries of one UID: the rule and the single ones that were changed."""
        if self.own and uid.endswith(self.own):
            self.left_out.append(LeftOut(_name(events[0]), tr("is an evening or gate of this project itself")))
            return
        newest: dict[Any, Any] = {}
        for event in events:
            try:
                key = self._instant(event["recurrence-id"]) if "recurrence-id" in event else None
            except _FAULTS:
                self.left_out.append(LeftOut(_name(event), tr("its RECURRENCE-ID cannot be read")))
                continue
            # of two versions the one with the higher SEQUENCE holds
            if key not in newest or _sequence(event) >= _sequence(newest[key]):
                newest[key] = event
        master = newest.pop(None, None)
        if master is not None:
            self._event(master, frozenset(newest), self._from_on(master, newest))
        for event in newest.values():
            self._event(event, frozenset(), single=True)

    def _from_on(self, master: Any, changed: dict[Any, Any]) -> tuple[_FromOn, ...]:
        """Changes that hold for every later occurrence, too, in order of time."""
        found = []
        for instant, event in changed.items():
            how = str(event["recurrence-id"].params.get("RANGE", "")).upper()
            if not how:
                continue
            if how != "THISANDFUTURE":
                words = tr(
                    "RANGE={range} is not known to the standard; only this one occurrence is changed", range=how[:20]
                )
                self.left_out.append(LeftOut(_name(event), words))
                continue
            takes = _value(event, "status") != "CANCELLED" and _value(event, "transp") != "TRANSPARENT"
            try:
                found.append(self._change(master, event, instant, takes))
            except _FAULTS as error:
                words = tr("cannot be read for what comes later ({fault})", fault=shorten(str(error), 60))
                self.left_out.append(LeftOut(_name(event), words))
        return tuple(sorted(found, key=lambda f: f.since))

    def _change(self, master: Any, event: Any, instant: dt.datetime, takes: bool) -> _FromOn:
        start = master["dtstart"].dt
        zone = self._zone_of(master["dtstart"]) if isinstance(start, dt.datetime) else self.zone
        if "dtstart" not in event:
            if takes:
                raise BadInput(tr("has no DTSTART"))
            return _FromOn(instant, dt.timedelta(), dt.timedelta(), _name(event), takes)
        begin = event["dtstart"].dt
        own = self._zone_of(event["dtstart"]) if isinstance(begin, dt.datetime) else self.zone
        local = _naive(begin, own)
        wall = local if own == zone else to_local(to_utc(local, own), zone)
        shift = wall - to_local(instant, zone)
        if abs(shift) > _LONGEST:
            raise BadInput(tr("moves what comes later by more than ten years"))
        return _FromOn(instant, shift, self._length(event, begin, local, own), _name(event), takes)

    def _event(
        self, event: Any, replaced: frozenset[dt.datetime], later: tuple[_FromOn, ...] = (), single: bool = False
    ) -> None:
        name = _name(event)
        if _value(event, "status") == "CANCELLED":
            self.left_out.append(LeftOut(name, tr("is cancelled")))
            return
        if _value(event, "transp") == "TRANSPARENT":
            self.left_out.append(LeftOut(name, tr("is marked as free")))
            return
        try:
            self._times(event, name, replaced, later, single)
        except _BeyondError:
            raise
        except BadInput as error:
            self.left_out.append(LeftOut(name, error.sentence))
        except _FAULTS as error:
            self.left_out.append(LeftOut(name, tr("cannot be read ({fault})", fault=shorten(str(error), 80))))

    def _times(
        self, event: Any, name: str, replaced: frozenset[dt.datetime], later: tuple[_FromOn, ...], single: bool
    ) -> None:
        if "dtstart" not in event:
            raise BadInput(tr("has no DTSTART"))
        start = event["dtstart"].dt
        whole_day = not isinstance(start, dt.datetime)
        zone = self.zone if whole_day else self._zone_of(event["dtstart"])
        local = _naive(start, zone)
        length = self._length(event, start, local, zone)
        rules = [] if single else _listed(event.get("rrule"))
        gone, gone_days = self._exceptions(event)
        starts: dict[dt.datetime, dt.timedelta] = {}
        # what is moved or made longer from some day on comes from further away
        since = self.since - max([length, *(f.length + f.shift for f in later)]) - _DAY
        until = self.until - min([dt.timedelta(), *(f.shift for f in later)])
        if not rules:
            starts[to_utc(local, zone)] = length
        for rule in rules[:5]:
            said = rule.to_ical().decode()
            rows = occurrences(local, zone, said, since=since, until=until, budget=self.budget, max_count=MAX_BUSY)
            if self.budget.spent:
                raise _BeyondError(tr("the calendar repeats its entries more often than is read"))
            if not rows.complete:
                raise _BeyondError(tr("{entry} repeats more than {n} times, which is not read", entry=name, n=MAX_BUSY))
            starts.update(dict.fromkeys(rows.instants, length))
        for extra, own in () if single else self._extra(event):
            starts[extra] = length if own is None else own
        days = {to_local(r, self.zone).date() for r in replaced} if whole_day else set()
        for instant, span in starts.items():
            begin = to_local(instant, zone)
            if instant in gone or instant in replaced or begin.date() in gone_days:
                continue
            if whole_day and begin.date() in days:
                continue
            change = next((f for f in reversed(later) if f.since <= instant), None)
            if change is None:
                self._add(begin, begin + span, zone, name, whole_day)
            elif change.takes:
                moved = begin + change.shift
                self._add(moved, moved + change.length, zone, change.name, whole_day)

    def _add(self, begin: dt.datetime, end: dt.datetime, zone: dt.tzinfo, name: str, whole_day: bool) -> None:
        """Wall times of the entry's zone: a meeting from 9 to 5 is that also on the night of a clock change."""
        if whole_day:
            begin = dt.datetime.combine(begin.date(), DAY_BEGINS)
        first, last = to_utc(begin, zone), to_utc(end, zone)
        if last <= first or last <= self.since or first >= self.until:
            return
        if len(self.found) >= MAX_BUSY:
            raise _BeyondError(
                tr("the calendar has more than {n} busy times between announcement and last gate", n=MAX_BUSY)
            )
        self.found.append(Busy(to_local(first, self.zone), to_local(last, self.zone), name))

    def _length(self, event: Any, start: Any, local: dt.datetime, zone: dt.tzinfo) -> dt.timedelta:
        """DTEND − DTSTART or DURATION; a date alone lasts the day, a time alone no time (RFC 5545, 3.6.1)."""
        if "dtend" in event:
            end = event["dtend"].dt
            if isinstance(end, dt.datetime) != isinstance(start, dt.datetime):
                raise BadInput(tr("begins with a time and ends with a date, or the other way round"))
            other = self._zone_of(event["dtend"]) if isinstance(end, dt.datetime) else zone
            wall = _naive(end, other)
            length = (wall if other == zone else to_local(to_utc(wall, other), zone)) - local
        elif "duration" in event:
            length = event["duration"].dt
        else:
            length = dt.timedelta() if isinstance(start, dt.datetime) else _DAY
        if not dt.timedelta() <= length <= _LONGEST:
            raise BadInput(tr("ends before it begins, or lasts longer than ten years"))
        return length

    def _exceptions(self, event: Any) -> tuple[set[dt.datetime], set[dt.date]]:
        instants: set[dt.datetime] = set()
        days: set[dt.date] = set()
        for row in _listed(event.get("exdate")):
            for value in row.dts:
                if isinstance(value.dt, dt.datetime):
                    zone = self._zone_of(value, row)
                    instants.add(to_utc(_naive(value.dt, zone), zone))
                else:
                    days.add(value.dt)
        return instants, days

    def _extra(self, event: Any) -> Iterator[tuple[dt.datetime, dt.timedelta | None]]:
        """RDATE: dates, times, or periods with a length of their own."""
        for row in _listed(event.get("rdate")):
            for value in row.dts:
                when = value.dt
                zone = self._zone_of(value, row)
                if isinstance(when, tuple):
                    begin, end = when
                    span = end if isinstance(end, dt.timedelta) else _naive(end, zone) - _naive(begin, zone)
                    yield to_utc(_naive(begin, zone), zone), span
                else:
                    yield to_utc(_naive(when, zone if isinstance(when, dt.datetime) else self.zone), zone), None

    def _free_busy(self, component: Any) -> None:
        for row in _listed(component.get("freebusy")):
            for period in row if isinstance(row, list) else [row]:
                if str(getattr(period, "params", {}).get("FBTYPE", "BUSY")).upper() == "FREE":
                    continue
                try:
                    start, end = period.dt if hasattr(period, "dt") else (period.start, period.end)
                    end = start + end if isinstance(end, dt.timedelta) else end
                    zone = start.tzinfo or self.zone
                    self._add(_naive(start, zone), _naive(end, zone), zone, tr("busy"), False)
                except _FAULTS:
                    self.left_out.append(LeftOut("FREEBUSY", tr("cannot be read")))

    # ---- zones -----------------------------------------------------------------------------------
    def _zone_of(self, value: Any, row: Any = None) -> dt.tzinfo:
        """The zone that a time is written in; a floating time is the artist's."""
        when = value.dt[0] if isinstance(value.dt, tuple) else value.dt
        params = getattr(value, "params", {}) or {}
        name = params.get("TZID") or (getattr(row, "params", {}) or {}).get("TZID")
        if name and (known := known_zone(str(name))) is not None:
            return known
        tz = getattr(when, "tzinfo", None)
        return self.zone if tz is None else tz

    def _instant(self, value: Any) -> dt.datetime:
        zone = self._zone_of(value) if isinstance(value.dt, dt.datetime) else self.zone
        return to_utc(_naive(value.dt, zone), zone)


def _naive(when: Any, zone: dt.tzinfo) -> dt.datetime:
    """A date or time as naive local time of its zone."""
    if not isinstance(when, dt.datetime):
        when = dt.datetime.combine(when, dt.time())
    if not 1000 <= when.year <= 2300:
        raise BadInput(tr("lies outside the years 1000 to 2300"))
    if when.tzinfo is None:
        return when.replace(microsecond=0)  # type: ignore[no-any-return]
    return when.astimezone(zone).replace(tzinfo=None, microsecond=0)  # type: ignore[no-any-return]


def _listed(value: Any) -> list[Any]:
    return [] if value is None else list(value) if isinstance(value, list) else [value]


def _value(event: Any, key: str) -> str:
    values: Iterable[Any] = _listed(event.get(key))
    return next((str(v).strip().upper() for v in values), "")


def _sequence(event: Any) -> int:
    try:
        return int(event.get("sequence", 0))
    except (TypeError, ValueError):
        return 0


def _name(event: Any) -> str:
    """SUMMARY on one line of at most 120 characters."""
    text = " ".join(next((str(v) for v in _listed(event.get("summary"))), "").split())[:120]
    text = "".join(c for c in text if c.isprintable())
    return text or tr("busy")
