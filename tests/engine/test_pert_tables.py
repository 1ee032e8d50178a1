# SPDX-License-Identifier: GPL-3.0-or-later
"""Three-point estimates and sums of them against printed tables.

The tables print the classic variance ((b−a)/6)². The engine's beta-PERT has the exact variance
(μ−a)(b−μ)/7, so the classic one is computed here, from the engine's inputs, where a table prints it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from engine_cases import convolved, day, item, make, standard_error, table
from scipy import stats

from nightplan.engine.estimates import Estimate
from nightplan.engine.forecast import forecast
from nightplan.engine.queue import WalkJob
from nightplan.engine.walk import walk

TABLES = ["pert_taylor_7act", "pert_control_devices_14act", "pert_prime_10act", "pert_vanhoucke_6act"]
FUTURES = 100_000


def _estimate(row: dict[str, str]) -> Estimate:
    return Estimate(float(row["m"]), float(row["b"]), float(row["a"]))


def _classic(row: dict[str, str]) -> float:
    return ((float(row["b"]) - float(row["a"])) / 6) ** 2


def _half_unit(printed: str) -> float:
    """Half a unit of the last printed digit."""
    return 0.5 * 10 ** -len(printed.partition(".")[2]) * (1 + 1e-9)


@pytest.mark.parametrize(
    "row", [{"table": t, **r} for t in TABLES for r in table(t)], ids=lambda r: f"{r['table']}-{r['activity']}"
)
def test_means_and_variances(row: dict[str, str]) -> None:
    # sources: B. W. Taylor, Introduction to Management Science; the Control Devices exercise (Heizer and
    # Render, Operations Management, attribution from memory); a course deck (17 weeks); M. Vanhoucke, PM
    # Knowledge Center. Printed values at half a unit of their last digit, recomputed ones tightly.
    ours = _estimate(row)
    assert ours.mean == pytest.approx(float(row["te"]), abs=5e-7)
    assert _classic(row) == pytest.approx(float(row["variance"]), abs=5e-7)
    assert math.sqrt(_classic(row)) == pytest.approx(float(row["sd"]), abs=5e-7)
    if row["te_printed"]:
        assert ours.mean == pytest.approx(float(row["te_printed"]), abs=_half_unit(row["te_printed"]))
    if row["var_or_sd_printed"]:
        printed = row["var_or_sd_printed"]
        assert _classic(row) == pytest.approx(float(printed), abs=_half_unit(printed))


def _network_end(name: str) -> float:
    """End of the last activity, each a machine job with a machine of its own and its mean as its hours."""
    rows = table(name)
    number = {row["activity"]: n for n, row in enumerate(rows)}
    jobs = tuple(WalkJob((), tuple(number[p] for p in r["predecessors"].split()), n) for n, r in enumerate(rows))
    durations = np.array([[_estimate(r).mean] for r in rows])
    none = np.zeros((0, 1))
    return float(walk(none, np.zeros(0), none, (), jobs, durations).job_end.max())


@pytest.mark.parametrize(
    ("name", "weeks"),
    # sources: as above; 50 and 17 are printed, 15 is the longest path A-B-E-F of the printed inputs
    [("pert_control_devices_14act", 50.0), ("pert_prime_10act", 17.0), ("pert_vanhoucke_6act", 15.0)],
)
def test_networks_of_jobs_side_by_side(name: str, weeks: float) -> None:
    assert _network_end(name) == pytest.approx(weeks, abs=1e-9)


@pytest.mark.parametrize("row", table("pert_control_devices_paths"), ids=lambda r: r["path"])
def test_all_paths_of_control_devices(row: dict[str, str]) -> None:
    # source: the Control Devices exercise, all 8 paths
    known = {r["activity"]: r for r in table("pert_control_devices_14act")}
    length = sum(_estimate(known[a]).mean for a in row["path"])
    assert length == pytest.approx(float(row["duration_printed"]), abs=5.1e-5)
    assert length == pytest.approx(float(row["duration_recomputed"]), abs=5.1e-5)
    assert sum(_classic(known[a]) for a in row["path"]) == pytest.approx(float(row["variance_recomputed"]), abs=5.1e-5)


PATHS = [
    # table, path, its mean, classic variance, by when, printed and exact normal probability
    ("pert_taylor_7act", "1 3 5 7", 24.0, 5.0, 28.0, 0.9633, 0.963181),
    ("pert_control_devices_14act", "A C E H I K M N", 50.0, 10.5556, 53.0, 0.822, None),
]


@pytest.mark.parametrize(("name", "path", "mean", "variance", "by", "printed", "exact"), PATHS)
def test_printed_probabilities(
    name: str, path: str, mean: float, variance: float, by: float, printed: float, exact: float | None
) -> None:
    # sources: Taylor (mean 24, variance 5, P(T ≤ 28) prints .9633, exact .963181);
    # Control Devices (mean 50, variance 10.5556, P(T ≤ 53) .822)
    known = {r["activity"]: r for r in table(name)}
    rows = [known[a] for a in path.split()]
    total = sum(_estimate(r).mean for r in rows)
    spread = sum(_classic(r) for r in rows)
    assert total == pytest.approx(mean, abs=1e-9)
    assert spread == pytest.approx(variance, abs=5e-5)
    normal = stats.norm.cdf((by - total) / math.sqrt(spread))
    # a printed table looks z up with two digits (1.79): a unit of its last digit
    assert normal == pytest.approx(printed, abs=5e-4)
    if exact is not None:
        assert normal == pytest.approx(exact, abs=5e-7)


@pytest.mark.parametrize(("name", "path"), [(p[0], p[1]) for p in PATHS])
def test_simulated_path_against_exact_convolution(name: str, path: str) -> None:
    # source: numpy convolution of scipy.stats.beta distributions; tolerance four standard errors.
    # The path's activities become items that wait for each other, an evening of one hour stands for a day.
    known = {r["activity"]: r for r in table(name)}
    keys = path.split()
    rows = [known[a] for a in keys]
    items = [
        item(f"i{a}", float(r["m"]), float(r["b"]), low=float(r["a"]), after=[f"i{b}"] if b else [])
        for a, b, r in zip(keys, [None, *keys], rows, strict=False)
    ]
    last = int(sum(float(r["b"]) for r in rows)) + 1
    found = forecast(make(items, hours=1.0, lock=last), day(0), futures=FUTURES)
    shown = np.array([p.odds for p in found.by_date["lock"]])[:last]
    certain = sum(e.likely for e in map(_estimate, rows) if e.certain)
    cdfs = []
    for e in map(_estimate, rows):
        if not e.certain:
            assert e.low is not None
            cdfs.append(stats.beta(*e.shapes, loc=e.low, scale=e.high - e.low).cdf)
    edges, exact = convolved(cdfs, 0.005, last)
    for hours, odds in enumerate(shown, start=1):
        want = float(np.interp(hours - certain, edges, exact))
        assert odds == pytest.approx(want, abs=4 * standard_error(want, FUTURES) + 1e-4)
    assert shown[0] == 0.0
    assert shown[-1] == 1.0
