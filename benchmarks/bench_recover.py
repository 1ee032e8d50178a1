# SPDX-License-Identifier: GPL-3.0-or-later
"""All moves of a 12-item, 40-evening project valued and the cheapest combination found, against one forecast.

    python benchmarks/bench_recover.py

Asked for: at most 25 times one forecast. Printed for several sizes of the work, so that the search
has easy and hard cases, and for the features that are walked evening by evening.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "recovery"))

from recovery_cases import ANNOUNCED, raw_piece

from nightplan.engine.forecast import forecast
from nightplan.engine.recovery import Ways
from nightplan.model.parse import project_from_raw

ASKED = 25.0
SCALES = (0.9, 1.0, 1.1, 1.25, 1.5)


def best_of(count: int, run: Callable[[], Any]) -> tuple[float, Any]:
    """Least seconds of a few runs, and what the last one gave."""
    least, found = float("inf"), None
    for _ in range(count):
        begin = time.perf_counter()
        found = run()
        least = min(least, time.perf_counter() - begin)
    return least, found


def variants(scale: float) -> dict[str, dict[str, Any]]:
    long_render = raw_piece(scale)
    long_render["jobs"][0]["minutes_per_frame"] = {"likely": 12, "high": 25}
    queue = raw_piece(scale)
    for name, after, before in (("cloth", "blockout", "tail-sway"), ("bake", "ground", "plants")):
        took = {"likely": 20, "high": 50}
        job = {"id": name, "name": name, "kind": "simulation", "after": [after], "before": [before], "hours": took}
        queue["jobs"].append(job)
    return {
        "as it is": raw_piece(scale),
        "long render": long_render,
        "jobs that queue": queue,
        "switching 15 min": raw_piece(scale, switching_minutes=15.0),
    }


def main() -> None:
    worst = 0.0
    print(f"{'project':18} {'scale':>5} {'forecast':>9} {'recover':>9} {'ratio':>6} {'moves':>5} {'walks':>5}  reached")
    for scale in SCALES:
        for name, raw in variants(scale).items():
            project = project_from_raw(raw)
            one, _ = best_of(5, lambda p=project: forecast(p, ANNOUNCED))  # type: ignore[misc]
            all_, (ways, found) = best_of(2, lambda p=project: _recover(p))  # type: ignore[misc]
            ratio = all_ / one
            worst = max(worst, ratio)
            print(
                f"{name:18} {scale:5.2f} {one * 1e3:6.1f} ms {all_ * 1e3:6.0f} ms {ratio:6.1f} "
                f"{len(found.moves):5} {ways.walks:5}  {found.reached}"
            )
    print(f"worst {worst:.1f} times one forecast; asked for {ASKED:.0f}")


def _recover(project: Any) -> tuple[Ways, Any]:
    ways = Ways(project, ANNOUNCED)
    return ways, ways.recover()


if __name__ == "__main__":
    main()
