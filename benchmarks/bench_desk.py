# SPDX-License-Identifier: GPL-3.0-or-later
"""How soon the desk is there, and how soon it answers; offscreen, everything in one run.

``python benchmarks/bench_desk.py [--quick]``

1. Whole processes, from the start of the interpreter: a bare window of the toolkit with one table, and the program
   with the half-way sample, by turns. The window's first paint is held to at most 1.5 times the bare one; when the
   plan, the odds and the chart are there is told beside it.
2. A tick of an evening, until all that is in sight shows the new odds, the chart with it: at most 150 ms (median), with
   the Tonight page and with the Plan page in sight; beside it the 2,000 futures that are drawn first, alone.
3. The memory of the same two processes, told without a limit.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from speed_rows import Row, command

os.environ["QT_QPA_PLATFORM"] = "offscreen"
SAMPLE = Path(__file__).resolve().parent.parent / "sample_projects" / "moth-and-lantern.nightplan"
MOST_RATIO, MOST_TICK_MS = 1.5, 150.0

_BARE = """
import gc, os, resource, sys, time
# as the installed command does
gc.disable()
from PySide6.QtWidgets import QApplication, QMainWindow, QTableWidget, QTableWidgetItem
app = QApplication(["bare"])
app.setStyle("Fusion")
class Bare(QMainWindow):
    def paintEvent(self, event):
        super().paintEvent(event)
        print("painted", time.process_time(), flush=True)
        print("peak", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, flush=True)
        app.quit()
window = Bare()
table = QTableWidget(20, 6)
for row in range(20):
    for column in range(6):
        table.setItem(row, column, QTableWidgetItem(f"{row} {column}"))
window.setCentralWidget(table)
window.resize(1360, 860)
window.show()
app.exec()
"""

_DESK = """
import gc, os, resource, sys, time
# as the installed command does
gc.disable()
from PySide6.QtCore import QSettings, QTimer
folder = os.environ["BENCH_FOLDER"]
QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, folder)
from nightplan.desk import app as desk_app
app = desk_app.make_app(["nightplan"])
desk = desk_app.Desk(app)
window = desk.window(os.environ["BENCH_WHAT"])
class Watch:
    told = set()
def tell(name):
    if name not in Watch.told:
        Watch.told.add(name)
        print(name, time.process_time(), flush=True)
        if len(Watch.told) == 4:
            print("peak", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, flush=True)
            window.setProperty("discard", True)
            window.close()
paint = type(window).paintEvent
def painted(self, event):
    paint(self, event)
    tell("painted")
type(window).paintEvent = painted
def look():
    page = window.pages.get("plan")
    if page is not None and page.isVisible() and page.strip.view.data is not None and page.strip.view.data.columns:
        tell("plan")
    if window.document.fresh:
        tell("odds")
    if page is not None and getattr(page.charts, "canvas", None) is not None:
        tell("chart")
timer = QTimer()
timer.setInterval(2)
timer.timeout.connect(look)
timer.start()
app.exec()
"""


def run(code: str, environment: dict[str, str]) -> dict[str, tuple[float, float]]:
    """Milliseconds from the start of a process to each line that it prints: by the wall, and of its own work.

    ``peak`` is the most memory that it held, in MB, in place of the work.
    """
    start = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=environment
    )
    assert child.stdout is not None
    seen = {}
    for line in child.stdout:
        name, work = line.split()
        unit = 1e3 if name != "peak" else 1 / 2**20 if sys.platform == "darwin" else 1 / 2**10
        seen[name] = (time.perf_counter() - start) * 1e3, float(work) * unit
    child.wait()
    return seen


def first_window(rounds: int) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        # compiled as an installed program is, without writing into the checkout
        environment |= {"PYTHONPYCACHEPREFIX": f"{folder}/compiled", "BENCH_FOLDER": folder, "BENCH_WHAT": "sample"}
        environment |= {"XDG_DATA_HOME": folder}
        for code in (_BARE, _DESK):
            run(code, environment)
        floors, desk = [], []
        for _ in range(rounds):
            floors.append(run(_BARE, environment))
            desk.append(run(_DESK, environment))
    bare = [row["painted"] for row in floors]
    # work is what the process itself did; on a busy machine it is the steadier of the two
    base, work = (statistics.median(row[n] for row in bare) for n in (0, 1))
    print(f"{'from the start of the process':<44} median ms    ratio    work ms    ratio")
    print(f"{'bare window with one table':<44} {base:9.0f}           {work:9.0f}")
    rows = []
    for key, what in (
        ("painted", "first paint: window, title, gates"),
        ("plan", "plan page with strip and stages"),
        ("odds", "odds (all 20,000 futures follow)"),
        ("chart", "chart"),
    ):
        times = [row[key] for row in desk if key in row]
        if times:
            median, own = (statistics.median(row[n] for row in times) for n in (0, 1))
            print(f"{what:<44} {median:9.0f}  {median / base:7.2f}  {own:9.0f}  {own / work:7.2f}")
            limit = MOST_RATIO if key == "painted" else None
            floor = "a bare window with one table"
            rows.append(Row("start-up", what.partition(":")[0], median, base, floor, "ms", limit))
    peak, least = (statistics.median(row["peak"][1] for row in found) for found in (desk, floors))
    print(f"most memory: {peak:.0f} MB, the bare window {least:.0f} MB")
    what = "the window with the half-way sample, odds and chart drawn"
    return [*rows, Row("memory", what, peak, least, "a bare window with one table", "MB")]


def tick_to_fresh(rounds: int) -> list[Row]:
    """Median milliseconds from Ctrl+Return until all that is in sight shows the new odds, with all pages made.

    With the Plan page in sight that is strip, stages and the painted chart. Pages out of sight are told after it, and
    at the latest when they come into sight; that time is told beside it.
    """
    from PySide6.QtCore import QEventLoop

    from nightplan.desk.app import Desk, make_app
    from nightplan.desk.pages import PAGES
    from nightplan.desk.pages.plan_page import PlanPage
    from nightplan.desk.pages.tonight_page import TonightPage
    from nightplan.desk.services import Services

    app = make_app(["nightplan"])
    desk = Desk(app, Services(profile=Path(tempfile.mkdtemp())))
    window = desk.window()
    window.open_sample()
    document = window.document

    def settle() -> None:
        while not document.fresh or document.worker.busy or not window.stack.all_told:
            app.processEvents()
            time.sleep(0.0005)

    settle()
    for key in PAGES:
        window.go_to(key)
        app.processEvents()
    window.go_to("tonight")
    settle()
    page, plan = window.pages["tonight"], window.pages["plan"]
    assert isinstance(page, TonightPage)
    assert isinstance(plan, PlanPage)

    # as the program's own loop does: one that spins takes the interpreter away from the thread that counts
    sleeping = QEventLoop.ProcessEventsFlag.WaitForMoreEvents

    def once(shown: str) -> tuple[float, float, float]:
        window.go_to(shown)
        settle()
        while not plan.charts.fresh:
            app.processEvents()
        app.processEvents()
        start, work = time.perf_counter(), time.process_time()
        page.tick_off()
        while not document.fresh:
            app.processEvents(sleeping)
        # what is to be painted is painted in its turn, the chart after it
        app.processEvents()
        while not plan.charts.fresh:
            app.processEvents(sleeping)
        app.processEvents()
        quick, own = time.perf_counter() - start, time.process_time() - work
        settle()
        while not plan.charts.fresh:
            app.processEvents()
        app.processEvents()
        whole = time.perf_counter() - start
        document.undo()
        settle()
        app.processEvents()
        return quick * 1e3, own * 1e3, whole * 1e3

    medians = {}
    for shown, where in (("tonight", "the Tonight page"), ("plan", "the Plan page and its chart")):
        rows = [once(shown) for _ in range(rounds)]
        quick, own, whole = (statistics.median(row[n] for row in rows) for n in range(3))
        medians[shown] = where, quick
        # own work: of all threads of the process; on a busy machine it is the steadier of the two
        print(
            f"a tick until {where} shows the new odds: {quick:.0f} ms, own work {own:.0f} ms "
            f"(of all 20,000 futures, and every page told: {whole:.0f} ms)"
        )
    from nightplan.actions.today import as_it_stands
    from nightplan.desk.odds_worker import QUICK
    from nightplan.engine.forecast import forecast

    alone = []
    project = document.project
    for _ in range(rounds):
        start = time.perf_counter()
        forecast(project, as_it_stands(project), futures=QUICK)
        alone.append((time.perf_counter() - start) * 1e3)
    window.setProperty("discard", True)
    window.close()
    floor = f"the first {QUICK:,} futures alone"
    least = statistics.median(alone)
    return [
        Row(
            "tick",
            f"from Ctrl+Return until {where} shows the new odds",
            quick,
            least,
            floor,
            "ms",
            MOST_TICK_MS,
            "measured",
        )
        for where, quick in medians.values()
    ]


def measure(quick: bool) -> list[Row]:
    rounds = 3 if quick else 9
    return [*first_window(rounds), *tick_to_fresh(max(rounds, 5))]


if __name__ == "__main__":
    sys.exit(command(__doc__, measure))
