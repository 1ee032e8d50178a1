# SPDX-License-Identifier: GPL-3.0-or-later
"""Earned schedule and burn rate against published figures."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from recovery_cases import ANNOUNCED, day, item, small, stage

from nightplan.actions.baseline import accept_baseline
from nightplan.engine.earned import burn_rate, earned, earned_schedule, periods_at_end, spi_t

with (Path(__file__).parent.parent / "data" / "evm_vanhoucke.csv").open(newline="", encoding="utf-8") as stream:
    ROWS = list(csv.DictReader(stream))
PLANNED = [float(r["PV_printed"]) for r in ROWS]
#: weeks that the plan takes: it is flat from here on
DURATION = 9


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"week {r['week']}")
def test_earned_schedule_as_published(row: dict[str, str]) -> None:
    """M. Vanhoucke, PM Knowledge Center, forecasting time; formulas W. Lipke 2003. Half a unit of the last digit."""
    now = int(row["week"])
    # 3.33 and 6.67 are printed for thirds
    es = earned_schedule(PLANNED, round(float(row["EV_printed"]) * 6) / 6)
    assert es == pytest.approx(float(row["ES_recomputed"]), abs=5e-5)
    assert spi_t(es, now) == pytest.approx(float(row["SPI_t"]), abs=5e-5)
    assert es - now == pytest.approx(float(row["SV_t"]), abs=5.1e-5)
    assert periods_at_end(DURATION, now, es) == pytest.approx(float(row["EACt_ES_PF1"]), abs=5e-5)
    assert periods_at_end(DURATION, now, es, spi_t(es, now)) == pytest.approx(float(row["EACt_ES_SPIt"]), abs=5e-5)


def test_edges_of_the_earned_schedule() -> None:
    assert earned_schedule([1, 2, 3], 0.0) == 0.0
    assert earned_schedule([1, 2, 3], 2.0) == 2.0
    assert earned_schedule([1, 2, 3], 9.0) == 3.0
    # what a pause in the plan earned is earned by its end
    assert earned_schedule([1, 1, 3], 1.0) == 2.0
    assert earned_schedule([1, 1, 3], 2.0) == 2.5
    assert math.isnan(spi_t(0.0, 0.0))


def test_burn_rate_as_published() -> None:
    """10 of 30 days of buffer used, 14 of 52 days of the chain done: 1.2381 (printed with rounded shares as 1.22).

    J. F. Cox and J. G. Schleier, Theory of Constraints Handbook, 2010, Fig. 3-10.
    """
    assert burn_rate(10 / 30, 14 / 52) == pytest.approx(1.2381, abs=5e-5)
    assert round(0.33 / 0.27, 2) == 1.22
    assert burn_rate(0.0, 0.0) == 0.0
    assert burn_rate(0.1, 0.0) == math.inf
    assert burn_rate(-0.2, 0.5) == 0.0


def _week(**more: object):  # type: ignore[no-untyped-def]
    week = [{"day": d, "start": "20:00", "hours": 2.0, "chance": 1.0} for d in ("mon", "tue", "wed", "thu", "fri")]
    return small(week=week, stages=[stage("s", [item("a", 6, 6), item("b", 4, 4)])], **more)


def test_a_project_on_plan_by_hand() -> None:
    """10 h on evenings of 2 h: five evenings. After three, with `a` done, ES is 3 and SPI(t) 1."""
    accepted = accept_baseline(_week(), ANNOUNCED, futures=20)
    log = [
        {"evening": day(n).isoformat(), "hours": 2, "work": [{"item": "a", "hours": 2, "done": n == 2}]}
        for n in range(3)
    ]
    found = earned(accepted.but(log=tuple(log)), day(3))
    assert found is not None
    assert (found.evenings, found.earned_evenings, found.planned_evenings) == (3, pytest.approx(3.0), 5)
    assert found.performance == pytest.approx(1.0)
    assert found.evenings_at_end == pytest.approx(5.0)


def test_a_project_behind_its_plan_by_hand() -> None:
    """Three evenings gone, one of them worked on `a` (2 of 6 h): 2 h earned, ES 1, SPI(t) 1/3, 15 evenings in all."""
    accepted = accept_baseline(_week(), ANNOUNCED, futures=20)
    log = [{"evening": day(0).isoformat(), "hours": 2, "work": [{"item": "a", "hours": 2}]}]
    found = earned(accepted.but(log=tuple(log)), day(3))
    assert found is not None
    assert found.earned_hours == pytest.approx(2.0)
    assert found.planned_hours == pytest.approx(6.0)
    assert found.performance == pytest.approx(1 / 3)
    assert found.evenings_at_end == pytest.approx(3 + (5 - 1) * 3)


def test_no_baseline_no_opinion() -> None:
    assert earned(_week(), day(3)) is None
