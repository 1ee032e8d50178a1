# SPDX-License-Identifier: GPL-3.0-or-later
"""Evenings: the week, extras, days off, and the artist's word on single dates."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.actions.values import changed, heirs, made
from nightplan.evenings.dated import Evening, calendar
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.project import DAYS, MAYBE, SURE, DaysOff, EveningChange, ExtraEvening, Project, WeekSlot
from nightplan.speech import tr


def _usable(project: Project) -> Project:
    calendar(project)
    return check_project(project)


def change_evening(project: Project, on: dt.date, **changes: Any) -> Project:
    """The artist's word on one date: lost, chance, start, hours, why. None takes a word back.

    Raises:
        BadInput: the date has no evening, or what is said cannot be.
    """
    known = next((c for c in project.changes if c.on == on), None)
    if known is None:
        dated = calendar(project)
        if not dated.on(on) and all(t.date != on for t in dated.taken):
            raise BadInput(tr("{day} has no evening; add one instead", day=on))
    place = f"changes[{len(project.changes) if known is None else project.changes.index(known)}]"
    if known is None:
        new = made(EveningChange, place, {"on": on, **changes})
    else:
        new = changed(known, place, **changes)
    rest = tuple(c for c in project.changes if c.on != on)
    says_something = new.lost or any(v is not None for v in (new.chance, new.start, new.hours)) or new.why
    kept = (*rest, new) if says_something or new.unknown else rest
    return _usable(project.but(changes=tuple(sorted(kept, key=lambda c: c.on))))


def mark_lost(project: Project, on: dt.date, why: str = "") -> Project:
    """The evening will not happen."""
    return change_evening(project, on, lost=True, why=why)


def mark_sure(project: Project, on: dt.date) -> Project:
    """The evening of a date as a sure one. Raises BadInput where there is none."""
    return change_evening(project, on, lost=False, chance=SURE)


def mark_maybe(project: Project, on: dt.date) -> Project:
    """The evening of a date as a maybe one. Raises BadInput where there is none."""
    return change_evening(project, on, lost=False, chance=MAYBE)


def mark_off(project: Project, on: dt.date, until: dt.date | None = None, why: str = "") -> Project:
    """A day off, or days off up to and including ``until``."""
    off = made(DaysOff, f"off[{len(project.off)}]", {"from": on, "to": until or on, "why": why})
    return _usable(project.but(off=(*project.off, off)))


def mark_on(project: Project, on: dt.date) -> Project:
    """Take back a day off or a lost evening: the pattern counts again."""
    off: list[DaysOff] = []
    day = dt.timedelta(days=1)
    for span in project.off:
        if not span.from_ <= on <= span.to:
            off.append(span)
            continue
        if span.from_ < on:
            off.append(span.but(to=on - day))
        if on < span.to:
            off.append(span.but(from_=on + day))
    project = project.but(off=tuple(off))
    if any(c.on == on and c.lost for c in project.changes):
        return change_evening(project, on, lost=False, why="")
    return _usable(project)


def lengthen(project: Project, on: dt.date, hours: float) -> Project:
    """An evening longer (or shorter, negative) by so many hours.

    Raises:
        BadInput: no evening on that date, none of it left, or more than a day.
    """
    slots = calendar(project).on(on)
    if not slots:
        raise BadInput(tr("{day} has no evening to lengthen", day=on))
    # a clipped evening is lengthened from its full hours
    full = _full_hours(project, slots[0])
    return change_evening(project, on, hours=round(full + hours, 4))


def _full_hours(project: Project, evening: Evening) -> float:
    known = next((c.hours for c in project.changes if c.on == evening.date and c.hours is not None), None)
    if known is not None:
        return known
    if evening.origin == "extra":
        return next(e.hours for e in project.extra if e.on == evening.date and e.start == evening.start)
    day = DAYS[evening.date.weekday()]
    return next(w.hours for w in project.week if w.day == day and w.start == evening.start)


def add_evening(
    project: Project, on: dt.date, start: dt.time, hours: float, chance: float = SURE, why: str = ""
) -> Project:
    """One dated evening beside the weekly pattern.

    Args:
        start: on the clock of the project's zone.
        hours: elapsed hours, above 0.
        chance: that it happens, 0 to 1.

    Raises:
        BadInput: a date outside the project, or naming the key and what is accepted.
    """
    place = f"extra[{len(project.extra)}]"
    extra = made(ExtraEvening, place, {"on": on, "start": start, "hours": hours, "chance": chance, "why": why})
    last = max(g.date for g in calendar(project).gates)
    if not project.announced <= on <= last:
        raise BadInput.at(
            f"{place}.on",
            on,
            tr("lies outside the project ({announced} to {last})", announced=project.announced, last=last),
        )
    return _usable(project.but(extra=(*project.extra, extra)))


def remove_extra(project: Project, on: dt.date, start: dt.time | None = None) -> Project:
    """Take a dated evening out again, the one of that start. Raises BadInput where there is none."""
    rest = tuple(e for e in project.extra if e.on != on or (start is not None and e.start != start))
    if len(rest) == len(project.extra):
        raise BadInput(tr("{day} has no extra evening", day=on))
    return _usable(project.but(extra=rest))


def with_dates(
    project: Project, *, week: tuple[WeekSlot, ...] | None = None, off: tuple[DaysOff, ...] | None = None
) -> Project:
    """Week and days off anew; keys that this version does not know stay with the entries that they belong to."""
    if week is not None:
        project = project.but(week=heirs(week, project.week, lambda s: (s.day, s.start), lambda s: s.day))
    if off is not None:
        project = project.but(off=heirs(off, project.off, lambda s: (s.from_, s.to), lambda s: s.from_, lambda s: s.to))
    return project
