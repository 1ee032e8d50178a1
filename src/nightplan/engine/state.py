# SPDX-License-Identifier: GPL-3.0-or-later
"""Where each item and job stands on a given day, from the log."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from nightplan.engine.estimates import Estimate
from nightplan.evenings.zones import UTC, to_local, zone_info
from nightplan.model.project import Item, Job, LogEntry, Project, State


@dataclass(frozen=True, slots=True)
class ItemState:
    """One item as of a day; hours."""

    item: Item
    state: State
    #: what the log says was worked on it
    spent: float
    #: the amount that the remaining work is drawn from: the artist's re-estimate of what is left, or the whole
    basis: Estimate
    #: hours already worked against ``basis``
    against: float
    #: the evening on which the log says it was finished
    done_on: dt.date | None


def log_until(project: Project, as_of: dt.date) -> tuple[LogEntry, ...]:
    """Entries up to and including ``as_of``, by date: looking back must not know what came later."""
    return tuple(sorted((e for e in project.log if e.evening <= as_of), key=lambda e: e.evening))


def item_states(project: Project, as_of: dt.date) -> dict[str, ItemState]:
    """State of every item, in the artist's order."""
    spent = dict.fromkeys(project.items, 0.0)
    since = dict.fromkeys(project.items, 0.0)
    left: dict[str, Estimate] = {}
    done: dict[str, dt.date] = {}
    for entry in log_until(project, as_of):
        for work in entry.work:
            spent[work.item] += work.hours
            since[work.item] += work.hours
            if work.left is not None:
                left[work.item] = Estimate.of(work.left)
                since[work.item] = 0.0
            if work.done:
                done[work.item] = entry.evening
    later = {w.item for e in project.log if e.evening > as_of for w in e.work if w.done}
    states = {}
    for key, item in project.items.items():
        state: State = item.state
        if key in done and state == "open":
            state = "done"
        elif state == "done" and key not in done and key in later:
            state = "open"
        basis = left.get(key, Estimate.of(item))
        states[key] = ItemState(item, state, spent[key], basis, since[key], done.get(key))
    return states


def job_states(project: Project, as_of: dt.date) -> dict[str, tuple[Job, State, dt.date | None]]:
    """State of every job: the job, its state, and the evening on which it was ticked off."""
    done = {j: e.evening for e in log_until(project, as_of) for j in e.jobs_done}
    later = {j for e in project.log if e.evening > as_of for j in e.jobs_done}
    states: dict[str, tuple[Job, State, dt.date | None]] = {}
    for key, job in project.jobs_by_id.items():
        if job.running:
            job = _as_of(job, project, as_of)
        state: State = job.state
        if key in done and state == "open":
            state = "done"
        elif state == "done" and key not in done and key in later:
            state = "open"
        states[key] = (job, state, done.get(key))
    return states


def _as_of(job: Job, project: Project, as_of: dt.date) -> Job:
    """The job without what was seen of it after a day."""
    zone = zone_info(project.zone)

    def later(moment: dt.datetime) -> bool:
        return to_local(moment.replace(tzinfo=UTC), zone).date() > as_of

    forgotten: dict[str, None] = {}
    if job.seen is not None and later(job.seen.newest):
        forgotten["seen"] = None
    if job.started is not None and later(job.started):
        forgotten["started"] = None
    return job.but(**forgotten) if forgotten else job


def open_predecessors(project: Project, closed: dict[str, State]) -> dict[str, frozenset[str]]:
    """Direct open predecessors of every open item and job.

    A finished predecessor no longer holds anything up; one that is left out passes on what it
    waited for itself, so that the order of the rest stays as it was.
    """
    known: dict[str, frozenset[str]] = {}

    def through(key: str) -> frozenset[str]:
        # iterative: chains of left-out items can be long
        stack = [key]
        while stack:
            top = stack[-1]
            if top in known:
                stack.pop()
                continue
            cut = [p for p in project.predecessors[top] if closed.get(p) == "cut"]
            missing = [p for p in cut if p not in known]
            if missing:
                stack += missing
                continue
            result = {p for p in project.predecessors[top] if closed.get(p) not in ("cut", "done")}
            known[top] = frozenset(result.union(*(known[p] for p in cut)))
            stack.pop()
        return known[key]

    return {key: through(key) for key in project.predecessors if closed.get(key) not in ("cut", "done")}
