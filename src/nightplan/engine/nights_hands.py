# SPDX-License-Identifier: GPL-3.0-or-later
"""What a machine job takes of evenings: minutes to start it, minutes to look it over once it is done.

In the walk these are small pieces of certain work around the job: the start waits for what the job
waits for and the job for its start; what waits for the job waits until it has been looked over. They
are in no stage and in no file.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from nightplan.engine.estimates import Estimate
from nightplan.engine.state import ItemState
from nightplan.model.project import Item, Job
from nightplan.speech import tr

Kind = Literal["start", "check"]

# no id of a project has a colon
_MARKS: dict[Kind, str] = {"start": ":start", "check": ":check"}


def hands_of(key: str) -> tuple[str, Kind] | None:
    """The job and what is done for it; None for an item of the project."""
    for kind, mark in _MARKS.items():
        if key.endswith(mark):
            return key.removesuffix(mark), kind
    return None


def hands_states(open_jobs: Mapping[str, Job]) -> dict[str, ItemState]:
    """The pieces of work of the open jobs; a job that runs has been started."""
    found = {}
    for key, job in open_jobs.items():
        wanted: list[tuple[Kind, float]] = [("check", job.check_minutes or 0.0)]
        if not job.running:
            wanted.insert(0, ("start", job.start_minutes or 0.0))
        for kind, minutes in wanted:
            if minutes > 0:
                name = tr("Start {job}", job=job.name) if kind == "start" else tr("Look over {job}", job=job.name)
                hours = minutes / 60.0
                # not validated: its id is deliberately none that a file could hold
                item = Item.model_construct(
                    id=key + _MARKS[kind], name=name, likely=hours, high=hours, low=None, role="work", pinned=True
                )
                found[item.id] = ItemState(item, "open", 0.0, Estimate(hours, hours), 0.0, None)
    return found


def with_hands(before: Mapping[str, frozenset[str]], hands: Mapping[str, ItemState]) -> dict[str, frozenset[str]]:
    """Direct open predecessors with the pieces of work put around their jobs."""
    checked = {job: key for key in hands for job, kind in (_of(key),) if kind == "check"}
    result = {key: frozenset(checked.get(p, p) for p in waits) for key, waits in before.items()}
    for key in hands:
        job, kind = _of(key)
        if kind == "start":
            result[key] = result[job]
            result[job] = frozenset({key})
        else:
            result[key] = frozenset({job})
    return result


def _of(key: str) -> tuple[str, Kind]:
    found = hands_of(key)
    assert found is not None
    return found
