# SPDX-License-Identifier: GPL-3.0-or-later
"""A look back by stage as rows of a table."""

from __future__ import annotations

import math
from typing import Any

from nightplan.exports.tables import Table
from nightplan.model.results_lookback import LookBack, StageLook

#: of the table, in its order
COLUMNS = (
    "stage",
    "n",
    "projects",
    "planned_hours",
    "actual_hours",
    "ratio",
    "bias",
    "bias_low",
    "bias_high",
    "spread",
    "spread_low",
    "spread_high",
    "factor",
    "factor_low",
    "factor_high",
    "prior_share",
)


def number(value: float | None, digits: int = 4) -> float | None:
    """Rounded, or None where there is no finite number."""
    return None if value is None or not math.isfinite(value) else round(value, digits)


def stage_values(look: StageLook) -> dict[str, Any]:
    """One row; bias and spread are of ln(actual hours / own likely hours)."""
    bands = {
        f"{name}{end}": number(value)
        for name, band in (("bias", look.bias), ("spread", look.spread), ("factor", look.factor))
        for end, value in (("", band.value), ("_low", band.low), ("_high", band.high))
    }
    return {
        "stage": look.stage,
        "n": look.n,
        "projects": look.projects,
        "planned_hours": number(look.planned_hours),
        "actual_hours": number(look.actual_hours),
        "ratio": number(look.ratio),
        **bands,
        "prior_share": number(look.prior_share),
    }


def stages_table(looks: LookBack) -> Table:
    """One row a stage, then one over all; numbers that are not known are None."""
    rows = tuple(tuple(stage_values(look)[name] for name in COLUMNS) for look in (*looks.stages, looks.overall))
    return Table("lookback", COLUMNS, rows)
