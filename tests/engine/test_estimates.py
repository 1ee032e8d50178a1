# SPDX-License-Identifier: GPL-3.0-or-later
"""Estimates against scipy.stats and published tables."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
from engine_cases import table
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from nightplan.engine.estimates import Z90, Estimate

SHARES = np.array([1e-6, 0.001, 0.05, 0.1, 0.25, 0.5, 0.75, 0.8, 0.9, 0.95, 0.999, 1 - 1e-6])


def test_the_score_of_nine_in_ten_is_that_of_the_normal_distribution() -> None:
    """scipy.special.ndtri to the last digit, the standard library's own to 15."""
    assert float(special.ndtri(0.9)) == Z90
    assert pytest.approx(statistics.NormalDist().inv_cdf(0.9), rel=1e-15) == Z90


def variance(ours: Estimate) -> float:
    """∫(Q(Φ(z)) − mean)² φ(z) dz of the quantiles that the futures are drawn with."""
    z = np.linspace(-25, 25, 50_001)
    return float(np.trapezoid((ours.quantile_z(z) - ours.mean) ** 2 * stats.norm.pdf(z), z))


def _lognorm(likely: float, high: float) -> object:
    """design.md, Effort: median = likely, 90th percentile = high; in the form of scipy.stats.lognorm."""
    return stats.lognorm(s=math.log(high / likely) / stats.norm.ppf(0.9), scale=likely)


@pytest.mark.parametrize(("likely", "high"), [(2, 3.5), (1, 1.0001), (0.05, 4), (40, 41), (6, 30)])
def test_two_points_against_scipy_lognorm(likely: float, high: float) -> None:
    # source: scipy.stats.lognorm
    ours, theirs = Estimate(likely, high), _lognorm(likely, high)
    np.testing.assert_allclose(ours.quantile_z(stats.norm.ppf(SHARES)), theirs.ppf(SHARES), rtol=1e-12)
    assert ours.quantile_z(0.0) == pytest.approx(likely, rel=1e-14)
    assert ours.quantile_z(Z90) == pytest.approx(high, rel=1e-14)
    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-12)
    assert variance(ours) == pytest.approx(theirs.var(), rel=1e-9)
    assert ours.median == theirs.median()
    for amount in (likely / 3, likely, high, 2 * high):
        z = ours.score(amount)
        if abs(z) < 30:
            assert z == pytest.approx(-theirs_isf_score(theirs, amount), rel=1e-6, abs=1e-9)


def theirs_isf_score(theirs: object, amount: float) -> float:
    """−Φ⁻¹(CDF) through whichever logarithm of a tail still has its digits."""
    from scipy.special import ndtri_exp

    log_below, log_above = theirs.logcdf(amount), theirs.logsf(amount)  # type: ignore[attr-defined]
    return float(-ndtri_exp(log_below) if log_below < log_above else ndtri_exp(log_above))


BETAS = [(1, 2, 3), (4, 6, 9), (0, 1, 12), (2, 2, 8), (1, 8, 8), (5, 5.01, 6), (0.5, 30, 31)]


@pytest.mark.parametrize(("low", "likely", "high"), BETAS)
def test_three_points_against_scipy_beta(low: float, likely: float, high: float) -> None:
    # source: scipy.stats.beta with α = 1 + 4(m−a)/(b−a), β = 1 + 4(b−m)/(b−a)
    width = high - low
    theirs = stats.beta(1 + 4 * (likely - low) / width, 1 + 4 * (high - likely) / width, loc=low, scale=width)
    ours = Estimate(likely, high, low)
    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-12)
    assert variance(ours) == pytest.approx(theirs.var(), rel=1e-4)
    # the quantile is tabulated: worst error 1e-5 of the width, as estimates.py says
    z = np.linspace(-5, 5, 2003)
    np.testing.assert_allclose(ours.quantile_z(z), theirs.ppf(stats.norm.cdf(z)), atol=1e-5 * width, rtol=0)
    for share in SHARES:
        amount = theirs.ppf(share)
        assert ours.score(float(amount)) == pytest.approx(stats.norm.ppf(share), abs=1e-5)


@given(low=st.floats(0, 50), a=st.floats(0, 50), b=st.floats(0.01, 50))
def test_beta_pert_variance_is_the_exact_one(low: float, a: float, b: float) -> None:
    # source: exact beta-PERT variance (μ−a)(b−μ)/7; it equals αβ/((α+β)²(α+β+1)) with α+β = 6
    likely, high = low + a, low + a + b
    ours = Estimate(likely, high, low)
    if ours.certain:
        return
    alpha, beta = ours.shapes
    assert alpha + beta == pytest.approx(6, rel=1e-9)
    exact = (high - low) ** 2 * alpha * beta / (36 * 7)
    assert (ours.mean - low) * (high - ours.mean) / 7 == pytest.approx(exact, rel=1e-6)
    assert variance(ours) == pytest.approx(exact, rel=1e-4)


@pytest.mark.parametrize("row", table("beta_pert_quantiles"), ids=lambda r: r["activity"])
def test_beta_pert_quantile_table(row: dict[str, str]) -> None:
    # source: Scientific Programming 2022, 6591223, Table 3 (simulated there: tolerance 0.05);
    # the exact columns were recomputed with six digits
    ours = Estimate(float(row["m"]), float(row["b"]), float(row["a"]))
    z95 = float(stats.norm.ppf(0.95))
    assert ours.median == pytest.approx(float(row["median_printed"]), abs=0.05)
    assert float(ours.quantile_z(z95)) == pytest.approx(float(row["p95_printed"]), abs=0.05)
    width = float(row["b"]) - float(row["a"])
    assert ours.median == pytest.approx(float(row["median_exact"]), abs=1e-5 * width)
    assert float(ours.quantile_z(z95)) == pytest.approx(float(row["p95_exact"]), abs=1e-5 * width)
    assert ours.mean == pytest.approx(float(row["mean"]), abs=5e-7)
    assert variance(ours) == pytest.approx(float(row["exact_variance"]), rel=1e-4)
    # the classic ((b−a)/6)² is another number, and not the one that is used
    classic = (width / 6) ** 2
    assert classic == pytest.approx(float(row["classic_variance"]), abs=5e-7)
    assert variance(ours) > classic


def test_certain_estimates() -> None:
    # source: design.md, Effort: high == likely = certain
    ours = Estimate(4.0, 4.0)
    assert ours.certain
    assert (ours.mean, ours.median) == (4.0, 4.0)
    assert (ours.quantile_z(np.array([-3.0, 0.0, 3.0])) == 4.0).all()
    # three points with mode = high are not certain: the low end is still there
    assert not Estimate(4.0, 4.0, 1.0).certain
    assert Estimate(4.0, 4.0, 1.0).median < 4.0


@given(
    likely=st.floats(0.01, 100),
    ratio=st.floats(1.001, 20),
    z=st.lists(st.floats(-6, 6), min_size=2, max_size=8),
)
def test_quantiles_rise_with_the_score(likely: float, ratio: float, z: list[float]) -> None:
    for ours in (Estimate(likely, likely * ratio), Estimate(likely, likely * ratio, likely / 2)):
        amounts = ours.quantile_z(np.sort(z))
        assert (np.diff(amounts) >= 0).all()
        assert (amounts >= (ours.low or 0)).all()


def test_scores_outside_the_support() -> None:
    ours = Estimate(4, 8, 2)
    assert ours.score(2) == -math.inf
    assert ours.score(8) == math.inf
    assert Estimate(4, 8).score(0) == -math.inf


@pytest.mark.parametrize("likely", [5e-324, 1e-300, 1e-9])
def test_an_absurd_estimate_stays_a_number(likely: float) -> None:
    # numpy warns of overflow and of not a number, and warnings fail
    ours = Estimate(likely, 100_000.0)
    assert np.isfinite(ours.quantile_z(np.array([-8.0, 0.0, 8.0]))).all()
    assert math.isfinite(ours.mean)
    assert math.isfinite(ours.score(1.0))
