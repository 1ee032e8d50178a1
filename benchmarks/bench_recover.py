# SPDX-License-Identifier: GPL-3.0-or-later
"""All moves of a 12-item, 40-evening project valued and the cheapest combination found, against one forecast.

    python benchmarks/bench_recover.py [--quick]

Asked for: at most 25 times one forecast; exit code 1 where it is more. Printed for several
sizes of the work, so that the search has easy and hard cases, and for the features that are walked
evening by evening.
"""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "recovery"))

from recovery_cases import ANNOUNCED, raw_piece
from speed_rows import Row, command, medians

from nightplan.engine.forecast import forecast
from nightplan.engine.recovery import Ways
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

ASKED = 25.0
SCALES = (0.9, 1.0, 1.1, 1.25, 1.5)


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


def measure(quick: bool) -> list[Row]:
    """The worst of the projects."""
    worst: tuple[float, float, float, str] = (0.0, 0.0, 1.0, "")
    print(f"{'project':18} {'scale':>5} {'forecast':>9} {'recover':>9} {'ratio':>6} {'moves':>5} {'walks':>5}  reached")
    for scale in (1.0,) if quick else SCALES:
        for name, raw in variants(scale).items():
            project = project_from_raw(raw)
            ways = Ways(project, ANNOUNCED)
            found = ways.recover()
            one, all_ = medians(3 if quick else 5, partial(forecast, project, ANNOUNCED), partial(_recover, project))
            ratio = all_ / one
            worst = max(worst, (ratio, all_, one, f"{name}, work × {scale:g}"))
            print(
                f"{name:18} {scale:5.2f} {one * 1e3:6.1f} ms {all_ * 1e3:6.0f} ms {ratio:6.1f} "
                f"{len(found.moves):5} {ways.walks:5}  {found.reached}"
            )
    print(f"worst {worst[0]:.1f} times one forecast; asked for {ASKED:.0f}")
    what = f"all moves and the cheapest way, worst of the projects ({worst[3]})"
    return [Row("recover", what, worst[1] * 1e3, worst[2] * 1e3, "one forecast", "ms", ASKED)]


def _recover(project: Project) -> None:
    Ways(project, ANNOUNCED).recover()


if __name__ == "__main__":
    raise SystemExit(command(__doc__, measure))
