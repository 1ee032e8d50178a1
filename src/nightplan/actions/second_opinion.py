# SPDX-License-Identifier: GPL-3.0-or-later
"""Earned schedule as a second opinion beside the odds, for the report."""

from __future__ import annotations

import datetime as dt

from nightplan.engine.earned import earned
from nightplan.model.project import Project
from nightplan.model.results import EarnedSchedule


def second_opinion(project: Project, as_of: dt.date) -> EarnedSchedule | None:
    """Progress against the last baseline; None without one, and before its first evening has gone by."""
    found = earned(project, as_of)
    if found is None or found.evenings == 0 or found.total_hours <= 0:
        return None
    return found
