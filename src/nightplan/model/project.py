# SPDX-License-Identifier: GPL-3.0-or-later
"""The project as frozen values: what one ``.nightplan`` file holds.

Field names are the file's keys. Every object keeps the keys that it does not know
(``extra="allow"``), so that a file written by a newer minor version loses nothing.
Hours are floats in hours, chances are in [0, 1], dates are civil dates, times are local
and naive; zones are applied at the edges (``nightplan.evenings``).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from nightplan.model.brief import BriefNotes, Sheet
from nightplan.model.machines import FramesSeen as FramesSeen
from nightplan.model.machines import Job as Job
from nightplan.model.machines import JobKind as JobKind
from nightplan.model.machines import Machine as Machine
from nightplan.model.machines import TestFrame as TestFrame
from nightplan.model.machines import Window as Window
from nightplan.model.values import DAYS as DAYS
from nightplan.model.values import MAX_HOURS as MAX_HOURS
from nightplan.model.values import (
    Chance,
    ClockTime,
    Date,
    Day,
    Hours,
    Id,
    Json,
    Moment,
    Name,
    Role,
    Text,
    check_estimate,
    fault,
)
from nightplan.model.values import DaysOff as DaysOff
from nightplan.model.values import Span as Span
from nightplan.model.values import State as State
from nightplan.model.values import Tier as Tier
from nightplan.model.values import Value as Value
from nightplan.speech import tr

FORMAT = "nightplan"
VERSION = 1

SURE = 0.9
MAYBE = 0.5
#: an evening with at least this chance is planned on; below it is buffer (design.md, The walk)
PLANNED_CHANCE = 0.75


class Gate(Value):
    """A moment by which work must be done, as a date (``on``) or as an instant (``at`` + ``zone``)."""

    id: Id
    name: Name
    on: Date | None = None
    at: Moment | None = None
    zone: str | None = Field(default=None, max_length=80)
    #: the organiser's own sentence, kept verbatim
    wording: Text | None = None
    #: the wording allows several readings; the earliest sensible one is planned on
    uncertain: bool = False

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        if (self.on is None) == (self.at is None):
            raise fault(tr("a gate has either on (a date) or at (a moment), not both and not neither"))
        return self


class WeekSlot(Value):
    """One evening of the weekly pattern."""

    day: Day
    start: ClockTime
    hours: Annotated[float, Field(gt=0, le=24, allow_inf_nan=False, strict=True)]
    chance: Chance = SURE


class ExtraEvening(Value):
    """One dated evening beside the weekly pattern."""

    on: Date
    start: ClockTime
    hours: Annotated[float, Field(gt=0, le=24, allow_inf_nan=False, strict=True)]
    chance: Chance = SURE
    why: Text = ""


class BusyTime(Value):
    """Time taken by something else, from an imported calendar; local to ``zone`` of the project."""

    from_: Moment = Field(alias="from")
    to: Moment
    why: Text = ""
    source: Text = ""


class EveningChange(Value):
    """The artist's word on one date: lost, or another chance, start or length than the pattern says."""

    on: Date
    lost: bool = False
    chance: Chance | None = None
    start: ClockTime | None = None
    hours: Annotated[float, Field(gt=0, le=24, allow_inf_nan=False, strict=True)] | None = None
    why: Text = ""
    #: calendar whose busy times made the evening shorter; the change goes when they are taken out
    source: Text | None = None


class Item(Value):
    """A piece of work in a stage; effort in hours."""

    id: Id
    name: Name
    tier: Tier = "primary"
    likely: Hours
    high: Hours
    low: Hours | None = None
    after: tuple[Id, ...] = ()
    state: State = "open"
    #: the item cannot be worked before this date (a pack is released, a reference shoot takes place)
    not_before: Date | None = None
    #: what the item is for, where a warning depends on it
    role: Role = "work"
    #: "never touch this": no recovery may change it
    pinned: bool = False
    note: Text = ""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        check_estimate(self.likely, self.high, self.low)
        return self


class Stage(Value):
    """A pipeline step with its items; ``gate`` is the gate that all its items belong to."""

    id: Id
    name: Name
    gate: Id = "lock"
    after: tuple[Id, ...] = ()
    items: tuple[Item, ...] = ()


class Work(Value):
    """What one evening did for one item. ``left`` is a fresh estimate of what remains."""

    item: Id
    hours: Hours = 0.0
    done: bool = False
    left: Span | None = None


class LogEntry(Value):
    """What happened on one evening."""

    evening: Date
    happened: bool = True
    hours: Annotated[float, Field(ge=0, le=24, allow_inf_nan=False, strict=True)] = 0.0
    work: tuple[Work, ...] = ()
    jobs_done: tuple[Id, ...] = ()
    note: Text = ""
    captures: tuple[Json, ...] = ()

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        worked = sum(w.hours for w in self.work)
        if worked > self.hours + 1e-6:
            raise PydanticCustomError(
                "place:hours", tr("must be at least the hours of its work ({worked})"), {"worked": round(worked, 4)}
            )
        if not self.happened and self.hours > 0:
            raise PydanticCustomError("place:hours", tr("must be 0 for an evening that did not happen"))
        seen: set[str] = set()
        for w in self.work:
            if w.item in seen:
                raise PydanticCustomError("place:work", tr("names the item {item} twice"), {"item": w.item})
            seen.add(w.item)
        return self


class Baseline(Value):
    """The plan and estimates as they stood when the artist accepted them."""

    on: Date
    why: Text = ""
    #: item id -> {"likely", "high", "low"?}
    estimates: dict[str, Span] = Field(default_factory=dict)
    #: gate id -> hours of buffer that were there
    buffer_hours: dict[str, float] = Field(default_factory=dict)
    #: item id -> planned finish date (null: beyond the horizon)
    finish: dict[str, Date | None] = Field(default_factory=dict)
    #: date -> likely hours left at the end of that evening, by the plan
    burn_down: dict[str, float] = Field(default_factory=dict)
    odds: dict[str, float] = Field(default_factory=dict)


class StoredForecast(Value):
    """A forecast as it was given, kept to be scored once the outcome is known."""

    as_of: Date
    moment: Literal["before", "after", "accepted"] = "after"
    futures: Annotated[int, Field(ge=1)]
    seed: Annotated[int, Field(ge=0)]
    odds: dict[str, float] = Field(default_factory=dict)
    #: gate or item id -> {"p10", "p50", "p80", "p90"} as dates or null
    finish: dict[str, dict[str, Date | None]] = Field(default_factory=dict)
    buffer: dict[str, dict[str, float | None]] = Field(default_factory=dict)
    hours_left: float | None = None


class Project(Value):
    """One piece from announcement to hand-in."""

    format: Literal["nightplan"] = "nightplan"
    version: Literal[1] = 1
    title: Name
    piece: Text = ""
    zone: Annotated[str, StringConstraints(min_length=1, max_length=80)]
    announced: Date
    target_odds: Annotated[float, Field(gt=0, lt=1, allow_inf_nan=False, strict=True)] = 0.8
    correlation: Annotated[float, Field(ge=0, lt=1, allow_inf_nan=False, strict=True)] = 0.3
    switching_minutes: Annotated[float, Field(ge=0, le=240, allow_inf_nan=False, strict=True)] = 0.0
    #: no evening is proposed that ends after this local time
    bedtime: ClockTime | None = None
    gates: tuple[Gate, ...]
    week: tuple[WeekSlot, ...] = ()
    off: tuple[DaysOff, ...] = ()
    extra: tuple[ExtraEvening, ...] = ()
    busy: tuple[BusyTime, ...] = ()
    changes: tuple[EveningChange, ...] = ()
    stages: tuple[Stage, ...] = ()
    jobs: tuple[Job, ...] = ()
    #: machines that differ from the plain one: speed 1, round the clock
    machines: tuple[Machine, ...] | None = None
    deliverables: tuple[Json, ...] = ()
    #: the pasted rule sheet, and what was refused of it
    brief: BriefNotes | None = None
    #: hand-in sheets, oldest first
    handins: tuple[Sheet, ...] | None = None
    assets: tuple[Json, ...] = ()
    log: tuple[LogEntry, ...] = ()
    baselines: tuple[Baseline, ...] = ()
    forecasts: tuple[StoredForecast, ...] = ()
    replans: tuple[Json, ...] = ()
    #: kinds of watch warning that the artist has switched off for this project
    silenced: tuple[Text, ...] = ()

    # Lookups. Cached: the value is frozen.
    @cached_property
    def items(self) -> dict[str, Item]:
        """Every item by id, in the artist's order."""
        return {item.id: item for stage in self.stages for item in stage.items}

    @cached_property
    def stage_of(self) -> dict[str, Stage]:
        """Item id -> its stage."""
        return {item.id: stage for stage in self.stages for item in stage.items}

    @cached_property
    def jobs_by_id(self) -> dict[str, Job]:
        """Every machine job by id, in the order of the file."""
        return {job.id: job for job in self.jobs}

    @cached_property
    def machines_by_name(self) -> dict[str, Machine]:
        """The machines that are described, by name."""
        return {machine.name: machine for machine in self.machines or ()}

    @cached_property
    def gates_by_id(self) -> dict[str, Gate]:
        """Every gate by id, in the order of the file."""
        return {gate.id: gate for gate in self.gates}

    @cached_property
    def log_by_date(self) -> dict[dt.date, LogEntry]:
        """What happened, by the date of the evening."""
        return {entry.evening: entry for entry in self.log}

    @cached_property
    def stages_by_id(self) -> dict[str, Stage]:
        """Every stage by id, in the artist's order."""
        return {stage.id: stage for stage in self.stages}

    def expand(self, ids: tuple[str, ...]) -> Iterator[str]:
        """Item and job ids that a list of ``after``/``before`` ids stands for: a stage is all its items.

        A stage without items stands for what it waits for itself, so that a chain of stages holds.
        """
        # each stage once: of empty ones that name each other twice there are 2**n ways through
        seen: set[str] = set()
        waiting = list(reversed(ids))
        while waiting:
            name = waiting.pop()
            stage = self.stages_by_id.get(name)
            if stage is None:
                yield name
            elif name not in seen:
                seen.add(name)
                if stage.items:
                    yield from (item.id for item in stage.items)
                else:
                    waiting += reversed(stage.after)

    @cached_property
    def predecessors(self) -> dict[str, frozenset[str]]:
        """Direct predecessors (items and jobs) of every item and job, stages expanded."""
        before: dict[str, set[str]] = {key: set() for key in [*self.items, *self.jobs_by_id]}
        for stage in self.stages:
            shared = set(self.expand(stage.after))
            for item in stage.items:
                before[item.id] |= shared | set(self.expand(item.after))
        for job in self.jobs:
            before[job.id] |= set(self.expand(job.after))
            for waiting in self.expand(job.before):
                before[waiting].add(job.id)
        return {key: frozenset(value) for key, value in before.items()}
