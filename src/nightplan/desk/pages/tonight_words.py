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
from nightplan.speech import language, tr, trn


def evening_words(date: dt.date, row: PlannedEvening | None, as_of: dt.date) -> str:
    """``Tonight, Tue 12 Oct · 20:30 to 23:00 · 2.5 h``"""
    day = words.day(date)
    if date == as_of:
        day = tr("Tonight, {day}", day=day)
    elif (date - as_of).days == 1:
        day = tr("Tomorrow, {day}", day=day)
    if row is None:
        return day
    end = words.clock(words.until(row.start, row.hours))
    # translators: times of the clock
    times = tr("{start} to {end}", start=words.clock(row.start), end=end)
    return f"{day} · {times} · {words.hours(row.hours)}"


def left_words(project: Project, item: Item, as_of: dt.date) -> str:
    """How much is left, and how it went so far."""
    state = item_states(project, as_of)[item.id]
    left = likely_left(state, 0.0, project.correlation)
    told = [tr("Likely {hours} left.", hours=words.known_hours(left))]
    if state.spent > 0:
        spent, over = words.known_hours(state.spent), state.spent - item.likely
        told.append(
            tr("{hours} worked so far, {over} over its likely time.", hours=spent, over=words.known_hours(over))
            if over > 0.05
            else tr("{hours} worked so far of likely {likely}.", hours=spent, likely=words.exact_hours(item.likely))
        )
    elif item.high > item.likely:
        told.append(tr("{hours} if it fights back.", hours=words.exact_hours(item.high)))
    return " ".join(told)


def why_words(project: Project, item: Item) -> str:
    """Why this one is first: what waits for it."""
    waiting = [
        key
        for key, before in project.predecessors.items()
        if item.id in before
        and (project.items[key].state == "open" if key in project.items else project.jobs_by_id[key].state == "open")
    ]
    if not waiting:
        gate = project.gates_by_id[project.stage_of[item.id].gate].name
        # a name in the midst of a sentence, as English writes it
        gate = gate.lower() if language() == "en" else gate
        return tr("It is first because it is next in your order before {gate}.", gate=gate)
    jobs = [project.jobs_by_id[k].name for k in waiting if k in project.jobs_by_id]
    stages = list(dict.fromkeys(project.stage_of[k].name for k in waiting if k in project.items))
    own = project.stage_of[item.id].name
    named = [s for s in stages if s != own] or [project.items[k].name for k in waiting if k in project.items][:2]
    things = [*jobs, *named][:3]
    if len(things) == 1:
        return tr("It is first because {work} waits for it.", work=things[0])
    return tr("It is first because {works} wait for it.", works=words.listed(things))


def before_you_stop(project: Project, plan: Plan, date: dt.date) -> str:
    """Machine jobs that this evening looks over, starts, or hands to a machine whose hours begin later."""
    row = next((e for e in plan.evenings if e.date == date and e.status != "worked"), None)
    hands = () if row is None else row.hands
    told = []
    for hand in hands:
        job = project.jobs_by_id.get(hand.job)
        if hand.kind == "check" and job is not None:
            told.append(
                tr("Look over {job} ({minutes} of this evening).", job=job.name, minutes=words.minutes(hand.hours))
            )
    kept = {h.job: h.hours for h in hands if h.kind == "start"}
    starts = starts_tonight(project, plan, date)
    for planned in plan.jobs:
        job = project.jobs_by_id.get(planned.id)
        if planned.start is None or planned.end is None or job is None or job.running:
            continue
        if planned.id in starts:
            end = to_local(planned.end, zone_info(project.zone))
            long = (planned.end - planned.start).total_seconds() / 3600
            ready = words.moment(end)
            if planned.id in kept:
                told.append(
                    tr(
                        "Before you stop: start {job} ({minutes} of this evening; {hours}, ready {moment}).",
                        job=job.name,
                        minutes=words.minutes(kept[planned.id]),
                        hours=words.hours(long),
                        moment=ready,
                    )
                )
            else:
                told.append(
                    tr(
                        "Before you stop: start {job} ({hours}, ready {moment}).",
                        job=job.name,
                        hours=words.hours(long),
                        moment=ready,
                    )
                )
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
        return tr("Nothing is in the log yet; this is the first evening.")
    entry = max(project.log, key=lambda e: e.evening)
    if not entry.happened:
        return tr("{day} did not happen.", day=words.day(entry.evening))
    done = [
        tr("{item} (done)", item=project.items[w.item].name)
        if w.done
        else f"{project.items[w.item].name} ({words.known_hours(w.hours)})"
        for w in entry.work
        if w.item in project.items
    ]
    day, hours = words.day(entry.evening), words.hours(entry.hours)
    if done:
        return tr("{day}, {hours}: {work}", day=day, hours=hours, work=", ".join(done))
    # translators: the full stop of a sentence
    return tr("{sentence}.", sentence=f"{day}, {hours}")


def last_note(project: Project) -> str:
    """The newest note of the log, with its evening."""
    noted = [e for e in project.log if e.note]
    if not noted:
        return ""
    entry = max(noted, key=lambda e: e.evening)
    return tr("Your note of {day}: {note}", day=words.day(entry.evening), note=entry.note)


def coming_words(project: Project, plan: Plan, date: dt.date | None, most: int = 3) -> str:
    """The next evenings with work after a date, a line each."""
    lines = []
    for row in plan.evenings:
        names = [project.items[w.item].name for w in row.work if w.item in project.items]
        if names and (date is None or row.date > date) and row.status in ("planned", "relied", "late"):
            lines.append(f"{words.day(row.date)}: {', '.join(names)}")
    if not lines:
        return tr("Nothing more is planned after this evening.")
    more = len(lines) - most
    if more > 0:
        lines[most:] = [trn("and {n} more evening", "and {n} more evenings", more)]
    return "\n".join(lines)


def moved_words(project: Project, date: dt.date, before: Forecast, after: Forecast) -> str:
    """What an evening did to the buffer, and what moved the odds."""
    lines = []
    lock = next((g for g in after.gates if g.id == "lock"), None)
    was = next((g for g in before.gates if g.id == "lock"), None)
    if lock is not None and was is not None:
        lines.append(
            tr(
                "After {day}: buffer before the lock {before} → {after}.",
                day=words.day(date),
                before=words.hours(was.buffer.have_hours),
                after=words.hours(lock.buffer.have_hours),
            )
        )
    entry = project.log_by_date.get(date)
    if entry is not None and not entry.happened:
        lines.append(tr("The evening did not happen, so its hours come out of the buffer."))
    elif entry is not None:
        for work in entry.work:
            item = project.items[work.item]
            spent = sum(w.hours for e in project.log for w in e.work if w.item == work.item)
            if work.done:
                gap = spent - item.likely
                hours = words.hours(abs(gap))
                if abs(gap) < 0.05:
                    lines.append(tr("{item} is done, in its likely time.", item=item.name))
                elif gap > 0:
                    lines.append(tr("{item} is done, {hours} over its likely time.", item=item.name, hours=hours))
                else:
                    lines.append(tr("{item} is done, {hours} under its likely time.", item=item.name, hours=hours))
            elif work.left is not None:
                gap = spent + work.left.likely - item.likely
                hours = words.hours(abs(gap))
                if gap >= 0.05:
                    lines.append(
                        tr("{item} will likely take {hours} more than you thought.", item=item.name, hours=hours)
                    )
                elif gap <= -0.05:
                    lines.append(
                        tr("{item} will likely take {hours} less than you thought.", item=item.name, hours=hours)
                    )
    return "\n".join(lines)
