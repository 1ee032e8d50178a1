# SPDX-License-Identifier: GPL-3.0-or-later
"""What the lateness hangs on."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from engine_cases import day, item, make
from scipy import stats

from nightplan.engine.drivers import _ranks
from nightplan.engine.forecast import forecast, simulate
from nightplan.engine.problem import problem


def _shares(*args: Any, **more: Any) -> dict[str, float]:
    found = forecast(make(*args, **more), day(0), futures=5_000)
    if found.drivers:
        assert sum(d.share for d in found.drivers) == pytest.approx(1.0)
    assert [d.share for d in found.drivers] == sorted((d.share for d in found.drivers), reverse=True)
    return {d.id: d.share for d in found.drivers}


def test_ranks_against_scipy() -> None:
    # source: scipy.stats.rankdata, average ranks
    values = np.random.default_rng(1).integers(0, 9, 200).astype(float)
    values[:5] = np.inf
    np.testing.assert_allclose(_ranks(values), stats.rankdata(values) - 100.5)


def test_shares_against_scipy_spearman() -> None:
    # source: scipy.stats.spearmanr, squared, less 1/(n−1) for chance, normalised
    project = make([item("a", 3, 9), item("b", 4, 6), item("c", 2, 2.5)], lock=8)
    setup = problem(project, day(0))
    found = simulate(setup, 5_000, 1)
    squares = {}
    for n, key in enumerate(setup.items):
        rho = stats.spearmanr(found.efforts[n], found.completion[0]).statistic
        squares[key] = max(0.0, rho**2 - 1 / 4_999)
    total = sum(squares.values())
    ours = {d.id: d.share for d in forecast(project, day(0), futures=5_000).drivers}
    for key, square in squares.items():
        assert ours[key] == pytest.approx(square / total, abs=1e-9)


def test_the_obvious_item() -> None:
    shares = _shares([item("a", 2, 2.1), item("huge", 6, 18), item("b", 2, 2.1)], lock=12)
    assert shares["huge"] > 0.95


def test_the_obvious_evening() -> None:
    # one doubtful long evening before the lock, everything else as good as certain
    shares = _shares(
        [item("a", 9, 9.05)], lock=5, extra=[{"on": day(2).isoformat(), "start": "08:00", "hours": 5.0, "chance": 0.5}]
    )
    assert max(shares, key=shares.__getitem__) == day(2).isoformat()
    # ranks of two values hold at most three quarters of the variance of all ranks
    assert shares[day(2).isoformat()] > 0.7


def test_the_obvious_job() -> None:
    jobs = [{"id": "r", "name": "r", "after": ["a"], "before": ["b"], "hours": {"likely": 30, "high": 120}}]
    shares = _shares([item("a", 2, 2.1), item("b", 2, 2.1)], lock=9, jobs=jobs)
    assert max(shares, key=shares.__getitem__) == "r"


def test_equal_items_share_alike() -> None:
    shares = _shares([item(k, 3, 6) for k in "abcd"], lock=12)
    assert all(share == pytest.approx(0.25, abs=0.05) for share in shares.values())


def test_nothing_uncertain_no_drivers() -> None:
    assert _shares([item("a", 3, 3)], lock=9) == {}


def test_work_of_a_later_gate_does_not_drive_the_lock() -> None:
    stages = [
        {"id": "s1", "name": "s1", "gate": "lock", "items": [item("a", 3, 6)]},
        {"id": "s2", "name": "s2", "gate": "deadline", "items": [item("b", 9, 30)]},
    ]
    assert "b" not in _shares(stages=stages, lock=6, deadline=12)
