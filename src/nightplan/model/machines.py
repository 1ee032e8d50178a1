# SPDX-License-Identifier: GPL-3.0-or-later
"""Machines and their jobs: renders, caches, transfers; what they take, what was seen of them."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from nightplan.model.values import ClockTime, DaysOff, Id, Moment, Name, Positive, Span, State, Text, Value, fault
from nightplan.speech import tr

JobKind = Literal["render", "simulation", "download", "upload", "other"]
Load = Literal["light", "middle", "heavy"]
LOADS: tuple[Load, ...] = ("light", "middle", "heavy")

Count = Annotated[int, Field(ge=1, le=10_000_000, strict=True)]
Edge = Annotated[int, Field(ge=1, le=1_000_000, strict=True)]
Minutes = Annotated[float, Field(ge=0, le=1440, allow_inf_nan=False, strict=True)]
Megabytes = Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False, strict=True)]

#: the heaviest test frame may not be the heaviest frame: so much more for the high estimate
HEAVIEST = 1.25
#: one test frame alone says little (both: common practice, no source)
ALONE = 1.5


class Window(Value):
    """The hours of each day in which a machine may work, local time of the project; past midnight is fine."""

    from_: ClockTime = Field(alias="from")
    to: ClockTime

    @model_validator(mode="after")
    def _some_hours(self) -> Self:
        if self.from_ == self.to:
            raise PydanticCustomError("place:to", tr("must differ from from; leave the window out for round the clock"))
        return self


class Machine(Value):
    """What a machine's name stands for: how fast it is, and when it may work."""

    name: Name
    #: frames that it makes in the time in which a machine of speed 1 makes one
    speed: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False, strict=True)] = 1.0
    window: Window | None = None
    #: days, midnight to midnight, on which the power is off
    off: tuple[DaysOff, ...] = ()


class TestFrame(Value):
    """One frame rendered as a test, and how many frames of the sequence it stands for."""

    # its name is no sign that a test runner should collect it
    __test__ = False

    load: Load
    minutes: Positive
    frames: Count


def minutes_of_test_frames(tests: tuple[TestFrame, ...]) -> Span:
    """Minutes per frame, averaged over the sequence.

    likely: each test frame's minutes, weighted by the frames that it stands for. high: every frame takes
    what lies half way to the next heavier test frame, those of the heaviest a quarter more; a single test
    frame: half more (common practice, no source).
    """
    ordered = sorted(tests, key=lambda t: t.minutes)
    count = sum(t.frames for t in ordered)
    likely = sum(t.minutes * t.frames for t in ordered) / count
    if len(ordered) == 1:
        return Span(likely=likely, high=likely * ALONE)
    above = [(a.minutes + b.minutes) / 2 for a, b in pairwise(ordered)]
    above.append(ordered[-1].minutes * HEAVIEST)
    high = sum(m * t.frames for m, t in zip(above, ordered, strict=True)) / count
    return Span(likely=likely, high=max(high, likely))


class FramesSeen(Value):
    """What a look into the folder of a running render found."""

    #: in UTC: when the oldest and the newest whole frame were written
    oldest: Moment
    newest: Moment
    #: whole frames
    frames: Annotated[int, Field(ge=1, le=10_000_000, strict=True)]

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.newest < self.oldest:
            raise PydanticCustomError(
                "place:newest", tr("must not be before oldest ({oldest})"), {"oldest": self.oldest.isoformat()}
            )
        return self


class Job(Value):
    """Unattended work of a machine: wall-clock time, no evening.

    One of: ``frames`` with ``minutes_per_frame`` (or with ``test_frames``, which give it); ``gigabytes``
    (decimal) with ``megabits_per_second``; ``hours``. Minutes are those of a machine of speed 1, at the
    samples and picture size of the test.
    """

    id: Id
    name: Name
    kind: JobKind = "render"
    after: tuple[Id, ...] = ()
    before: tuple[Id, ...] = ()
    gate: Id = "lock"
    machine: Name = "desk"
    #: further machines that share its frames with the first
    also_on: tuple[Name, ...] | None = None
    frames: Count | None = None
    minutes_per_frame: Span | None = None
    test_frames: Annotated[tuple[TestFrame, ...], Field(min_length=1, max_length=30)] | None = None
    #: of the render and of its test; time goes with samples
    samples: Count | None = None
    tested_samples: Count | None = None
    #: width and height of the render and of its test; time goes with the number of pixels
    picture: tuple[Edge, Edge] | None = None
    tested_picture: tuple[Edge, Edge] | None = None
    #: every so-manieth frame only
    frame_step: Count | None = None
    #: share of the frames that is rendered once more
    failed_share: Annotated[float, Field(ge=0, le=1, allow_inf_nan=False, strict=True)] | None = None
    #: the run is cut into so many ranges; one that fails is done again alone
    ranges: Annotated[int, Field(ge=1, le=100, strict=True)] | None = None
    gigabytes: Span | None = None
    megabits_per_second: Span | None = None
    #: share of the nominal line that a transfer gets; absent: the megabits are what it gets
    line_share: Annotated[float, Field(gt=0, le=1, allow_inf_nan=False, strict=True)] | None = None
    #: time is kept for doing the whole transfer so many times more
    retries: Annotated[int, Field(ge=0, le=10, strict=True)] | None = None
    hours: Span | None = None
    fail_chance: Annotated[float, Field(ge=0, le=0.95, allow_inf_nan=False, strict=True)] = 0.0
    #: minutes of an evening that its start takes, and that looking it over takes on a later evening
    start_minutes: Minutes | None = None
    check_minutes: Minutes | None = None
    #: in UTC: since when it runs
    started: Moment | None = None
    #: where its frames appear
    folder: Text | None = None
    seen: FramesSeen | None = None
    #: of one frame on disk, decimal
    megabytes_per_frame: Megabytes | None = None
    state: State = "open"
    pinned: bool = False
    note: Text = ""

    @model_validator(mode="before")
    @classmethod
    def _from_test_frames(cls, raw: Any) -> Any:
        if not isinstance(raw, dict) or raw.get("minutes_per_frame") is not None or not raw.get("test_frames"):
            return raw
        try:
            tests = tuple(TestFrame.model_validate(t) for t in raw["test_frames"])
        except (ValidationError, TypeError):
            # told with its place when the field itself is read
            return raw
        return {**raw, "minutes_per_frame": minutes_of_test_frames(tests)}

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        frames = self.frames is not None or self.minutes_per_frame is not None
        transfer = self.gigabytes is not None or self.megabits_per_second is not None
        if frames + transfer + (self.hours is not None) != 1:
            raise fault(
                tr(
                    "a job has exactly one measure: frames with minutes_per_frame, "
                    "gigabytes with megabits_per_second, or hours"
                )
            )
        if frames and (self.frames is None or self.minutes_per_frame is None):
            raise fault(tr("frames and minutes_per_frame go together"))
        if transfer and (self.gigabytes is None or self.megabits_per_second is None):
            raise fault(tr("gigabytes and megabits_per_second go together"))
        if self.megabits_per_second is not None and self.megabits_per_second.likely <= 0:
            raise PydanticCustomError("place:megabits_per_second", tr("must be above 0"))
        return self

    @model_validator(mode="after")
    def _night_keys(self) -> Self:
        for key, tested in (("samples", "tested_samples"), ("picture", "tested_picture")):
            if (getattr(self, key) is None) != (getattr(self, tested) is None):
                raise fault(
                    tr("{key} and {tested} go together: without both there is no scale", key=key, tested=tested)
                )
        if self.frames is None:
            wrong = [
                k
                for k in ("test_frames", "samples", "picture", "frame_step", "failed_share", "seen")
                if getattr(self, k) is not None
            ]
            if wrong:
                raise fault(tr("{key} belongs to a job that is measured in frames", key=wrong[0]))
        if self.gigabytes is None:
            for key in ("line_share", "retries"):
                if getattr(self, key) is not None:
                    raise fault(tr("{key} belongs to a transfer (gigabytes with megabits_per_second)", key=key))
        names = (self.machine, *(self.also_on or ()))
        if len(set(names)) != len(names):
            raise PydanticCustomError("place:also_on", tr("must name each machine once, and not the job's own again"))
        if self.also_on and self.frames is None:
            raise PydanticCustomError("place:also_on", tr("only a job of frames can be shared between machines"))
        loads: dict[str, float] = {}
        for test in sorted(self.test_frames or (), key=lambda t: LOADS.index(t.load)):
            if any(test.minutes < m for load, m in loads.items() if load != test.load):
                raise PydanticCustomError(
                    "place:test_frames",
                    tr("a {load} frame must not take less time than a lighter one"),
                    {"load": test.load},
                )
            loads[test.load] = max(loads.get(test.load, 0.0), test.minutes)
        return self

    @property
    def machines(self) -> tuple[str, ...]:
        """Every machine that it runs on."""
        return (self.machine, *(self.also_on or ()))

    @property
    def whole_frames(self) -> int | None:
        """Frames that are rendered: every ``frame_step``-th, the first included."""
        return None if self.frames is None else -(-self.frames // (self.frame_step or 1))

    @property
    def scale(self) -> float:
        """Time of one frame against that of the test: by samples and by pixels."""
        factor = 1.0
        if self.samples is not None and self.tested_samples is not None:
            factor *= self.samples / self.tested_samples
        if self.picture is not None and self.tested_picture is not None:
            factor *= self.picture[0] * self.picture[1] / (self.tested_picture[0] * self.tested_picture[1])
        return factor

    @property
    def running(self) -> bool:
        """Whether it was started, or its frames were seen."""
        return self.started is not None or self.seen is not None
