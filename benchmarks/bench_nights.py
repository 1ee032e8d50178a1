# SPDX-License-Identifier: GPL-3.0-or-later
"""Milliseconds of one look into a folder of frames, and of a forecast with a window against one without.

python benchmarks/bench_nights.py [--quick]
"""

from __future__ import annotations

import datetime as dt
import os
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from speed_rows import Row, command

from nightplan.engine.forecast import forecast
from nightplan.files.frames import look
from nightplan.model.parse import project_from_raw

FILES = 10_000
ROUNDS = 15


def median_ms(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return 1000 * statistics.median(times)


def frames(folder: Path, count: int) -> None:
    begin = dt.datetime(2027, 9, 20, 22).timestamp()
    for n in range(count):
        path = folder / f"shot_{n + 1:05d}.exr"
        path.write_bytes(b"x")
        os.utime(path, (begin + 60 * n, begin + 60 * n))


def project(machines: list[dict[str, Any]]) -> Any:
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    items = [{"id": f"i{n}", "name": f"Item {n}", "likely": 2, "high": 4} for n in range(30)]
    job = {"id": "render", "name": "Render", "frames": 400, "minutes_per_frame": {"likely": 4, "high": 7}}
    return project_from_raw(
        {
            "format": "nightplan",
            "version": 1,
            "title": "Moth and Lantern",
            "zone": "Europe/Lisbon",
            "announced": "2027-09-20",
            "gates": [
                {"id": "lock", "name": "Personal lock", "on": "2027-10-24"},
                {"id": "deadline", "name": "Hand-in", "on": "2027-10-31"},
            ],
            "week": [{"day": d, "start": "20:30", "hours": 2.5, "chance": 0.8} for d in days],
            "stages": [{"id": "work", "name": "Work", "items": items}],
            "jobs": [{**job, "after": ["i20"], "before": ["i29"]}],
            "machines": machines,
        }
    )


def bare(folder: str) -> None:
    """The least that a look at sizes and times has to do."""
    with os.scandir(folder) as entries:
        for entry in entries:
            entry.stat()


def measure(quick: bool) -> list[Row]:
    rounds = 5 if quick else ROUNDS
    now = dt.datetime(2027, 10, 20, tzinfo=dt.timezone.utc)  # noqa: UP017
    for count in (100, 1_000, FILES):
        with tempfile.TemporaryDirectory() as name:
            frames(Path(name), count)
            took = median_ms(lambda f=name: look(f, now), rounds)  # type: ignore[misc]
            floor = median_ms(lambda f=name: bare(f), rounds)  # type: ignore[misc]
            print(f"look at {count:6d} frames: {took:7.1f} ms, sizes and times alone {floor:7.1f} ms")
    rows = [Row("nights", f"a look at {count:,} frames", took, floor, "sizes and times of the same files", "ms")]
    day = dt.date(2027, 9, 20)
    window = [{"name": "desk", "window": {"from": "23:00", "to": "07:00"}}]
    times = []
    for what, machines in (("round the clock", []), ("with a nightly window", window)):
        setup = project(machines)
        times.append(median_ms(lambda p=setup: forecast(p, day), 5))  # type: ignore[misc]
        print(f"forecast {what}: {times[-1]:7.1f} ms")
    about = "odds with a machine that runs in a nightly window"
    return [*rows, Row("nights", about, times[1], times[0], "the same round the clock", "ms")]


if __name__ == "__main__":
    raise SystemExit(command(__doc__, measure))
