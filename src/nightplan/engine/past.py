# SPDX-License-Identifier: GPL-3.0-or-later
"""How much work was left, and what share of it was done, at the end of past days: what charts and warnings show."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from nightplan.engine.earned import share_done
from nightplan.engine.effort import likely_left
from nightplan.engine.estimates import Estimate
from nightplan.engine.nights_hands import hands_of
from nightplan.engine.state import ItemState, item_states
from nightplan.evenings.dated import Calendar
from nightplan.model.project import Project
from nightplan.model.results import PastPoint


def past_points(project: Project, dates: Calendar, as_of: dt.date) -> tuple[PastPoint, ...]:
    """Before the first evening, after each logged one, and on the day itself; in time order.

    Hours are the artist's own: likely ones, the common factor at 0.
    """
    days = sorted({e.evening for e in project.log if e.evening <= as_of} | {as_of})
    known: dict[tuple[Estimate, float, str], float] = {}

    def left(state: ItemState) -> float:
        # an item changes on few evenings
        sign = (state.basis, state.against, state.state)
        if sign not in known:
            known[sign] = likely_left(state, 0.0, project.correlation)
        return known[sign]

    points = []
    for day in (project.announced - dt.timedelta(days=1), *days):
        states = item_states(project, day)
        hours = {key: left(state) for key, state in states.items()}
        done = {g.id: share_of_work(project, dates, g.id, states, hours) for g in dates.gates}
        points.append(PastPoint(day, sum(hours.values()), done))
    return tuple(points)


def share_of_work(
    project: Project, dates: Calendar, gate: str, states: Mapping[str, ItemState], left: Mapping[str, float]
) -> float:
    """Share of a gate's likely hours that is done, 0 to 1; a gate holds all work of earlier ones too.

    Items that are left out and the minutes that jobs want do not count. Of an item in progress,
    worked ÷ (worked + likely left) is done.
    """
    instant = dates.gate(gate).instant
    due = {g.id for g in dates.gates if g.instant <= instant}
    got = total = 0.0
    for key, state in states.items():
        if state.state == "cut" or hands_of(key) or project.stage_of[key].gate not in due:
            continue
        likely = Estimate.of(state.item).median
        total += likely
        got += likely if state.state == "done" else likely * share_done(state.spent, left[key])
    return got / total if total else 0.0
