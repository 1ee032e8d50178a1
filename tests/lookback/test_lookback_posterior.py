# SPDX-License-Identifier: GPL-3.0-or-later
"""Bias, spread and evenings learned from past projects, against numerical integration and scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from nightplan.engine.lookback import (
    Prior,
    beta_band,
    bias_band,
    drift_look,
    evening_look,
    look_back,
    next_quantile,
    project_weights,
    spread_band,
    stage_looks,
    switch_look,
    update,
)
from nightplan.model.errors import BadInput
from nightplan.model.results_lookback import DriftFact, EveningFact, Facts, ItemFact, Normal4, SwitchFact


class Integrated:
    """μ and v on a grid of prior × likelihood, every value of the sample by scipy.stats; nothing conjugate."""

    def __init__(self, prior: Normal4, values: list[float], weights: list[float]) -> None:
        self.mu = np.linspace(-4, 4, 6401)
        self.u = np.linspace(-8, 4, 1201)  # ln v
        v = np.exp(self.u)
        log = stats.invgamma.logpdf(v, prior.shape, scale=prior.scale)[None, :] + self.u[None, :]
        log = log + stats.norm.logpdf(self.mu[:, None], prior.mean, np.sqrt(v / prior.worth)[None, :])
        for y, w in zip(values, weights, strict=True):
            log = log + w * stats.norm.logpdf(y, self.mu[:, None], np.sqrt(v)[None, :])
        self.p = np.exp(log - log.max())
        self.p /= integrate.trapezoid(integrate.trapezoid(self.p, self.u, axis=1), self.mu)

    def _below(self, grid: np.ndarray, density: np.ndarray, value: float) -> float:
        total = integrate.cumulative_trapezoid(density, grid, initial=0.0)
        return float(np.interp(value, grid, total / total[-1]))

    def mean(self) -> float:
        return float(integrate.trapezoid(self.mu * integrate.trapezoid(self.p, self.u, axis=1), self.mu))

    def mu_below(self, value: float) -> float:
        return self._below(self.mu, integrate.trapezoid(self.p, self.u, axis=1), value)

    def sigma_below(self, value: float) -> float:
        return self._below(self.u, integrate.trapezoid(self.p, self.mu, axis=0), 2 * math.log(value))

    def next_below(self, value: float) -> float:
        inside = stats.norm.cdf(value, self.mu[:, None], np.exp(self.u / 2)[None, :]) * self.p
        return float(integrate.trapezoid(integrate.trapezoid(inside, self.u, axis=1), self.mu))


@pytest.mark.parametrize(
    ("prior", "values", "weights"),
    [
        (Prior().normal4(), [0.5], [1.0]),
        (Prior().normal4(), [0.3, 0.7, -0.1, 0.4], [1.0] * 4),
        (Prior(ratio=1.3, worth=8, spread=0.2, spread_worth=10).normal4(), [0.9, 0.2, 0.8], [1.0] * 3),
        # weights: the likelihood of each value to that power
        (Prior().normal4(), [0.6, 0.5, 0.7, 0.1, -0.2], [0.45, 0.45, 0.45, 1.0, 1.0]),
    ],
)
def test_posterior_against_numerical_integration(prior: Normal4, values: list[float], weights: list[float]) -> None:
    # a weighted normal likelihood is φ^w: its factor v^(−w/2) is what raises the shape by w/2
    found, exact = update(prior, values, weights), Integrated(prior, values, weights)
    assert found.mean == pytest.approx(exact.mean(), abs=2e-5)
    bias, spread = bias_band(found), spread_band(found)
    assert exact.mu_below(bias.low) == pytest.approx(0.1, abs=1e-4)
    assert exact.mu_below(bias.high) == pytest.approx(0.9, abs=1e-4)
    assert exact.sigma_below(spread.low) == pytest.approx(0.1, abs=1e-4)
    assert exact.sigma_below(spread.value) == pytest.approx(0.5, abs=1e-4)
    assert exact.sigma_below(spread.high) == pytest.approx(0.9, abs=1e-4)
    for q in (0.5, 0.9):
        assert exact.next_below(next_quantile(found, q)) == pytest.approx(q, abs=1e-4)


def test_bands_against_scipy_distributions() -> None:
    p = Normal4(0.2, 7.0, 4.5, 0.9)
    t = stats.t(9.0, 0.2, math.sqrt(0.9 / (4.5 * 7.0)))
    assert (bias_band(p).low, bias_band(p).high) == pytest.approx(t.ppf([0.1, 0.9]), rel=1e-10)
    v = stats.invgamma(4.5, scale=0.9)
    assert (spread_band(p).low, spread_band(p).high) == pytest.approx(np.sqrt(v.ppf([0.1, 0.9])), rel=1e-10)
    b = stats.beta(3.2, 1.7)
    assert (beta_band(3.2, 1.7).low, beta_band(3.2, 1.7).high) == pytest.approx(b.ppf([0.1, 0.9]), rel=1e-10)


@given(
    st.lists(st.floats(-2, 2), min_size=1, max_size=12),
    st.integers(0, 12),
)
@settings(max_examples=100)
def test_all_at_once_or_one_after_the_other_is_the_same(values: list[float], cut: int) -> None:
    """Bayes' rule itself: yesterday's posterior is today's prior."""
    prior = Prior().normal4()
    once = update(prior, values)
    twice = update(update(prior, values[:cut]), values[cut:])
    for a, b in zip(
        (once.mean, once.worth, once.shape, once.scale),
        (twice.mean, twice.worth, twice.shape, twice.scale),
        strict=True,
    ):
        assert a == pytest.approx(b, abs=1e-9)


def test_items_of_one_project_count_less() -> None:
    """Variance of a mean of m values with correlation ρ, by simulation: v(1 + (m−1)ρ)/m."""
    m, rho, n = 6, 0.3, 200_000
    rng = np.random.default_rng(7)
    y = math.sqrt(rho) * rng.standard_normal((n, 1)) + math.sqrt(1 - rho) * rng.standard_normal((n, m))
    weight = sum(project_weights([1] * m, rho))
    assert y.mean(axis=1).var() == pytest.approx(1 / weight, rel=4 * math.sqrt(2 / n))
    assert project_weights([1, 2, 3], rho).tolist() == [1, 1, 1]


def item(project: int, stage: str, ratio: float, likely: float = 2.0) -> ItemFact:
    return ItemFact(project, stage, likely, likely * 1.7, likely, likely * ratio)


def test_two_points_do_not_shout_and_many_speak() -> None:
    few = look_back(Facts(items=(item(1, "Rig", 3.0), item(2, "Rig", 3.0)))).overall
    many = look_back(Facts(items=tuple(item(n, "Rig", 3.0) for n in range(60)))).overall
    # the prior counts as 3 items at ratio 1: 2 of 5 of ln 3, and 60 of 63
    assert few.bias.value == pytest.approx(math.log(3) * 2 / 5)
    assert many.bias.value == pytest.approx(math.log(3) * 60 / 63)
    assert few.prior_share == pytest.approx(0.6)
    assert few.bias.high - few.bias.low > 4 * (many.bias.high - many.bias.low)


def test_a_stage_without_data_takes_what_the_others_say() -> None:
    facts = Facts(items=tuple(item(n, "Rig", 2.0) for n in range(40)))
    light = stage_looks(facts, ["Light"])["Light"]
    assert (light.n, light.prior_share) == (0, 1.0)
    assert light.factor.value == pytest.approx(math.exp(math.log(2) * 40 / 43))
    # and nothing at all says nothing
    assert stage_looks(Facts(), ["Light"])["Light"].factor.value == 1.0


def test_stages_are_told_apart_by_name_and_kept_in_order() -> None:
    facts = Facts(items=(item(1, "Set  dressing", 1.0), item(1, "Animate", 2.0), item(2, "set dressing", 1.5, 4.0)))
    looks = look_back(facts)
    assert [(s.stage, s.n, s.projects) for s in looks.stages] == [("Set  dressing", 2, 2), ("Animate", 1, 1)]
    assert looks.stages[0].ratio == pytest.approx((2 + 6) / 6)
    assert (looks.overall.planned_hours, looks.overall.actual_hours) == (8.0, 12.0)


def test_the_learned_estimate_does_not_feed_back() -> None:
    """Own likely 2 h, planned with a learned factor 3 h, took 3 h: the artist's own bias is still ln 1.5."""
    rows = tuple(ItemFact(n, "Rig", 3.0, 5.0, 2.0, 3.0) for n in range(200))
    look = look_back(Facts(items=rows)).overall
    assert look.ratio == 1.0
    assert look.factor.value == pytest.approx(1.5, rel=0.01)


def test_evenings_beta_binomial_against_scipy() -> None:
    rows = [
        EveningFact(0, True, 10, 6, 1, 0.9),
        EveningFact(2, True, 20, 10, 0, 0.9),
        EveningFact(5, False, 8, 2, 0, 0.5),
    ]
    sure = evening_look(rows, True, None, Prior(evenings=6), 0.9)
    exact = stats.beta(6 * 0.9 + 16, 6 * 0.1 + 14)
    assert sure.chance.value == pytest.approx(exact.mean())
    assert (sure.chance.low, sure.chance.high) == pytest.approx(exact.ppf([0.1, 0.9]))
    # Monday: its prior is what Wednesday says, worth six evenings
    wednesday = (6 * 0.9 + 10) / 26
    monday = evening_look(rows, True, 0, Prior(evenings=6), 0.9)
    assert monday.chance.value == pytest.approx((6 * wednesday + 6) / 16)
    maybe = evening_look(rows, False, None, Prior(evenings=6), 0.5)
    assert (maybe.promised, maybe.kept) == (8, 2)
    looks = look_back(Facts(evenings=tuple(rows)))
    assert [(w.weekday, w.sure) for w in looks.weekdays] == [(0, True), (2, True), (5, False)]


def test_switching_against_scipy_linregress() -> None:
    rng = np.random.default_rng(3)
    x = rng.integers(0, 4, 80).astype(float)
    y = 12 * x + rng.normal(5, 6, 80)
    sums = SwitchFact(80, x.sum(), y.sum(), (x * x).sum(), (x * y).sum(), (y * y).sum())
    exact = stats.linregress(x, y)
    found = switch_look(sums)
    assert found.minutes is not None
    assert found.minutes.value == pytest.approx(exact.slope)
    reach = stats.t(78).ppf(0.9) * exact.stderr
    assert (found.minutes.low, found.minutes.high) == pytest.approx((exact.slope - reach, exact.slope + reach))


@pytest.mark.parametrize(
    ("sums", "words"),
    [
        (SwitchFact(0, 0, 0, 0, 0, 0), "no evening had more than one item"),
        (SwitchFact(1, 2, 0, 4, 0, 0), "one evening is too few"),
        (SwitchFact(40, 30, 0, 60, 0, 0), "every minute of an evening"),
        (SwitchFact(5, 4, 30, 6, 20, 400), "too few"),
        (SwitchFact(40, 30, 200, 60, 150.0, 4000), "may as well be 0"),
    ],
)
def test_switching_that_cannot_be_told_is_said(sums: SwitchFact, words: str) -> None:
    found = switch_look(sums)
    assert found.minutes is None
    assert words in found.words


def test_drift_is_a_geometric_mean() -> None:
    looks = drift_look([DriftFact(1, 0.0, 0.5), DriftFact(2, 0.0, 2.0), DriftFact(1, 1 / 3, 0.8)])
    assert [(d.share, d.projects) for d in looks] == [(0.0, 2), (1 / 3, 1)]
    assert looks[0].ratio.value == pytest.approx(1.0)
    assert math.isinf(looks[1].ratio.high)


@pytest.mark.parametrize("wrong", [{"ratio": 0.0}, {"spread": -1.0}, {"worth": math.nan}, {"correlation": 1.0}])
def test_a_prior_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(BadInput, match="prior"):
        Prior(**wrong)
