# SPDX-License-Identifier: GPL-3.0-or-later
"""Work that the brief asks for, taken into the plan one by one: a progress post becomes a gate, the rest items."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.actions.brief import deliverables_of, notes_of, with_notes
from nightplan.actions.edit import add_item, add_stage, set_gate
from nightplan.actions.values import free_id
from nightplan.brief.work import Proposal, work_from_brief
from nightplan.model.brief import MAX_REFUSED, Refused
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate, Project
from nightplan.speech import mark, tr

#: days before its gate from which on a progress post is made, so that it shows what there is by then (common
#: practice, no source)
POST_DAYS = 6
#: kind of what is refused among :class:`Refused`
WORK = "work"
_STAGE = mark("For the hand-in")
#: id of the stage with what the brief asks for by the deadline: it stays when the artist names the stage anew or speaks
#: another language
_STAGE_ID = "for-the-hand-in"


def work_asked(project: Project) -> tuple[Proposal, ...]:
    """Gates and items that the brief asks for, in its order: not in the plan yet, not ticked, not refused."""
    deliverables = deliverables_of(project)
    ticked = {(d.id, r.id) for d in deliverables for r in d.rules if r.ticked}
    refused = {r.value for r in notes_of(project).refused if r.kind == WORK}
    return tuple(
        p
        for p in work_from_brief(deliverables)
        if not _there(project, p)
        and (p.deliverable, p.rule) not in ticked
        and p.id not in refused
        and p.gate not in refused
    )


def refuse_work(project: Project, proposal: Proposal) -> Project:
    """Not needed, or in the plan under another name: it is not proposed again."""
    notes = notes_of(project)
    one = Refused(kind=WORK, value=proposal.id, sentence=proposal.why)
    return with_notes(project, notes.but(refused=(*notes.refused, one)[-MAX_REFUSED:]))


def _there(project: Project, p: Proposal) -> bool:
    return p.id in project.gates_by_id if p.make == "gate" else p.id in project.items


def take_work(project: Project, proposal: Proposal, *, on: dt.date | None = None, stage: str | None = None) -> Project:
    """One proposal in the plan.

    A gate brings its item along with a later call; an item whose gate is not there yet brings the gate with it.

    Args:
        on: the day of a gate whose day the brief does not say.
        stage: the stage of an item; one of its own, with the right gate, unless given.

    Raises:
        BadInput: no day for the gate, an unknown stage, one with another gate than the item's, or a day that is no
            day of this project.
    """
    if _there(project, proposal):
        return project
    if proposal.make == "gate":
        day = on or proposal.on
        if day is None:
            raise BadInput(tr("{work}: the brief gives no day; say by when it has to be posted", work=proposal.name))
        return set_gate(project, Gate(id=proposal.id, name=proposal.name, on=day, wording=None))
    if proposal.gate and proposal.gate not in project.gates_by_id:
        post = next((p for p in work_asked(project) if p.make == "gate" and p.id == proposal.gate), None)
        if post is None:
            raise BadInput(
                tr("{work}: its gate {gate!r} is not asked for any more", work=proposal.name, gate=proposal.gate)
            )
        project = take_work(project, post, on=on)
    gate = proposal.gate or "deadline"
    if stage is not None:
        if stage not in project.stages_by_id:
            raise BadInput(tr("{id!r} is no stage of this project", id=stage))
        if proposal.gate and project.stages_by_id[stage].gate != gate:
            raise BadInput(
                tr(
                    "{work}: the stage {stage!r} belongs to another gate than {gate!r}",
                    work=proposal.name,
                    stage=stage,
                    gate=gate,
                )
            )
    else:
        project, stage = _stage_for(project, gate)
    keys: dict[str, Any] = {}
    if proposal.gate:
        due = project.gates_by_id[gate]
        day = due.on or (due.at.date() if due.at else None)
        if day is not None:
            keys["not_before"] = max(project.announced, day - dt.timedelta(days=POST_DAYS))
    return add_item(
        project,
        stage,
        proposal.name,
        likely=proposal.likely_hours or 0.5,
        high=proposal.high_hours or 1.0,
        id=proposal.id,
        # the rules ask for it: no way back may leave it out
        pinned=True,
        note=proposal.why,
        **keys,
    )


def _stage_for(project: Project, gate: str) -> tuple[Project, str]:
    """The stage that holds what the brief asks for by a gate, made where there is none."""
    if gate == "deadline":
        name, key, names = tr(_STAGE), _STAGE_ID, {_STAGE}
    else:
        post = project.gates_by_id[gate].name
        # translators: the name of a stage with what has to be done for a gate: "First post: work"
        name, key, names = tr("{gate}: work", gate=post), free_id((), f"{gate}-work", "work"), {f"{post}: work"}
    there = [stage for stage in project.stages if stage.gate == gate]
    asked = {
        p.id for p in work_from_brief(deliverables_of(project)) if p.make == "item" and (p.gate or "deadline") == gate
    }
    found = [
        *(stage for stage in there if stage.id == key),
        # files of earlier versions, in which the id was made from the name
        *(stage for stage in there if stage.name in (name, *names)),
        *(stage for stage in there if stage.items and all(item.id in asked for item in stage.items)),
    ]
    if found:
        return project, found[0].id
    project = add_stage(project, name, gate=gate, after=(), id=key)
    return project, project.stages[-1].id


def whole_post(project: Project, proposal: Proposal, *, on: dt.date | None = None) -> Project:
    """A gate together with the item that it needs, as one step; other proposals as :func:`take_work`."""
    if proposal.make != "gate":
        return take_work(project, proposal, on=on)
    project = take_work(project, proposal, on=on)
    for other in work_asked(project):
        if other.make == "item" and other.gate == proposal.id:
            project = take_work(project, other)
    return project


__all__ = ["Proposal", "refuse_work", "take_work", "whole_post", "work_asked"]
