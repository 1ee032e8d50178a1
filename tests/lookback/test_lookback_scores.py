# SPDX-License-Identifier: GPL-3.0-or-later
"""Scores of forecasts against printed values: scores_printed.csv and crps_ensemble_toy.csv hold the values that
the documentation of forecast-verification libraries prints (see the tables), and studies on overrun."""

from __future__ import annotations

import csv
import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from nightplan.engine.lookback_scores import (
    bins_of,
    brier,
    crps_quantiles,
    level,
    scores,
    share_band,
)
from nightplan.model.results_lookback import FinishFact, GateFact, Outcome

DATA = Path(__file__).parents[1] / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def printed(name: str, part: str = "") -> float:
    return float(
        next(r["recomputed"] for r in rows("scores_printed.csv") if r["score"] == name and part in r["inputs"])
    )


def pinball(level: object, value: object, seen: float) -> object:
    """Quantile score of one quantile, in the unit of the value."""
    return ((seen <= np.asarray(value)) - np.asarray(level)) * (np.asarray(value) - seen)


def crps_of_steps(values: list[float], shares: list[float], seen: float) -> float:
    """CRPS of a distribution that sits on single values: each is a pair of equal quantiles."""
    ends = np.cumsum([0.0, *shares])
    pairs = [(low + 1e-12, high - 1e-12) for low, high in pairwise(ends)]
    return float(crps_quantiles([p for pair in pairs for p in pair], np.repeat(values, 2), seen))


def test_printed_brier_rps_and_pinball() -> None:
    assert brier(0.2, 1) == pytest.approx(printed("Brier"))
    assert brier([0.1, 0.9, 0.8, 0.3], [0, 1, 1, 0]) == pytest.approx(printed("Brier mean"))
    single = [r for r in rows("scores_printed.csv") if r["score"] == "Brier single"]
    assert len(single) == 5
    for row in single:
        odds = float(row["inputs"].split()[0].removeprefix("p="))
        happened = not row["inputs"].endswith("no event")
        assert brier(odds, happened) == pytest.approx(float(row["value_printed"]))
    # odds over ordered categories are a distribution on 0, 1, 2, 3, and their score its CRPS
    assert crps_of_steps([0, 1, 2, 3], [0.1, 0.2, 0.3, 0.4], 2) == pytest.approx(printed("RPS"))
    assert pinball(0.2, 0.5, 0.3) == pytest.approx(printed("Quantile (pinball)"))


def test_printed_crps_of_small_ensembles() -> None:
    table = rows("crps_ensemble_toy.csv")
    assert len(table) == 13
    for row in table:
        members = sorted(float(m) for m in row["ensemble"].split())
        found = crps_of_steps(members, [1 / len(members)] * len(members), float(row["observation"]))
        assert found == pytest.approx(float(row["crps_printed"]), abs=1e-10)


@pytest.mark.parametrize(
    ("name", "part", "law", "seen"),
    [
        ("CRPS normal", "", stats.norm(0.1, 0.4), 0.0),
        ("CRPS beta", "", stats.beta(0.7, 1.1), 0.3),
        ("CRPS uniform", "", stats.uniform(0, 1), 0.4),
        ("CRPS exponential", "obs=0.8", stats.expon(scale=1 / 3), 0.8),
        ("CRPS exponential", "obs=0.9", stats.expon(scale=1 / 2), 0.9),
        ("CRPS gamma", "", stats.gamma(1.1, scale=10), 0.2),
    ],
)
def test_printed_crps_of_distributions_by_many_quantiles(name: str, part: str, law: object, seen: float) -> None:
    """4,000 quantiles joined by lines are the distribution, up to 1e-4 of its value."""
    levels = (np.arange(4000) + 0.5) / 4000
    found = crps_quantiles(levels.tolist(), law.ppf(levels), seen)  # type: ignore[attr-defined]
    assert float(found) == pytest.approx(printed(name, part), rel=2e-4)


def test_crps_of_four_quantiles_against_numerical_integration() -> None:
    p, x = [0.1, 0.5, 0.8, 0.9], [10.0, 14.0, 20.0, 25.0]
    # ends: 10 − 4·0.1/0.4 = 9 and 25 + 5 = 30
    ends_p, ends_x = [0.0, *p, 1.0], [9.0, *x, 30.0]
    for seen in (2.0, 9.5, 14.0, 17.3, 29.0, 41.0):
        grid = np.unique(np.concatenate([np.linspace(0, 50, 500_001), [seen]]))
        cdf = np.interp(grid, ends_x, ends_p)
        below, above = grid <= seen, grid >= seen
        exact = integrate.trapezoid(cdf[below] ** 2, grid[below]) + integrate.trapezoid(
            (1 - cdf[above]) ** 2, grid[above]
        )
        assert float(crps_quantiles(p, x, seen)) == pytest.approx(exact, rel=1e-6)


@given(st.lists(st.integers(0, 60), min_size=4, max_size=4), st.integers(-10, 90))
@settings(max_examples=200)
def test_crps_is_the_mean_pinball_loss_twice(days: list[int], seen: int) -> None:
    """F. Laio and S. Tamea 2007: CRPS = 2 ∫ pinball over the levels; equal dates, too."""
    x = np.sort(np.array(days, dtype=float))
    p = np.array([0.1, 0.5, 0.8, 0.9])
    ends_x = np.concatenate([[x[0] - (x[1] - x[0]) / 4], x, [x[3] + (x[3] - x[2])]])
    levels = (np.arange(20_000) + 0.5) / 20_000
    quantiles = np.interp(levels, np.concatenate([[0.0], p, [1.0]]), ends_x)
    loss = np.mean(pinball(levels, quantiles, seen))
    assert float(crps_quantiles(p.tolist(), x, float(seen))) == pytest.approx(2 * loss, abs=0.01)


def test_share_band_against_scipy() -> None:
    exact = stats.beta(6.5, 3.5).ppf([0.1, 0.9])
    assert (share_band(6, 9).low, share_band(6, 9).high) == pytest.approx(exact)
    assert (share_band(0, 3).low, share_band(3, 3).high) == (0.0, 1.0)


def test_coverage_report_on_buehler_griffin_and_ross_1995() -> None:
    """13, 19 and 45 in 100 were done by the dates they gave at 50, 75 and 99 in 100 (reference_class_figures.csv)."""
    table = [r for r in rows("reference_class_figures.csv") if r["source"] == "Buehler Griffin Ross 1995"]
    assert len(table) == 3
    for row in table:
        said = int(row["quantity"].split("own ")[1].split("%")[0]) / 100
        done = int(row["value"].removesuffix("%"))
        found = level(said, 100, done)
        assert found.share.value == done / 100
        assert found.share.high < said


def gate(
    project: int, outcome: Outcome, odds: list[float], finished: int | None = None, p: tuple[float, ...] = ()
) -> GateFact:
    n = len(odds)
    days = [np.full(n, d) for d in (p or (100.0, 110.0, 118.0, 124.0))]
    return GateFact(project, "lock", "Lock", 120, finished, outcome, np.arange(n) + 60.0, np.array(odds), *days, 176)


def test_every_gate_counts_the_same() -> None:
    found = scores([gate(1, "met", [0.8] * 9), gate(2, "missed", [0.6]), gate(3, "unknown", [0.5])])
    assert (found.forecasts, found.gates, found.projects, found.unknown) == (10, 2, 2, 1)
    assert found.brier == pytest.approx((0.04 + 0.36) / 2)
    assert (found.base_rate, found.base_brier) == (0.5, 0.25)
    assert found.skill == pytest.approx(1 - 0.2 / 0.25)
    assert [(b.forecasts, b.gates, b.met) for b in found.bins] == [(1, 1, 0), (9, 1, 9)]


def test_words_say_how_often() -> None:
    made = [gate(n, "met" if n < 6 else "missed", [0.7]) for n in range(9)]
    words = " ".join(scores(made).words)
    assert "When it said about 70 in 100 you made it 6 of 9 times (9 gates)." in words
    assert "as a hint, not as a verdict" in words
    sure = " ".join(scores([gate(n, "missed" if n else "met", [0.9]) for n in range(9)]).words)
    assert "1 of 9 times (9 gates); too sure" in sure


def test_nothing_to_score_and_one_outcome_only() -> None:
    assert scores([]).words == ("No forecast can be scored yet: it takes a gate that was met or missed.",)
    same = scores([gate(1, "met", [0.9])])
    assert same.skill is None
    assert "Every gate was met" in " ".join(same.words)


def test_coverage_and_levels_of_finish_dates() -> None:
    # finished on 105: within 100..124, after P10, before P50; beyond the horizon counts as later
    inside = gate(1, "met", [0.7, 0.7], 105)
    late = gate(2, "missed", [0.7], 150, (100.0, 110.0, math.nan, math.nan))
    found = scores([inside, late])
    assert (found.coverage.n, found.coverage.done) == (3, 3)
    assert [(v.level, v.done) for v in found.levels] == [(0.1, 0), (0.5, 2), (0.8, 3), (0.9, 3)]
    items = scores([inside], [FinishFact(1, 10, 12, 14, 15, 16, 60), FinishFact(1, 10, 12, 14, 15, 12, 60)])
    assert (items.item_coverage.n, items.item_coverage.done) == (2, 1)
    one, two = (float(crps_quantiles([0.1, 0.5, 0.8, 0.9], [10.0, 12, 14, 15], d)) for d in (16.0, 12.0))
    assert items.item_crps_days == pytest.approx((one + two) / 2)


def test_bins_edges() -> None:
    odds = np.array([0.0, 0.1, 0.7, 0.7000000001, 1.0])
    found = bins_of(odds, np.ones(5), np.arange(5))
    assert [(b.low, b.forecasts) for b in found] == [(0.0, 1), (0.1, 1), (0.7, 2), (0.9, 1)]


def test_arithmetic_of_the_published_overruns() -> None:
    """reference_class_figures.csv: the ratios that follow from the figures as printed."""
    by = {(r["source"], r["quantity"]): r["value"] for r in rows("reference_class_figures.csv")}
    predicted = float(by["Buehler Griffin Ross 1994", "thesis predicted best guess days"])
    actual = float(by["Buehler Griffin Ross 1994", "thesis actual days"])
    poorly = float(by["Buehler Griffin Ross 1994", "thesis if everything goes poorly days"])
    assert actual / predicted == pytest.approx(1.637, abs=5e-4)
    assert actual > poorly
    # Mott MacDonald 2002, worked example: 30 % non-standard, 70 % standard buildings
    capex = [float(p.split("/")[0]) for p in by["Mott MacDonald 2002 Table 2", "capex U/L % (same five types)"].split()]
    assert 0.3 * capex[0] + 0.7 * capex[1] == pytest.approx(32.1)
    works = [
        float(by["Mott MacDonald 2002 Table 2", f"works duration {what}"].split("/")[0])
        for what in ("optimism bias U/L % non-standard buildings", "U/L % standard buildings")
    ]
    assert 0.3 * works[0] + 0.7 * works[1] == pytest.approx(14.5)
    # Jørgensen: 49 pieces of work, mean 89 h said, 117 h taken
    said, took, *_ = by[
        "Jorgensen web-company study (49 tasks)", "mean estimate h / actual h / mean MRE / mean RE"
    ].split(" / ")
    assert float(took) / float(said) == pytest.approx(1.315, abs=5e-4)
    # SiP: shares of under, exact and over sum to a whole
    assert (
        sum(
            float(v)
            for v in by["Jones & Cullum 2019 / Jones blog (SiP 8252 tasks)", "under / exact / over %"].split(" / ")
        )
        == 100
    )
