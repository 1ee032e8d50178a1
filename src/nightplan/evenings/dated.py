# SPDX-License-Identifier: GPL-3.0-or-later
"""Dated evenings: weekly pattern + extras − days off − busy times, as instants.

An evening is a civil date, a local start and elapsed hours; it may run past midnight and still
belongs to its date. Hours are elapsed hours: on a daylight-saving night the clock on the wall shows
more or fewer.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from nightplan.evenings.gates import GateMoment, gate_moment, project_zone
from nightplan.evenings.zones import UTC, exists, to_utc
from nightplan.model.errors import BadInput
from nightplan.model.project import DAYS, Project

#: the walk goes on past the last gate for so long, so that late finishes have dates
TAIL_WEEKS = 8

Origin = Literal["week", "extra"]


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
        return self.start_at + dt.timedelta(hours=self.hours)


@dataclass(frozen=True, slots=True)
class TakenEvening:
    """An evening that the pattern promised and something took away."""

    date: dt.date
    start: dt.time
    hours: float
    cause: Literal["off", "busy", "lost", "deadline"]
    why: str


@dataclass(frozen=True, slots=True)
class Calendar:
    """All evenings of a project in order of time, with its gates as instants."""

    zone: dt.tzinfo
    #: in time order; those of the tail come last and carry ``tail=True``
    evenings: tuple[Evening, ...]
    taken: tuple[TakenEvening, ...]
    #: in time order
    gates: tuple[GateMoment, ...]

    def gate(self, gate_id: str) -> GateMoment:
        return next(g for g in self.gates if g.id == gate_id)

    def on(self, date: dt.date) -> tuple[Evening, ...]:
        """The evenings of a civil date (usually one or none)."""
        return tuple(e for e in self.evenings if e.date == date)

    def before(self, gate: GateMoment) -> tuple[tuple[Evening, float], ...]:
        """Evenings that start before the gate, each with its hours up to the gate's instant."""
        return tuple((e, hours) for e in self.evenings if (hours := hours_before(e, gate)) > 0)

    def evening_date(self, instant: dt.datetime) -> dt.date:
        """The civil date that an instant belongs to: that of the evening around it, else the local date."""
        for e in self.evenings:
            if e.start_at <= instant <= e.end_at:
                return e.date
        return instant.astimezone(self.zone).date()


def hours_before(evening: Evening, gate: GateMoment) -> float:
    """Elapsed hours of the evening that lie before the gate."""
    seconds = (gate.instant - evening.start_at).total_seconds()
    return min(evening.hours, max(0.0, seconds / 3600.0))


def calendar(project: Project) -> Calendar:
    """All evenings from the announcement to the last gate, and eight weeks of the pattern beyond.

    Raises:
        BadInput: an unknown zone, an evening whose start does not exist on a daylight-saving night,
            two evenings that overlap, or no evening at all.
    """
    zone = project_zone(project)
    gates = tuple(sorted((gate_moment(project, g) for g in project.gates), key=lambda g: g.instant))
    last = max((g.date for g in gates), default=project.announced)
    slots = sorted(_slots(project, zone, last), key=lambda slot: slot[0].start_at)
    _no_overlap(slots)
    gates = tuple(_whole(g, slots) for g in gates)
    # once more: a whole evening past midnight may outlast an instant of the same night
    gates = tuple(sorted(gates, key=lambda g: g.instant))
    evenings, taken = [], []
    for evening, _place in slots:
        lost = _taken(project, zone, evening)
        if lost is not None:
            taken.append(lost)
            continue
        clipped = _clip(evening, gates)
        if clipped is None:
            taken.append(TakenEvening(evening.date, evening.start, evening.hours, "deadline", gates[-1].name))
        else:
            evenings.append(clipped)
    if not any(not e.tail for e in evenings):
        raise BadInput(
            f"week: no evening is left between the announcement ({project.announced}) and the last gate ({last}); "
            "add an evening to week or to extra"
        )
    return Calendar(zone, tuple(evenings), tuple(taken), gates)


def _slots(project: Project, zone: dt.tzinfo, last: dt.date) -> Iterator[tuple[Evening, str]]:
    """Every promised evening with its place in the file, nothing taken away yet."""
    end = last + dt.timedelta(weeks=TAIL_WEEKS)
    changes = {c.on: (n, c) for n, c in enumerate(project.changes)}
    by_day = {
        day: [(n, slot) for n, slot in enumerate(project.week) if slot.day == name] for day, name in enumerate(DAYS)
    }
    extras: dict[dt.date, list[tuple[int, dt.time, float]]] = {}
    for n, extra in enumerate(project.extra):
        extras.setdefault(extra.on, []).append((n, extra.start, extra.hours))

    def make(
        date: dt.date, start: dt.time, hours: float, chance: float, origin: Origin, place: str
    ) -> tuple[Evening, str]:
        if date in changes:
            n, change = changes[date]
            if change.start is not None:
                start, place = change.start, f"changes[{n}].start"
            hours = hours if change.hours is None else change.hours
            chance = chance if change.chance is None else change.chance
        local = dt.datetime.combine(date, start)
        if not exists(local, zone):
            raise BadInput(
                f"{place} = {start:%H:%M}: this time does not exist on {date} in {project.zone} "
                "(the clock goes forward); start this evening earlier or later"
            )
        return Evening(date, start, hours, chance, to_utc(local, zone), origin, tail=date > last), place

    for offset in range((end - project.announced).days + 1):
        date = project.announced + dt.timedelta(days=offset)
        for n, slot in by_day[date.weekday()]:
            # the artist's dated word is more exact than the pattern
            if any(_meet(slot.start, slot.hours, start, hours) for _, start, hours in extras.get(date, ())):
                continue
            yield make(date, slot.start, slot.hours, slot.chance, "week", f"week[{n}].start")
    for n, extra in enumerate(project.extra):
        if project.announced <= extra.on <= end:
            yield make(extra.on, extra.start, extra.hours, extra.chance, "extra", f"extra[{n}].start")


def _meet(start: dt.time, hours: float, other_start: dt.time, other_hours: float) -> bool:
    a, b = start.hour + start.minute / 60, other_start.hour + other_start.minute / 60
    return a < b + other_hours and b < a + hours


def _no_overlap(slots: list[tuple[Evening, str]]) -> None:
    for (one, place_one), (two, place_two) in pairwise(slots):
        if two.start_at < one.end_at:
            raise BadInput(
                f"{place_two} = {two.start:%H:%M}: the evening of {two.date} starts before the one of {one.date} ends "
                f"({place_one.removesuffix('.start')}, {one.start:%H:%M} for {one.hours:g} h)"
            )


def _whole(gate: GateMoment, slots: list[tuple[Evening, str]]) -> GateMoment:
    """A gate on a date counts that whole evening, also the part after midnight."""
    if not gate.whole_evening:
        return gate
    ends = [e.end_at for e, _ in slots if e.date == gate.date]
    instant = max([gate.instant, *ends])
    return (
        gate if instant == gate.instant else replace(gate, instant=instant, local=gate.local + (instant - gate.instant))
    )


def _taken(project: Project, zone: dt.tzinfo, evening: Evening) -> TakenEvening | None:
    def gone(cause: Literal["off", "busy", "lost"], why: str) -> TakenEvening:
        return TakenEvening(evening.date, evening.start, evening.hours, cause, why)

    for off in project.off:
        if off.from_ <= evening.date <= off.to:
            return gone("off", off.why)
    for change in project.changes:
        if change.on == evening.date and change.lost:
            return gone("lost", change.why)
    for busy in project.busy:
        if to_utc(busy.from_, zone) < evening.end_at and evening.start_at < to_utc(busy.to, zone):
            return gone("busy", busy.why)
    return None


def _clip(evening: Evening, gates: tuple[GateMoment, ...]) -> Evening | None:
    """The last gate ends the evening that it falls into; an earlier gate is met or missed within it."""
    if evening.tail or not gates:
        return evening
    hours = hours_before(evening, gates[-1])
    if hours >= evening.hours:
        return evening
    if hours <= 0:
        return replace(evening, tail=True)
    return replace(evening, hours=hours, clipped_by=gates[-1].id)


__all__ = ["TAIL_WEEKS", "UTC", "Calendar", "Evening", "TakenEvening", "calendar", "hours_before"]
