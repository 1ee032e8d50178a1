# SPDX-License-Identifier: GPL-3.0-or-later
"""How fast the futures are: ``python benchmarks/bench_engine.py [--quick]`` prints four tables.

1. 20,000 futures of 12 items, 40 evenings and 2 machine jobs, as a multiple of what numpy takes to draw
   as many random numbers of the same kinds in the same run (limit 5).
2. The most memory that a fresh process needs for it above what it needs after its imports (limit 150 MB).
3. Time against the number of futures, evenings and items: cost per future and evening must not rise with their number.
4. ``nightplan odds`` as a whole process against ``python -c "import numpy, scipy.special"`` (limit 0.6 s over).

Times are medians of interleaved repeats (in table 3 the best), since other work on the machine comes and goes.
Exit code 1 where a limit is passed.
"""

from __future__ import annotations

import datetime as dt
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from speed_rows import Row, command

from nightplan.engine.forecast import FUTURES, forecast, simulate
from nightplan.engine.problem import Problem, problem
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

ANNOUNCED = dt.date(2027, 9, 20)
RATIO_LIMIT, MEMORY_LIMIT_MB, START_LIMIT_S = 5.0, 150.0, 0.6


def raw_project(items: int = 12, evenings: int = 40, jobs: int = 2) -> dict[str, Any]:
    """A chain of stages of four items each, three evenings a week, two jobs in the chain."""
    week = [
        {"day": d, "start": "20:00", "hours": 2.5, "chance": c} for d, c in (("mon", 0.9), ("wed", 0.9), ("sat", 0.5))
    ]
    # the n-th evening of Monday, Wednesday, Saturday
    deadline = ANNOUNCED + dt.timedelta(days=7 * ((evenings - 1) // 3) + (0, 2, 5)[(evenings - 1) % 3])
    likely = 0.6 * evenings * 2.5 * 0.77 / items
    stages = []
    for s in range(0, items, 4):
        rows = [
            {"id": f"item-{n}", "name": f"Item {n}", "likely": likely, "high": likely * 1.8}
            for n in range(s, min(s + 4, items))
        ]
        stages.append(
            {"id": f"stage-{s}", "name": f"Stage {s}", "after": [f"stage-{s - 4}"] if s else [], "items": rows}
        )
    hours = {"likely": 9, "high": 14}
    both = [
        {"id": "cache", "name": "Cache", "after": ["item-3"], "before": [f"item-{min(6, items - 1)}"], "hours": hours},
        {
            "id": "render",
            "name": "Render",
            "after": [f"item-{items - 2}"],
            "before": [f"item-{items - 1}"],
            "frames": 192,
            "minutes_per_frame": {"likely": 3.5, "high": 6},
            "fail_chance": 0.1,
        },
    ]
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Lantern loop",
        "zone": "Europe/Lisbon",
        "announced": ANNOUNCED.isoformat(),
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": (deadline - dt.timedelta(days=7)).isoformat()},
            {"id": "deadline", "name": "Hand-in", "on": deadline.isoformat()},
        ],
        "week": week,
        "stages": stages,
        "jobs": both[:jobs],
    }


def make(*args: int, **more: int) -> Project:
    return project_from_raw(raw_project(*args, **more))


def numbers(setup: Problem, futures: int) -> tuple[int, int]:
    """How many normal and uniform numbers the futures of a project need."""
    jobs = len(setup.jobs)
    return futures * (1 + len(setup.items) + 2 * jobs), futures * (len(setup.evenings) + jobs)


def draw(normals: int, uniforms: int, bits: Callable[[int], Any]) -> None:
    """The same count and kinds of numbers by numpy alone."""
    generator = np.random.Generator(bits(1))
    generator.standard_normal(normals)
    generator.random(uniforms)


def seconds(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def ratio(repeats: int) -> Row:
    project = make()
    setup = problem(project, ANNOUNCED)
    counts = numbers(setup, FUTURES)
    before = int((setup.gates[-1].hours > 0).sum())
    print(
        f"1. {FUTURES:,} futures, {len(setup.items)} items, {before} evenings (and {len(setup.evenings) - before} after"
    )
    print(f"   the last gate), {len(setup.jobs)} jobs: {counts[0]:,} normal and {counts[1]:,} uniform numbers")
    works: dict[str, Callable[[], object]] = {
        "simulate": lambda: simulate(setup, FUTURES, 1),
        "forecast, whole": lambda: forecast(project, ANNOUNCED),
        "numpy's draw, its default generator": lambda: draw(*counts, np.random.PCG64),
        "numpy's draw, the engine's generator": lambda: draw(*counts, np.random.SFC64),
    }
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(repeats + 1):
        for name, work in works.items():
            times[name].append(seconds(work))
    # each time against the draw of the same round: the machine is as busy for both
    unit = times["numpy's draw, its default generator"]
    shares = {
        name: statistics.median(t / u for t, u in zip(found[1:], unit[1:], strict=True))
        for name, found in times.items()
    }
    print(f"   {'':38}{'ms':>8}{'ratio':>8}")
    for name, share in shares.items():
        print(f"   {name:38}{statistics.median(times[name][1:]) * 1e3:8.1f}{share:8.2f}")
    floor = statistics.median(unit[1:]) * 1e3
    row = Row("odds", f"{FUTURES:,} futures of 12 items, 40 evenings, 2 jobs", floor * shares["simulate"], floor,
              "numpy draws as many numbers", "ms", RATIO_LIMIT)  # fmt: skip
    print(f"   simulate at most {RATIO_LIMIT:g} times: {'yes' if row.good else 'NO'}\n")
    return row


def peak_mb() -> float:
    """Largest resident size of this process so far."""
    status = Path("/proc/self/status")
    if status.exists():
        # what getrusage says starts from the size of the process that started this one
        return int(status.read_text().partition("VmHWM:")[2].split()[0]) / 2**10
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 2**20 if sys.platform == "darwin" else most / 2**10


def memory() -> Row:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); import bench_engine as b; "
        "p = b.make(); before = b.peak_mb(); b.forecast(p, b.ANNOUNCED); print(before, b.peak_mb())"
    )
    here = str(Path(__file__).parent)
    out = subprocess.run([sys.executable, "-c", code, here], capture_output=True, text=True, check=True).stdout
    before, after = map(float, out.split())
    row = Row("memory", f"a fresh process with one forecast of {FUTURES:,} futures", after, before,
              "after its imports", "MB", MEMORY_LIMIT_MB, "measured")  # fmt: skip
    print(f"2. Memory of a fresh process: {before:.0f} MB after the imports, at most {after:.0f} MB with one forecast")
    print(f"   at most {MEMORY_LIMIT_MB:g} MB: {'yes' if row.good else 'NO'}\n")
    return row


def growth(quick: bool) -> None:
    print("3. Seconds for one forecast's futures (best of the repeats), and nanoseconds per future and evening")
    print("   (evenings up to the last gate, and with the eight weeks after it that are walked as well)")
    print(f"   {'futures':>8}{'items':>7}{'evenings':>10}{'with tail':>10}{'s':>9}{'ns':>8}")
    rows = [(n, 12, 40) for n in (5_000, 20_000, 80_000)] + [(20_000, 12, e) for e in (100, 200, 400)]
    rows += [(20_000, i, 100) for i in (25, 50, 100)]
    rows += [(5_000, 500, e) for e in (100, 200, 400)] + [(20_000, 500, 400)]
    rows = rows[:6] if quick else rows
    setups = [problem(make(items, evenings), ANNOUNCED) for _, items, evenings in rows]
    times: list[list[float]] = [[] for _ in rows]
    for _ in range(3 if quick else 5):
        for (futures, _items, _evenings), setup, found in zip(rows, setups, times, strict=True):
            found.append(seconds(lambda s=setup, n=futures: simulate(s, n, 1)))  # type: ignore[misc]
    for (futures, items, evenings), setup, found in zip(rows, setups, times, strict=True):
        took, walked = min(found), len(setup.evenings)
        print(f"   {futures:8,}{items:7}{evenings:10}{walked:10}{took:9.3f}{took / futures / walked * 1e9:8.1f}")
    print()


def start(repeats: int) -> Row:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "loop.nightplan"
        path.write_text(json.dumps(raw_project()), encoding="utf-8")
        code = "import sys; from nightplan.cli.main import run; sys.argv[0] = 'nightplan'; sys.exit(run())"
        odds = [sys.executable, "-c", code, "odds", str(path), "--as-of", ANNOUNCED.isoformat(), "--json"]
        bare = [sys.executable, "-c", "import numpy, scipy.special"]
        times: dict[str, list[float]] = {"odds": [], "bare": []}
        for _ in range(repeats + 1):
            for name, command in (("odds", odds), ("bare", bare)):
                work = lambda c=command: subprocess.run(c, capture_output=True, check=True)  # noqa: E731
                times[name].append(seconds(work))
    whole, least = (statistics.median(times[name][1:]) for name in ("odds", "bare"))
    row = Row("start-up", "`nightplan odds` as a whole process", whole, least,
              "Python that imports numpy and scipy.special", "s", START_LIMIT_S, "over")  # fmt: skip
    print(f"4. nightplan odds {whole:.2f} s, bare imports {least:.2f} s, over {whole - least:.2f} s")
    print(f"   at most {START_LIMIT_S:g} s over: {'yes' if row.good else 'NO'}")
    return row


def measure(quick: bool) -> list[Row]:
    rows = [ratio(9 if quick else 41), memory()]
    growth(quick)
    return [*rows, start(3 if quick else 9)]


if __name__ == "__main__":
    sys.exit(command(__doc__, measure))
