# SPDX-License-Identifier: GPL-3.0-or-later
"""Dated evenings: weekly pattern + extras − days off − busy times, as instants.

An evening is a civil date, a local start and elapsed hours; it may run past midnight and still
belongs to its date. Hours are elapsed hours: on a daylight-saving night the clock on the wall shows
more or fewer.
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice, takewhile
from typing import Literal

from nightplan.evenings.gates import FIRST_YEAR, LAST_YEAR, GateMoment, gate_moment, project_zone
from nightplan.evenings.pattern import Origin, Slot, merged_changes, promised
from nightplan.evenings.spans import Spans
from nightplan.evenings.zones import UTC, to_local, to_utc
from nightplan.model.check import MAX_YEARS
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import dates, tr, trn

#: the walk goes on past the last gate for so long, so that late finishes have dates
TAIL_WEEKS = 8
#: where the log has an evening that the calendar has not
USUAL_START = dt.time(20)

Cause = Literal["off", "busy", "lost", "deadline"]


@dataclass(frozen=True, slots=True)
class Evening:
    """One dated slot of work."""

    date: dt.date
    start: dt.time
    #: elapsed hours that can be worked, after clipping
    hours: float
    chance: float
    #: aware, in UTC
    start_at: dt.datetime
    origin: Origin
    #: the id of the gate whose instant cut the evening short
    clipped_by: str | None = None
    #: belongs to the weeks after the last gate
    tail: bool = False

    @property
    def end_at(self) -> dt.datetime:
        """Aware, in UTC; elapsed hours after the start."""
        return self.start_at + dt.timedelta(hours=self.hours)


@dataclass(frozen=True, slots=True)
class TakenEvening:
    """An evening that the pattern promised and something took away."""

    date: dt.date
    start: dt.time
    hours: float
    cause: Cause
    why: str


@dataclass(frozen=True, slots=True)
class Calendar:
    """All evenings of a project in order of time, with its gates as instants."""

    zone: dt.tzinfo
    #: in time order, none overlaps the next; those of the tail come last and carry ``tail=True``
    evenings: tuple[Evening, ...]
    taken: tuple[TakenEvening, ...]
    #: in time order
    gates: tuple[GateMoment, ...]

    def gate(self, gate_id: str) -> GateMoment:
        """Raises KeyError where there is no such gate."""
        for moment in self.gates:
            if moment.id == gate_id:
                return moment
        raise KeyError(gate_id)

    def on(self, date: dt.date) -> tuple[Evening, ...]:
        """The evenings of a civil date (usually one or none)."""
        first = bisect_left(self.evenings, date, key=_date_of)
        return tuple(takewhile(lambda e: e.date == date, islice(self.evenings, first, None)))

    def before(self, gate: GateMoment) -> tuple[tuple[Evening, float], ...]:
        """Evenings that start before the gate, each with its hours up to the gate's instant."""
        return tuple((e, hours) for e in self.evenings if (hours := hours_before(e, gate)) > 0)

    def evening_date(self, instant: dt.datetime) -> dt.date:
        """The civil date that an instant belongs to: that of the evening around it, else the local date.

        Where one evening ends as the next begins, the instant belongs to the one that ends.
        """
        n = bisect_left(self.evenings, instant, key=_start_of)
        # n is the first evening that starts at or after the instant
        if n and instant <= self.evenings[n - 1].end_at:
            return self.evenings[n - 1].date
        if n < len(self.evenings) and self.evenings[n].start_at == instant:
            return self.evenings[n].date
        return instant.astimezone(self.zone).date()


def _date_of(evening: Evening) -> dt.date:
    return evening.date


def _start_of(evening: Evening) -> dt.datetime:
    return evening.start_at


def hours_before(evening: Evening, gate: GateMoment) -> float:
    """Elapsed hours of the evening that lie before the gate."""
    seconds = (gate.instant - evening.start_at).total_seconds()
    return min(evening.hours, max(0.0, seconds / 3600.0))


def calendar(project: Project) -> Calendar:
    """All evenings from the announcement to the last gate, and eight weeks of the pattern beyond.

    A gate on a date counts the whole evening of that date; the last gate that is an instant cuts the
    evening short that it falls into. An evening that a busy time touches is taken as a whole. Linear in
    the days and in each list of the project, up to sorting.

    Raises:
        BadInput: an unknown zone, an evening that counts and whose start does not exist on a
            daylight-saving night, two evenings that overlap, a span or a number of evenings beyond what
            is planned, or no evening at all.
    """
    zone = project_zone(project)
    gates = tuple(gate_moment(project, g) for g in project.gates)
    last = max((g.date for g in gates), default=project.announced)
    _check_span(project, last)
    end = last + dt.timedelta(weeks=TAIL_WEEKS)
    cut = _last_instant(gates)
    off = Spans((o.from_.toordinal(), o.to.toordinal() + 1, o.why) for o in project.off)
    busy = Spans(_busy(project, zone, end))
    changes = merged_changes(project)

    kept: list[Slot] = []
    taken: list[tuple[dt.datetime, TakenEvening]] = []
    for slot in sorted(promised(project, changes, zone, end), key=lambda s: (s.start_at, s.date, s.hours, s.chance)):
        day, change = slot.date.toordinal(), changes.get(slot.date)
        # the gate first: what is busy after the hand-in takes nothing away
        hours = _hours_until(slot, cut)
        start = slot.start_at.timestamp()
        cause: Cause
        if (why := off.meeting(day, day + 1)) is not None:
            cause = "off"
        elif change is not None and change.lost:
            cause, why = "lost", change.why
        elif (why := busy.meeting(start, start + hours * 3600.0)) is not None:
            cause = "busy"
        else:
            kept.append(slot)
            continue
        taken.append((slot.start_at, TakenEvening(slot.date, slot.start, slot.hours, cause, why)))

    gates = _counting_whole_evenings(gates, kept, cut)
    evenings = list(_dated(kept, gates, cut, project))
    if not evenings or evenings[0].tail:
        raise BadInput(_no_evening(project, last, sum(t.date <= last for _, t in taken)))
    return Calendar(zone, tuple(evenings), tuple(t for _, t in taken), gates)


def _check_span(project: Project, last: dt.date) -> None:
    # also held by the check of a whole project; here for values that were put together in code
    if not FIRST_YEAR <= project.announced.year <= LAST_YEAR:
        raise BadInput.at(
            "announced",
            project.announced,
            tr("a year from {first} to {last} is accepted", first=FIRST_YEAR, last=LAST_YEAR),
        )
    if (last - project.announced).days > MAX_YEARS * 366 + 2:
        raise BadInput.at(
            "gates",
            last,
            tr(
                "the last gate is more than {years} years after the announcement ({day})",
                years=MAX_YEARS,
                day=project.announced,
            ),
        )


def _no_evening(project: Project, last: dt.date, taken: int) -> str:
    if not project.week and not project.extra:
        return tr(
            "week: no evening is left between the announcement ({announced}) and the last gate ({last}), "
            "nor was any named; add an evening to week or to extra",
            announced=project.announced,
            last=last,
        )
    if taken:
        return trn(
            "week: no evening is left between the announcement ({announced}) and the last gate ({last}); "
            "{n} of the pattern fall on days off, busy times or lost evenings; add an evening to week or to extra",
            "week: no evening is left between the announcement ({announced}) and the last gate ({last}); "
            "{n} of the pattern fall on days off, busy times or lost evenings; add an evening to week or to extra",
            taken,
            announced=project.announced,
            last=last,
        )
    return tr(
        "week: no evening is left between the announcement ({announced}) and the last gate ({last}); "
        "add an evening to week or to extra",
        announced=project.announced,
        last=last,
    )


def _busy(project: Project, zone: dt.tzinfo, end: dt.date) -> Iterator[tuple[float, float, str]]:
    # clamped first: an instant in year 1 or 9999 cannot be turned to UTC
    first = dt.datetime.combine(project.announced - dt.timedelta(days=2), dt.time())
    final = dt.datetime.combine(end + dt.timedelta(days=3), dt.time())
    for b in project.busy:
        start, stop = max(b.from_, first), min(b.to, final)
        if start < stop:
            yield to_utc(start, zone).timestamp(), to_utc(stop, zone).timestamp(), b.why


@dataclass(frozen=True, slots=True)
class _Cut:
    """The last gate that is an instant: it ends the evening that it falls into."""

    gate_id: str
    instant: dt.datetime
    #: a gate on this date counts every evening before it in full
    from_day: dt.date


def _last_instant(gates: tuple[GateMoment, ...]) -> _Cut | None:
    # of two gates at one instant the id decides, not the order in the file
    instants = sorted((g.instant, g.id) for g in gates if not g.whole_evening)
    if not instants:
        return None
    instant, gate_id = instants[-1]
    return _Cut(gate_id, instant, max((g.date for g in gates if g.whole_evening), default=dt.date.min))


def _hours_until(slot: Slot, cut: _Cut | None) -> float:
    """Hours of a slot up to the cut; all of them where the slot begins after it (it is late, not short)."""
    if cut is None or slot.date < cut.from_day or slot.start_at >= cut.instant:
        return slot.hours
    return min(slot.hours, (cut.instant - slot.start_at).total_seconds() / 3600.0)


def _counting_whole_evenings(
    gates: tuple[GateMoment, ...], kept: list[Slot], cut: _Cut | None
) -> tuple[GateMoment, ...]:
    """Gates on a date moved to the end of that evening, in time order.

    Where the hand-in falls into that very evening, the date ends with it.
    """
    ends: dict[dt.date, dt.datetime] = {}
    cut_day = None
    for slot in kept:
        hours = _hours_until(slot, cut)
        if hours < slot.hours:
            cut_day = slot.date
        ends[slot.date] = max(slot.start_at + dt.timedelta(hours=hours), ends.get(slot.date, slot.start_at))
    moved = []
    for gate in gates:
        instant = gate.instant
        if gate.whole_evening and gate.date == cut_day and cut is not None:
            instant = cut.instant
        elif gate.whole_evening:
            instant = max(instant, ends.get(gate.date, instant))
        moved.append(
            gate
            if instant == gate.instant
            else replace(gate, instant=instant, local=gate.local + (instant - gate.instant))
        )
    return tuple(sorted(moved, key=lambda g: (g.instant, g.id)))


def _dated(kept: list[Slot], gates: tuple[GateMoment, ...], cut: _Cut | None, project: Project) -> Iterator[Evening]:
    """Evenings in time order; those that start at or after the last gate are the tail."""
    end = gates[-1].instant if gates else None
    before: Slot | None = None
    free = None
    for slot in kept:
        tail = end is not None and slot.start_at >= end
        start_at, start, hours = slot.start_at, slot.start, slot.hours
        if not slot.exists and not tail:
            raise BadInput(
                tr(
                    "{place} = {time}: this time does not exist on {day} in {zone} (the clock goes forward over it); "
                    "start this evening earlier or later, or mark it as lost",
                    place=slot.place,
                    time=f"{start:%H:%M}",
                    day=slot.date,
                    zone=project.zone,
                )
            )
        if not slot.exists:
            # nobody has promised this evening yet: it starts when the clock has moved on
            shifted = to_local(start_at, project_zone(project))
            if shifted.date() != slot.date:
                continue
            start = shifted.time()
        if before is not None and free is not None and start_at < free:
            # the pattern alone overlaps only by a change of the clock: in the tail the later one gives way
            if not (tail and slot.plain and before.plain):
                raise BadInput(
                    tr(
                        "{place} = {time}: the evening of {day} starts before the one of {other} ends "
                        "({other_place}, {other_time} for {hours} h)",
                        place=slot.place,
                        time=f"{start:%H:%M}",
                        day=slot.date,
                        other=before.date,
                        other_place=before.place,
                        other_time=f"{before.start:%H:%M}",
                        hours=dates.decimal(before.hours, 4, least=0),
                    )
                )
            hours -= (free - start_at).total_seconds() / 3600.0
            if hours <= 0:
                continue
            start_at = free
            start = to_local(free, project_zone(project)).time()
        short = None if cut is None or tail else _hours_until(slot, cut)
        clipped = short is not None and short < hours
        yield Evening(
            slot.date,
            start,
            short if clipped and short is not None else hours,
            slot.chance,
            start_at,
            slot.origin,
            cut.gate_id if clipped and cut is not None else None,
            tail,
        )
        before, free = slot, start_at + dt.timedelta(hours=hours)


__all__ = ["TAIL_WEEKS", "UTC", "Calendar", "Evening", "TakenEvening", "calendar", "hours_before"]
