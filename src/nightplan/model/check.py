# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules that span several parts of a project: ids, references, cycles, dates."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from typing import Any

from nightplan.model.errors import BadInput, shorten
from nightplan.model.project import Project
from nightplan.speech import tr

#: a plan further ahead than this is a slip of the keyboard, and would cost memory without bound
MAX_YEARS = 5
MAX_ITEMS = 1_000
MAX_JOBS = 200
#: entries of each list; ten times what a long project has (common practice, no source)
MAX_ENTRIES = {
    "gates": 50,
    "week": 100,
    "off": 5_000,
    "extra": 5_000,
    "busy": 20_000,
    "changes": 5_000,
    "stages": 200,
    "jobs": MAX_JOBS,
    "machines": 50,
    "deliverables": 1_000,
    "assets": 2_000,
    "log": 5_000,
    "baselines": 500,
    "forecasts": 10_000,
    "replans": 5_000,
    "silenced": 500,
}


def check_project(project: Project) -> Project:
    """The project itself, or :class:`BadInput` with the first broken rule (the others in ``more``)."""
    # first, since what follows costs more with more
    faults = list(_amounts(project)) or list(_ids(project))
    faults = faults or list(_references(project)) or list(_cycles(project))
    faults += list(_dates(project))
    if faults:
        raise BadInput(faults[0], more=tuple(faults[1:]))
    return project


def _at(place: str, value: object, rule: str) -> str:
    return f"{place} = {shorten(value)}: {rule}"


def check_amounts(raw: dict[str, Any]) -> None:
    """Lists of a file before anything is made of them: what follows costs more with more. Raises BadInput."""
    stages = raw.get("stages")
    items = [stage.get("items") for stage in stages if isinstance(stage, dict)] if isinstance(stages, list) else []
    counts = {key: len(value) for key in MAX_ENTRIES if isinstance(value := raw.get(key), list)}
    faults = list(_too_many(counts, sum(len(found) for found in items if isinstance(found, list))))
    if faults:
        raise BadInput(faults[0], more=tuple(faults[1:]))


def _amounts(project: Project) -> Iterator[str]:
    counts = {key: len(getattr(project, key) or ()) for key in MAX_ENTRIES}
    return _too_many(counts, sum(len(stage.items) for stage in project.stages))


def _too_many(counts: dict[str, int], items: int) -> Iterator[str]:
    for key, count in counts.items():
        most = MAX_ENTRIES[key]
        if count > most:
            if key == "jobs":
                yield tr("{key}: {n} jobs, at most {most} are accepted", key=key, n=count, most=most)
            else:
                yield tr("{key}: {n} entries, at most {most} are accepted", key=key, n=count, most=most)
    if items > MAX_ITEMS:
        yield tr("{key}: {n} items, at most {most} are accepted", key="stages", n=items, most=MAX_ITEMS)


def _ids(project: Project) -> Iterator[str]:
    # stages, items and jobs share one name space: an `after` may name any of them
    seen: dict[str, str] = {}
    places: list[tuple[str, str]] = []
    for s, stage in enumerate(project.stages):
        places.append((stage.id, f"stages[{s}].id"))
        places += [(item.id, f"stages[{s}].items[{i}].id") for i, item in enumerate(stage.items)]
    places += [(job.id, f"jobs[{j}].id") for j, job in enumerate(project.jobs)]
    for name, place in places:
        if name in seen:
            yield _at(place, name, tr("an id is used once, and {place} has it already", place=seen[name]))
        seen.setdefault(name, place)
    gates: dict[str, str] = {}
    for g, gate in enumerate(project.gates):
        if gate.id in gates:
            yield _at(
                f"gates[{g}].id", gate.id, tr("an id is used once, and {place} has it already", place=gates[gate.id])
            )
        gates.setdefault(gate.id, f"gates[{g}].id")
    named: dict[str, str] = {}
    for m, machine in enumerate(project.machines or ()):
        if machine.name in named:
            yield _at(
                f"machines[{m}].name",
                machine.name,
                tr("a machine is named once, and {place} has it", place=named[machine.name]),
            )
        named.setdefault(machine.name, f"machines[{m}]")
    dates: dict[dt.date, str] = {}
    for n, entry in enumerate(project.log):
        if entry.evening in dates:
            yield _at(
                f"log[{n}].evening",
                entry.evening,
                tr("an evening is logged once, and {place} has it", place=dates[entry.evening]),
            )
        dates.setdefault(entry.evening, f"log[{n}]")


def _references(project: Project) -> Iterator[str]:
    gates = {gate.id for gate in project.gates}
    for wanted in ("lock", "deadline"):
        if wanted not in gates:
            yield tr("gates: a gate with the id {id!r} is needed", id=wanted)
    stages = {stage.id for stage in project.stages}
    known = stages | set(project.items) | {job.id for job in project.jobs}
    rule = tr("names no stage, item or job of this project")
    for s, stage in enumerate(project.stages):
        if stage.gate not in gates:
            yield _at(
                f"stages[{s}].gate", stage.gate, tr("names no gate; there are {gates}", gates=", ".join(sorted(gates)))
            )
        for a, name in enumerate(stage.after):
            if name not in known:
                yield _at(f"stages[{s}].after[{a}]", name, rule)
        for i, item in enumerate(stage.items):
            for a, name in enumerate(item.after):
                if name not in known:
                    yield _at(f"stages[{s}].items[{i}].after[{a}]", name, rule)
    for j, job in enumerate(project.jobs):
        if job.gate not in gates:
            yield _at(
                f"jobs[{j}].gate", job.gate, tr("names no gate; there are {gates}", gates=", ".join(sorted(gates)))
            )
        for key, names in (("after", job.after), ("before", job.before)):
            for a, name in enumerate(names):
                if name not in known:
                    yield _at(f"jobs[{j}].{key}[{a}]", name, rule)
    for n, entry in enumerate(project.log):
        for w, work in enumerate(entry.work):
            if work.item not in project.items:
                yield _at(f"log[{n}].work[{w}].item", work.item, tr("names no item of this project"))
        for d, name in enumerate(entry.jobs_done):
            if name not in project.jobs_by_id:
                yield _at(f"log[{n}].jobs_done[{d}]", name, tr("names no job of this project"))


def _cycles(project: Project) -> Iterator[str]:
    # stages among themselves first: an empty stage in a ring would otherwise go unseen
    for graph in (
        {stage.id: [a for a in stage.after if a in project.stages_by_id] for stage in project.stages},
        None,
    ):
        try:
            TopologicalSorter(project.predecessors if graph is None else graph).prepare()
        except CycleError as error:
            ring = list(reversed(error.args[1]))
            shown = " -> ".join(ring if len(ring) <= 8 else [*ring[:7], "…", ring[-1]])
            place = f"{_place_of(project, ring[0])}.after"
            yield tr("{place}: these wait for each other in a circle: {ring}", place=place, ring=shown)
            return


def _place_of(project: Project, name: str) -> str:
    for s, stage in enumerate(project.stages):
        if stage.id == name:
            return f"stages[{s}]"
        for i, item in enumerate(stage.items):
            if item.id == name:
                return f"stages[{s}].items[{i}]"
    return next((f"jobs[{j}]" for j, job in enumerate(project.jobs) if job.id == name), "stages")


def _dates(project: Project) -> Iterator[str]:
    first, last = dt.date(1990, 1, 1), dt.date(2200, 1, 1)
    if not first <= project.announced <= last:
        yield _at("announced", project.announced, tr("a year from 1990 to 2199 is accepted"))
        return
    end = project.announced + dt.timedelta(days=MAX_YEARS * 366)
    for g, gate in enumerate(project.gates):
        key = "on" if gate.on is not None else "at"
        day = gate.on if gate.on is not None else gate.at.date()  # type: ignore[union-attr]
        # a day of grace: the deadline's own zone may be a date behind
        if day < project.announced - dt.timedelta(days=1):
            yield _at(f"gates[{g}].{key}", day, tr("is before the announcement ({day})", day=project.announced))
        elif day > end:
            yield _at(
                f"gates[{g}].{key}",
                day,
                tr("is more than {years} years after the announcement ({day})", years=MAX_YEARS, day=project.announced),
            )
