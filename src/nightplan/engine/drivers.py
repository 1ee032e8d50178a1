# SPDX-License-Identifier: GPL-3.0-or-later
"""What the lateness hangs on: squared rank correlation of each uncertain thing with it, normalised.

The uncertainty importance of R. L. Iman and S. C. Hora, A robust measure of uncertainty importance,
Risk Analysis 10, 1990 (from memory), taken over items, machine jobs and evenings.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from nightplan.engine.nights_hands import hands_of
from nightplan.engine.problem import Problem
from nightplan.model.results import Driver

Floats = npt.NDArray[np.float64]


def drivers(
    setup: Problem, completion: Floats, efforts: Floats, durations: Floats, happened: npt.NDArray[np.bool_]
) -> tuple[Driver, ...]:
    """Shares of the variance of lateness, largest first, summing to 1; empty where nothing is uncertain.

    Lateness is that of the personal lock, or of the first gate with open work where the lock has none.

    Args:
        completion: (G, N) completion times; the first n columns belong to the rest.
        efforts: (I, n), durations: (J, n), happened: (E, n).
    """
    n = efforts.shape[1] if efforts.size else happened.shape[1]
    chosen = [g for g, gate in enumerate(setup.gates) if gate.items or gate.jobs]
    chosen.sort(key=lambda g: setup.gates[g].moment.id != "lock")
    if not chosen or n < 3:
        return ()
    gate = setup.gates[chosen[0]]
    late = _ranks(completion[chosen[0], :n])
    spread = float(late @ late)
    if spread == 0.0:
        return ()
    found: list[tuple[str, str, float]] = []
    for kind, keys, rows, mine in (
        ("item", setup.items, efforts, gate.items),
        ("job", setup.jobs, durations, gate.jobs),
    ):
        for position in mine:
            if hands_of(keys[position]):
                continue
            found.append((keys[position], kind, _explained(_ranks(rows[position]), late, spread)))
    dates: dict[str, float] = {}
    for e, evening in enumerate(setup.evenings):
        if gate.hours[e] > 0 and 0.0 < evening.chance < 1.0:
            row = happened[e] - happened[e].mean()
            key = evening.date.isoformat()
            dates[key] = dates.get(key, 0.0) + _explained(row, late, spread)
    found += [(key, "evening", value) for key, value in dates.items()]
    total = sum(value for _, _, value in found)
    if total <= 0.0:
        return ()
    found.sort(key=lambda row: -row[2])
    return tuple(Driver(key, kind, value / total) for key, kind, value in found)  # type: ignore[arg-type]


def _explained(ranks: Floats, late: Floats, spread: float) -> float:
    own = float(ranks @ ranks)
    if own == 0.0:
        return 0.0
    square = float(ranks @ late) ** 2 / (own * spread)
    # what pure chance would show between unrelated columns is taken off
    return max(0.0, square - 1.0 / (late.size - 1))


def _ranks(values: Floats) -> Floats:
    """(n,) ranks about their mean; equal values share their mean rank."""
    order = np.argsort(values)
    ordered = values[order]
    new = np.r_[True, ordered[1:] != ordered[:-1]]
    edges = np.flatnonzero(np.r_[new, True])
    middle = (edges[:-1] + edges[1:] - 1) / 2.0
    ranks = np.empty(values.size)
    ranks[order] = middle[np.cumsum(new) - 1]
    return ranks - (values.size - 1) / 2.0
