# SPDX-License-Identifier: GPL-3.0-or-later
"""What finished items say about the common factor F.

Model: z_i = √ρ·F + √(1−ρ)·e_i with F, e_i standard normal and independent. Given the scores of n
finished items, F is normal with precision 1 + nρ/(1−ρ) and mean (√ρ/(1−ρ))·Σz_i / precision
(conjugate normal model; e.g. Gelman et al., Bayesian Data Analysis, 2.5, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from nightplan.engine.estimates import Z_CLIP, Estimate
from nightplan.engine.state import ItemState
from nightplan.model.results import Learned


def posterior(scores: Iterable[float], correlation: float) -> Learned:
    """The posterior of F given the scores of finished items, each clipped to ±4."""
    z = [min(Z_CLIP, max(-Z_CLIP, s)) for s in scores]
    rho = correlation
    precision = 1 + len(z) * rho / (1 - rho)
    mean = math.sqrt(rho) / (1 - rho) * sum(z) / precision
    return Learned(len(z), mean, 1 / math.sqrt(precision))


def finished_scores(states: Iterable[ItemState]) -> list[float]:
    """Scores Φ⁻¹(CDF(actual)) of finished items; one without logged hours or uncertainty says nothing."""
    scores = []
    for state in states:
        estimate = Estimate.of(state.item)
        if state.state == "done" and state.spent > 0 and not estimate.certain:
            scores.append(estimate.score(state.spent))
    return scores
