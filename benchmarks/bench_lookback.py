# SPDX-License-Identifier: GPL-3.0-or-later
"""How fast the library is: ``python benchmarks/bench_lookback.py [--quick]`` prints one table.

1,000 projects (200 with ``--quick``) with 60 log entries each, once without stored forecasts (the hard case:
little to parse) and once with two forecasts for each evening, as ticking leaves them.

1. Index all files, as a multiple of a plain JSON parse of the same files in the same run (limit 3).
2. From a finished index to everything that the page shows: facts, posteriors, scores (limit 0.5 s).
3. Refresh an index that is up to date.
4. The page of the desk, from the key that opens it to its painted answer, in new processes (median, limit 0.5 s).

Exit code 1 where a limit is passed.
"""

from __future__ import annotations

import datetime as dt
import json
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from lookback_page import page_opens
from speed_rows import Row, command

from nightplan.engine.lookback import look_back
from nightplan.engine.lookback_scores import scores
from nightplan.files.library import Library
from nightplan.files.store import dumps
from nightplan.model.parse import project_from_raw

RATIO_LIMIT, OPEN_LIMIT_S = 3.0, 0.5
ENTRIES = 60
STAGES = ("Reference", "Layout", "Rig", "Animate", "Set", "Light", "Polish", "Edit")


def raw_project(n: int, forecasts: bool) -> dict[str, Any]:
    """A finished project of sixteen items in eight stages, sixty ticked evenings."""
    rng = np.random.default_rng(n)
    start = dt.date(2020, 1, 6) + dt.timedelta(days=int(rng.integers(0, 2000)))
    names = [f"{s.lower()}-{k}" for s in STAGES for k in (1, 2)]
    log, stored = [], []
    day = start
    for e in range(ENTRIES):
        item = names[e * len(names) // ENTRIES]
        last = e == ENTRIES - 1 or names[(e + 1) * len(names) // ENTRIES] != item
        hours = round(float(rng.uniform(1.5, 3)), 2)
        work = {"item": item, "hours": hours, "done": last}
        log.append({"evening": day.isoformat(), "happened": True, "hours": hours, "work": [work], "jobs_done": []})
        ahead = [(day + dt.timedelta(days=int(k))).isoformat() for k in (40, 60, 75, 90)]
        for moment in ("before", "after"):
            finish = {
                key: dict(zip(("p10", "p50", "p80", "p90"), ahead, strict=True)) for key in ("lock", "deadline", *names)
            }
            odds = {"lock": round(float(rng.uniform()), 4), "deadline": round(float(rng.uniform()), 4)}
            stored.append(
                {
                    "as_of": day.isoformat(),
                    "moment": moment,
                    "futures": 20000,
                    "seed": 1,
                    "odds": odds,
                    "finish": finish,
                }
            )
        day += dt.timedelta(days=int(rng.integers(2, 5)))
    return {
        "format": "nightplan",
        "version": 1,
        "title": f"Piece {n}",
        "piece": "animated shot",
        "zone": "Europe/Lisbon",
        "announced": start.isoformat(),
        "gates": [
            {"id": "lock", "name": "Lock", "on": (start + dt.timedelta(days=170)).isoformat()},
            {
                "id": "deadline",
                "name": "Hand-in",
                "at": f"{start + dt.timedelta(days=185)}T23:59",
                "zone": "America/Los_Angeles",
            },
        ],
        "week": [
            {"day": "mon", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "wed", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 3, "chance": 0.5},
        ],
        "stages": [
            {
                "id": s.lower(),
                "name": s,
                "after": [],
                "items": [
                    {"id": f"{s.lower()}-{k}", "name": f"{s} {k}", "likely": 6, "high": 10, "state": "done"}
                    for k in (1, 2)
                ],
            }
            for s in STAGES
        ],
        "jobs": [],
        "log": log,
        "baselines": [],
        "forecasts": stored if forecasts else [],
    }


def best(work: Callable[[], object], repeats: int = 3) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def measure(quick: bool) -> list[Row]:
    count = 200 if quick else 1000
    rows = []
    print(f"{count} projects, {ENTRIES} log entries each")
    print(f"{'':24}{'MB':>7}{'parse s':>9}{'index s':>9}{'times':>7}{'open s':>8}{'fresh s':>9}")
    for name, with_forecasts in (("without forecasts", False), ("two forecasts an evening", True)):
        with tempfile.TemporaryDirectory() as folder:
            files = []
            for n in range(count):
                path = Path(folder, f"piece-{n}.nightplan")
                # as the program writes it
                path.write_text(dumps(project_from_raw(raw_project(n, with_forecasts))), encoding="utf-8")
                files.append(path)
            size = sum(p.stat().st_size for p in files) / 1e6

            def parse(files: list[Path] = files) -> None:
                for p in files:
                    json.loads(p.read_bytes())

            index = Path(folder, "index.sqlite")

            def build(folder: str = folder, index: Path = index) -> None:
                index.unlink(missing_ok=True)
                with Library(index) as library:
                    library.refresh([folder])

            def opened(index: Path = index) -> None:
                with Library(index) as library:
                    facts = library.facts(dt.date(2030, 1, 1).toordinal())
                assert len(facts.projects) == count
                look_back(facts)
                scores(facts.gates, facts.finishes)

            def again(folder: str = folder, index: Path = index) -> None:
                with Library(index) as library:
                    library.refresh([folder])

            # interleaved: other work on the machine comes and goes
            pairs = [(best(parse, 1), best(build, 1)) for _ in range(3)]
            parse_s, build_s = min(p for p, _ in pairs), min(b for _, b in pairs)
            open_s, again_s = best(opened), best(again)
            print(
                f"{name:24}{size:7.1f}{parse_s:9.3f}{build_s:9.3f}{build_s / parse_s:7.2f}{open_s:8.3f}{again_s:9.3f}"
            )
            with tempfile.TemporaryDirectory() as scratch:
                wall_s, own_s, shown = page_opens(folder, index, scratch)
            print(f"{'':24}the page shows {shown} projects {wall_s:.3f} s after the key, {own_s:.3f} s of own work")
            plain = "a plain JSON parse of the same files"
            rows += [
                Row("look-back", f"index {count:,} projects, {name}", build_s, parse_s, plain, "s", RATIO_LIMIT),
                Row("look-back", "from it to every number", open_s, parse_s, plain, "s", OPEN_LIMIT_S, "measured"),
                Row(
                    "look-back",
                    "from the key to the page",
                    wall_s,
                    open_s,
                    "its numbers",
                    "s",
                    OPEN_LIMIT_S,
                    "measured",
                ),
            ]
    return rows


if __name__ == "__main__":
    sys.exit(command(__doc__, measure))
