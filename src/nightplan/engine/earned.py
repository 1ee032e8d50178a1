# SPDX-License-Identifier: GPL-3.0-or-later
"""A second opinion from the published trackers: earned schedule and the burn rate of the buffer.

Earned schedule (W. Lipke, Schedule is different, The Measurable News, 2003): the time at which the
plan would have had what is earned now. With PV the planned value at the end of each period and EV
the earned one, ES = C + (EV − PV_C)/(PV_{C+1} − PV_C) for the largest C with EV ≥ PV_C;
SPI(t) = ES/AT. Value is counted in hours of the baseline, periods are its evenings.

Burn rate of a buffer: share of it used ÷ share of the work done (T. Sullivan, R. Reid, B. Cartier,
TOCICO Dictionary, 2007, as quoted in J. F. Cox and J. G. Schleier, Theory of Constraints Handbook, 2010).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

from nightplan.engine.effort import likely_left
from nightplan.engine.state import item_states, log_until
from nightplan.model.project import Baseline, Project
from nightplan.model.results import EarnedSchedule


def earned_schedule(planned: Sequence[float], earned: float) -> float:
    """Periods by whose end the plan would have had ``earned``.

    Args:
        planned: cumulative planned value at the end of periods 1, 2, …; not decreasing.
        earned: cumulative earned value now, same unit.
    """
    values = [0.0, *planned]
    if earned >= values[-1]:
        # a plan that is flat at its end was over when it first got there
        return float(next(n for n, v in enumerate(values) if v >= values[-1]))
    count = max(n for n, v in enumerate(values) if earned >= v) if earned >= 0 else 0
    step = values[count + 1] - values[count]
    return count + (max(0.0, earned) - values[count]) / step


def spi_t(earned_periods: float, actual_periods: float) -> float:
    """Schedule performance SPI(t) = ES/AT; above 1 is ahead of the plan."""
    return earned_periods / actual_periods if actual_periods > 0 else math.nan


def periods_at_end(planned_periods: float, actual_periods: float, earned_periods: float, factor: float = 1.0) -> float:
    """Forecast of the periods needed in all: AT + (PD − ES)/factor; ``factor`` 1 or SPI(t)."""
    if planned_periods <= earned_periods:
        return actual_periods
    return math.inf if factor <= 0 else actual_periods + (planned_periods - earned_periods) / factor


def burn_rate(used: float, done: float) -> float:
    """Share of the buffer used ÷ share of the work done: above 1 the buffer goes faster than the work.

    Nothing used is 0; something used before anything is done is infinite.
    """
    if used <= 0:
        return 0.0
    return used / done if done > 0 else math.inf


def earned(project: Project, as_of: dt.date) -> EarnedSchedule | None:
    """Earned schedule of a project against its last baseline before ``as_of``; None without one.

    An item in progress has earned its share worked ÷ (worked + likely left). One that was left out
    since counts as earned: its hours need not be worked any more.
    """
    known = [b for b in project.baselines if b.on <= as_of and b.burn_down and b.estimates]
    if not known:
        return None
    base = known[-1]
    dates = sorted(dt.date.fromisoformat(d) for d in base.burn_down)
    left = [base.burn_down[d.isoformat()] for d in dates]
    got, total = _value(project, as_of, base)
    planned = [max(0.0, total - hours) for hours in left]
    logged = {e.evening for e in log_until(project, as_of)}
    gone = sum(1 for d in dates if d < as_of or d in logged)
    schedule = earned_schedule(planned, got)
    end = next((n for n, v in enumerate(planned, 1) if v >= planned[-1] - 1e-9), len(planned))
    performance = spi_t(schedule, gone)
    return EarnedSchedule(
        planned[gone - 1] if gone else 0.0,
        got,
        total,
        gone,
        schedule,
        end,
        performance,
        math.nan if math.isnan(performance) else periods_at_end(end, gone, schedule, performance),
    )


def _value(project: Project, as_of: dt.date, base: Baseline) -> tuple[float, float]:
    """Hours earned since the baseline and hours that it held, in its own likely hours."""
    # what was finished before counts neither way
    before = item_states(project, base.on - dt.timedelta(days=1))
    got = total = 0.0
    for key, state in item_states(project, as_of).items():
        span = base.estimates.get(key)
        if span is None or (key in before and before[key].state == "done"):
            continue
        start = share_done(before[key].spent, likely_left(before[key], 0.0, project.correlation))
        hours = span.likely * (1.0 - start)
        total += hours
        if state.state in ("done", "cut"):
            got += hours
        else:
            now = share_done(state.spent, likely_left(state, 0.0, project.correlation))
            got += span.likely * max(0.0, now - start)
    return got, total


def share_done(spent: float, left: float) -> float:
    """Worked ÷ (worked + likely left), 0 to 1, both in hours; 0 where there is nothing of either."""
    return spent / (spent + left) if spent + left > 0 else 0.0
