# SPDX-License-Identifier: GPL-3.0-or-later
"""Busy times from another calendar: read, looked at, taken in, refreshed, taken out again."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from nightplan.evenings.calendar_in import BusyFound, LeftOut, read_busy
from nightplan.evenings.dated import TAIL_WEEKS, Calendar, TakenEvening, calendar
from nightplan.evenings.gates import gate_moment, project_zone
from nightplan.evenings.zones import to_local, to_utc
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.project import BusyTime, EveningChange, Project
from nightplan.speech import tr

#: minutes: a piece of an evening begins at whole five of them, and is as long as whole quarters of an hour
_STEP, _QUARTER = 5, 15


@dataclass(frozen=True, slots=True)
class ShorterEvening:
    """An evening of which a part is left; hours."""

    date: dt.date
    start: dt.time
    hours: float
    was_start: dt.time
    was_hours: float
    why: str


@dataclass(frozen=True, slots=True)
class BusyImport:
    """The project with its busy times, and what they did to the evenings."""

    project: Project
    source: str
    #: busy times of this source, before and now
    before: int
    count: int
    #: evenings that busy times take now, and that were there before
    taken: tuple[TakenEvening, ...]
    #: evenings that are shorter than before
    shorter: tuple[ShorterEvening, ...]
    #: dates of evenings that are free again
    given_back: tuple[dt.date, ...]
    left_out: tuple[LeftOut, ...]


def read_calendar(project: Project, text: str | bytes) -> BusyFound:
    """The busy times of an .ics file that the evenings of this project can meet.

    Raises:
        BadInput: no calendar, or one beyond the limits.
    """
    from nightplan.exports.calendar_out import calendar_base

    zone = project_zone(project)
    last = max(gate_moment(project, g).date for g in project.gates)
    since = to_utc(dt.datetime.combine(project.announced - dt.timedelta(days=2), dt.time()), zone)
    until = to_utc(dt.datetime.combine(last + dt.timedelta(weeks=TAIL_WEEKS, days=3), dt.time()), zone)
    return read_busy(text, zone, since=since, until=until, own=f"@{calendar_base(project)}.nightplan")


def take_busy(project: Project, found: BusyFound, source: str, *, keep_hours: float | None = None) -> BusyImport:
    """Take busy times in; those of the same source are replaced.

    Args:
        source: a name to refresh and remove them by, for example the file's.
        keep_hours: an evening of which a piece of so many hours is left becomes shorter; None: any busy time takes
            the whole evening. An evening with a word of the artist's own on it is never made shorter, only taken.

    Raises:
        BadInput: no name, or no evening would be left.
    """
    source = source.strip()[:200]
    if not source:
        raise BadInput(tr("source: a name is needed, by which the busy times can be refreshed and removed"))
    if keep_hours is not None and not keep_hours > 0:
        raise BadInput.at("keep_hours", keep_hours, tr("a number of hours above 0 is accepted"))
    rows = tuple(BusyTime(from_=b.start, to=b.end, why=b.why, source=source) for b in found.busy)
    bare = _without(project, source)
    changed = bare.but(busy=(*bare.busy, *rows))
    if keep_hours is not None:
        cuts = tuple(_shortened(changed, keep_hours, source))
        changed = changed.but(changes=(*changed.changes, *cuts)) if cuts else changed
    changed = check_project(changed)
    now = calendar(changed)
    count = len(project.busy) - len(bare.busy)
    try:
        was = calendar(project)
    except BadInput:
        # no evening before, so none was taken
        back = tuple(e.date for e in now.evenings if not e.tail)
        return BusyImport(changed, source, count, len(rows), (), (), back, found.left_out)
    taken, shorter, back = _difference(was, now, changed)
    return BusyImport(changed, source, count, len(rows), taken, shorter, back, found.left_out)


def import_busy(project: Project, text: str | bytes, source: str, *, keep_hours: float | None = None) -> BusyImport:
    """:func:`read_calendar` and :func:`take_busy` in one."""
    return take_busy(project, read_calendar(project, text), source, keep_hours=keep_hours)


def remove_busy(project: Project, source: str) -> Project:
    """Take out the busy times of a source, and what they made shorter. Raises BadInput where there are none."""
    bare = _without(project, source)
    if bare == project:
        raise BadInput.at("source", source, tr("no busy time comes from there"))
    return check_project(bare)


def busy_sources(project: Project) -> dict[str, int]:
    """Source -> how many busy times come from it, in the order of the file."""
    found: dict[str, int] = {}
    for b in project.busy:
        found[b.source] = found.get(b.source, 0) + 1
    return found


def _without(project: Project, source: str) -> Project:
    return project.but(
        busy=tuple(b for b in project.busy if b.source != source),
        changes=tuple(c for c in project.changes if c.source is None or c.source != source),
    )


def _shortened(project: Project, keep_hours: float, source: str) -> Iterable[EveningChange]:
    """Changes that save a piece of evenings that busy times would take as a whole."""
    zone = project_zone(project)
    days = calendar(project)
    evenings = Counter([*(e.date for e in days.evenings), *(t.date for t in days.taken)])
    spoken_for = {c.on for c in project.changes} | set(project.log_by_date)
    busy = sorted((to_utc(b.from_, zone), to_utc(b.to, zone)) for b in project.busy)
    for lost in days.taken:
        # a change holds for the date: with two evenings on it nobody could tell which is meant
        if lost.cause != "busy" or evenings[lost.date] != 1 or lost.date in spoken_for:
            continue
        begin = to_utc(dt.datetime.combine(lost.date, lost.start), zone)
        part = _longest(begin, begin + dt.timedelta(hours=lost.hours), busy)
        if part is None:
            continue
        first, last = part
        start = to_local(first, zone)
        minutes = math.floor((last - first).total_seconds() / 60 / _QUARTER) * _QUARTER
        # a start after midnight would be read as one in the morning of the date
        if start.date() != lost.date or to_utc(start, zone) != first or minutes < keep_hours * 60:
            continue
        new = {} if first == begin else {"start": start.time()}
        yield EveningChange(on=lost.date, hours=minutes / 60, why=lost.why, source=source, **new)


def _longest(
    begin: dt.datetime, end: dt.datetime, busy: list[tuple[dt.datetime, dt.datetime]]
) -> tuple[dt.datetime, dt.datetime] | None:
    """The longest free piece of a span, the earliest of equal ones; it begins at whole five minutes."""
    free: list[tuple[dt.datetime, dt.datetime]] = []
    at = begin
    for start, stop in busy:
        if stop <= at or start >= end:
            continue
        if start > at:
            free.append((at, start))
        at = max(at, stop)
    if at < end:
        free.append((at, end))
    rounded = [(a if a == begin else _up(a), b) for a, b in free]
    return max(((a, b) for a, b in rounded if a < b), key=lambda p: p[1] - p[0], default=None)


def _up(moment: dt.datetime) -> dt.datetime:
    over = dt.timedelta(minutes=moment.minute % _STEP, seconds=moment.second, microseconds=moment.microsecond)
    return moment + (dt.timedelta(minutes=_STEP) - over if over else over)


def _difference(
    was: Calendar, now: Calendar, changed: Project
) -> tuple[tuple[TakenEvening, ...], tuple[ShorterEvening, ...], tuple[dt.date, ...]]:
    there = {(e.date, e.start): e for e in was.evenings if not e.tail}
    by_date = {e.date: e for e in there.values()}
    cut = {c.on: c for c in changed.changes if c.source is not None}
    shorter = tuple(
        ShorterEvening(e.date, e.start, e.hours, old.start, old.hours, cut[e.date].why)
        for e in now.evenings
        if e.date in cut and (old := by_date.get(e.date)) is not None and e.hours < old.hours
    )
    changed_days = {s.date for s in shorter}
    taken = tuple(t for t in now.taken if t.cause == "busy" and (t.date, t.start) in there)
    came = {(e.date, e.start) for e in now.evenings if not e.tail} - set(there)
    return taken, shorter, tuple(sorted({d for d, _ in came} - changed_days))
