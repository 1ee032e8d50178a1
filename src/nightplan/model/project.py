# SPDX-License-Identifier: GPL-3.0-or-later
"""The project as frozen values: what one ``.nightplan`` file holds.

Field names are the file's keys. Every object keeps the keys that it does not know
(``extra="allow"``), so that a file written by a newer minor version loses nothing.
Hours are floats in hours, chances are in [0, 1], dates are civil dates, times are local
and naive; zones are applied at the edges (``nightplan.evenings``).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from functools import cached_property
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    JsonValue,
    PlainSerializer,
    SerializerFunctionWrapHandler,
    StringConstraints,
    WithJsonSchema,
    model_serializer,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

FORMAT = "nightplan"
VERSION = 1

SURE = 0.9
MAYBE = 0.5
#: an evening with at least this chance is planned on; below it is buffer (design.md, The walk)
PLANNED_CHANCE = 0.75

MAX_HOURS = 100_000.0
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _fault(rule: str) -> PydanticCustomError:
    # braces in a template would be read as fields
    return PydanticCustomError("rule", rule.replace("{", "{{").replace("}", "}}"))


def _date(value: object) -> dt.date:
    if isinstance(value, dt.datetime) or not isinstance(value, (str, dt.date)):
        raise _fault("a date is written as text, for example 2027-10-24")
    if isinstance(value, dt.date):
        return value
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        raise _fault("a date is written YYYY-MM-DD, for example 2027-10-24")
    try:
        return dt.date.fromisoformat(value)
    except ValueError:
        raise _fault("there is no such day in the calendar") from None


def _time(value: object) -> dt.time:
    if isinstance(value, dt.time):
        return value
    if not isinstance(value, str) or not re.fullmatch(r"\d{2}:\d{2}", value):
        raise _fault("a time of day is written HH:MM, for example 20:30")
    try:
        return dt.time.fromisoformat(value)
    except ValueError:
        raise _fault("a time of day runs from 00:00 to 23:59") from None


def _moment(value: object) -> dt.datetime:
    if isinstance(value, dt.datetime):
        return value.replace(tzinfo=None)
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?", value):
        raise _fault(
            "a moment is written YYYY-MM-DDTHH:MM without an offset, for example 2027-10-31T23:59; "
            "its zone stands beside it under the key zone"
        )
    try:
        return dt.datetime.fromisoformat(value)
    except ValueError:
        raise _fault("there is no such moment in the calendar") from None


def _moment_text(value: dt.datetime) -> str:
    return value.isoformat(timespec="seconds" if value.second else "minutes")


def _time_text(value: dt.time) -> str:
    return value.isoformat(timespec="minutes")


Date = Annotated[
    dt.date,
    BeforeValidator(_date),
    PlainSerializer(lambda d: d.isoformat(), return_type=str),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]
ClockTime = Annotated[
    dt.time,
    BeforeValidator(_time),
    PlainSerializer(_time_text, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^\d{2}:\d{2}$"}),
]
Moment = Annotated[
    dt.datetime,
    BeforeValidator(_moment),
    PlainSerializer(_moment_text, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?$"}),
]
Text = Annotated[str, StringConstraints(max_length=20_000)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$", max_length=80)]
Hours = Annotated[float, Field(ge=0, le=MAX_HOURS, allow_inf_nan=False, strict=True)]
Positive = Annotated[float, Field(gt=0, le=1e9, allow_inf_nan=False, strict=True)]
Chance = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False, strict=True)]
Day = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
Tier = Literal["primary", "secondary", "tertiary"]
State = Literal["open", "done", "cut"]
JobKind = Literal["render", "simulation", "download", "upload", "other"]
Role = Literal["work", "chain-test", "critique", "hand-in"]


class Value(BaseModel):
    """Base of every value of the model: frozen, unknown keys kept."""

    model_config = ConfigDict(
        frozen=True, extra="allow", validate_by_name=True, validate_by_alias=True, serialize_by_alias=True
    )

    def but(self, **changes: Any) -> Self:
        """A copy with some fields changed; the result is validated like a file would be."""
        # not dict(self): that would carry cached lookups along as if they were keys of the file
        fields = {name: getattr(self, name) for name in type(self).model_fields}
        return type(self).model_validate({**fields, **self.unknown, **changes})

    @property
    def unknown(self) -> dict[str, Any]:
        """The keys of the file that this version does not know."""
        return dict(self.__pydantic_extra__ or {})

    @model_serializer(mode="wrap")
    def _without_empty(self, handler: SerializerFunctionWrapHandler) -> Any:
        # a key that is absent and a key that is null mean the same in every part of the model;
        # unknown keys are somebody else's, so they are written as they came
        raw = handler(self)
        kept = self.__pydantic_extra__ or {}
        return {k: v for k, v in raw.items() if v is not None or k in kept}


def _check_estimate(likely: float, high: float, low: float | None) -> None:
    if high < likely:
        raise PydanticCustomError("place:high", "must be at least likely ({likely})", {"likely": likely})
    if likely == 0 and high > 0:
        raise PydanticCustomError("place:likely", "must be above 0 when high is above 0")
    if low is not None and low > likely:
        raise PydanticCustomError("place:low", "must be at most likely ({likely})", {"likely": likely})


class Span(Value):
    """An uncertain amount: median ``likely``, 90th percentile ``high``, optionally a ``low`` end.

    In the file a plain number stands for a certain amount.
    """

    likely: Hours
    high: Hours
    low: Hours | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_number(cls, raw: Any) -> Any:
        if isinstance(raw, (int, float)) and not isinstance(raw, bool):
            return {"likely": raw, "high": raw}
        if isinstance(raw, dict) and "likely" in raw and "high" not in raw:
            return {**raw, "high": raw["likely"]}
        if not isinstance(raw, (dict, Span)):
            raise _fault("must be a number or an object with likely and high")
        return raw

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        _check_estimate(self.likely, self.high, self.low)
        return self

    @model_serializer(mode="wrap")
    def _as_number(self, handler: SerializerFunctionWrapHandler) -> Any:
        raw = handler(self)
        if self.certain and self.low is None and not self.unknown:
            return self.likely
        return {k: v for k, v in raw.items() if v is not None or k in self.unknown}

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        number = {"type": "number", "minimum": 0, "maximum": MAX_HOURS}
        return {
            "anyOf": [
                number,
                {
                    "type": "object",
                    "properties": {"likely": number, "high": number, "low": {"anyOf": [number, {"type": "null"}]}},
                    "required": ["likely"],
                },
            ]
        }

    @property
    def certain(self) -> bool:
        return self.high == self.likely

    @classmethod
    def sure(cls, amount: float) -> Span:
        return cls(likely=amount, high=amount)


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
            raise _fault("a gate has either on (a date) or at (a moment), not both and not neither")
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


class DaysOff(Value):
    """Days without evenings, both ends included."""

    from_: Date = Field(alias="from")
    to: Date
    why: Text = ""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.to < self.from_:
            raise PydanticCustomError(
                "place:to", "must not be before from ({start})", {"start": self.from_.isoformat()}
            )
        return self


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
        _check_estimate(self.likely, self.high, self.low)
        return self


class Stage(Value):
    """A pipeline step with its items; ``gate`` is the gate that all its items belong to."""

    id: Id
    name: Name
    gate: Id = "lock"
    after: tuple[Id, ...] = ()
    items: tuple[Item, ...] = ()


class Job(Value):
    """Unattended work of a machine: wall-clock time, no evening.

    One of: ``frames`` with ``minutes_per_frame``; ``gigabytes`` (decimal) with
    ``megabits_per_second``; ``hours``.
    """

    id: Id
    name: Name
    kind: JobKind = "render"
    after: tuple[Id, ...] = ()
    before: tuple[Id, ...] = ()
    gate: Id = "lock"
    machine: Name = "desk"
    frames: Annotated[int, Field(ge=1, le=10_000_000, strict=True)] | None = None
    minutes_per_frame: Span | None = None
    gigabytes: Span | None = None
    megabits_per_second: Span | None = None
    hours: Span | None = None
    fail_chance: Annotated[float, Field(ge=0, le=0.95, allow_inf_nan=False, strict=True)] = 0.0
    state: State = "open"
    pinned: bool = False
    note: Text = ""

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        frames = self.frames is not None or self.minutes_per_frame is not None
        transfer = self.gigabytes is not None or self.megabits_per_second is not None
        if frames + transfer + (self.hours is not None) != 1:
            raise _fault(
                "a job has exactly one measure: frames with minutes_per_frame, "
                "gigabytes with megabits_per_second, or hours"
            )
        if frames and (self.frames is None or self.minutes_per_frame is None):
            raise _fault("frames and minutes_per_frame go together")
        if transfer and (self.gigabytes is None or self.megabits_per_second is None):
            raise _fault("gigabytes and megabits_per_second go together")
        if self.megabits_per_second is not None and self.megabits_per_second.likely <= 0:
            raise PydanticCustomError("place:megabits_per_second", "must be above 0")
        return self


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
    captures: tuple[JsonValue, ...] = ()

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        worked = sum(w.hours for w in self.work)
        if worked > self.hours + 1e-6:
            raise PydanticCustomError(
                "place:hours", "must be at least the hours of its work ({worked})", {"worked": round(worked, 4)}
            )
        if not self.happened and self.hours > 0:
            raise PydanticCustomError("place:hours", "must be 0 for an evening that did not happen")
        seen: set[str] = set()
        for w in self.work:
            if w.item in seen:
                raise PydanticCustomError("place:work", "names the item {item} twice", {"item": w.item})
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
    deliverables: tuple[JsonValue, ...] = ()
    assets: tuple[JsonValue, ...] = ()
    log: tuple[LogEntry, ...] = ()
    baselines: tuple[Baseline, ...] = ()
    forecasts: tuple[StoredForecast, ...] = ()
    replans: tuple[JsonValue, ...] = ()
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
        return {job.id: job for job in self.jobs}

    @cached_property
    def gates_by_id(self) -> dict[str, Gate]:
        return {gate.id: gate for gate in self.gates}

    @cached_property
    def log_by_date(self) -> dict[dt.date, LogEntry]:
        return {entry.evening: entry for entry in self.log}

    @cached_property
    def stages_by_id(self) -> dict[str, Stage]:
        return {stage.id: stage for stage in self.stages}

    def expand(self, ids: tuple[str, ...]) -> Iterator[str]:
        """Item and job ids that a list of ``after``/``before`` ids stands for: a stage is all its items.

        A stage without items stands for what it waits for itself, so that a chain of stages holds.
        """
        for name in ids:
            stage = self.stages_by_id.get(name)
            if stage is None:
                yield name
            elif stage.items:
                yield from (item.id for item in stage.items)
            else:
                yield from self.expand(stage.after)

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
