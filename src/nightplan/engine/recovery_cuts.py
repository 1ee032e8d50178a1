# SPDX-License-Identifier: GPL-3.0-or-later
"""Moves that take work away or move it: items by tier, machine jobs, the lock, order, overlap."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import replace

from nightplan.engine.effort import likely_left
from nightplan.engine.problem import Problem
from nightplan.engine.recovery_moves import apply_change
from nightplan.engine.recovery_words import days, hours, join, minutes_of
from nightplan.evenings.dated import calendar, hours_before
from nightplan.model.project import Item, Job, Project, Tier
from nightplan.model.results_recovery import (
    Change,
    GateMoved,
    ItemCut,
    JobFrames,
    JobMachine,
    JobPicture,
    JobRanges,
    JobSamples,
    JobScaled,
    JobShared,
    Move,
    Overlapped,
    StageEarlier,
)
from nightplan.speech import tr, trn

#: an hour of a likely estimate that is left out counts so many hours (common practice, no source)
TIER_WEIGHT: dict[Tier, int] = {"tertiary": 1, "secondary": 2, "primary": 4}
_TIER: dict[Tier, str] = {"tertiary": tr("tertiary"), "secondary": tr("secondary"), "primary": tr("primary")}
#: cost in minutes of what a picture loses, on the scale of evening time (common practice, no source)
SAMPLES_COST, PICTURE_COST, FRAMES_COST, STEPS_COST, MACHINE_COST = 60, 120, 180, 90, 60
#: ranges to look after, and into how many a render is cut
RANGES_COST, RANGES = 20, 4
ORDER_COST = 15
#: so many items of a tier are offered one by one; the rest go by stage or all together
LEAVE_OUT_SINGLES = 8
#: share of the overlapped work that is looked at again once the job is done (common practice, no source)
REWORK_SHARE = 0.1
#: how many times later the lock is offered: by one evening, by two, as late as it may be
LOCK_STEPS = 2


# --- leave out ------------------------------------------------------------------------------------


def leave_out_moves(setup: Problem, include_primary: bool = False) -> list[Move]:
    """Open items by tier, tertiary before secondary; primary only when asked; pinned ones never."""
    open_items = [setup.states[k].item for k in setup.project.items if k in setup.items]
    # a test of the chain, a critique or the hand-in is no dressing
    free = [i for i in open_items if not i.pinned and i.role == "work"]
    by_tier: dict[Tier, list[Item]] = {
        t: [i for i in free if i.tier == t] for t in ("tertiary", "secondary", "primary")
    }
    moves: list[Move] = []
    moves += _tier_moves(setup, "tertiary", by_tier["tertiary"], frozenset())
    first = frozenset(i.id for i in by_tier["tertiary"])
    moves += _tier_moves(setup, "secondary", by_tier["secondary"], first)
    if include_primary:
        first |= {i.id for i in by_tier["secondary"]}
        moves += _tier_moves(setup, "primary", by_tier["primary"], first)
    return _excluding(moves)


def _tier_moves(setup: Problem, tier: Tier, items: list[Item], first: frozenset[str]) -> list[Move]:
    # one by one only the largest, in the artist's order
    left = {i.id: likely_left(setup.states[i.id], 0.0, setup.project.correlation) for i in items}
    largest = sorted(items, key=lambda i: -left[i.id])[:LEAVE_OUT_SINGLES]
    moves = [_leave_out(setup, f"leave-out:{i.id}", tier, [i], first) for i in items if i in largest]
    groups: dict[str, list[Item]] = {}
    for i in items:
        groups.setdefault(setup.project.stage_of[i.id].id, []).append(i)
    if len(groups) > 1:
        moves += [
            _leave_out(setup, f"leave-out:{stage}:{tier}", tier, group, first, setup.project.stages_by_id[stage].name)
            for stage, group in groups.items()
            if len(group) > 1
        ]
    if len(items) > 1:
        moves.append(
            _leave_out(setup, f"leave-out:all:{tier}", tier, items, first, tr("all stages") if len(groups) > 1 else "")
        )
    return moves


def _leave_out(setup: Problem, key: str, tier: Tier, items: list[Item], first: frozenset[str], place: str = "") -> Move:
    left = sum(likely_left(setup.states[i.id], 0.0, setup.project.correlation) for i in items)
    names = [i.name for i in items]
    shown = join(names if len(names) <= 4 else [*names[:3], tr("{rest} more", rest=len(names) - 3)])
    what = (
        tr("Leave out: {items} ({tier}, {stage})", items=shown, tier=_TIER[tier], stage=place)
        if place
        else tr("Leave out: {items} ({tier})", items=shown, tier=_TIER[tier])
    )
    return Move(
        key,
        "leave-out",
        what,
        tr("the piece goes without {items}; {hours} of likely work", items=shown, hours=hours(left)),
        minutes_of(left * TIER_WEIGHT[tier]),
        tuple(ItemCut(i.id) for i in items),
        only_with=first,
        touches=tuple(i.id for i in items),
    )


def _excluding(moves: list[Move]) -> list[Move]:
    """Moves that leave out the same item exclude each other."""
    return [
        replace(m, forbids=frozenset(o.id for o in moves if o is not m and o.cut_items & m.cut_items)) for m in moves
    ]


# --- cheaper machine jobs -------------------------------------------------------------------------


def cheaper_job_moves(setup: Problem, done_before: frozenset[str]) -> list[Move]:
    """Renders and simulations that take less machine time.

    Scale rules: time goes with frames and with samples, and with the square of the picture's edge; a
    second machine of the same speed halves a render that is shared out by frames.

    Args:
        done_before: ids of moves that a re-plan already made; the same cut is not offered twice.
    """
    moves: list[Move] = []
    machines = {name for job in setup.project.jobs for name in job.machines}
    for key in setup.jobs:
        job = setup.job_states[key][0]
        # what runs already is left alone
        if job.pinned or job.running or job.kind not in ("render", "simulation") or job.gigabytes is not None:
            continue
        own = _render(job) if job.kind == "render" else _simulation(job)
        ids = {m.id for m in own}
        own = [replace(m, forbids=frozenset(ids - {m.id})) for m in own]
        own += _second_machine(job, machines, setup.project)
        own += _ranges(job)
        moves += [m for m in own if m.id not in done_before]
    kept = {m.id for m in moves}
    return [replace(m, forbids=m.forbids & kept) for m in moves]


def _job_move(job: Job, key: str, what: str, cost: str, minutes: int, *changes: Change) -> Move:
    return Move(f"job:{job.id}:{key}", "cheaper-job", what, cost, minutes, changes, touches=(job.id,))


def _render(job: Job) -> list[Move]:
    moves = [_fewer_samples(job), _smaller_picture(job)]
    if job.frames is not None and job.frames > 1:
        half = math.ceil(job.frames / 2)
        moves.append(
            _job_move(
                job,
                "frames",
                tr("{job} with every second frame, {fewer} for {frames}", job=job.name, fewer=half, frames=job.frames),
                tr("movement on twos; check the frame rate that the brief asks for"),
                FRAMES_COST,
                JobFrames(job.id, half),
            )
        )
    return moves


def _fewer_samples(job: Job) -> Move:
    what = tr("{job} at 3/4 of the samples", job=job.name)
    change: Change = JobScaled(job.id, 0.75)
    if job.samples is not None and job.samples > 1:
        fewer = max(1, job.samples * 3 // 4)
        what = tr("{job} with {fewer} samples for {samples}", job=job.name, fewer=fewer, samples=job.samples)
        change = JobSamples(job.id, fewer)
    cost = tr("more noise; check three frames, a light, a middle and a heavy one")
    return _job_move(job, "samples", what, cost, SAMPLES_COST, change)


def _smaller_picture(job: Job) -> Move:
    what = tr("{job} at 3/4 of the width and height", job=job.name)
    change: Change = JobScaled(job.id, 0.75**2)
    if job.picture is not None:
        # even numbers: many codecs take no others
        width, height = (min(edge, max(2, round(edge * 0.75 / 2) * 2)) for edge in job.picture)
        small, large = f"{width} × {height}", f"{job.picture[0]} × {job.picture[1]}"
        # translators: "Render at 1440 × 810 for 1920 × 1080"
        what = tr("{job} at {smaller} for {picture}", job=job.name, smaller=small, picture=large)
        change = JobPicture(job.id, width, height)
    cost = tr("a softer picture, enlarged afterwards; check the size that the brief asks for")
    return _job_move(job, "picture", what, cost, PICTURE_COST, change)


def _ranges(job: Job) -> list[Move]:
    """Only where a run can fail is anything won by cutting it."""
    if job.fail_chance <= 0 or (job.ranges or 1) > 1 or job.frames is None or job.frames < RANGES:
        return []
    what = tr(
        "{job} in {ranges} ranges of about {frames} frames",
        job=job.name,
        ranges=RANGES,
        frames=math.ceil((job.whole_frames or 0) / RANGES),
    )
    cost = tr("more starts and numbers to look after; a failure costs a range, not the night")
    return [_job_move(job, "ranges", what, cost, RANGES_COST, JobRanges(job.id, RANGES))]


def _simulation(job: Job) -> list[Move]:
    return [
        _job_move(
            job,
            "steps",
            tr("{job} with half the steps", job=job.name),
            tr("coarser motion in the simulation; look at it before it is used"),
            STEPS_COST,
            JobScaled(job.id, 0.5),
        )
    ]


def _second_machine(job: Job, machines: set[str], project: Project) -> list[Move]:
    shared = not job.also_on and any(
        job.machine in o.machines and o.id != job.id and o.state == "open" for o in project.jobs
    )
    moves = []
    if job.kind == "render" and job.frames is not None and job.frames > 1:
        moves.append(
            _job_move(
                job,
                "halved",
                tr("{job} shared between two machines", job=job.name),
                tr("a second machine of the same speed, set up and tested"),
                MACHINE_COST,
                JobScaled(job.id, 0.5),
            )
        )
    if job.frames is not None and job.frames > 1:
        others = [m.name for m in project.machines or () if m.name not in job.machines]
        moves += [
            _job_move(
                job,
                f"shared:{name}",
                tr("{job} shared with {machine}", job=job.name, machine=name),
                tr("{machine} set up and tested, and busy with it", machine=name),
                MACHINE_COST,
                JobShared(job.id, name),
            )
            for name in others[:2]
        ]
    if shared:
        # translators: the name of a machine beside the first; a number may follow it
        second = tr("second")
        name = next(n for k in range(len(machines) + 1) if (n := f"{second}{k or ''}") not in machines)
        moves.append(
            _job_move(
                job,
                "machine",
                tr("{job} on a machine of its own", job=job.name),
                tr("a second machine of the same speed, set up and tested"),
                MACHINE_COST,
                JobMachine(job.id, name),
            )
        )
    both = frozenset(m.id for m in moves)
    return [replace(m, forbids=both - {m.id}) for m in moves]


# --- the lock -------------------------------------------------------------------------------------


def lock_moves(setup: Problem) -> list[Move]:
    """The personal lock later: by one evening, by two, as late as may be; never past the next gate."""
    project, dated = setup.project, setup.calendar
    lock, deadline = dated.gate("lock"), dated.gate("deadline")
    after = [g.instant for g in dated.gates if g.instant >= lock.instant and g.id != "lock"]
    limit = min([*after, deadline.instant])
    dates = sorted({e.date for e in dated.evenings if e.date > lock.date and e.date <= deadline.date})
    moved = [d for d in dates if _lock_fits(project, (d - lock.date).days, limit)]
    chosen = moved[:LOCK_STEPS] + [d for d in moved[LOCK_STEPS:] if d == moved[-1]]
    moves = []
    for date in chosen:
        lost = sum((hours_before(e, deadline)) * e.chance for e in dated.evenings if lock.date < e.date <= date)
        rest = [e for e in dated.evenings if e.date > date and hours_before(e, deadline) > 0]
        left = (
            trn(
                "one evening left between it and {gate}",
                "{n} evenings left between it and {gate}",
                len(rest),
                gate=deadline.name,
            )
            if rest
            else tr("no evening left between it and {gate}", gate=deadline.name)
        )
        moves.append(
            Move(
                f"lock:{date}",
                "lock-later",
                tr("Move {gate} from {old} to {new}", gate=lock.name, old=days([lock.date]), new=days([date])),
                left,
                minutes_of(lost),
                (GateMoved("lock", (date - lock.date).days),),
                touches=("lock",),
            )
        )
    ids = frozenset(m.id for m in moves)
    return [replace(m, forbids=ids - {m.id}) for m in moves]


def _lock_fits(project: Project, days_later: int, limit: dt.datetime) -> bool:
    moved = apply_change(project, GateMoved("lock", days_later))
    # the calendar's gate, because a whole evening may run past midnight
    return calendar(moved).gate("lock").instant <= limit


# --- order and overlap ----------------------------------------------------------------------------


def order_moves(setup: Problem) -> list[Move]:
    """A stage put as early in the artist's order as precedence allows; only where that changes the order."""
    project = setup.project
    waits = _waits_for(project)
    stages = [s.id for s in project.stages]
    moves = []
    for n, stage in enumerate(project.stages):
        mine = [i for i in stage.items if i.id in setup.items]
        if not mine or any(i.pinned for i in mine):
            continue
        first = max((stages.index(s) + 1 for s in waits[stage.id] if s in stages and stages.index(s) < n), default=0)
        # before the first stage that still has something to do
        while first < n and not any(i.id in setup.items for i in project.stages[first].items):
            first += 1
        if first >= n:
            continue
        other = project.stages[first]
        moves.append(
            Move(
                f"order:{stage.id}",
                "order",
                tr("Start {stage} before {other}", stage=stage.name, other=other.name),
                tr("another order of work; nothing is lost but the habit"),
                ORDER_COST,
                (StageEarlier(stage.id, other.id),),
                touches=(stage.id,),
            )
        )
    ids = frozenset(m.id for m in moves)
    return [replace(m, forbids=ids - {m.id}) for m in moves]


def _waits_for(project: Project) -> dict[str, set[str]]:
    """Stage -> stages that hold something it waits for, at any distance."""
    stage_of = {k: s.id for k, s in project.stage_of.items()}
    known: dict[str, set[str]] = {}
    for key in project.predecessors:
        stack, seen = [key], {key}
        while stack:
            for p in project.predecessors[stack.pop()]:
                if p not in seen:
                    seen.add(p)
                    stack.append(p)
        if key in stage_of:
            known.setdefault(stage_of[key], set()).update(stage_of[k] for k in seen if k in stage_of)
    return {s.id: known.get(s.id, set()) - {s.id} for s in project.stages}


def overlap_moves(setup: Problem) -> list[Move]:
    """Work on a stage beside the machine job that runs before it, with stand-in pictures.

    Only where the artist made a whole stage wait for the job: an item's own ``after`` is never loosened.
    """
    moves = []
    project = setup.project
    for key in setup.jobs:
        job = setup.job_states[key][0]
        if job.pinned:
            continue
        for stage in project.stages:
            open_items = [i for i in stage.items if i.id in setup.items]
            waits = stage.id in job.before or job.id in stage.after
            if not waits or len(open_items) < 2 or any(i.pinned for i in stage.items):
                continue
            early = open_items[:-1]
            left = sum(likely_left(setup.states[i.id], 0.0, project.correlation) for i in early)
            moves.append(
                Move(
                    f"overlap:{stage.id}:{job.id}",
                    "overlap",
                    tr(
                        "Begin {stage} with stand-ins while {job} runs; {item} still waits",
                        stage=stage.name,
                        job=job.name,
                        item=open_items[-1].name,
                    ),
                    tr(
                        "{items} looked at again afterwards, about {hours}",
                        items=join([i.name for i in early]),
                        hours=hours(left * REWORK_SHARE),
                    ),
                    minutes_of(left * REWORK_SHARE),
                    (Overlapped(stage.id, job.id),),
                    touches=(stage.id, job.id),
                )
            )
    return moves


def work_moves(setup: Problem, include_primary: bool, done_before: Iterable[str]) -> list[Move]:
    """All moves that take work away or move it."""
    return [
        *leave_out_moves(setup, include_primary),
        *cheaper_job_moves(setup, frozenset(done_before)),
        *lock_moves(setup),
        *order_moves(setup),
        *overlap_moves(setup),
    ]
