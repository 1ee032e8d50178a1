# SPDX-License-Identifier: GPL-3.0-or-later
"""Hours left of open items: drawn for every future, or at the centre."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import scipy

from nightplan.engine.estimates import Estimate
from nightplan.engine.state import ItemState

Floats = npt.NDArray[np.float64]

#: what is assumed to be left where the log has passed everything that the estimate thought possible:
#: a tenth of the likely hours, at least a quarter of an hour, twice that in a bad case
#: (common practice, no source); the program asks for a fresh estimate
_PASSED_SHARE, _PASSED_LEAST, _PASSED_HIGH = 0.1, 0.25, 2.0


def passed(state: ItemState) -> bool:
    """Whether more was worked than the estimate thinks possible, so that it says nothing any more."""
    return state.against > 0 and state.basis.score(state.against) == math.inf


def _basis(state: ItemState) -> tuple[Estimate, float]:
    """The estimate to draw from and the hours already worked against it."""
    basis = state.basis
    if basis.certain and 0 < state.against < basis.likely:
        return Estimate(basis.likely - state.against, basis.likely - state.against), 0.0
    if passed(state) or (basis.certain and state.against > 0):
        likely = max(_PASSED_LEAST, _PASSED_SHARE * basis.likely)
        return Estimate(likely, likely * _PASSED_HIGH), 0.0
    return basis, state.against


def hours_left(state: ItemState, factor: Floats, own: Floats, correlation: float) -> Floats:
    """(n,) hours left in each future.

    Args:
        factor: (n,) the common factor.
        own: (n,) standard normal, the item's own.
        correlation: ρ; z = √ρ·factor + √(1−ρ)·own.

    With s hours worked and no fresh estimate the effort is conditional on being more than s: the
    item's own part is normal, truncated from below, drawn by inversion of the upper tail.
    """
    basis, against = _basis(state)
    if basis.certain:
        return np.full(own.shape, basis.likely)
    shared, alone = math.sqrt(correlation), math.sqrt(1.0 - correlation)
    if against > 0:
        own = _above(own, (basis.score(against) - shared * factor) / alone)
    z = own * alone
    z += shared * factor
    left = basis.quantile_z(z)
    if against > 0:
        left -= against
        np.maximum(left, 0.0, out=left)
    return left


def _above(own: Floats, bound: Floats) -> Floats:
    """Standard normal scores mapped, in order, to those of a standard normal truncated to above ``bound``."""
    with np.errstate(divide="ignore"):
        tail = scipy.special.log_ndtr(-own) + scipy.special.log_ndtr(-bound)
        above: Floats = -scipy.special.ndtri_exp(tail)
    return np.maximum(above, bound)


def likely_left(state: ItemState, centre: float, correlation: float) -> float:
    """Likely (median) hours left with the common factor at ``centre``: 0 is the artist's own word."""
    if state.state != "open":
        return 0.0
    return float(hours_left(state, np.array([centre]), np.array([0.0]), correlation)[0])


def all_likely_left(states: Mapping[str, ItemState], centre: float, correlation: float) -> dict[str, float]:
    """Item id -> :func:`likely_left`, hours."""
    return {key: likely_left(state, centre, correlation) for key, state in states.items()}
