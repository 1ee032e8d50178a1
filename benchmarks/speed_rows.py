# SPDX-License-Identifier: GPL-3.0-or-later
"""What a benchmark measured, in one form for all of them; ``run_all.py`` makes one table of it."""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Literal


@dataclass(frozen=True)
class Row:
    """One measurement beside the least that any program has to do for it, from the same run.

    ``limit`` holds for ``held``: the ratio, the measured value itself, or the measured value less its floor; without a
    limit the row is told only.
    """

    #: start-up, odds, recover, tick, strip painting, check, look-back, nights, memory
    area: str
    what: str
    measured: float
    floor: float
    floor_is: str
    #: of both: s, ms or MB
    unit: str
    limit: float | None = None
    held: Literal["ratio", "measured", "over"] = "ratio"

    @property
    def ratio(self) -> float:
        return self.measured / self.floor

    @property
    def good(self) -> bool:
        value = {"ratio": self.ratio, "measured": self.measured, "over": self.measured - self.floor}[self.held]
        return self.limit is None or value <= self.limit

    def limit_words(self) -> str:
        """The limit as the table says it."""
        if self.limit is None:
            return ""
        return {
            "ratio": f"{self.limit:g} ×",
            "measured": f"{self.limit:g} {self.unit}",
            "over": f"floor + {self.limit:g} {self.unit}",
        }[self.held]


def shown(value: float, unit: str) -> str:
    """Three digits that mean something: ``12.3 ms``, ``0.412 s``, ``137 MB``."""
    if value >= 100:
        return f"{value:.0f} {unit}"
    return f"{value:.3g} {unit}" if value >= 0.01 else f"{value:.1g} {unit}"


def lines(rows: Iterable[Row]) -> list[str]:
    """The table in Markdown."""
    out = [
        "| | what | measured | floor | ratio | limit | held |",
        "|---|---|---|---|---|---|---|",
    ]
    area = ""
    for row in rows:
        held = "" if row.limit is None else "yes" if row.good else "NO"
        name = row.area if row.area != area else ""
        area = row.area
        floor = f"{shown(row.floor, row.unit)}: {row.floor_is}"
        measured = shown(row.measured, row.unit)
        out.append(f"| {name} | {row.what} | {measured} | {floor} | {row.ratio:.2f} | {row.limit_words()} | {held} |")
    return out


def medians(repeats: int, *runs: Callable[[], Any]) -> list[float]:
    """Median seconds of each run, one after the other, since other work on the machine comes and goes."""
    times: list[list[float]] = [[] for _ in runs]
    for _ in range(repeats):
        for kept, run in zip(times, runs, strict=True):
            begin = time.perf_counter()
            run()
            kept.append(time.perf_counter() - begin)
    return [statistics.median(kept) for kept in times]


def command(about: str | None, measure: Callable[[bool], list[Row]]) -> int:
    """One benchmark as a command: ``[--quick] [--rows FILE]``. The code is 1 where a limit is passed."""
    parser = argparse.ArgumentParser(description=about, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="fewer and smaller rounds")
    parser.add_argument("--rows", type=Path, metavar="FILE", help="write the rows as JSON")
    given = parser.parse_args()
    rows = measure(given.quick)
    if given.rows:
        given.rows.write_text(json.dumps([asdict(row) for row in rows]), encoding="utf-8")
    missed = [row for row in rows if not row.good]
    for row in missed:
        print(f"MISSED {row.area}, {row.what}: {shown(row.measured, row.unit)}, limit {row.limit_words()}")
    return 1 if missed else 0


def machine() -> str:
    """What the numbers were measured on, in one line."""
    import platform

    import numpy

    name = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        found = [line.partition(":")[2].strip() for line in info.read_text().splitlines() if "model name" in line]
        name = found[0] if found else name
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    python = ".".join(map(str, sys.version_info[:3]))
    return f"{cores} cores of {name}, {platform.system()}, Python {python}, numpy {numpy.__version__}"
