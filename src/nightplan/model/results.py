# SPDX-License-Identifier: GPL-3.0-or-later
"""What the engine answers: plain values, dates and hours, nothing to compute any more."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Literal

#: worked: logged and happened · lost: logged and missed, or taken · unlogged: in the past without an
#: entry (counts as not happened, the program asks) · planned: the plan puts work here · relied: a
#: maybe evening the plan had to draw in · buffer: kept free before the last gate · late: after it
EveningStatus = Literal["worked", "lost", "unlogged", "planned", "relied", "buffer", "late"]
#: of evenings that are still to come
COMING: tuple[EveningStatus, ...] = ("planned", "relied", "buffer", "late")


@dataclass(frozen=True, slots=True)
class Percentiles:
    """Finish evenings; None lies beyond the eight weeks after the last gate."""

    p10: dt.date | None
    p50: dt.date | None
    p80: dt.date | None
    p90: dt.date | None


@dataclass(frozen=True, slots=True)
class Buffer:
    """Hours of evening time between the work still to do and a gate."""

    have_hours: float
    need_hours: float
    #: 1 − have / have at baseline; None where the baseline had no buffer
    used: float | None


@dataclass(frozen=True, slots=True)
class GateForecast:
    """Odds, finish dates and buffer of one gate."""

    id: str
    name: str
    #: aware, in UTC
    instant: dt.datetime
    odds: float
    finish: Percentiles
    buffer: Buffer
    uncertain: bool = False
    #: some of its work is open; else all percentiles are one date
    work_left: bool = True
    #: evening on which the last of its work was finished; None: some is left, or the log does not know
    finished_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class ItemForecast:
    """For an item or a job."""

    id: str
    finish: Percentiles


@dataclass(frozen=True, slots=True)
class Driver:
    """How much of the variance of lateness one item, job or evening explains."""

    #: an item or job id, or the evening's ISO date
    id: str
    kind: Literal["item", "job", "evening"]
    share: float


@dataclass(frozen=True, slots=True)
class Learned:
    """The posterior of the common factor after ``finished`` items (0 and 1 before any)."""

    finished: int
    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class BurnPoint:
    """Hours of work left at the end of one evening to come, over the futures."""

    date: dt.date
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class DateOdds:
    """Odds that all work of a gate is done by the end of one evening."""

    date: dt.date
    odds: float


@dataclass(frozen=True, slots=True)
class PastPoint:
    """Where the work stood at the end of a day that is past, by the artist's own numbers."""

    date: dt.date
    #: likely hours left of all open items
    hours_left: float
    #: gate id -> share of its likely hours that was done, 0 to 1
    done: dict[str, float]


@dataclass(frozen=True, slots=True)
class Forecast:
    """The odds, from one set of futures."""

    as_of: dt.date
    futures: int
    seed: int
    #: in time order
    gates: tuple[GateForecast, ...]
    items: tuple[ItemForecast, ...]
    jobs: tuple[ItemForecast, ...]
    #: largest first; shares sum to 1 where anything is uncertain
    drivers: tuple[Driver, ...]
    learned: Learned
    #: likely hours left of all open items, at the posterior's centre
    hours_left: float
    burn_down: tuple[BurnPoint, ...] = ()
    #: gate id -> odds per possible finish date
    by_date: dict[str, tuple[DateOdds, ...]] = field(default_factory=dict)
    #: open job id -> share of futures in which it ends by its gate
    job_odds: dict[str, float] = field(default_factory=dict)
    #: before the first evening, after each logged one, and on the day itself
    past: tuple[PastPoint, ...] = ()

    def gate(self, gate_id: str) -> GateForecast:
        """The forecast of one gate. Raises StopIteration where there is no such gate."""
        return next(g for g in self.gates if g.id == gate_id)


@dataclass(frozen=True, slots=True)
class EarnedSchedule:
    """Progress against the baseline, counted in its own hours and evenings."""

    #: hours of the baseline: that should be done by now, that are done, in all
    planned_hours: float
    earned_hours: float
    total_hours: float
    #: evenings of the baseline: gone by (AT), earned (ES), in all (PD)
    evenings: int
    earned_evenings: float
    planned_evenings: int
    #: SPI(t) = ES/AT; above 1 is ahead of the plan, nan before the first evening
    performance: float
    #: evenings needed in all if it goes on as it went, AT + (PD − ES)/SPI(t); infinite where nothing is earned yet
    evenings_at_end: float


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """Hours that one evening gives to one item."""

    item: str
    hours: float


@dataclass(frozen=True, slots=True)
class PlannedHands:
    """What an evening does for a machine job."""

    job: str
    kind: Literal["start", "check"]
    hours: float


@dataclass(frozen=True, slots=True)
class PlannedEvening:
    """One evening of the plan: what it does, or what became of it."""

    date: dt.date
    start: dt.time
    hours: float
    chance: float
    status: EveningStatus
    work: tuple[PlannedWork, ...]
    #: reason where an evening is lost
    why: str = ""
    #: minutes that machine jobs take of it
    hands: tuple[PlannedHands, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedItem:
    """One item of the plan: when it is done, and the hours that it takes."""

    id: str
    stage: str
    #: None: not within the eight weeks after the last gate
    finish: dt.date | None
    #: likely hours still to do (0 for a finished item)
    hours: float
    #: hours the log says were spent
    spent: float = 0.0


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """When the plan has a machine job begin and end."""

    id: str
    #: aware, in UTC; None where the plan never gets there
    start: dt.datetime | None
    end: dt.datetime | None


@dataclass(frozen=True, slots=True)
class PlannedGate:
    """Whether the plan meets a gate, and by how much it misses it."""

    id: str
    instant: dt.datetime
    met: bool
    #: evening hours of work that lie after the gate (0 where it is met)
    short_hours: float
    #: evening or night on which its work is, or was, done; None: beyond the horizon, or the log does not know
    finish: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """The walk with likely hours over the evenings that are planned on."""

    as_of: dt.date
    evenings: tuple[PlannedEvening, ...]
    items: tuple[PlannedItem, ...]
    jobs: tuple[PlannedJob, ...]
    gates: tuple[PlannedGate, ...]
    #: dates of maybe evenings that the plan leans on
    relied_on: tuple[dt.date, ...]
