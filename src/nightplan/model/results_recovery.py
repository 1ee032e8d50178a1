# SPDX-License-Identifier: GPL-3.0-or-later
"""Recoveries as plain values: what would be changed, what it costs, what it is worth."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Literal

MoveKind = Literal["maybe", "add", "lengthen", "leave-out", "cheaper-job", "lock-later", "order", "overlap"]


@dataclass(frozen=True, slots=True)
class EveningSet:
    """Another chance or length for the evening of a date."""

    on: dt.date
    chance: float | None = None
    hours: float | None = None


@dataclass(frozen=True, slots=True)
class EveningAdded:
    """One more evening: local start, hours, chance."""

    on: dt.date
    start: dt.time
    hours: float
    chance: float


@dataclass(frozen=True, slots=True)
class ItemCut:
    """An item is left out."""

    item: str


@dataclass(frozen=True, slots=True)
class JobScaled:
    """Every run of a machine job takes ``factor`` times its hours."""

    job: str
    factor: float


@dataclass(frozen=True, slots=True)
class JobFrames:
    """A machine job renders another number of frames."""

    job: str
    frames: int


@dataclass(frozen=True, slots=True)
class JobMachine:
    """A machine job moves to another machine."""

    job: str
    machine: str


@dataclass(frozen=True, slots=True)
class JobSamples:
    """A render takes another number of samples."""

    job: str
    samples: int


@dataclass(frozen=True, slots=True)
class JobPicture:
    """A render makes a picture of another size, in pixels."""

    job: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class JobRanges:
    """A run cut into ranges, each of which is done again alone when it fails."""

    job: str
    ranges: int


@dataclass(frozen=True, slots=True)
class JobShared:
    """A further machine, at its own speed and hours, shares the frames."""

    job: str
    machine: str


@dataclass(frozen=True, slots=True)
class GateMoved:
    """A gate ``days`` later, its time of day and zone kept."""

    gate: str
    days: int


@dataclass(frozen=True, slots=True)
class StageEarlier:
    """A stage put before another in the artist's order (which decides between equal due dates)."""

    stage: str
    before: str


@dataclass(frozen=True, slots=True)
class Overlapped:
    """All but the last open item of a stage stop waiting for a machine job that runs before it."""

    stage: str
    job: str


Change = (
    EveningSet
    | EveningAdded
    | ItemCut
    | JobScaled
    | JobFrames
    | JobMachine
    | JobSamples
    | JobPicture
    | JobRanges
    | JobShared
    | GateMoved
    | StageEarlier
    | Overlapped
)


@dataclass(frozen=True, slots=True)
class Move:
    """One way back, as data. ``engine.recovery_moves.apply_moves`` turns it into a changed project."""

    #: stable: the same move has the same id when it is looked for again
    id: str
    kind: MoveKind
    #: plain words
    what: str
    #: what it costs, in plain words
    cost: str
    #: the same on one scale, whole minutes (so that sums and ties are exact)
    cost_minutes: int
    changes: tuple[Change, ...]
    #: ids of moves that it excludes (mutual)
    forbids: frozenset[str] = frozenset()
    #: ids of items that must be left out as well before this may be part of a combination
    only_with: frozenset[str] = frozenset()
    #: ids of items, jobs, stages and gates, and ISO dates, that it changes
    touches: tuple[str, ...] = ()

    @property
    def cost_hours(self) -> float:
        """The cost in hours."""
        return self.cost_minutes / 60.0

    @property
    def cut_items(self) -> frozenset[str]:
        """Ids of the items that it leaves out."""
        return frozenset(c.item for c in self.changes if isinstance(c, ItemCut))


@dataclass(frozen=True, slots=True)
class ValuedMove:
    """A move, or several together, under the same futures as the project as it stands."""

    move: Move
    #: gate id -> odds without and with the move
    before: dict[str, float]
    odds: dict[str, float]
    #: standard error of the difference of the odds, paired over the futures
    odds_error: dict[str, float]
    #: evening hours to spare at the gate that ``gate`` names: mean of the paired difference and its standard error
    gate: str
    hours_won: float
    hours_error: float


@dataclass(frozen=True, slots=True)
class Together:
    """Several moves applied at once."""

    moves: tuple[Move, ...]
    #: gate id -> odds
    odds: dict[str, float]
    cost_minutes: int

    @property
    def cost_hours(self) -> float:
        """The summed cost in hours."""
        return self.cost_minutes / 60.0


@dataclass(frozen=True, slots=True)
class Recovery:
    """The ways back of a project on a day."""

    as_of: dt.date
    futures: int
    seed: int
    target: float
    #: ids of the gates that must reach the target
    gates: tuple[str, ...]
    #: gate id -> odds as the project stands
    before: dict[str, float]
    #: every move that changes anything, best first
    moves: tuple[ValuedMove, ...]
    #: the cheapest combination that reaches the target, empty where nothing is needed; where none
    #: reaches it, the one that comes nearest
    combination: Together
    reached: bool
    #: in one or two sentences
    words: str
    #: ids of the moves that the search for the combination went through (at most 12)
    considered: tuple[str, ...] = field(default=())
