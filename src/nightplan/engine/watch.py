# SPDX-License-Identifier: GPL-3.0-or-later
"""Watch warnings: what is going wrong, why that is thought, and what to do about it.

The buffer is watched in thirds, as in the published practice (E. M. Goldratt, Critical Chain, 1997;
L. P. Leach, Critical Chain Project Management, 2000; both from memory): in the first third nothing is
done, in the second a recovery is planned, in the last it is made. The rest is common practice of the trade.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from nightplan.engine import buffers
from nightplan.engine.earned import burn_rate
from nightplan.engine.effort import all_likely_left, likely_left
from nightplan.engine.estimates import Estimate
from nightplan.engine.past import share_of_work
from nightplan.engine.plan import plan as make_plan
from nightplan.engine.problem import Problem, problem
from nightplan.engine.recovery_words import days, hours, in_100, join
from nightplan.evenings.dated import hours_before
from nightplan.evenings.gates import GateMoment
from nightplan.model.project import Project
from nightplan.model.results import Plan
from nightplan.speech import dates, tr, trn
from nightplan.speech.words import in_100_against

WarningKind = Literal["buffer", "lost-evenings", "chain-test", "critique", "last-evening", "upload"]
WARNING_KINDS: tuple[WarningKind, ...] = ("buffer", "lost-evenings", "chain-test", "critique", "last-evening", "upload")
#: plan: think of a way back · act: take it
Level = Literal["plan", "act"]

LOST_IN_A_ROW = 3
_LAST_NIGHT_HOURS = 24.0


@dataclass(frozen=True, slots=True)
class WatchWarning:
    """Something that goes wrong, why that is thought, and what to do about it."""

    kind: WarningKind
    level: Level
    reason: str
    remedy: str
    dates: tuple[dt.date, ...] = ()
    #: items, jobs and gates that it is about
    ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BufferPoint:
    """Where a gate's buffer stands against the work."""

    gate: str
    #: share of the buffer used, share of the work done
    used: float
    done: float
    zone: Literal["quiet", "plan", "act"]

    @property
    def rate(self) -> float:
        """Share of the buffer used ÷ share of the work done; above 1 the buffer goes faster than the work."""
        return burn_rate(self.used, self.done)


def warnings(project: Project, as_of: dt.date, plan: Plan | None = None) -> tuple[WatchWarning, ...]:
    """All warnings of a project on a day, without the kinds that it has silenced.

    Args:
        plan: the plan of that day where the caller has it already.

    Raises:
        BadInput: no usable evening, an unknown zone.
    """
    setup = problem(project, as_of)
    plan = plan or make_plan(project, as_of)
    found = [
        *_buffers(setup),
        *_lost(setup, plan),
        *_chain_test(setup, plan),
        *_critique(setup, plan),
        *_last_evening(setup, plan),
        *_upload(setup, plan),
    ]
    return tuple(w for w in found if w.kind not in project.silenced)


# --- buffer ---------------------------------------------------------------------------------------


def zone(used: float, done: float) -> Literal["quiet", "plan", "act"]:
    """By thirds of the buffer, and quiet as long as it goes no faster than the work; both are shares, 1 is all.

    Thirds: published practice (E. M. Goldratt, Critical Chain, 1997; L. P. Leach, Critical Chain Project
    Management, 2000; from memory).
    """
    if used <= 1 / 3 or burn_rate(used, done) <= 1.0:
        return "quiet"
    return "plan" if used <= 2 / 3 else "act"


def buffer_points(setup: Problem) -> tuple[BufferPoint, ...]:
    """Share of buffer used and of work done for every gate that has work and had a buffer."""
    centre = all_likely_left(setup.states, setup.learned.mean, setup.project.correlation)
    own = all_likely_left(setup.states, 0.0, setup.project.correlation)
    points = []
    for gate in setup.gates:
        base = buffers.baseline_hours(setup, gate.moment.id)
        if base is None or base <= 0 or gate.missed or not gate.items:
            continue
        have = buffers.have_hours(setup, gate, sum(centre[setup.items[i]] for i in gate.items))
        used, done = 1.0 - have / base, share_of_work(setup.project, setup.calendar, gate.moment.id, setup.states, own)
        points.append(BufferPoint(gate.moment.id, used, done, zone(used, done)))
    return tuple(points)


def _buffers(setup: Problem) -> list[WatchWarning]:
    found = []
    for point in buffer_points(setup):
        if point.zone == "quiet":
            continue
        name = setup.calendar.gate(point.gate).name
        found.append(
            WatchWarning(
                "buffer",
                point.zone,
                _used_words(point, name),
                tr("choose a way back now, so that it is ready")
                if point.zone == "plan"
                else tr("take a way back tonight"),
                ids=(point.gate,),
            )
        )
    return found


def _used_words(point: BufferPoint, gate: str) -> str:
    used, done = dates.decimal(point.used * 100, 0), dates.decimal(point.done * 100, 0)
    if point.zone == "plan":
        return tr(
            "{used}% of the buffer before {gate} is used and {done}% of the work is done: "
            "the buffer is in its second third and goes faster than the work",
            used=used,
            gate=gate,
            done=done,
        )
    if point.used < 1:
        return tr(
            "{used}% of the buffer before {gate} is used and {done}% of the work is done: "
            "the buffer is in its last third and goes faster than the work",
            used=used,
            gate=gate,
            done=done,
        )
    return tr(
        "all of the buffer before {gate} is used and {done}% of the work is done: "
        "the buffer is in its last third and goes faster than the work",
        gate=gate,
        done=done,
    )


# --- evenings -------------------------------------------------------------------------------------


def _lost(setup: Problem, plan: Plan) -> list[WatchWarning]:
    run: list[dt.date] = []
    unlogged = 0
    for evening in plan.evenings:
        gone = evening.status == "unlogged" and evening.date < setup.as_of
        if gone or (evening.status == "lost" and evening.date <= setup.as_of):
            run.append(evening.date)
            unlogged += evening.status == "unlogged"
        elif evening.status == "worked":
            run, unlogged = [], 0
    if len(run) < LOST_IN_A_ROW or (not setup.items and not setup.jobs):
        return []
    reason = tr("{n} evenings in a row were lost: {dates}", n=len(run), dates=days(run, 5))
    if unlogged:
        reason = tr(
            "{lost} ({n} of them not logged: tick them off if you worked)",
            lost=reason,
            n=unlogged,
        )
    return [
        WatchWarning(
            "lost-evenings",
            "act" if len(run) > LOST_IN_A_ROW else "plan",
            reason,
            tr("lower the chance of the evenings that keep falling out, then look at the ways back"),
            tuple(run),
        )
    ]


def _chain_test(setup: Problem, plan: Plan) -> list[WatchWarning]:
    start, lock = setup.project.announced, setup.calendar.gate("lock").date
    third = start + (lock - start) / 3
    found = []
    finish = {i.id: i.finish for i in plan.items}
    for key, state in setup.states.items():
        if state.item.role != "chain-test" or state.state == "cut":
            continue
        if state.state == "done" and state.done_on is None:
            continue
        date = state.done_on if state.state == "done" else finish.get(key)
        # done is done: nothing can be changed about it any more
        if state.state == "done" or (date is not None and date <= third):
            continue
        reason = (
            tr(
                "{item} is planned for {day}, after the first third of the time ({third})",
                item=state.item.name,
                day=days([date]),
                third=days([third]),
            )
            if date is not None
            else tr(
                "{item} is not reached by the plan, after the first third of the time ({third})",
                item=state.item.name,
                third=days([third]),
            )
        )
        found.append(
            WatchWarning(
                "chain-test",
                "plan",
                reason,
                tr("run the whole chain once, ugly, to the hand-in format: put it before the long stages"),
                () if date is None else (date,),
                (key,),
            )
        )
    return found


def _critique(setup: Problem, plan: Plan) -> list[WatchWarning]:
    lock = setup.calendar.gate("lock")
    finish = {i.id: i.finish for i in plan.items}
    found = []
    for key, state in setup.states.items():
        if state.item.role != "critique" or state.state != "open":
            continue
        date = finish.get(key)
        if date is not None and any(e.date > date and hours_before(e, lock) > 0 for e in setup.evenings):
            continue
        reason = (
            tr(
                "{item} is planned for {day} and no evening follows before {gate}",
                item=state.item.name,
                day=days([date]),
                gate=lock.name,
            )
            if date is not None
            else tr(
                "{item} is not reached by the plan and no evening follows before {gate}",
                item=state.item.name,
                gate=lock.name,
            )
        )
        found.append(
            WatchWarning(
                "critique",
                "plan",
                reason,
                tr("ask for the critique earlier, or keep an evening after it free to act on it"),
                () if date is None else (date,),
                (key,),
            )
        )
    return found


def _last_evening(setup: Problem, plan: Plan) -> list[WatchWarning]:
    found: list[WatchWarning] = []
    seen: set[dt.date] = set()
    for gate_id in ("lock", "deadline"):
        gate = setup.calendar.gate(gate_id)
        before = [e.date for e in setup.evenings if hours_before(e, gate) > 0]
        if not before or before[-1] in seen:
            continue
        last = before[-1]
        seen.add(last)
        given = [w.item for e in plan.evenings if e.date == last and e.status != "worked" for w in e.work]
        creative = [k for k in dict.fromkeys(given) if setup.states[k].item.role == "work"]
        if creative:
            names = [setup.states[k].item.name for k in creative]
            found.append(
                WatchWarning(
                    "last-evening",
                    "plan",
                    trn(
                        "{items} is planned on {day}, the last evening before {gate}",
                        "{items} are planned on {day}, the last evening before {gate}",
                        len(names),
                        items=join(names),
                        day=days([last]),
                        gate=gate.name,
                    ),
                    tr("keep that evening for checks and the hand-in: win an evening before it"),
                    (last,),
                    tuple(creative),
                )
            )
    return found


def _upload(setup: Problem, plan: Plan) -> list[WatchWarning]:
    found = []
    ends = {j.id: j.end for j in plan.jobs}
    for key in setup.jobs:
        job = setup.job_states[key][0]
        if job.kind != "upload":
            continue
        gate = setup.calendar.gate(job.gate)
        # of what is past nothing can be kept clear any more
        if gate.date < setup.as_of:
            continue
        end = ends.get(key)
        if end is not None and end <= gate.instant - dt.timedelta(hours=_LAST_NIGHT_HOURS):
            continue
        local = None if end is None else end.astimezone(setup.calendar.zone)
        if end is None or local is None:
            reason = tr("{job} is not reached by the plan before {gate}", job=job.name, gate=gate.name)
        else:
            by_plan = {
                "job": job.name,
                "day": days([local.date()]),
                "time": f"{local:%H:%M}",
                "margin": _margin(gate, end),
            }
            if end > gate.instant:
                reason = tr("{job} ends {day} at {time} by the plan, {margin}", **by_plan)
            else:
                reason = tr(
                    "{job} ends {day} at {time} by the plan, {margin}: inside the last night before {gate}",
                    **by_plan,
                    gate=gate.name,
                )
        found.append(
            WatchWarning(
                "upload",
                "act" if end is None or end > gate.instant else "plan",
                reason,
                tr("hand in a valid early version where the rules allow it, and keep a free night after the upload"),
                () if local is None else (local.date(),),
                (key,),
            )
        )
    return found


def _margin(gate: GateMoment, end: dt.datetime) -> str:
    left = (gate.instant - end).total_seconds() / 3600.0
    if left >= 0:
        return tr("{hours} before {gate}", hours=hours(left), gate=gate.name)
    return tr("{hours} after {gate}", hours=hours(-left), gate=gate.name)


# --- when to offer the ways back ------------------------------------------------------------------

OfferKind = Literal["overrun", "lost-evening", "odds"]


@dataclass(frozen=True, slots=True)
class Offer:
    """A reason to show the ways back now."""

    kind: OfferKind
    reason: str
    ids: tuple[str, ...] = ()


def offers(project: Project, as_of: dt.date, odds: Mapping[str, float]) -> tuple[Offer, ...]:
    """Reasons to show the ways back: an open item past its likely time, the last evening lost, odds below the asked.

    Args:
        odds: gate id -> odds of the forecast of that day.

    Raises:
        BadInput: no usable evening, an unknown zone.
    """
    setup = problem(project, as_of)
    found = []
    for key in setup.items:
        state = setup.states[key]
        median = Estimate.of(state.item).median
        over = state.spent + likely_left(state, 0.0, project.correlation) - median
        if state.spent > median + 1e-9:
            found.append(
                Offer(
                    "overrun",
                    tr(
                        "{item} is past its likely {likely}; {over} over by the end",
                        item=state.item.name,
                        likely=hours(median),
                        over=hours(over),
                    ),
                    (key,),
                )
            )
    entries = [e for e in project.log if e.evening <= as_of]
    if entries:
        last = max(entries, key=lambda e: e.evening)
        if not last.happened:
            found.append(Offer("lost-evening", tr("the evening of {day} was lost", day=days([last.evening]))))
    low = [
        g
        for g in setup.gates
        if (g.items or g.jobs) and not g.missed and odds.get(g.moment.id, 1.0) < project.target_odds
    ]
    for gate in low:
        reason = tr(
            "{gate} stands at {odds}; you asked for {asked}",
            gate=gate.moment.name,
            odds=in_100_against(odds[gate.moment.id], project.target_odds),
            asked=in_100(project.target_odds),
        )
        found.append(Offer("odds", reason, (gate.moment.id,)))
    return tuple(found)
