# SPDX-License-Identifier: GPL-3.0-or-later
"""Hours of evenings that happen before the gates, for every set of moves, by small steps.

A set differs from the same set without one of its moves in the evenings of that move alone. Sets
are built up from the moves with the most evenings to those with the fewest, so that nearly every
step touches one evening.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nightplan.engine.problem import Problem
from nightplan.engine.recovery_futures import Draws
from nightplan.evenings.zones import to_utc
from nightplan.model.results_recovery import EveningAdded, EveningSet, Move

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class _Slot:
    """An evening: its stream, its start on the axis, its chance and hours."""

    key: str
    start: float
    chance: float
    hours: float


_Slots = dict[dt.date, tuple[_Slot, ...]]


class EveningHours:
    """See the module.

    Args:
        setup: the walk of a set of moves, by mask.
        gate_part: mask of the moves that change a gate.
        gates: ids of the G gates asked about.
    """

    def __init__(
        self,
        draws: Draws,
        moves: tuple[Move, ...],
        setup: Callable[[int], Problem],
        gate_part: int,
        gates: tuple[str, ...],
    ) -> None:
        self._draws, self._moves, self._setup, self._gate_part, self._gates = draws, moves, setup, gate_part, gates
        self._known: dict[int, Floats] = {}
        self._base = _slots(setup(0))
        self._touched = [frozenset(_dates(m)) for m in moves]

    def of(self, mask: int) -> Floats:
        """(G, N) hours that happen before each gate; ``mask`` has moves of evenings and gates only."""
        if mask not in self._known:
            members = [n for n in range(len(self._moves)) if mask >> n & 1 and not self._gate_part >> n & 1]
            if not members:
                self._known[mask] = self._whole(mask)
            else:
                last = min(members, key=lambda n: (len(self._touched[n]), n))
                self._known[mask] = self._step(mask & ~(1 << last), mask, self._touched[last])
        return self._known[mask]

    def _times(self, mask: int) -> list[float]:
        setup = self._setup(mask & self._gate_part)
        times = {g.moment.id: g.time for g in setup.gates}
        return [times[g] for g in self._gates]

    def _whole(self, mask: int) -> Floats:
        times = self._times(mask)
        total = np.zeros((len(times), self._draws.futures))
        for slots in self._base.values():
            self._add(total, slots, times, 1.0)
        return total

    def _step(self, before: int, after: int, dates: frozenset[dt.date]) -> Floats:
        total = self.of(before).copy()
        times = self._times(after)
        for date in dates:
            self._add(total, self._slots_on(before, date), times, -1.0)
            self._add(total, self._slots_on(after, date), times, 1.0)
        return total

    def _slots_on(self, mask: int, date: dt.date) -> tuple[_Slot, ...]:
        slots = self._base.get(date, ())
        for n, move in enumerate(self._moves):
            if not mask >> n & 1 or date not in self._touched[n]:
                continue
            for change in move.changes:
                if isinstance(change, EveningAdded) and change.on == date:
                    slots = (*slots, self._added(change))
                elif isinstance(change, EveningSet) and change.on == date:
                    slots = tuple(_set(s, change) for s in slots)
        return slots

    def _added(self, change: EveningAdded) -> _Slot:
        setup = self._setup(0)
        start = setup.time(to_utc(dt.datetime.combine(change.on, change.start), setup.calendar.zone))
        return _Slot(change.on.isoformat(), start, change.chance, change.hours)

    def _add(self, total: Floats, slots: tuple[_Slot, ...], times: list[float], sign: float) -> None:
        for slot in slots:
            there: npt.NDArray[np.bool_] | None = None
            for g, time in enumerate(times):
                hours = min(slot.hours, time - slot.start)
                if hours > 0:
                    there = self._draws.happens(slot.key, slot.chance) if there is None else there
                    total[g] += there * (sign * hours)


def _slots(setup: Problem) -> _Slots:
    found: _Slots = {}
    for e, evening in enumerate(setup.evenings):
        slot = _Slot(setup.evening_keys[e], float(setup.starts[e]), float(setup.chances[e]), float(setup.hours[e]))
        found[evening.date] = (*found.get(evening.date, ()), slot)
    return found


def _set(slot: _Slot, change: EveningSet) -> _Slot:
    return _Slot(
        slot.key,
        slot.start,
        slot.chance if change.chance is None else change.chance,
        slot.hours if change.hours is None else change.hours,
    )


def _dates(move: Move) -> list[dt.date]:
    return [c.on for c in move.changes if isinstance(c, EveningSet | EveningAdded)]
