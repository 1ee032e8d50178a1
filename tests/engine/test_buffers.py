# SPDX-License-Identifier: GPL-3.0-or-later
"""The buffer of a gate: have, need, used."""

from __future__ import annotations

import math

import pytest
from engine_cases import day, item, make, table
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan

FUTURES = 20_000


def _project(likely: float, chance: float = 0.85, correlation: float = 0.3, **more: object) -> object:
    return make(
        [item("boards", 2, 3.5), item("set", likely, 2 * likely), item("light", 3, 5)],
        lock=8,
        deadline=11,
        chance=chance,
        correlation=correlation,
        **more,
    )


@pytest.mark.parametrize(("chance", "correlation"), [(0.85, 0.3), (0.6, 0.0), (1.0, 0.5)])
def test_eighty_in_a_hundred_is_have_equals_need(chance: float, correlation: float) -> None:
    # source: design.md, Buffer: odds 80 in 100 ⇔ have = need where no job waits. One estimate is halved
    # towards the point where the odds cross 80 in 100.
    low, high = 0.2, 30.0
    for _ in range(30):
        middle = (low + high) / 2
        gate = forecast(_project(middle, chance, correlation), day(0), futures=4_000).gate("lock")
        if gate.odds >= 0.8:
            low = middle
        else:
            high = middle
    gate = forecast(_project(low, chance, correlation), day(0), futures=4_000).gate("lock")
    assert gate.odds == pytest.approx(0.8, abs=1e-3)
    assert gate.buffer.have_hours == pytest.approx(gate.buffer.need_hours, abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(likely=st.floats(0.5, 12), chance=st.floats(0.3, 1), correlation=st.floats(0, 0.8))
def test_odds_and_buffer_never_disagree(likely: float, chance: float, correlation: float) -> None:
    # source: design.md, Buffer; exact, in every sample of futures
    for gate in forecast(_project(likely, chance, correlation), day(0), futures=500).gates:
        short = gate.buffer.need_hours - gate.buffer.have_hours
        if abs(short) > 1e-6:
            assert (gate.odds >= 0.8) == (short < 0)


def test_have_is_expected_hours_less_likely_hours() -> None:
    # source: design.md, Buffer; no finished items, so the centre is the artist's own word
    found = forecast(_project(4, 0.85), day(0), futures=100)
    assert found.gate("lock").buffer.have_hours == pytest.approx(9 * 2 * 0.85 - (2 + 4 + 3))
    assert found.gate("deadline").buffer.have_hours == pytest.approx(12 * 2 * 0.85 - (2 + 4 + 3))
    assert found.gate("lock").buffer.used == pytest.approx(0.0)


def test_need_against_root_square_error() -> None:
    # source: M. Vanhoucke, PM Knowledge Center, buffer sizing. Tested reading of root-square-error: one sigma,
    # i.e. the square root of the sum of squares of (safe − aggressive)/2, printed 1.87 for the chain 2-6-8
    # (the reading 2σ = 3.7417 is the same number doubled). The assumptions meet where efforts are independent,
    # nearly normal and evenings sure: need is then Φ⁻¹(0.8)·σ. High is set so that the lognormal's sd is
    # nearly the table's; tolerance 4 % (skew, and 100,000 futures).
    rows = {r["activity"]: r for r in table("buffers_vanhoucke")}
    for chain in table("buffers_vanhoucke_results"):
        picked = [rows[a] for a in chain["chain"].split("-")]
        for r in picked:
            assert float(r["sd_printed"]) == (float(r["safe"]) - float(r["aggressive"])) / 2
        sigma = math.sqrt(sum(float(r["sd_printed"]) ** 2 for r in picked))
        assert sigma == pytest.approx(float(chain["sigma_computed"]), abs=5e-7)
        assert sigma == pytest.approx(float(chain["sigma_printed"]), abs=5.1e-3)
        assert 2 * sigma == pytest.approx(float(chain["rsem_2sigma_computed"]), abs=2e-6)
        # the other rule, cut and paste, in the reading "half of the safety that was taken out"
        safety = sum(float(r["safe"]) - float(r["aggressive"]) for r in picked)
        assert safety / 2 == pytest.approx(float(chain["half_of_safety_removed_computed"]))
        # far from zero a lognormal is nearly normal: forty hours more, the same spread
        items = []
        for r in picked:
            likely = float(r["aggressive"]) + 40
            items.append(
                item(f"i{r['activity']}", likely, likely + float(stats.norm.ppf(0.9)) * float(r["sd_printed"]))
            )
        project = make(items, lock=60, hours=6.0)
        need = forecast(project, day(0), futures=100_000).gate("lock").buffer.need_hours
        assert need == pytest.approx(float(stats.norm.ppf(0.8)) * sigma, rel=0.04)


def test_need_with_uncertain_evenings_against_moments() -> None:
    # source: central limit: 100 evenings of 1 h, chance 0.7: sd √(100·0.7·0.3); efforts certain; continuity ±1 h
    project = make([item("work", 40.0)], lock=99, hours=1.0, chance=0.7)
    need = forecast(project, day(0), futures=20_000).gate("lock").buffer.need_hours
    exact = 70 - stats.binom(100, 0.7).ppf(0.2)
    assert need == pytest.approx(exact, abs=1e-9)


def test_used_is_measured_from_the_baseline() -> None:
    # source: design.md, Buffer: used = 1 − have / have at baseline
    log = [{"evening": day(0).isoformat(), "happened": False, "hours": 0, "work": []}]
    baseline = [{"on": day(0).isoformat(), "buffer_hours": {"lock": 12.0}}]
    with_one = forecast(_project(4, 0.85, log=log, baselines=baseline), day(1), futures=100).gate("lock").buffer
    assert with_one.have_hours == pytest.approx(8 * 2 * 0.85 - 9)
    assert with_one.used == pytest.approx(1 - (8 * 2 * 0.85 - 9) / 12.0)
    # without a baseline the announcement day stands in for it
    without = forecast(_project(4, 0.85, log=log), day(1), futures=100).gate("lock").buffer
    assert without.used == pytest.approx(1 - (8 * 2 * 0.85 - 9) / (9 * 2 * 0.85 - 9))


def test_no_baseline_buffer_no_share_used() -> None:
    tight = forecast(_project(20, 0.85), day(0), futures=100).gate("lock").buffer
    assert tight.have_hours < 0
    assert tight.used is None


def test_plan_that_fits_has_a_buffer() -> None:
    # the plan's own evenings are sure ones: what it keeps free before the gate is at least what have says
    project = _project(4, 1.0)
    free = sum(e.hours - sum(w.hours for w in e.work) for e in plan(project, day(0)).evenings if e.date <= day(8))
    assert free == pytest.approx(forecast(project, day(0), futures=50).gate("lock").buffer.have_hours)
