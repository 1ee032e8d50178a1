# SPDX-License-Identifier: GPL-3.0-or-later
"""Looking back: what past projects say (facts), and what is made of it (results).

Facts come from the files room and go to the engine; both know only these values. Days are ordinals
of ``datetime.date`` where they come in bulk, NaN where there is none.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

#: unknown: nothing says whether the gate was met, so its forecasts are not scored
Outcome = Literal["met", "missed", "unknown"]


# ---- facts ---------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class ItemFact:
    """One finished item; hours."""

    #: a number that tells projects apart
    project: int
    #: stage name, one spelling for all projects
    stage: str
    #: the estimate that was accepted: of the first baseline that has the item, else the item's own
    planned: float
    high: float
    #: the artist's own likely hours, before anything learned was applied to it
    own: float
    actual: float


@dataclass(frozen=True, slots=True)
class EveningFact:
    """Evenings of one weekday and kind over all projects."""

    #: 0 Monday to 6 Sunday
    weekday: int
    #: promised with a chance of at least 0.75
    sure: bool
    promised: int
    kept: int
    #: of those not kept: evenings that nobody ticked off
    unlogged: int
    #: mean chance promised
    chance: float


@dataclass(frozen=True, slots=True)
class GateFact:
    """The forecasts of one gate of one project, n of them, with what became of it."""

    project: int
    gate: str
    name: str
    #: ordinals; finished None where work was never finished or no day is known
    due: int
    finished: int | None
    outcome: Outcome
    #: (n,) each, forecasts made while the outcome was open, in order of time; ordinals and odds
    as_of: Floats
    odds: Floats
    p10: Floats
    p50: Floats
    p80: Floats
    p90: Floats
    #: last day that a forecast can name: eight weeks after the last gate
    horizon: int


@dataclass(frozen=True, slots=True)
class FinishFact:
    """The first forecast of one item's finish, and the evening it was finished on; ordinals, NaN: beyond."""

    project: int
    p10: float
    p50: float
    p80: float
    p90: float
    finished: int
    horizon: int


@dataclass(frozen=True, slots=True)
class LeftFact:
    """What an evening said was left of an item, and what was then still worked on it; hours."""

    project: int
    said: float
    actual: float


@dataclass(frozen=True, slots=True)
class DriftFact:
    """Spent plus forecast hours at a share of the work done, over what the project took."""

    project: int
    #: 0, 1/3 or 2/3 of the hours worked
    share: float
    ratio: float


@dataclass(frozen=True, slots=True)
class SwitchFact:
    """Sums over evenings that happened: x switches from item to item, y minutes that no item got."""

    evenings: int
    x: float
    y: float
    xx: float
    xy: float
    yy: float


@dataclass(frozen=True, slots=True)
class ProjectFact:
    """One project of the library."""

    project: int
    path: str
    title: str
    piece: str
    #: ordinals
    announced: int
    finished: int | None
    last_log: int | None
    items_done: int
    planned: float
    actual: float


@dataclass(frozen=True, slots=True)
class Skipped:
    """A file that could not be read, and why in a sentence."""

    path: str
    why: str


@dataclass(frozen=True, slots=True)
class Facts:
    """All that the library knows."""

    projects: tuple[ProjectFact, ...] = ()
    items: tuple[ItemFact, ...] = ()
    evenings: tuple[EveningFact, ...] = ()
    gates: tuple[GateFact, ...] = ()
    finishes: tuple[FinishFact, ...] = ()
    left: tuple[LeftFact, ...] = ()
    drift: tuple[DriftFact, ...] = ()
    switching: SwitchFact = field(default_factory=lambda: SwitchFact(0, 0.0, 0.0, 0.0, 0.0, 0.0))
    skipped: tuple[Skipped, ...] = ()


# ---- results -------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Band:
    """A value with the range that holds it 8 times in 10."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Normal4:
    """A normal-inverse-gamma distribution of mean μ and variance v of ln(actual/likely).

    v ~ inverse gamma(shape, scale), μ | v ~ normal(mean, v / worth).
    """

    mean: float
    worth: float
    shape: float
    scale: float


@dataclass(frozen=True, slots=True)
class StageLook:
    """Planned against actual of one stage (or over all)."""

    stage: str
    n: int
    projects: int
    planned_hours: float
    actual_hours: float
    #: actual hours / planned hours
    ratio: float
    #: of ln(actual/own likely)
    bias: Band
    spread: Band
    #: e to the bias: so many times the likely hours
    factor: Band
    #: 90th percentile of the next item over its likely hours
    high_factor: float
    #: items that the data are worth, once those of one project count as alike
    worth: float
    #: share of the prior in the bias, 0 to 1
    prior_share: float
    posterior: Normal4


@dataclass(frozen=True, slots=True)
class EveningLook:
    """How often evenings of a kind happen; weekday None: all of them."""

    weekday: int | None
    sure: bool
    promised: int
    kept: int
    unlogged: int
    #: mean chance promised
    said: float
    chance: Band
    prior_share: float


@dataclass(frozen=True, slots=True)
class SwitchLook:
    """Minutes lost at each switch from item to item, or None with the reason."""

    minutes: Band | None
    evenings: int
    words: str


@dataclass(frozen=True, slots=True)
class DriftLook:
    """Geometric mean of (spent + forecast) / final hours at a share of the work."""

    share: float
    projects: int
    ratio: Band


@dataclass(frozen=True, slots=True)
class LookBack:
    """Planned against actual, evenings, switching, drift."""

    overall: StageLook
    stages: tuple[StageLook, ...]
    evenings: tuple[EveningLook, ...]
    weekdays: tuple[EveningLook, ...]
    switching: SwitchLook
    drift: tuple[DriftLook, ...]
    #: what an item took from then on over what was said to be left
    left: Band | None
    left_count: int


@dataclass(frozen=True, slots=True)
class Bin:
    """Forecasts whose odds lie in [low, high): how many, of how many gates, and what became of them."""

    low: float
    high: float
    forecasts: int
    #: gates of projects that these forecasts were about
    gates: int
    said: float
    met: int
    #: range that holds the true share 8 times in 10, counting each gate once
    made: Band


@dataclass(frozen=True, slots=True)
class Level:
    """Of n dates given at a level, so many were kept."""

    level: float
    n: int
    done: int
    share: Band


@dataclass(frozen=True, slots=True)
class Scores:
    """How honest the stored forecasts were; None where nothing can be scored yet."""

    forecasts: int
    gates: int
    projects: int
    #: each gate counts the same, however many forecasts it has
    brier: float | None
    #: of always saying the share that was met
    base_rate: float | None
    base_brier: float | None
    #: 1 − brier / base_brier; None where every gate ended the same
    skill: float | None
    bins: tuple[Bin, ...]
    #: finish dates of gates within P10 to P90, and by level
    coverage: Level
    levels: tuple[Level, ...]
    #: the same for items, from the first forecast of each
    item_coverage: Level
    item_levels: tuple[Level, ...]
    #: mean CRPS of the finish dates of gates and of items, in days
    crps_days: float | None
    item_crps_days: float | None
    words: tuple[str, ...]
    #: gates left out, their outcome being unknown
    unknown: int = 0


ProposalKind = Literal["estimate", "spread", "evening", "switching"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """One change that past projects suggest for a project, to be accepted or not."""

    id: str
    kind: ProposalKind
    #: what it is about, in words: a stage or an evening of the week
    what: str
    before: str
    after: str
    reason: str
    #: few data: mostly the prior
    weak: bool
    #: stage name or weekday key
    target: str
    #: what the action needs: item id -> keys, or the new chance
    values: dict[str, Any]
