# SPDX-License-Identifier: GPL-3.0-or-later
"""How soon the Look back page shows what a finished index says: used by ``bench_lookback.py``."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
from pathlib import Path

SAMPLE = Path(__file__).resolve().parent.parent / "sample_projects" / "moth-and-lantern.nightplan"

#: prints wall and own seconds from the key that opens the page to its painted answer
_PAGE = """
import os, sys, time
from pathlib import Path
from PySide6.QtCore import QSettings
folder, library, index, sample = sys.argv[1:]
QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, folder)
from nightplan.desk import app as desk_app
from nightplan.desk.pages.lookback_page import LookBackPage
app = desk_app.make_app(["nightplan"])
desk = desk_app.Desk(app)
desk.services.settings().setValue("library", [library])
LookBackPage.index = Path(index)
window = desk.window(sample)
window.work.missed_asked = True
def until(what):
    while not what():
        app.processEvents()
        time.sleep(0.001)
def at_rest():
    return window.document.fresh and not window.document.worker.busy
until(at_rest)
# charts of the page in sight come after the odds
ready = time.monotonic() + 1.5
until(lambda: time.monotonic() > ready)
wall, own = time.perf_counter(), time.process_time()
window.go_to("look-back")
page = window.pages["look-back"]
until(lambda: page.answer is not None)
window.grab()
print("page", time.perf_counter() - wall, time.process_time() - own, len(page.answer.facts.projects), flush=True)
until(lambda: not page.work.busy)
window.setProperty("discard", True)
window.close()
"""


def page_opens(library: str, index: Path, scratch: str, repeats: int = 5) -> tuple[float, float, int]:
    """Median seconds by the wall and of own work until the page shows the index; how many projects it shows.

    Each time a new process with the half-way sample open, so that nothing is warm but the disk.
    """
    environment = os.environ | {
        "QT_QPA_PLATFORM": "offscreen",
        "XDG_DATA_HOME": scratch,
        "XDG_CONFIG_HOME": scratch,
        "XDG_STATE_HOME": scratch,
        "XDG_CACHE_HOME": scratch,
    }
    told = []
    for _ in range(repeats):
        done = subprocess.run(
            [sys.executable, "-c", _PAGE, scratch, library, str(index), str(SAMPLE)],
            capture_output=True,
            text=True,
            env=environment,
            timeout=120,
            check=False,
        )
        lines = [line.split() for line in done.stdout.splitlines() if line.startswith("page ")]
        if not lines:
            raise RuntimeError(f"the page did not open:\n{done.stderr[-2000:]}")
        told.append(lines[0])
    return (
        statistics.median(float(t[1]) for t in told),
        statistics.median(float(t[2]) for t in told),
        int(told[0][3]),
    )
