# SPDX-License-Identifier: GPL-3.0-or-later
"""Which day a project is looked at."""

from __future__ import annotations

import datetime as dt

from nightplan.model.project import Project


def default_as_of(project: Project, today: dt.date) -> dt.date:
    """Today, but not before the announcement and not before the last logged evening."""
    return max([today, project.announced, *(entry.evening for entry in project.log)])


def as_it_stands(project: Project) -> dt.date:
    """The day after the last logged evening, or the announcement day: a fixed day to show a sample on."""
    if not project.log:
        return project.announced
    return max(entry.evening for entry in project.log) + dt.timedelta(days=1)


def missed_evenings(project: Project, as_of: dt.date) -> tuple[dt.date, ...]:
    """Dates of past evenings that nobody has said anything about."""
    from nightplan.evenings.dated import calendar

    return tuple(
        sorted({e.date for e in calendar(project).evenings if e.date < as_of} - {e.evening for e in project.log})
    )
