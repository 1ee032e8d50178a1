# SPDX-License-Identifier: GPL-3.0-or-later
"""Busy times from another calendar: taken in, refreshed, taken out again."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from nightplan.evenings.calendar_in import LeftOut, read_busy
from nightplan.evenings.dated import TAIL_WEEKS, TakenEvening, calendar
from nightplan.evenings.gates import gate_moment, project_zone
from nightplan.evenings.zones import to_utc
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.project import BusyTime, Project


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
    #: dates of evenings that are free again
    given_back: tuple[dt.date, ...]
    left_out: tuple[LeftOut, ...]


def import_busy(project: Project, text: str | bytes, source: str) -> BusyImport:
    """Take busy times in from the text of an .ics file; those of the same source are replaced.

    Args:
        source: a name to refresh and remove them by, for example the file's.

    Raises:
        BadInput: no calendar, one beyond the limits, or one that leaves no evening.
    """
    from nightplan.exports.calendar_out import calendar_base

    source = source.strip()[:200]
    if not source:
        raise BadInput("source: a name is needed, by which the busy times can be refreshed and removed")
    zone = project_zone(project)
    last = max(gate_moment(project, g).date for g in project.gates)
    since = to_utc(dt.datetime.combine(project.announced - dt.timedelta(days=2), dt.time()), zone)
    until = to_utc(dt.datetime.combine(last + dt.timedelta(weeks=TAIL_WEEKS, days=3), dt.time()), zone)
    found = read_busy(text, zone, since=since, until=until, own=f"@{calendar_base(project)}.nightplan")
    rows = tuple(BusyTime(from_=b.start, to=b.end, why=b.why, source=source) for b in found.busy)
    kept = tuple(b for b in project.busy if b.source != source)
    changed = check_project(project.but(busy=(*kept, *rows)))
    taken, back = _difference(project, changed)
    return BusyImport(changed, source, len(project.busy) - len(kept), len(rows), taken, back, found.left_out)


def remove_busy(project: Project, source: str) -> Project:
    """Take out the busy times of a source. Raises BadInput where there are none."""
    kept = tuple(b for b in project.busy if b.source != source)
    if len(kept) == len(project.busy):
        raise BadInput.at("source", source, "no busy time comes from there")
    return check_project(project.but(busy=kept))


def busy_sources(project: Project) -> dict[str, int]:
    """Source -> how many busy times come from it, in the order of the file."""
    found: dict[str, int] = {}
    for b in project.busy:
        found[b.source] = found.get(b.source, 0) + 1
    return found


def _difference(before: Project, after: Project) -> tuple[tuple[TakenEvening, ...], tuple[dt.date, ...]]:
    now = calendar(after)
    taken = [t for t in now.taken if t.cause == "busy"]
    try:
        was = calendar(before)
    except BadInput:
        # no evening before, so none was taken
        return (), tuple(e.date for e in now.evenings if not e.tail)
    there = {(e.date, e.start) for e in was.evenings if not e.tail}
    back = {(e.date, e.start) for e in now.evenings if not e.tail} - there
    return tuple(t for t in taken if (t.date, t.start) in there), tuple(sorted({d for d, _ in back}))
