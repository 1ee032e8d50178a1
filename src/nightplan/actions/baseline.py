# SPDX-License-Identifier: GPL-3.0-or-later
"""Accept the plan as it stands, and compare with it later."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from nightplan.actions.tick import stored
from nightplan.engine.forecast import FUTURES, SEED, forecast
from nightplan.engine.plan import plan
from nightplan.model.project import Baseline, Project, Span
from nightplan.model.results import COMING, Forecast, Plan


def baseline_of(project: Project, found: Forecast, planned: Plan, why: str = "") -> Baseline:
    """Estimates, buffers, planned finishes and the planned burn-down of one moment."""
    left = sum(item.hours for item in planned.items)
    burn_down: dict[str, float] = {}
    for row in planned.evenings:
        if row.status in COMING:
            left -= sum(w.hours for w in row.work)
            burn_down[row.date.isoformat()] = round(max(0.0, left), 4)
    return Baseline(
        on=found.as_of,
        why=why,
        estimates={
            key: Span(likely=item.likely, high=item.high, low=item.low)
            for key, item in project.items.items()
            if item.state != "cut"
        },
        buffer_hours={g.id: round(g.buffer.have_hours, 4) for g in found.gates},
        finish={item.id: item.finish for item in planned.items},
        burn_down=burn_down,
        odds={g.id: g.odds for g in found.gates},
    )


def accept_baseline(
    project: Project, as_of: dt.date, why: str = "", *, futures: int = FUTURES, seed: int = SEED
) -> Project:
    """The project with its present plan as the baseline; earlier baselines are kept."""
    found = forecast(project, as_of, futures=futures, seed=seed)
    accepted = baseline_of(project, found, plan(project, as_of), why)
    return project.but(
        baselines=(*project.baselines, accepted), forecasts=(*project.forecasts, stored(found, "accepted"))
    )


@dataclass(frozen=True)
class Shift:
    """One item now against the baseline; hours. None: it was not there then, or is left out or gone now."""

    item: str
    name: str
    likely_then: float | None
    likely_now: float | None
    finish_then: dt.date | None
    finish_now: dt.date | None


def compare(project: Project, planned: Plan) -> tuple[Shift, ...]:
    """Every item of the plan or of the last baseline, now against then; empty without a baseline."""
    if not project.baselines:
        return ()
    base = project.baselines[-1]
    now = {item.id: item for item in planned.items}
    rows = []
    for key in dict.fromkeys([*project.items, *base.estimates]):
        then, item = base.estimates.get(key), project.items.get(key)
        if then is None and key not in now:
            continue
        rows.append(
            Shift(
                key,
                key if item is None else item.name,
                None if then is None else then.likely,
                item.likely if item is not None and key in now else None,
                base.finish.get(key),
                now[key].finish if key in now else None,
            )
        )
    return tuple(rows)
