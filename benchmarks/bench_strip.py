# SPDX-License-Identifier: GPL-3.0-or-later
"""Painting the evening strip of a one-year project while it scrolls, offscreen at 1400 × 320.

Prints the median time of a frame and its ratio to painting the same number of plain rectangles in the
same run. A frame has to stay under 33 ms.
"""

from __future__ import annotations

import datetime as dt
import os
import statistics
import time
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication
from speed_rows import Row, command

from nightplan.desk.widgets.strip_model import StripData, strip_data
from nightplan.desk.widgets.strip_paint import Inks, StageInk
from nightplan.desk.widgets.strip_view import StripView
from nightplan.engine.plan import plan
from nightplan.model.parse import project_from_raw

WIDTH, HEIGHT, FRAMES = 1400, 320, 60
LIMIT_MS = 33.0
FILLS = ("#56B4E9", "#E69F00", "#009E73", "#CC79A7", "#F0E442", "#D55E00", "#0072B2")


def year() -> dict[str, Any]:
    """A made-up year: 40 stages of four items, three evenings a week, a machine job after every stage."""
    stages = [
        {
            "id": f"s{n}",
            "name": f"Stage {n}",
            "gate": "lock" if n < 36 else "deadline",
            "after": [f"s{n - 1}"] if n else [],
            "items": [{"id": f"s{n}-{i}", "name": f"Item {i}", "likely": 2.0, "high": 3.5} for i in range(4)],
        }
        for n in range(40)
    ]
    jobs = [
        {"id": f"j{n}", "name": f"Render {n}", "after": [f"s{n}-3"], "gate": "lock", "machine": "desk", "hours": 7}
        for n in range(36)
    ]
    return {
        "format": "nightplan",
        "version": 1,
        "title": "A year",
        "zone": "UTC",
        "announced": "2027-01-04",
        "gates": [
            {"id": "lock", "name": "Lock", "on": "2027-12-19"},
            {"id": "deadline", "name": "Hand-in", "on": "2027-12-31"},
        ],
        "week": [
            {"day": "tue", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "thu", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 4.0, "chance": 0.5},
        ],
        "stages": stages,
        "jobs": jobs,
    }


def inks(keys: list[str]) -> Inks:
    stages = {k: StageInk(QColor(FILLS[n % 7]), f"s{n}") for n, k in enumerate(keys)}
    names = ("#1b1d3a", "#26284c", "#f0f0fa", "#a9abc9", "#2c2e52", "#ffd479", "#7fe3b0", "#ffb86b", "#ff7a7a")
    return Inks(*(QColor(n) for n in names), stages)


def frames(view: StripView, zoom: float, count: int) -> list[float]:
    """Seconds of every frame while the strip scrolls from end to end."""
    view.set_zoom(zoom)
    bar = view.horizontalScrollBar()
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_RGB32)
    times = []
    for n in range(count):
        bar.setValue(bar.maximum() * n // count)
        start = time.perf_counter()
        view.viewport().render(image)
        times.append(time.perf_counter() - start)
    return times


def rectangles(count: int) -> float:
    """Seconds for as many plain rectangles."""
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_RGB32)
    times = []
    for _ in range(30):
        start = time.perf_counter()
        p = QPainter(image)
        for n in range(count):
            p.fillRect(QRectF(n * 7 % WIDTH, 40, 38, 120), QColor("#56B4E9"))
        p.end()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def in_sight(view: StripView) -> int:
    """Rectangles of one middle frame: evenings, work, flags and jobs that meet the window."""
    layout, data = view.layout_, view.data
    x0 = view.horizontalScrollBar().maximum() / 2
    seen = layout.visible(x0, x0 + WIDTH)
    jobs = sum(x0 <= p.bar.x <= x0 + WIDTH for p in layout.jobs)
    return sum(1 + len(data.columns[n].blocks) for n in seen) + jobs + len(data.flags)


def measure(quick: bool) -> list[Row]:
    app = QApplication.instance() or QApplication([])
    project = project_from_raw(year())
    data: StripData = strip_data(project, plan(project, dt.date(2027, 1, 4)))
    view = StripView(inks([s.id for s in project.stages]))
    view.resize(WIDTH, HEIGHT)
    view.set_data(data)
    view.show()
    print(f"{len(data.columns)} evenings, {len(data.jobs)} machine jobs, {WIDTH}×{HEIGHT}")
    rows = []
    for zoom, name in ((1.0, "usual size"), (0.35, "small"), (0.18, "smallest")):
        times = frames(view, zoom, 15 if quick else FRAMES)
        median, count = statistics.median(times), in_sight(view)
        plain = rectangles(count)
        print(
            f"{name:<11} median {median * 1e3:6.2f} ms  longest {max(times) * 1e3:6.2f} ms  "
            f"{count} rectangles take {plain * 1e3:5.2f} ms  ratio {median / plain:5.1f}"
        )
        what = f"a frame of a year's strip while it scrolls, {name}"
        floor = f"{count} plain rectangles"
        rows.append(Row("strip painting", what, median * 1e3, plain * 1e3, floor, "ms", LIMIT_MS, "measured"))
    view.close()
    del app
    return rows


if __name__ == "__main__":
    raise SystemExit(command(__doc__, measure))
