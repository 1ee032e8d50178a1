# SPDX-License-Identifier: GPL-3.0-or-later
"""Learning within the project and items in progress, against numerical integration."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from engine_cases import day, item, make
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from nightplan.engine.effort import hours_left, likely_left
from nightplan.engine.estimates import Estimate
from nightplan.engine.forecast import forecast, simulate
from nightplan.engine.learning import finished_scores, posterior
from nightplan.engine.problem import problem
from nightplan.engine.state import ItemState, item_states
from nightplan.model.project import Item


def _integrated(scores: list[float], rho: float) -> tuple[float, float]:
    """Mean and sd of F given scores, by scipy.integrate over prior × likelihood; nothing conjugate."""

    def log_weight(f: float) -> float:
        prior = stats.norm.logpdf(f)
        return float(prior + sum(stats.norm.logpdf(z, math.sqrt(rho) * f, math.sqrt(1 - rho)) for z in scores))

    grid = np.linspace(-12, 12, 241)
    peak = float(grid[np.argmax([log_weight(f) for f in grid])])
    top = log_weight(peak)

    def moment(k: int) -> float:
        found, _ = integrate.quad(
            lambda f: f**k * math.exp(log_weight(f) - top), peak - 9, peak + 9, epsabs=1e-13, limit=200
        )
        return float(found)

    mass, first, second = moment(0), moment(1), moment(2)
    return first / mass, math.sqrt(second / mass - (first / mass) ** 2)


@pytest.mark.parametrize("rho", [0.05, 0.3, 0.8])
@pytest.mark.parametrize("scores", [[], [1.3], [-0.4, 2.2], [3.1, 2.5, 3.9, 0.2], [0.5] * 8])
def test_posterior_against_integration(rho: float, scores: list[float]) -> None:
    # source: scipy.integrate.quad over the prior and the likelihood of design.md, Learning
    ours = posterior(scores, rho)
    mean, sd = _integrated(scores, rho)
    assert ours.finished == len(scores)
    assert ours.mean == pytest.approx(mean, abs=1e-7)
    assert ours.sd == pytest.approx(sd, abs=1e-6)


def test_nothing_is_learned_without_correlation() -> None:
    ours = posterior([3.0, 3.0], 0.0)
    assert (ours.mean, ours.sd) == (0.0, 1.0)


def test_absurd_entries_are_clipped() -> None:
    # source: design.md, Learning: clipped to ±4
    assert posterior([math.inf, -9.0], 0.3) == posterior([4.0, -4.0], 0.3)


def _log(*evenings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """One entry per day from the announcement on; each a list of work."""
    return [
        {"evening": day(n).isoformat(), "happened": True, "hours": sum(w.get("hours", 0.0) for w in work), "work": work}
        for n, work in enumerate(evenings)
    ]


def _half_way(**more: Any) -> Any:
    return make(
        [
            item("boards", 2, 4),
            item("rig", 3, 6, low=1.5),
            item("sure", 1, 1),
            item("set", 4, 8),
            item("light", 3, 5),
        ],
        lock=12,
        correlation=0.3,
        log=_log(
            [{"item": "boards", "hours": 2.0}],
            [{"item": "boards", "hours": 1.5, "done": True}, {"item": "rig", "hours": 0.5}],
            [{"item": "rig", "hours": 4.5, "done": True}, {"item": "sure", "hours": 1.5, "done": True}],
        ),
        **more,
    )


def test_scores_of_finished_items_come_from_the_log() -> None:
    # sources: scipy.stats for the two scores; a certain estimate says nothing about the factor
    states = item_states(_half_way(), day(3))
    scores = finished_scores(states.values())
    width = 6 - 1.5
    beta = stats.beta(1 + 4 * 1.5 / width, 1 + 4 * 3 / width, loc=1.5, scale=width)
    lognorm = stats.lognorm(s=math.log(2) / stats.norm.ppf(0.9), scale=2)
    wanted = [stats.norm.ppf(lognorm.cdf(3.5)), stats.norm.ppf(beta.cdf(5.0))]
    np.testing.assert_allclose(scores, wanted, rtol=1e-9)
    learned = forecast(_half_way(), day(3), futures=100).learned
    mean, sd = _integrated(wanted, 0.3)
    assert (learned.finished, learned.mean, learned.sd) == (
        2,
        pytest.approx(mean, abs=1e-6),
        pytest.approx(sd, abs=1e-6),
    )


def test_open_items_draw_from_the_posterior() -> None:
    # source: law of the open item's score: √ρ·N(m, s²) + √(1−ρ)·N(0, 1); 4 standard errors
    setup = problem(_half_way(), day(3))
    found = simulate(setup, 5_000, 1)
    row = setup.items.index("set")
    scores = np.log(found.efforts[row] / 4) / (math.log(2) / stats.norm.ppf(0.9))
    mean, sd = setup.learned.mean, setup.learned.sd
    assert scores.mean() == pytest.approx(math.sqrt(0.3) * mean, abs=4 / math.sqrt(5_000))
    assert scores.std() == pytest.approx(math.sqrt(0.3 * sd**2 + 0.7), rel=4 / math.sqrt(2 * 5_000))
    # an overrun so far makes the rest longer than the artist's own word
    assert mean > 0
    assert forecast(_half_way(), day(3), futures=100).hours_left > 4 + 3


def _state(estimate: Estimate, spent: float) -> ItemState:
    given = Item(id="a", name="a", likely=estimate.likely, high=estimate.high, low=estimate.low)
    return ItemState(given, "open", spent, estimate, spent, None)


IN_PROGRESS = [
    (Estimate(4, 8), 1.0),
    (Estimate(4, 8), 4.0),
    (Estimate(4, 8), 11.0),
    (Estimate(4, 8, 2), 3.0),
    (Estimate(4, 8, 2), 6.5),
]


@pytest.mark.parametrize(("estimate", "spent"), IN_PROGRESS)
def test_effort_given_more_than_spent_against_rejection(estimate: Estimate, spent: float) -> None:
    # source: rejection sampling (numpy): keep the efforts above what was spent. Independent items (ρ = 0);
    # quantiles of 400,000 kept draws, tolerance two hundredths of the spread
    rng = np.random.default_rng(9)
    ours = hours_left(_state(estimate, spent), np.zeros(200_000), rng.standard_normal(200_000), 0.0) + spent
    kept = np.empty(0)
    while kept.size < 200_000:
        drawn = estimate.quantile_z(rng.standard_normal(1_000_000))
        kept = np.append(kept, drawn[drawn > spent])
    shares = [0.05, 0.2, 0.5, 0.8, 0.95]
    spread = np.quantile(kept, 0.9) - np.quantile(kept, 0.1)
    np.testing.assert_allclose(np.quantile(ours, shares), np.quantile(kept, shares), atol=0.02 * spread)
    assert (ours >= spent).all()


@pytest.mark.parametrize("rho", [0.3, 0.7])
@pytest.mark.parametrize(("estimate", "spent"), IN_PROGRESS[:3])
def test_effort_given_more_than_spent_against_integration(estimate: Estimate, spent: float, rho: float) -> None:
    # source: scipy.integrate over F of P(effort ≤ x | effort > s, F). F itself stays as the finished items
    # left it (design.md, Learning: open items draw F from the posterior of finished ones); 4 standard errors
    count = 200_000
    rng = np.random.default_rng(10)
    factor = rng.standard_normal(count)
    ours = hours_left(_state(estimate, spent), factor, rng.standard_normal(count), rho) + spent
    for x in (spent * 1.1, spent * 1.5 + 1, spent * 2 + 3):

        def share(f: float, x: float = x) -> float:
            own = [(estimate.score(v) - math.sqrt(rho) * f) / math.sqrt(1 - rho) for v in (spent, x)]
            above = stats.norm.sf(own[0])
            return float((1 - stats.norm.sf(own[1]) / above) * stats.norm.pdf(f)) if above > 0 else 0.0

        want, _ = integrate.quad(share, -8, 8, epsabs=1e-10, limit=200)
        assert np.mean(ours <= x) == pytest.approx(want, abs=4 * math.sqrt(want * (1 - want) / count) + 1e-4)


@settings(max_examples=60, deadline=None)
@given(spent=st.floats(0.01, 200), f=st.floats(-4, 4), own=st.floats(-4, 4), rho=st.floats(0, 0.95))
def test_hours_left_are_finite_and_not_negative(spent: float, f: float, own: float, rho: float) -> None:
    for estimate in (Estimate(4, 8), Estimate(4, 8, 2), Estimate(4, 4)):
        left = hours_left(_state(estimate, spent), np.array([f]), np.array([own]), rho)
        assert np.isfinite(left).all()
        assert (left >= 0).all()


def test_more_spent_never_lowers_the_whole() -> None:
    # the whole effort, given more and more hours spent, with the same numbers
    own = np.random.default_rng(1).standard_normal(500)
    for estimate in (Estimate(4, 8), Estimate(4, 8, 2)):
        totals = [hours_left(_state(estimate, s), np.zeros(500), own, 0.3) + s for s in np.linspace(0.5, 7.5, 15)]
        assert (np.diff(totals, axis=0) >= -1e-9).all()


def test_a_fresh_estimate_wins() -> None:
    # source: design.md, Learning: a re-estimate of what is left wins
    log = _log([{"item": "set", "hours": 2.0, "left": {"likely": 1.0, "high": 1.0}}], [{"item": "light", "hours": 2.0}])
    project = make([item("set", 4, 8), item("light", 3, 5)], log=log, correlation=0.3)
    setup = problem(project, day(2))
    found = simulate(setup, 50, 1)
    assert (found.efforts[setup.items.index("set")] == 1.0).all()
    assert likely_left(setup.states["set"], 0.0, 0.3) == 1.0
    # the hours spent so far are of no account to it, later ones are
    later = make(
        [item("set", 4, 8)],
        log=_log(
            [{"item": "set", "hours": 2.0, "left": {"likely": 3.0, "high": 5.0}}], [{"item": "set", "hours": 1.0}]
        ),
    )
    state = item_states(later, day(2))["set"]
    assert (state.spent, state.against, state.basis) == (3.0, 1.0, Estimate(3.0, 5.0))


def test_more_spent_than_thought_possible() -> None:
    # common practice, no source: a tenth of the likely hours, at least a quarter of an hour, until re-estimated
    assert likely_left(_state(Estimate(4, 8, 2), 9.0), 0.0, 0.3) == pytest.approx(0.4)
    assert likely_left(_state(Estimate(1, 1), 2.0), 0.0, 0.3) == pytest.approx(0.25)
    # certain and not yet used up: the rest of it
    assert likely_left(_state(Estimate(4, 4), 3.0), 0.0, 0.3) == pytest.approx(1.0)
