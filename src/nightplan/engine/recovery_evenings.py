# SPDX-License-Identifier: GPL-3.0-or-later
"""Moves that give evening hours: maybe evenings, dated evenings, longer evenings.

No evening is proposed that ends after the artist's bedtime (midnight where none is set: common
practice, no source), that lies on a day off, over a busy time or over another evening.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, replace

from nightplan.engine.recovery_words import days, hours, minutes_of, weekday
from nightplan.engine.state import log_until
from nightplan.evenings.dated import Calendar, Evening, calendar, hours_before
from nightplan.evenings.gates import GateMoment
from nightplan.evenings.zones import exists, to_local, to_utc
from nightplan.model.project import DAYS, PLANNED_CHANCE, SURE, Project
from nightplan.model.results_recovery import EveningAdded, EveningSet, Move
from nightplan.speech import mark, tr, trn

LENGTHS = (15, 30, 45, 60)
#: so many maybe evenings and free days are offered one by one, earliest first
MAYBE_SINGLES = 5
ADDED_MOST = 4
MIDNIGHT = dt.time(0)
#: start and hours of an added evening where the week shows no habit of the artist's own
_WEEKEND, _WEEKDAY = (dt.time(14), 3.0), (dt.time(20), 2.0)
#: shorter than this is not worth sitting down for
_LEAST_HOURS = 0.25


@dataclass(frozen=True)
class Days:
    """The calendar as the evening moves look at it."""

    project: Project
    as_of: dt.date
    dated: Calendar
    gate: GateMoment

    @classmethod
    def of(cls, project: Project, as_of: dt.date, gate_id: str) -> Days:
        """The calendar of a project on a day, as far as one gate. Raises BadInput."""
        dated = calendar(project)
        return cls(project, as_of, dated, dated.gate(gate_id))

    @property
    def to_come(self) -> tuple[Evening, ...]:
        """Evenings that are still to come, that start before the gate, and are alone on their date."""
        logged = {e.evening for e in log_until(self.project, self.as_of)}
        count = Counter(e.date for e in self.dated.evenings)
        return tuple(
            e
            for e in self.dated.evenings
            if e.date >= self.as_of and e.date not in logged and count[e.date] == 1 and hours_before(e, self.gate) > 0
        )

    def bedtime(self, start_at: dt.datetime) -> dt.datetime:
        """The first bedtime after the start of an evening."""
        clock = self.project.bedtime or MIDNIGHT
        local = to_local(start_at, self.dated.zone)
        bed = dt.datetime.combine(local.date(), clock)
        return to_utc(bed if bed > local else bed + dt.timedelta(days=1), self.dated.zone)

    def slots(self) -> list[tuple[dt.date, dt.datetime, dt.datetime]]:
        """Date, start and end of everything the calendar promises, taken away or not."""
        rows = [(e.date, e.start_at, e.end_at) for e in self.dated.evenings]
        for t in self.dated.taken:
            start = to_utc(dt.datetime.combine(t.date, t.start), self.dated.zone)
            rows.append((t.date, start, start + dt.timedelta(hours=t.hours)))
        return rows

    def busy(self) -> list[tuple[dt.datetime, dt.datetime]]:
        """Busy times as instants in UTC."""
        zone = self.dated.zone
        return [(to_utc(b.from_, zone), to_utc(b.to, zone)) for b in self.project.busy]


def maybe_moves(where: Days) -> list[Move]:
    """Each maybe evening made sure, and all of them at once."""
    found = [e for e in where.to_come if e.chance < PLANNED_CHANCE]
    singles = [
        Move(
            f"maybe:{e.date}",
            "maybe",
            tr("Work the maybe evening {evening}", evening=days([e.date])),
            # translators: "2 h of Tuesday"
            tr(
                "{hours} of {weekday} that you may have wanted for something else",
                hours=hours(e.hours),
                weekday=weekday(e.date),
            ),
            minutes_of(e.hours * (SURE - e.chance)),
            (EveningSet(e.date, chance=SURE),),
            touches=(e.date.isoformat(),),
        )
        for e in found[:MAYBE_SINGLES]
    ]
    if len(found) < 2:
        return singles
    every = Move(
        "maybe:all",
        "maybe",
        trn(
            "Work {n} maybe evening until {gate} ({dates})",
            "Work all {n} maybe evenings until {gate} ({dates})",
            len(found),
            gate=where.gate.name,
            dates=days([e.date for e in found]),
        ),
        trn(
            "{hours} on {n} evening that you may have wanted for something else",
            "{hours} on {n} evenings that you may have wanted for something else",
            len(found),
            hours=hours(sum(e.hours for e in found)),
        ),
        sum(minutes_of(e.hours * (SURE - e.chance)) for e in found),
        tuple(EveningSet(e.date, chance=SURE) for e in found),
        frozenset(m.id for m in singles),
        touches=tuple(e.date.isoformat() for e in found),
    )
    return [*_forbidding(singles, {every.id}), every]


def _forbidding(moves: list[Move], ids: set[str]) -> list[Move]:
    return [replace(m, forbids=m.forbids | (ids - {m.id})) for m in moves]


def added_moves(where: Days) -> list[Move]:
    """Evenings on days that the calendar leaves open: weekends first, then by date."""
    project, zone = where.project, where.dated.zone
    slots, busy = where.slots(), where.busy()
    closed = {date for date, _, _ in slots} | {c.on for c in project.changes} | {e.evening for e in project.log}
    free = []
    # strictly before the gate's own date, whose evening moves the gate itself
    date = where.as_of + dt.timedelta(days=1)
    while date < where.gate.date:
        off = any(o.from_ <= date <= o.to for o in project.off)
        if date not in closed and not off and date >= project.announced:
            free.append(date)
        date += dt.timedelta(days=1)
    gate_dates = {g.date for g in where.dated.gates}
    moves: list[Move] = []
    for day in sorted(free, key=lambda d: (d.weekday() < 5, d)):
        if len(moves) == ADDED_MOST:
            break
        start, length = habit(project, day)
        local = dt.datetime.combine(day, start)
        if day in gate_dates or not exists(local, zone):
            continue
        start_at = to_utc(local, zone)
        length = min(length, (where.bedtime(start_at) - start_at).total_seconds() / 3600.0)
        end_at = start_at + dt.timedelta(hours=length)
        meets = any(a < end_at and start_at < b for _, a, b in slots) or any(
            a < end_at and start_at < b for a, b in busy
        )
        if length < _LEAST_HOURS or meets:
            continue
        moves.append(
            Move(
                f"add:{day}",
                "add",
                tr(
                    "Add an evening on {evening}, {start} for {hours}",
                    evening=days([day]),
                    start=f"{start:%H:%M}",
                    hours=hours(length),
                ),
                tr("{hours} of a free {weekday}", hours=hours(length), weekday=weekday(day)),
                minutes_of(length * SURE),
                (EveningAdded(day, start, length, SURE),),
                touches=(day.isoformat(),),
            )
        )
    return moves


def habit(project: Project, day: dt.date) -> tuple[dt.time, float]:
    """Start and hours of an added evening: as the artist's week has it on that kind of day, the shortest of them."""
    weekend = day.weekday() >= 5
    alike = [s for s in project.week if (DAYS.index(s.day) >= 5) == weekend]
    if not alike:
        return _WEEKEND if weekend else _WEEKDAY
    slot = min(alike, key=lambda s: (s.hours, s.start))
    return slot.start, slot.hours


def longer_moves(where: Days) -> list[Move]:
    """Evenings 15 to 60 minutes longer until the gate, none past bedtime, counted from what the week says."""
    room = {e.date: _room(where, e) for e in where.to_come}
    moves: list[Move] = []
    seen: set[tuple[float, ...]] = set()
    for minutes in LENGTHS:
        longer = []
        for e in where.to_come:
            more = min(minutes / 60.0, room[e.date])
            if more * 60.0 >= 1.0:
                longer.append((e, more))
        key = tuple(more for _, more in longer)
        if not longer or key in seen:
            continue
        seen.add(key)
        least = len([1 for _, more in longer if more * 60.0 < minutes - 0.5])
        latest = max(_clock(where, e, more) for e, more in longer)
        cost = mark("{hours} of later evenings; the latest ends {time}, not after midnight")
        if where.project.bedtime is not None:
            cost = mark("{hours} of later evenings; the latest ends {time}, not after your bedtime")
        moves.append(
            Move(
                f"lengthen:{minutes}",
                "lengthen",
                _longer_words(where, len(longer), minutes, least),
                tr(cost, hours=hours(sum(more for _, more in longer)), time=f"{latest[1]:%H:%M}"),
                sum(minutes_of(more * e.chance) for e, more in longer),
                tuple(EveningSet(e.date, hours=e.hours + more) for e, more in longer),
                touches=tuple(e.date.isoformat() for e, _ in longer),
            )
        )
    return _forbidding(moves, {m.id for m in moves})


def _longer_words(where: Days, count: int, minutes: int, least: int) -> str:
    """What the move does; ``least`` of the evenings grow by less."""
    gate = where.gate.name
    if not least:
        return trn(
            "Make one evening {minutes} minutes longer until {gate}",
            "Make {n} evenings {minutes} minutes longer until {gate}",
            count,
            minutes=minutes,
            gate=gate,
        )
    if where.project.bedtime is not None:
        return trn(
            "Make one evening {minutes} minutes longer until {gate}, "
            "{least} of them less because of your bedtime or what comes next",
            "Make {n} evenings {minutes} minutes longer until {gate}, "
            "{least} of them less because of your bedtime or what comes next",
            count,
            minutes=minutes,
            gate=gate,
            least=least,
        )
    return trn(
        "Make one evening {minutes} minutes longer until {gate}, "
        "{least} of them less because of midnight or what comes next",
        "Make {n} evenings {minutes} minutes longer until {gate}, "
        "{least} of them less because of midnight or what comes next",
        count,
        minutes=minutes,
        gate=gate,
        least=least,
    )


def _clock(where: Days, e: Evening, more: float) -> tuple[float, dt.datetime]:
    end = to_local(e.end_at + dt.timedelta(hours=more), where.dated.zone)
    return (end - dt.datetime.combine(e.date, dt.time())).total_seconds(), end


def _room(where: Days, e: Evening) -> float:
    """Hours by which an evening may grow: to bedtime, the next thing, and an hour beyond what the week says."""
    if e.clipped_by is not None or any(g.date == e.date for g in where.dated.gates):
        # on a gate's own date a longer evening would move the gate, and a last evening is long enough
        return 0.0
    own = _unchanged_hours(where.project, e)
    limits = [where.bedtime(e.start_at)]
    limits += [start for _, start, _ in where.slots() if start > e.start_at]
    limits += [start for start, end in where.busy() if end > e.start_at]
    room = (min(limits) - e.end_at).total_seconds() / 3600.0
    return max(0.0, min(room, own + LENGTHS[-1] / 60.0 - e.hours))


def _unchanged_hours(project: Project, e: Evening) -> float:
    """Hours that the week or the extra says, before the artist's word on the date."""
    if not any(c.on == e.date and c.hours is not None for c in project.changes):
        return e.hours
    if e.origin == "extra":
        return next(x.hours for x in project.extra if x.on == e.date)
    return max(s.hours for s in project.week if s.day == DAYS[e.date.weekday()])


def evening_moves(project: Project, as_of: dt.date, gate_id: str) -> list[Move]:
    """All moves that give evening hours before the gate."""
    where = Days.of(project, as_of, gate_id)
    return [*maybe_moves(where), *added_moves(where), *longer_moves(where)]


__all__ = ["Days", "added_moves", "evening_moves", "habit", "longer_moves", "maybe_moves"]
