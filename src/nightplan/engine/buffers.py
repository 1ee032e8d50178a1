# SPDX-License-Identifier: GPL-3.0-or-later
"""Hours of evening time between the work still to do and a gate.

have = expected hours of evenings before the gate − likely hours left (at the posterior's centre).
need = have + the 80th percentile over futures of (hours wanted − hours that happen), so that
odds of 80 in 100 and have = need are the same thing where no machine job waits.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from nightplan.engine.effort import likely_left
from nightplan.engine.problem import GateWork, Problem
from nightplan.model.results import Buffer

Floats = npt.NDArray[np.float64]

#: the share of futures that the needed buffer is enough for
ENOUGH = 0.8


def have_hours(setup: Problem, gate: GateWork, likely_hours: float) -> float:
    """Expected evening hours before the gate less the likely hours of its work."""
    return float(gate.hours @ setup.chances) - likely_hours


def buffer(setup: Problem, gate: GateWork, have: float, shortage: Floats) -> Buffer:
    """Have, need and used of a gate.

    Args:
        have: hours, from :func:`have_hours`.
        shortage: (N,) hours wanted less hours that happen before the gate.
    """
    place = max(0, math.ceil(ENOUGH * shortage.size - 1e-9) - 1)
    need = have + float(np.partition(shortage, place)[place])
    base = baseline_hours(setup, gate.moment.id)
    return Buffer(have, need, None if base is None or base <= 0 else 1.0 - have / base)


def baseline_hours(setup: Problem, gate_id: str) -> float | None:
    """Buffer of a gate when the plan was accepted; before any baseline, as it was on the announcement day."""
    project = setup.project
    known = [b for b in project.baselines if b.on <= setup.as_of and gate_id in b.buffer_hours]
    if known:
        return known[-1].buffer_hours[gate_id]
    start = setup.at_announcement
    for gate in start.gates:
        if gate.moment.id == gate_id:
            likely = [likely_left(start.states[start.items[i]], 0.0, project.correlation) for i in gate.items]
            return have_hours(start, gate, sum(likely))
    return None
