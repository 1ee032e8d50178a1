# SPDX-License-Identifier: GPL-3.0-or-later
"""From a move, which is data, to the changed project."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable

from nightplan.model.errors import BadInput
from nightplan.model.project import EveningChange, ExtraEvening, Gate, Item, Job, Project, Span
from nightplan.model.results_recovery import (
    Change,
    EveningAdded,
    EveningSet,
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
from nightplan.speech import tr


def apply_moves(project: Project, moves: Iterable[Move]) -> Project:
    """The project with all of the moves made; their order does not matter.

    Raises:
        BadInput: two of the moves exclude each other, or a move names what the project has not.
    """
    chosen = list(moves)
    ids = {m.id for m in chosen}
    for move in chosen:
        clash = move.forbids & ids
        if clash:
            other = next(m for m in chosen if m.id in clash)
            raise BadInput(
                tr(
                    "moves: {one!r} and {other!r} exclude each other; choose one of them",
                    one=move.what,
                    other=other.what,
                )
            )
    # an overlap looks at what is open, so it comes after what is left out
    changes = [c for m in chosen for c in m.changes]
    for change in sorted(changes, key=lambda c: isinstance(c, Overlapped)):
        project = apply_change(project, change)
    return project


def apply_change(project: Project, change: Change) -> Project:
    """One change. Raises BadInput where it names what the project has not."""
    match change:
        case EveningSet():
            return _evening_set(project, change)
        case EveningAdded():
            extra = ExtraEvening(
                on=change.on, start=change.start, hours=change.hours, chance=change.chance, why=tr("added")
            )
            return project.but(extra=(*project.extra, extra))
        case ItemCut():
            _known(change.item, project.items, tr("names no item of this project"))
            return _items(project, lambda i: i.but(state="cut") if i.id == change.item else i)
        case JobScaled():
            return _job(project, change.job, lambda j: _scaled(j, change.factor))
        case JobFrames():
            return _job(project, change.job, lambda j: j.but(frames=change.frames))
        case JobMachine():
            return _own_machine(project, change)
        case JobSamples():
            return _job(project, change.job, lambda j: j.but(samples=change.samples))
        case JobPicture():
            return _job(project, change.job, lambda j: j.but(picture=(change.width, change.height)))
        case JobRanges():
            return _job(project, change.job, lambda j: j.but(ranges=change.ranges))
        case JobShared():
            return _job(project, change.job, lambda j: j.but(also_on=(*(j.also_on or ()), change.machine)))
        case GateMoved():
            _known(change.gate, project.gates_by_id, tr("names no gate of this project"))
            gates = tuple(later_gate(g, change.days) if g.id == change.gate else g for g in project.gates)
            return project.but(gates=gates)
        case StageEarlier():
            return _stage_earlier(project, change)
        case Overlapped():
            return _overlapped(project, change)


def _known(name: str, there: Iterable[str], rule: str) -> None:
    if name not in there:
        raise BadInput.at("moves", name, rule)


def _items(project: Project, change: Callable[[Item], Item]) -> Project:
    stages = []
    for stage in project.stages:
        items: tuple[Item, ...] = tuple(change(i) for i in stage.items)
        same = all(a is b for a, b in zip(items, stage.items, strict=True))
        stages.append(stage if same else stage.but(items=items))
    return project.but(stages=tuple(stages))


def _job(project: Project, job_id: str, change: Callable[[Job], Job]) -> Project:
    _known(job_id, project.jobs_by_id, tr("names no job of this project"))
    return project.but(jobs=tuple(change(j) if j.id == job_id else j for j in project.jobs))


def _own_machine(project: Project, change: JobMachine) -> Project:
    """The job on another machine; one that the project does not know is like the one that it comes from."""
    _known(change.job, project.jobs_by_id, tr("names no job of this project"))
    like = project.machines_by_name.get(project.jobs_by_id[change.job].machine)
    if like is not None and change.machine not in project.machines_by_name:
        project = project.but(machines=(*(project.machines or ()), like.but(name=change.machine)))
    return _job(project, change.job, lambda j: j.but(machine=change.machine))


def _evening_set(project: Project, change: EveningSet) -> Project:
    new = {k: v for k, v in (("chance", change.chance), ("hours", change.hours)) if v is not None}
    changes = list(project.changes)
    for n, old in enumerate(changes):
        if old.on == change.on:
            changes[n] = old.but(**new)
            break
    else:
        changes.append(EveningChange(on=change.on, **new))
    return project.but(changes=tuple(changes))


def scaled_span(span: Span, factor: float) -> Span:
    """An uncertain amount, every number times a factor."""
    low = None if span.low is None else span.low * factor
    return span.but(likely=span.likely * factor, high=span.high * factor, low=low)


def _scaled(job: Job, factor: float) -> Job:
    if job.minutes_per_frame is not None:
        return job.but(minutes_per_frame=scaled_span(job.minutes_per_frame, factor))
    if job.hours is not None:
        return job.but(hours=scaled_span(job.hours, factor))
    raise BadInput.at("moves", job.id, tr("is a transfer; only frames and hours of a machine can be made cheaper"))


def later_gate(gate: Gate, days: int) -> Gate:
    """The gate some days later, in the form in which it was given."""
    step = dt.timedelta(days=days)
    if gate.on is not None:
        return gate.but(on=gate.on + step)
    assert gate.at is not None
    return gate.but(at=gate.at + step)


def _stage_earlier(project: Project, change: StageEarlier) -> Project:
    _known(change.stage, project.stages_by_id, tr("names no stage of this project"))
    _known(change.before, project.stages_by_id, tr("names no stage of this project"))
    rest = [s for s in project.stages if s.id != change.stage]
    place = next(n for n, s in enumerate(rest) if s.id == change.before)
    rest.insert(place, project.stages_by_id[change.stage])
    return project.but(stages=tuple(rest))


def _overlapped(project: Project, change: Overlapped) -> Project:
    """The last open item of the stage still waits for the job; the others wait for what the job waits for."""
    _known(change.stage, project.stages_by_id, tr("names no stage of this project"))
    _known(change.job, project.jobs_by_id, tr("names no job of this project"))
    stage, job = project.stages_by_id[change.stage], project.jobs_by_id[change.job]
    open_items = [i for i in stage.items if i.state == "open"]
    if len(open_items) < 2:
        return project
    last = open_items[-1]
    items = tuple(
        i.but(after=_with(i.after, (job.id,))) if i.id == last.id else i.but(after=_with(i.after, job.after))
        for i in stage.items
    )
    stages = tuple(
        s.but(items=items, after=tuple(a for a in s.after if a != job.id)) if s.id == stage.id else s
        for s in project.stages
    )
    before = tuple(b for b in job.before if b != stage.id)
    return project.but(stages=stages, jobs=tuple(j.but(before=before) if j.id == job.id else j for j in project.jobs))


def _with(names: tuple[str, ...], more: tuple[str, ...]) -> tuple[str, ...]:
    return (*names, *(m for m in more if m not in names))
