# SPDX-License-Identifier: GPL-3.0-or-later
"""Tick off an evening: what happened, and what it does to the odds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nightplan.actions.values import heirs
from nightplan.engine.forecast import FUTURES, SEED, Progress, forecast
from nightplan.engine.plan import plan
from nightplan.evenings.dated import Cause, calendar
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.project import Item, Job, LogEntry, Project, Span, StoredForecast, Work
from nightplan.model.results import Forecast, Percentiles, PlannedEvening
from nightplan.speech import dates, tr, trc
from nightplan.speech.words import listed

#: what takes an evening away
_CAUSES: dict[Cause, str] = {
    "off": trc("what takes an evening", "off"),
    "busy": trc("what takes an evening", "busy"),
    "lost": trc("what takes an evening", "lost"),
    "deadline": trc("what takes an evening", "deadline"),
}
#: rounding of hours that were typed or measured by a clock
_HAIR = 1e-6


@dataclass(frozen=True)
class Evening:
    """What the artist says of one evening; hours."""

    date: dt.date
    hours: float = 0.0
    #: item id -> hours; where empty, the hours go to what the plan had for that evening
    work: Mapping[str, float] | None = None
    #: ids of items and jobs that are done now
    done: tuple[str, ...] = ()
    #: item id -> fresh estimate of what is left
    left: Mapping[str, Span] | None = None
    missed: bool = False
    note: str = ""
    captures: tuple[object, ...] = ()


def tick(project: Project, said: Evening, *, extra: bool = False, replace: bool = False) -> Project:
    """The project with the evening in its log.

    Args:
        extra: accept a date that has no evening.
        replace: take the place of an earlier entry for the date; what that one finished is open again, and its
            captures stay unless others are said.

    Raises:
        BadInput: the date has no evening or is logged already, hours do not add up, an id is not known.
    """
    before = project.log_by_date.get(said.date) if replace else None
    if before is not None:
        project = forget(project, said.date)
    _check_date(project, said.date, extra)
    entry = _entry(project, said)
    if before is not None:
        entry = entry.but(
            **before.unknown,
            work=heirs(entry.work, before.work, lambda w: w.item),
            captures=entry.captures or before.captures,
        )
    finished = {w.item for w in entry.work if w.done}
    log = tuple(sorted((*project.log, entry), key=lambda e: e.evening))
    return check_project(_with_states(project.but(log=log), finished | set(entry.jobs_done), "open", "done"))


def forget(project: Project, date: dt.date) -> Project:
    """The project without the log entry of a date; what it finished is open again."""
    entry = project.log_by_date.get(date)
    if entry is None:
        return project
    log = tuple(e for e in project.log if e.evening != date)
    elsewhere = {w.item for e in log for w in e.work if w.done} | {name for e in log for name in e.jobs_done}
    reopened = ({w.item for w in entry.work if w.done} | set(entry.jobs_done)) - elsewhere
    return _with_states(project.but(log=log), reopened, "done", "open")


def _with_states(project: Project, names: set[str], old: str, new: str) -> Project:
    """Items and jobs of one state in another; what is left out stays left out."""
    if not names:
        return project

    def turned(value: Item | Job) -> Any:
        return value.but(state=new) if value.id in names and value.state == old else value

    stages = tuple(stage.but(items=tuple(turned(i) for i in stage.items)) for stage in project.stages)
    return project.but(stages=stages, jobs=tuple(turned(j) for j in project.jobs))


def _check_date(project: Project, date: dt.date, extra: bool) -> None:
    if date in project.log_by_date:
        raise BadInput(tr("{day} is ticked off already; say --replace to put this in its place", day=date))
    if date < project.announced:
        raise BadInput.at("date", date, tr("is before the announcement ({day})", day=project.announced))
    if extra:
        return
    dated = calendar(project)
    if not dated.on(date):
        evenings = sorted({e.date for e in dated.evenings}, key=lambda d: (abs((d - date).days), d))
        near = listed([str(d) for d in sorted(evenings[:2])])
        taken = next((t for t in dated.taken if t.date == date), None)
        if taken is None:
            raise BadInput(
                tr(
                    "{day} has no evening; the nearest are {dates}; say --extra to log it all the same",
                    day=date,
                    dates=near,
                )
            )
        cause = _CAUSES[taken.cause]
        raise BadInput(
            tr(
                "{day} has no evening ({cause}); the nearest are {dates}; say --extra to log it all the same",
                day=date,
                cause=f"{cause}: {taken.why}" if taken.why else cause,
                dates=near,
            )
        )


def _entry(project: Project, said: Evening) -> LogEntry:
    work, left = dict(said.work or {}), dict(said.left or {})
    for name in (*work, *left):
        if name not in project.items:
            raise BadInput(tr("{id!r} is no item of this project; there are {ids}", id=name, ids=_some(project)))
    done_items = [name for name in said.done if name in project.items]
    done_jobs = tuple(name for name in said.done if name in project.jobs_by_id)
    for name in said.done:
        if name not in project.items and name not in project.jobs_by_id:
            raise BadInput(tr("{id!r} is no item or job of this project; there are {ids}", id=name, ids=_some(project)))
    for name in (*work, *left, *done_items):
        if project.items[name].state == "cut":
            raise BadInput(tr("{id!r} is left out of this project; bring it back before you log work on it", id=name))
    for name in done_jobs:
        if project.jobs_by_id[name].state == "cut":
            raise BadInput(
                tr("{id!r} is left out of this project; bring it back before you say that it is done", id=name)
            )
    for name in left:
        if name in done_items or project.items[name].state == "done":
            raise BadInput(tr("{id!r} is done, so nothing is left of it; open it again to say what is left", id=name))
    if said.missed:
        if said.hours or work or said.done or left:
            raise BadInput(tr("a missed evening has no hours, no work and nothing done"))
        return LogEntry(evening=said.date, happened=False, hours=0.0, note=said.note)
    if not 0 <= said.hours <= 24:
        raise BadInput.at("hours", said.hours, tr("0 to 24 are accepted"))
    for name, hours in work.items():
        if not 0 <= hours <= 24:
            raise BadInput.at(tr("hours of {id}", id=name), hours, tr("0 to 24 are accepted"))
    total = sum(work.values())
    if total > said.hours + _HAIR:
        raise BadInput(
            tr(
                "the items have {total} h together, more than the evening's {hours} h",
                total=dates.decimal(total, 4, least=0),
                hours=dates.decimal(said.hours, 4, least=0),
            )
        )
    if not work and said.hours > 0:
        work = share_out(project, said.date, said.hours, tuple(dict.fromkeys((*done_items, *left))), going_on=left)
    for name in (*done_items, *left):
        work.setdefault(name, 0.0)
    return LogEntry(
        evening=said.date,
        hours=max(said.hours, sum(work.values())),
        work=tuple(
            Work(item=name, hours=hours, done=name in done_items, left=left.get(name)) for name, hours in work.items()
        ),
        jobs_done=done_jobs,
        note=said.note,
        captures=tuple(said.captures),
    )


def _some(project: Project) -> str:
    names = [*project.items, *project.jobs_by_id]
    return ", ".join(names[:8]) + (", …" if len(names) > 8 else "")


def share_out(
    project: Project,
    date: dt.date,
    hours: float,
    named: tuple[str, ...] = (),
    rows: Sequence[PlannedEvening] | None = None,
    *,
    going_on: Collection[str] = (),
) -> dict[str, float]:
    """Hours of an evening among items when nobody says which: as the plan had it, the rest to the last of them.

    Without a plan for that evening they go to the item that is next. Where something is named (as done or with a
    fresh estimate) that the plan had not put there, the evening went to what is named, in equal shares.

    Args:
        rows: evenings of the plan as of ``date``, where the caller has them.
        going_on: items of which something is left: what waits for them was not begun.
    """
    if rows is None:
        rows = plan(project, date).evenings
    planned = {w.item: w.hours for row in rows if row.date == date and row.status != "worked" for w in row.work}
    if going_on:
        closed = _waiting_for(project, going_on)
        planned = {name: amount for name, amount in planned.items() if name not in closed or name in named}
    if not set(named) <= set(planned):
        return {name: hours / len(named) for name in named}
    if not planned:
        open_items = (key for key, item in project.items.items() if item.state == "open")
        after = (w.item for row in rows if row.date >= date for w in row.work)
        first = next(after, next(open_items, None))
        return {} if first is None else {first: hours}
    shared: dict[str, float] = {}
    rest = hours
    for name, amount in planned.items():
        # to half a minute: nobody claims to know it better
        shared[name] = min(rest, round(amount, 2))
        rest = max(0.0, round(rest - shared[name], 9))
    last = list(shared)[-1]
    shared[last] = round(shared[last] + rest, 9)
    return {name: amount for name, amount in shared.items() if amount > 0}


def _waiting_for(project: Project, ids: Collection[str]) -> set[str]:
    """Everything that cannot begin before these are done."""
    found, ways = set(ids), project.predecessors
    while True:
        more = {name for name, before in ways.items() if name not in found and before & found}
        if not more:
            return found - set(ids)
        found |= more


@dataclass(frozen=True)
class Ticked:
    """A ticked evening with the odds on both sides of it."""

    project: Project
    before: Forecast
    after: Forecast


def tick_with_odds(
    project: Project,
    said: Evening,
    *,
    extra: bool = False,
    replace: bool = False,
    futures: int = FUTURES,
    seed: int = SEED,
    progress: Progress | None = None,
) -> Ticked:
    """Tick, and keep the forecast before and after in the file, to be scored once the outcome is known.

    Before: as that evening began. After: with the evening logged. An evening that is logged late, with later ones
    logged already, is looked at from the last logged one, so that the odds are those of today.
    """

    def half(start: float) -> Progress | None:
        return None if progress is None else lambda share: progress(start + share / 2)

    earlier = forget(project, said.date) if replace else project
    ticked = tick(project, said, extra=extra, replace=replace)
    as_of = max(entry.evening for entry in ticked.log)
    before = forecast(earlier, as_of, futures=futures, seed=seed, progress=half(0.0))
    after = forecast(ticked, as_of, futures=futures, seed=seed, progress=half(0.5))
    fresh = [stored(after, "after")]
    if as_of == said.date:
        fresh.insert(0, stored(before, "before"))
    # one of a kind for a day: what was given as an evening began stays as it was given
    given = {(f.as_of, f.moment) for f in fresh}
    kept = tuple(f for f in project.forecasts if (f.as_of, f.moment) not in given)
    return Ticked(ticked.but(forecasts=(*kept, *fresh)), before, after)


def stored(found: Forecast, moment: str) -> StoredForecast:
    """A forecast in the form in which the file keeps it."""

    def dates(p: Percentiles) -> dict[str, dt.date | None]:
        return {"p10": p.p10, "p50": p.p50, "p80": p.p80, "p90": p.p90}

    return StoredForecast(
        as_of=found.as_of,
        moment=moment,
        futures=found.futures,
        seed=found.seed,
        odds={g.id: g.odds for g in found.gates},
        finish={g.id: dates(g.finish) for g in found.gates} | {i.id: dates(i.finish) for i in found.items},
        buffer={
            g.id: {
                "have_hours": round(g.buffer.have_hours, 4),
                "need_hours": round(g.buffer.need_hours, 4),
                "used": None if g.buffer.used is None else round(g.buffer.used, 6),
            }
            for g in found.gates
        },
        hours_left=round(found.hours_left, 4),
    )
