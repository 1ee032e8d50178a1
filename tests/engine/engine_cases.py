# SPDX-License-Identifier: GPL-3.0-or-later
"""Small projects and reference tables for the checks of the engine."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

Floats = npt.NDArray[np.float64]

DATA = Path(__file__).parent.parent / "data"
#: a Monday
ANNOUNCED = dt.date(2027, 9, 20)
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def table(name: str) -> list[dict[str, str]]:
    """Rows of a reference table in tests/data."""
    with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def day(n: int) -> dt.date:
    """The n-th day of the project, 0 is the announcement."""
    return ANNOUNCED + dt.timedelta(days=n)


def item(key: str, likely: float, high: float | None = None, **more: Any) -> dict[str, Any]:
    return {"id": key, "name": key, "likely": likely, "high": likely if high is None else high, **more}


def raw_project(
    items: list[dict[str, Any]] | None = None,
    *,
    lock: int = 20,
    deadline: int | None = None,
    hours: float = 2.0,
    chance: float = 1.0,
    days: tuple[str, ...] = DAYS,
    stages: list[dict[str, Any]] | None = None,
    **more: Any,
) -> dict[str, Any]:
    """A project in UTC with one evening a day at 20:00; ``lock`` and ``deadline`` are day numbers."""
    if stages is None:
        stages = [{"id": "stage", "name": "Stage", "items": items or []}]
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Moth and Lantern",
        "zone": "UTC",
        "announced": ANNOUNCED.isoformat(),
        "correlation": 0.0,
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": day(lock).isoformat()},
            {"id": "deadline", "name": "Hand-in", "on": day(lock if deadline is None else deadline).isoformat()},
        ],
        "week": [{"day": d, "start": "20:00", "hours": hours, "chance": chance} for d in days],
        "stages": stages,
        **more,
    }


def make(*args: Any, **more: Any) -> Project:
    return project_from_raw(raw_project(*args, **more))


def standard_error(p: float, n: int) -> float:
    """Of a share of n futures; never quite 0, so that an exact 0 or 1 still has a tolerance."""
    return float(np.sqrt(max(p * (1 - p), 1 / n) / n))


def convolved(cdfs: list[Any], step: float, top: float) -> tuple[Floats, Floats]:
    """Distribution of a sum of independent positive amounts, by numpy's discrete convolution.

    Each amount is put on a grid of width ``step``, its mass rounded to the nearest node (the error of
    the sum is of the order step²). Returns the nodes' upper edges and the sum's distribution there.
    """
    nodes = np.arange(0.0, top, step)
    size = 1 << int(np.ceil(np.log2(2 * len(nodes))))
    product = np.ones(size // 2 + 1, dtype=complex)
    for cdf in cdfs:
        edges = np.concatenate(([0.0], cdf(nodes + step / 2)))
        product *= np.fft.rfft(np.diff(edges), size)
    mass = np.fft.irfft(product, size)[: len(nodes)]
    return nodes + step / 2, np.cumsum(mass)
