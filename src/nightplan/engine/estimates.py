# SPDX-License-Identifier: GPL-3.0-or-later
"""Effort estimates as quantile functions of a standard normal score.

Every estimate is used through z: ``effort = Q(Φ(z))``. That makes the common factor (a Gaussian
copula), learning and conditioning one and the same computation for both families.

Two points: lognormal with median ``likely`` and 90th percentile ``high``.
Three points: beta-PERT on [low, high] with mode ``likely`` and shape 4; its variance is exactly
(mean − low)(high − mean)/7 (D. Vose, Risk Analysis, modified PERT with λ = 4, from memory; checked
in the tests against scipy.stats.beta).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

# scipy.special itself is loaded with its first use: a window with the plan is there before it
import scipy

if TYPE_CHECKING:
    from nightplan.model.project import Item, Span

Floats = npt.NDArray[np.float64]

#: Φ⁻¹(0.9), as scipy.special.ndtri gives it
Z90 = 1.2815515655446004
#: scores beyond this are clipped: one absurd entry must not decide the common factor
Z_CLIP = 4.0

# The beta quantile has no closed form. It is tabulated once per shape over this range of z (beyond
# it lies 1e-15 of the probability) and interpolated linearly; the worst error is under 1e-5 of the width.
_Z_EDGE = 8.0
_Z_NODES = 4097

#: high over likely is counted up to this: beyond it neither the tail nor its variance is a number any more
_WIDEST = 1e10


@dataclass(frozen=True)
class Estimate:
    """One uncertain amount (hours, minutes, gigabytes …); ``low`` None means lognormal.

    Every amount that it is asked for, or answers, is in the unit of its three numbers.
    """

    likely: float
    high: float
    low: float | None = None

    @classmethod
    def of(cls, source: Item | Span) -> Estimate:
        """The estimate of an item, or of another uncertain amount."""
        return cls(source.likely, source.high, source.low)

    @property
    def certain(self) -> bool:
        """``high == likely`` = certain (a three-point one as well, if low agrees)."""
        return self.high == self.likely and (self.low is None or self.low == self.likely)

    @cached_property
    def _sigma(self) -> float:
        return math.log(min(self.high / self.likely, _WIDEST)) / Z90

    @cached_property
    def shapes(self) -> tuple[float, float]:
        """α and β of the beta distribution of a three-point estimate."""
        assert self.low is not None
        width = self.high - self.low
        return 1 + 4 * (self.likely - self.low) / width, 1 + 4 * (self.high - self.likely) / width

    def quantile_z(self, z: Any) -> Floats:
        """Amounts at standard normal scores ``z`` (any shape), same shape."""
        z = np.asarray(z, dtype=np.float64)
        if self.certain:
            return np.full_like(z, self.likely)
        if self.low is None:
            # a product, so that score 0 gives exactly the likely hours
            return np.asarray(np.exp(z * self._sigma) * self.likely, dtype=np.float64)
        share: Floats = _beta_table(*self.shapes)(z)
        return self.low + (self.high - self.low) * share

    def score(self, amount: float) -> float:
        """Φ⁻¹(CDF(amount)), a standard normal score, not clipped: −inf below the support, +inf above it."""
        if self.certain:
            return 0.0 if amount == self.likely else math.copysign(math.inf, amount - self.likely)
        if self.low is None:
            return -math.inf if amount <= 0 else (math.log(amount) - math.log(self.likely)) / self._sigma
        if amount <= self.low:
            return -math.inf
        if amount >= self.high:
            return math.inf
        a, b = self.shapes
        share = (amount - self.low) / (self.high - self.low)
        below = scipy.special.betainc(a, b, share)
        # the smaller tail keeps its digits
        return float(
            scipy.special.ndtri(below) if below < 0.5 else -scipy.special.ndtri(scipy.special.betainc(b, a, 1 - share))
        )

    @property
    def median(self) -> float:
        """The amount that is as often too little as too much; of a three-point estimate not its peak."""
        return self.likely if self.low is None or self.certain else float(self.quantile_z(0.0))

    @property
    def mean(self) -> float:
        """The expected amount; above the median of a lognormal one."""
        if self.certain:
            return self.likely
        if self.low is None:
            return self.likely * math.exp(self._sigma**2 / 2)
        return (self.low + 4 * self.likely + self.high) / 6


@cache
def _beta_table(a: float, b: float) -> Any:
    nodes = np.linspace(-_Z_EDGE, _Z_EDGE, _Z_NODES)
    lower = scipy.special.betaincinv(a, b, scipy.special.ndtr(np.minimum(nodes, 0)))
    # above the median through the other tail, where 1 − p would lose its digits
    upper = 1 - scipy.special.betaincinv(b, a, scipy.special.ndtr(-np.maximum(nodes, 0)))
    values = np.where(nodes <= 0, lower, upper)
    return lambda z: np.interp(z, nodes, values)
