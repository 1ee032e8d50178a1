# SPDX-License-Identifier: GPL-3.0-or-later
"""Stages, items and jobs: add, change, reorder, leave out, bring back."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from nightplan.actions.values import changed, free_id, made
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate, Item, Job, Project, Stage
from nightplan.speech import tr

#: an item that is added without an estimate
NEW_LIKELY, NEW_HIGH = 1.0, 1.75


def fresh_id(project: Project, name: str) -> str:
    """An id made from a name that nothing in the project has yet."""
    return free_id({*project.items, *project.jobs_by_id, *project.stages_by_id}, name, "item")


def _place(project: Project, item_id: str) -> str:
    for s, stage in enumerate(project.stages):
        for i, item in enumerate(stage.items):
            if item.id == item_id:
                return f"stages[{s}].items[{i}]"
    raise BadInput(tr("{id!r} is no item of this project", id=item_id))


def _stage(project: Project, stage_id: str) -> Stage:
    if stage_id not in project.stages_by_id:
        raise BadInput(tr("{id!r} is no stage of this project", id=stage_id))
    return project.stages_by_id[stage_id]


def _with_stage(project: Project, stage: Stage) -> Project:
    return project.but(stages=tuple(stage if s.id == stage.id else s for s in project.stages))


# --- items ----------------------------------------------------------------------------------------


def change_item(project: Project, item_id: str, **changes: Any) -> Project:
    """Change keys of an item: name, tier, likely, high, low, after, state, not_before, role, pinned, note.

    Raises:
        BadInput: naming the place and the rule.
    """
    place = _place(project, item_id)
    stage = project.stage_of[item_id]
    new = changed(project.items[item_id], place, **changes)
    return check_project(
        _with_stage(project, stage.but(items=tuple(new if i.id == item_id else i for i in stage.items)))
    )


def set_estimate(project: Project, item_id: str, likely: float, high: float, low: float | None = None) -> Project:
    """Hours: likely (median), high (enough 9 times in 10), and optionally low. Raises BadInput."""
    return change_item(project, item_id, likely=likely, high=high, low=low)


def add_item(
    project: Project,
    stage_id: str,
    name: str,
    *,
    likely: float = NEW_LIKELY,
    high: float = NEW_HIGH,
    position: int | None = None,
    **keys: Any,
) -> Project:
    """A new item at the end of a stage, or at a position in it (from 0).

    Args:
        likely: hours, as likely too little as too much.
        high: hours that are enough nine times in ten.
        keys: further keys of an item, as :func:`change_item` takes them.

    Raises:
        BadInput: an unknown stage, or naming the place and the rule.
    """
    stage = _stage(project, stage_id)
    raw = {"id": fresh_id(project, name), "name": name, "likely": likely, "high": high, **keys}
    place = f"stages[{project.stages.index(stage)}].items[{len(stage.items)}]"
    item = made(Item, place, raw)
    items = list(stage.items)
    items.insert(len(items) if position is None else position, item)
    return check_project(_with_stage(project, stage.but(items=tuple(items))))


def remove_item(project: Project, item_id: str) -> Project:
    """Take an item out for good; what waited for it waits for what it waited for.

    Raises:
        BadInput: the log names it (leave it out instead, so that the log stays whole).
    """
    _place(project, item_id)
    if any(w.item == item_id for e in project.log for w in e.work):
        raise BadInput(tr("{id!r} has hours in the log; leave it out instead of removing it", id=item_id))
    stage = project.stage_of[item_id]
    item = project.items[item_id]
    freed = _jobs_before(project, item_id)
    project = _replace_reference(project, item_id, (*item.after, *freed), stage)
    stage = project.stages_by_id[stage.id]
    return check_project(_with_stage(project, stage.but(items=tuple(i for i in stage.items if i.id != item_id))))


def _jobs_before(project: Project, name: str) -> tuple[str, ...]:
    return tuple(job.id for job in project.jobs if name in job.before)


def _replace_reference(project: Project, gone: str, instead: tuple[str, ...], home: Stage | None = None) -> Project:
    """Names in place of one that goes; outside of its home stage also what that stage waits for."""

    def new(names: tuple[str, ...], inside: bool = False) -> tuple[str, ...]:
        if gone not in names:
            return names
        passed_on = instead if home is None or inside else (*instead, *home.after)
        found: list[str] = []
        for name in names:
            found += passed_on if name == gone else (name,)
        return tuple(dict.fromkeys(found))

    def without(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(n for n in names if n != gone)

    stages = tuple(
        s.but(
            after=new(s.after),
            items=tuple(i.but(after=new(i.after, home is not None and s.id == home.id)) for i in s.items),
        )
        for s in project.stages
    )
    jobs = tuple(j.but(after=new(j.after), before=without(j.before)) for j in project.jobs)
    return project.but(stages=stages, jobs=jobs)


def move_item(project: Project, item_id: str, steps: int) -> Project:
    """Earlier (negative) or later in the artist's order within its stage; stops at the ends."""
    _place(project, item_id)
    stage = project.stage_of[item_id]
    items = _moved(stage.items, lambda i: i.id == item_id, steps)
    return project if items == stage.items else _with_stage(project, stage.but(items=items))


def move_item_to_stage(project: Project, item_id: str, stage_id: str, position: int | None = None) -> Project:
    """An item to another stage (or another position of its own, from 0). Raises BadInput for an unknown one."""
    _place(project, item_id)
    item, old = project.items[item_id], project.stage_of[item_id]
    project = _with_stage(project, old.but(items=tuple(i for i in old.items if i.id != item_id)))
    target = _stage(project, stage_id)
    items = list(target.items)
    items.insert(len(items) if position is None else position, item)
    return check_project(_with_stage(project, target.but(items=tuple(items))))


def _moved(values: tuple[Any, ...], is_it: Callable[[Any], bool], steps: int) -> tuple[Any, ...]:
    row = list(values)
    here = next(n for n, value in enumerate(row) if is_it(value))
    there = min(len(row) - 1, max(0, here + steps))
    row.insert(there, row.pop(here))
    return tuple(row)


def leave_out(project: Project, item_ids: Iterable[str]) -> Project:
    """Cut items; their hours in the log stay."""
    for item_id in item_ids:
        project = change_item(project, item_id, state="cut")
    return project


def bring_back(project: Project, item_id: str) -> Project:
    """Open an item again that was left out or done."""
    return change_item(project, item_id, state="open")


# --- stages ---------------------------------------------------------------------------------------


def add_stage(
    project: Project, name: str, *, gate: str = "lock", after: tuple[str, ...] | None = None, id: str | None = None
) -> Project:
    """A new stage at the end; it waits for the stage before it unless told otherwise.

    Args:
        id: made from the name unless given; where it is taken, another one is made from it.

    Raises:
        BadInput: no name, an unknown gate, or an ``after`` that cannot be.
    """
    if not name.strip():
        raise BadInput(tr("stages: a stage needs a name"))
    if after is None:
        after = (project.stages[-1].id,) if project.stages else ()
    raw = {"id": fresh_id(project, id or name), "name": name, "gate": gate, "after": after}
    stage = made(Stage, f"stages[{len(project.stages)}]", raw)
    return check_project(project.but(stages=(*project.stages, stage)))


def change_stage(project: Project, stage_id: str, **changes: Any) -> Project:
    """Change keys of a stage: name, gate, after."""
    stage = _stage(project, stage_id)
    new = changed(stage, f"stages[{project.stages.index(stage)}]", **changes)
    return check_project(_with_stage(project, new))


def remove_stage(project: Project, stage_id: str) -> Project:
    """Take a stage and its items out for good. Raises BadInput where the log names one of its items."""
    stage = _stage(project, stage_id)
    for item in stage.items:
        project = remove_item(project, item.id)
    project = _replace_reference(project, stage_id, (*stage.after, *_jobs_before(project, stage_id)))
    return check_project(project.but(stages=tuple(s for s in project.stages if s.id != stage_id)))


def move_stage(project: Project, stage_id: str, steps: int) -> Project:
    """Earlier or later in the artist's order."""
    _stage(project, stage_id)
    return project.but(stages=_moved(project.stages, lambda s: s.id == stage_id, steps))


# --- jobs and gates -------------------------------------------------------------------------------


def add_job(project: Project, name: str, **keys: Any) -> Project:
    """A machine job; give frames and minutes_per_frame, or gigabytes and megabits_per_second, or hours."""
    return put_job(project, {"id": fresh_id(project, name), "name": name, **keys})


def put_job(project: Project, raw: dict[str, Any]) -> Project:
    """A job from its keys, in place of the one with the same id or at the end.

    Raises:
        BadInput: naming the place and the rule.
    """
    place = next((n for n, j in enumerate(project.jobs) if j.id == raw.get("id")), len(project.jobs))
    job = made(Job, f"jobs[{place}]", raw)
    jobs = (*project.jobs[:place], job, *project.jobs[place + 1 :])
    return check_project(project.but(jobs=jobs))


def change_job(project: Project, job_id: str, **changes: Any) -> Project:
    """Change keys of a job, in their units of the file: hours, frames, minutes a frame, gigabytes, megabits a second.

    Raises:
        BadInput: an unknown job, or naming the place and the rule.
    """
    if job_id not in project.jobs_by_id:
        raise BadInput(tr("{id!r} is no job of this project", id=job_id))
    job = project.jobs_by_id[job_id]
    new = changed(job, f"jobs[{project.jobs.index(job)}]", **changes)
    return check_project(project.but(jobs=tuple(new if j.id == job_id else j for j in project.jobs)))


def remove_job(project: Project, job_id: str) -> Project:
    """Take a job out; what waited for it waits for what it waited for.

    Raises:
        BadInput: an unknown job, or one that the log says is done.
    """
    if job_id not in project.jobs_by_id:
        raise BadInput(tr("{id!r} is no job of this project", id=job_id))
    if any(job_id in e.jobs_done for e in project.log):
        raise BadInput(tr("{id!r} is in the log as done; leave it as it is", id=job_id))
    job = project.jobs_by_id[job_id]
    project = _replace_reference(project, job_id, job.after)
    project = project.but(jobs=tuple(j for j in project.jobs if j.id != job_id))
    return check_project(_wait_for(project, job.before, job.after))


def _wait_for(project: Project, waiting: tuple[str, ...], names: tuple[str, ...]) -> Project:
    """Let stages, items and jobs wait for names, where they do not do so already by way of others."""

    def new(key: str, after: tuple[str, ...], members: tuple[str, ...]) -> tuple[str, ...]:
        if key not in waiting:
            return after
        there = set.intersection(*(_ancestors(project, member) for member in members)) if members else set()
        return tuple(dict.fromkeys((*after, *(n for n in names if not set(project.expand((n,))) <= there))))

    stages = tuple(
        s.but(
            after=new(s.id, s.after, tuple(i.id for i in s.items)),
            items=tuple(i.but(after=new(i.id, i.after, (i.id,))) for i in s.items),
        )
        for s in project.stages
    )
    jobs = tuple(j.but(after=new(j.id, j.after, (j.id,))) for j in project.jobs)
    return project.but(stages=stages, jobs=jobs)


def _ancestors(project: Project, key: str) -> set[str]:
    found: set[str] = set()
    rest = [key]
    while rest:
        new = project.predecessors[rest.pop()] - found
        found |= new
        rest += new
    return found


def set_gate(project: Project, gate: Gate) -> Project:
    """A gate in place of the one with the same id, or a further one. Raises BadInput where it cannot be."""
    if gate.id in project.gates_by_id:
        gates = tuple(gate if g.id == gate.id else g for g in project.gates)
    else:
        gates = (*project.gates, gate)
    return check_project(project.but(gates=gates))


def remove_gate(project: Project, gate_id: str) -> Project:
    """Take a further gate out; its stages and jobs go to the lock. Raises BadInput for the lock and the deadline."""
    if gate_id in ("lock", "deadline"):
        raise BadInput(tr("the gate {id!r} stays; every project has it", id=gate_id))
    stages = tuple(s.but(gate="lock") if s.gate == gate_id else s for s in project.stages)
    jobs = tuple(j.but(gate="lock") if j.gate == gate_id else j for j in project.jobs)
    gates = tuple(g for g in project.gates if g.id != gate_id)
    return check_project(project.but(stages=stages, jobs=jobs, gates=gates))
