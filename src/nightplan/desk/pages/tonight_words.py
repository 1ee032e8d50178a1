# SPDX-License-Identifier: GPL-3.0-or-later
"""The sentences of the Tonight page."""

from __future__ import annotations

import datetime as dt

from nightplan.desk import words
from nightplan.engine.effort import likely_left
from nightplan.engine.state import item_states
from nightplan.evenings.zones import to_local, zone_info
from nightplan.model.project import Item, Job, Project
from nightplan.model.results import Forecast, Plan, PlannedEvening


def evening_words(date: dt.date, row: PlannedEvening | None, as_of: dt.date) -> str:
    """``Tonight, Tue 12 Oct · 20:30 to 23:00 · 2.5 h``"""
    name = {0: "Tonight, ", 1: "Tomorrow, "}.get((date - as_of).days, "")
    if row is None:
        return f"{name}{words.day(date)}"
    end = words.clock(words.until(row.start, row.hours))
    return f"{name}{words.day(date)} · {words.clock(row.start)} to {end} · {words.hours(row.hours)}"


def left_words(project: Project, item: Item, as_of: dt.date) -> str:
    """How much is left, and how it went so far."""
    state = item_states(project, as_of)[item.id]
    left = likely_left(state, 0.0, project.correlation)
    told = f"Likely {words.hours(left)} left."
    if state.spent > 0:
        told += f" {words.hours(state.spent)} worked so far"
        over = state.spent - item.likely
        told += (
            f", {words.hours(over)} over its likely time." if over > 0.05 else f" of likely {words.hours(item.likely)}."
        )
    elif item.high > item.likely:
        told += f" {words.hours(item.high)} if it fights back."
    return told


def why_words(project: Project, item: Item) -> str:
    """Why this one is first: what waits for it."""
    waiting = [
        key
        for key, before in project.predecessors.items()
        if item.id in before
        and (project.items[key].state == "open" if key in project.items else project.jobs_by_id[key].state == "open")
    ]
    if not waiting:
        gate = project.gates_by_id[project.stage_of[item.id].gate]
        return f"It is first because it is next in your order before {gate.name.lower()}."
    jobs = [project.jobs_by_id[k].name for k in waiting if k in project.jobs_by_id]
    stages = list(dict.fromkeys(project.stage_of[k].name for k in waiting if k in project.items))
    own = project.stage_of[item.id].name
    named = [s for s in stages if s != own] or [project.items[k].name for k in waiting if k in project.items][:2]
    things = [*jobs, *named][:3]
    listed = things[0] if len(things) == 1 else ", ".join(things[:-1]) + " and " + things[-1]
    return f"It is first because {listed} {'waits' if len(things) == 1 else 'wait'} for it."


def before_you_stop(project: Project, plan: Plan, date: dt.date) -> str:
    """Machine jobs that this evening looks over, starts, or hands to a machine whose hours begin later."""
    row = next((e for e in plan.evenings if e.date == date and e.status != "worked"), None)
    hands = () if row is None else row.hands
    told = []
    for hand in hands:
        job = project.jobs_by_id.get(hand.job)
        if hand.kind == "check" and job is not None:
            told.append(f"Look over {job.name} ({words.minutes(hand.hours)} of this evening).")
    kept = {h.job: h.hours for h in hands if h.kind == "start"}
    starts = starts_tonight(project, plan, date)
    for planned in plan.jobs:
        job = project.jobs_by_id.get(planned.id)
        if planned.start is None or planned.end is None or job is None or job.running:
            continue
        if planned.id in starts:
            end = to_local(planned.end, zone_info(project.zone))
            long = (planned.end - planned.start).total_seconds() / 3600
            mine = f"{words.minutes(kept[planned.id])} of this evening; " if planned.id in kept else ""
            ready = f"ready {words.day(end.date())} {end:%H:%M}"
            told.append(f"Before you stop: start {job.name} ({mine}{words.hours(long)}, {ready}).")
    return "\n".join(told)


def starts_tonight(project: Project, plan: Plan, date: dt.date) -> tuple[str, ...]:
    """Ids of the machine jobs that this evening starts."""
    row = next((e for e in plan.evenings if e.date == date and e.status != "worked"), None)
    kept = set() if row is None else {h.job for h in row.hands if h.kind == "start"}
    found = []
    for planned in plan.jobs:
        job = project.jobs_by_id.get(planned.id)
        if planned.start is None or planned.end is None or job is None or job.running:
            continue
        if planned.id in kept or (not job.start_minutes and _handed_over(project, plan, job, planned.start) == date):
            found.append(planned.id)
    return tuple(found)


def _handed_over(project: Project, plan: Plan, job: Job, begin: dt.datetime) -> dt.date:
    """The evening after which the machine has the job."""
    start = to_local(begin, zone_info(project.zone))
    waits = any(m.window or m.off for n in job.machines if (m := project.machines_by_name.get(n)))
    if waits:
        # it was given to the machine on the last evening of work before the machine's hours
        worked = [e.date for e in plan.evenings if e.work and dt.datetime.combine(e.date, e.start) <= start]
        return max(worked, default=start.date())
    # a start after midnight still belongs to the evening
    evening = (start - dt.timedelta(hours=6)).date()
    return evening if any(e.date == evening for e in plan.evenings) else start.date()


def odds_words(before: Forecast, after: Forecast) -> str:
    """The odds on both sides of an evening, a gate a line."""
    known = {g.id: g for g in before.gates}
    return "\n".join(
        f"{gate.name}: {words.in_100(known[gate.id].odds)} → {words.in_100(gate.odds)}"
        for gate in after.gates
        if gate.id in known
    )


def last_words(project: Project) -> str:
    """What the last evening of the log was."""
    if not project.log:
        return "Nothing is in the log yet; this is the first evening."
    entry = max(project.log, key=lambda e: e.evening)
    if not entry.happened:
        return f"{words.day(entry.evening)} did not happen."
    done = [
        project.items[w.item].name + (" (done)" if w.done else f" ({words.hours(w.hours)})")
        for w in entry.work
        if w.item in project.items
    ]
    return f"{words.day(entry.evening)}, {words.hours(entry.hours)}" + (": " + ", ".join(done) if done else ".")


def last_note(project: Project) -> str:
    """The newest note of the log, with its evening."""
    noted = [e for e in project.log if e.note]
    if not noted:
        return ""
    entry = max(noted, key=lambda e: e.evening)
    return f"Your note of {words.day(entry.evening)}: {entry.note}"


def coming_words(project: Project, plan: Plan, date: dt.date | None, most: int = 3) -> str:
    """The next evenings with work after a date, a line each."""
    lines = []
    for row in plan.evenings:
        names = [project.items[w.item].name for w in row.work if w.item in project.items]
        if names and (date is None or row.date > date) and row.status in ("planned", "relied", "late"):
            lines.append(f"{words.day(row.date)}: {', '.join(names)}")
    if not lines:
        return "Nothing more is planned after this evening."
    more = len(lines) - most
    return "\n".join([*lines[:most], *([f"and {words.count(more, 'more evening')}"] if more > 0 else [])])


def moved_words(project: Project, date: dt.date, before: Forecast, after: Forecast) -> str:
    """What an evening did to the buffer, and what moved the odds."""
    lines = []
    lock = next((g for g in after.gates if g.id == "lock"), None)
    was = next((g for g in before.gates if g.id == "lock"), None)
    if lock is not None and was is not None:
        have = f"{words.hours(was.buffer.have_hours)} → {words.hours(lock.buffer.have_hours)}"
        lines.append(f"After {words.day(date)}: buffer before the lock {have}.")
    entry = project.log_by_date.get(date)
    if entry is not None and not entry.happened:
        lines.append("The evening did not happen, so its hours come out of the buffer.")
    elif entry is not None:
        for work in entry.work:
            item = project.items[work.item]
            spent = sum(w.hours for e in project.log for w in e.work if w.item == work.item)
            if work.done:
                gap = spent - item.likely
                side = "over" if gap > 0 else "under"
                lines.append(
                    f"{item.name} is done, {words.hours(abs(gap))} {side} its likely time."
                    if abs(gap) >= 0.05
                    else f"{item.name} is done, in its likely time."
                )
            elif work.left is not None:
                gap = spent + work.left.likely - item.likely
                if abs(gap) >= 0.05:
                    more = "more" if gap > 0 else "less"
                    lines.append(f"{item.name} will likely take {words.hours(abs(gap))} {more} than you thought.")
    return "\n".join(lines)
