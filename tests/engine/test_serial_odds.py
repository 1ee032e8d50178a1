# SPDX-License-Identifier: GPL-3.0-or-later
"""Odds and finish distributions against exact ones: convolution, Irwin-Hall, Poisson-binomial."""

from __future__ import annotations

from fractions import Fraction
from math import comb, factorial

import numpy as np
import pytest
from engine_cases import convolved, day, item, make, standard_error, table
from scipy import stats

from nightplan.engine.draws import Streams
from nightplan.engine.effort import hours_left
from nightplan.engine.estimates import Z90, Estimate
from nightplan.engine.forecast import forecast
from nightplan.engine.problem import problem
from nightplan.engine.queue import WalkJob
from nightplan.engine.state import ItemState
from nightplan.engine.walk import WalkItem, walk
from nightplan.model.project import Item

FUTURES = 200_000


def _lognorm(likely: float, high: float) -> object:
    return stats.lognorm(s=np.log(high / likely) / stats.norm.ppf(0.9), scale=likely)


SERIAL = [
    [(2.0, 3.5), (4.0, 9.0), (1.0, 1.5), (6.0, 8.0)],
    [(4.9, 12.0)],
    [(1.0, 2.0)] * 10,
]


@pytest.mark.parametrize("estimates", SERIAL, ids=["four", "one", "ten alike"])
def test_serial_items_against_exact_convolution(estimates: list[tuple[float, float]]) -> None:
    # source: numpy convolution of scipy.stats.lognorm distributions on a grid of 0.005 h
    # (independent items, sure evenings); tolerance four standard errors of 200,000 futures
    items = [item(f"i{n}", *e) for n, e in enumerate(estimates)]
    found = forecast(make(items, hours=1.25, lock=30), day(0), futures=FUTURES)
    edges, exact = convolved([_lognorm(*e).cdf for e in estimates], 0.005, 200.0)  # type: ignore[attr-defined]
    for n, point in enumerate(found.by_date["lock"], start=1):
        want = float(np.interp(1.25 * n, edges, exact))
        assert point.odds == pytest.approx(want, abs=4 * standard_error(want, FUTURES) + 2e-5)
    gate = found.gate("lock")
    # the lock is a date: its own evening counts, so 31 evenings do
    want = float(np.interp(1.25 * 31, edges, exact))
    assert gate.odds == pytest.approx(want, abs=4 * standard_error(want, FUTURES))
    # finish evenings: the least evening by which the exact share is reached
    by_evening = np.interp(1.25 * np.arange(1, 80), edges, exact)
    for name, share in (("p10", 0.1), ("p50", 0.5), ("p80", 0.8), ("p90", 0.9)):
        # an evening whose exact share is that close to the asked one can fall on either side
        near = 4 * standard_error(share, FUTURES)
        earliest, latest = (day(int(np.argmax(by_evening >= share + d))) for d in (-near, near))
        assert earliest <= getattr(gate.finish, name) <= latest


def test_common_factor_widens_the_sum() -> None:
    # source: Gauss-Hermite quadrature over F of the conditional convolution (numpy), four standard errors
    rho, estimates = 0.4, [(2.0, 4.0), (3.0, 6.0), (1.0, 2.5)]
    items = [item(f"i{n}", *e) for n, e in enumerate(estimates)]
    found = forecast(make(items, hours=1.0, lock=20, correlation=rho), day(0), futures=FUTURES)
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    want = np.zeros(20)
    for f, w in zip(nodes, weights / weights.sum(), strict=True):
        cdfs = []
        for likely, high in estimates:
            s = np.log(high / likely) / stats.norm.ppf(0.9)
            given = stats.lognorm(s=s * np.sqrt(1 - rho), scale=likely * np.exp(s * np.sqrt(rho) * f))
            cdfs.append(given.cdf)
        edges, exact = convolved(cdfs, 0.02, 400.0)
        want += w * np.interp(np.arange(1, 21), edges, exact)
    for point, p in zip(found.by_date["lock"], want, strict=False):
        assert point.odds == pytest.approx(p, abs=4 * standard_error(p, FUTURES) + 1e-4)


def _serial_odds(efforts: np.ndarray, hours: float) -> float:
    """Share of futures in which serial items with given efforts are done within one evening of ``hours``."""
    count, n = efforts.shape
    items = tuple(WalkItem((i - 1,) if i else ()) for i in range(count))
    found = walk(np.full((1, n), hours), np.zeros(1), efforts, items, groups=(tuple(range(count)),))
    times = found.last_time(tuple(range(count)))
    assert times is not None
    return float(np.mean(times <= hours))


@pytest.mark.parametrize("row", table("irwin_hall_exact"), ids=lambda r: f"{r['n']}-{r['x'].replace('/', '_')}")
def test_walk_against_irwin_hall(row: dict[str, str]) -> None:
    # source: exact fractions of the Irwin-Hall distribution (P. Hall and J. O. Irwin, Biometrika 19, 1927);
    # tolerance four standard errors
    n, x = int(row["n"]), Fraction(row["x"])
    exact = Fraction(row["cdf_exact_fraction"])
    again = sum((-1) ** k * comb(n, k) * (x - k) ** n for k in range(int(x) + 1)) / factorial(n)
    assert again == exact
    rng = np.random.default_rng(7)
    uniform = rng.random((n, FUTURES))
    tolerance = 4 * standard_error(float(exact), FUTURES)
    assert _serial_odds(uniform, float(x)) == pytest.approx(float(exact), abs=tolerance)
    if n % 2 == 0:
        # a sum of k symmetric triangulars on [0, 1] is Irwin-Hall(2k)/2
        triangular = rng.triangular(0.0, 0.5, 1.0, (n // 2, FUTURES))
        assert _serial_odds(triangular, float(x) / 2) == pytest.approx(float(exact), abs=tolerance)


#: poibin reference manual: the ten chances of its example
CHANCES = [0.1, 0.2, 0.3, 0.4, 0.5, 0.1, 0.2, 0.3, 0.4, 0.5]


def test_number_of_evenings_against_poisson_binomial() -> None:
    # source: inputs from the poibin reference manual (Y. Hong, CSDA 59, 2013), values computed
    rows = table("poisson_binomial_doc_example")
    mass = np.array([float(r["pmf"]) for r in rows])
    by_numpy = np.ones(1)
    for p in CHANCES:
        by_numpy = np.convolve(by_numpy, [1 - p, p])
    np.testing.assert_allclose(mass, by_numpy, atol=5e-11)
    happened = Streams(1, [], [], [str(n) for n in range(10)]).evenings(FUTURES) < np.array(CHANCES)[:, None]
    counts = np.bincount(happened.sum(axis=0), minlength=11) / FUTURES
    for count, p in zip(counts, mass, strict=True):
        assert count == pytest.approx(p, abs=4 * standard_error(p, FUTURES))


def test_odds_against_poisson_binomial() -> None:
    # source: as above; k certain hours in ten evenings of one hour are done iff at least k evenings happen
    rows = table("poisson_binomial_doc_example")
    extra = [
        {"on": day(n).isoformat(), "start": "20:00", "hours": 1.0, "chance": chance} for n, chance in enumerate(CHANCES)
    ]
    for k in range(1, 11):
        project = make([item("work", float(k))], lock=9, days=(), extra=extra)
        odds = forecast(project, day(0), futures=50_000).gate("lock").odds
        want = 1 - float(rows[k - 1]["cdf"])
        assert odds == pytest.approx(want, abs=4 * standard_error(want, 50_000))


def test_correlation_widens_as_the_table_says() -> None:
    # source: sd of a sum of n equal amounts with one correlation, ratio √(1 + (n−1)ρ) to independence;
    # tolerance four standard errors of a standard deviation, 4/√(2N)
    estimate = Estimate(4.0, 8.0)
    state = ItemState(Item(id="a", name="a", likely=4.0, high=8.0), "open", 0.0, estimate, 0.0, None)
    n_futures = 100_000
    streams = Streams(3, [str(n) for n in range(30)], [], [])
    factor, own = streams.factor(n_futures), streams.items(n_futures)
    sigma = np.log(2.0) / Z90
    for row in table("correlation_sd_inflation"):
        n, rho = int(row["n"]), float(row["rho"])
        scores = sum(np.log(hours_left(state, factor, own[i], rho) / 4.0) / sigma for i in range(n))
        ratio = float(np.std(scores)) / np.sqrt(n)
        assert ratio == pytest.approx(float(row["sd_ratio_vs_independent"]), rel=4 / np.sqrt(2 * n_futures))


@pytest.mark.parametrize("row", table("merge_bias_triangular_80_100_120"), ids=lambda r: r["n_parallel"])
def test_merge_bias(row: dict[str, str]) -> None:
    # source: GAO-16-89G, Best Practice 8: parallel paths, each triangular(80, 100, 120), P50 prints
    # 100/104/108. One person has no parallel paths; machine jobs on machines of their own have.
    n = int(row["n_parallel"])
    durations = np.random.default_rng(11).triangular(80, 100, 120, (n, FUTURES))
    jobs = tuple(WalkJob((), (), machine=m) for m in range(n))
    none = np.zeros((0, FUTURES))
    last = walk(none, np.zeros(0), none, (), jobs, durations).job_end.max(axis=0)
    exact = float(row["p_le_100_exact"])
    assert np.mean(last <= 100) == pytest.approx(exact, abs=4 * standard_error(exact, FUTURES))
    p50 = float(row["p50_exact"])
    # standard error of a median: 0.5 / (density · √N); the density of the largest there is above 0.03
    assert np.median(last) == pytest.approx(p50, abs=4 * 0.5 / (0.03 * np.sqrt(FUTURES)))
    # as printed, cut to whole days
    assert int(p50) == int(row["p50_printed_days"])


def test_sum_of_most_likely_durations_is_too_short() -> None:
    # source: GAO-16-89G, Best Practice 8, Table 2 (inputs). Tested here: the seven durations one after the
    # other, as one person must do them; against exact convolution of scipy.stats.triang. The guide's own
    # network is not wholly serial, so its dates are not compared. The statement: adding up the most likely
    # durations gives a total that is met in fewer than a quarter of the futures.
    rows = table("gao_16_89g_table2_house")
    points = [(float(r["min"]), float(r["most_likely"]), float(r["max"])) for r in rows]
    cdfs = [stats.triang((m - a) / (b - a), loc=a, scale=b - a).cdf for a, m, b in points]
    edges, exact = convolved(cdfs, 0.002, 40.0)
    rng = np.random.default_rng(5)
    efforts = np.array([rng.triangular(a, m, b, FUTURES) for a, m, b in points])
    likely = sum(m for _, m, _ in points)
    assert likely == 20.0
    for total in (16.0, 18.0, likely, 22.0, 24.0):
        want = float(np.interp(total, edges, exact))
        assert _serial_odds(efforts, total) == pytest.approx(want, abs=4 * standard_error(want, FUTURES) + 1e-4)
    mean = sum(sum(p) / 3 for p in points)
    assert efforts.sum(axis=0).mean() == pytest.approx(mean, abs=0.02)
    assert float(np.interp(likely, edges, exact)) < 0.25


def test_evenings_happen_independently_of_each_other() -> None:
    # source: design.md, Dependence; 4 standard errors of a correlation, 4/√N
    project = make([item("work", 4.0)], chance=0.6, lock=9)
    setup = problem(project, day(0))
    happened = Streams(1, [], [], list(setup.evening_keys)).evenings(50_000) < 0.6
    matrix = np.corrcoef(happened)
    assert np.abs(matrix - np.eye(len(matrix))).max() < 5.5 / np.sqrt(50_000)
