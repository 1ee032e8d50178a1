# SPDX-License-Identifier: GPL-3.0-or-later
"""Long use of the desk in a short time: ``python benchmarks/bench_reliability_soak.py [--small] [--seed N]``.

10,000 actions of a hand (edits, ticks, undo, redo, pages, looks, saves, dialogs) in one window that is not on
any screen; memory, threads, timers, handles and objects after a third of them and at the end. And 500 walks
of undo and redo: everything undone gives the bytes of the start, everything done again those of the end.

The undo list is filled to its limit first. The odds come from few futures here: how many there are makes an
answer slow, not large.
"""

from __future__ import annotations

import argparse
import contextlib
import ctypes
import datetime as dt
import faulthandler
import gc
import os
import random
import statistics
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# growth is looked for, not pools of the allocator, of which each thread would get one
os.environ.setdefault("MALLOC_ARENA_MAX", "1")

from history_walks import INTENTS, walk
from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QDialog
from still_services import StillServices

import nightplan.engine.forecast as engine_forecast
from nightplan.actions.history import LIMIT
from nightplan.desk.app import Desk, make_app
from nightplan.desk.background import Background
from nightplan.desk.pages import PAGES
from nightplan.files.data import data_folder
from nightplan.model.errors import BadInput

ACTIONS, WALKS = 10_000, 500
SMALL_ACTIONS, SMALL_WALKS = 150, 12
FUTURES = 200
MOST_GROWTH = 0.05
SAMPLES_EACH = 7
DAY = dt.date(2027, 10, 14)


class Soak:
    """One window and a hand that is never still."""

    def __init__(self, seed: int, folder: Path) -> None:
        engine_forecast.FUTURES = FUTURES
        self.rng = random.Random(f"soak {seed}")
        self.app = make_app(["nightplan"])
        self.desk = Desk(self.app, StillServices(folder, DAY))
        self.faults: list[str] = []
        sys.excepthook = self._fault
        self.file = folder / "soak.nightplan"
        self.file.write_bytes((data_folder("sample_projects") / "moth-and-lantern.nightplan").read_bytes())
        self.window = self.desk.window(str(self.file))
        self.window.resize(1280, 800)
        self.spin()
        self.window.work.missed_asked = True
        self.done: Counter[str] = Counter()
        self.steps: list[tuple[Callable[[], None], int]] = [
            (self.edit, 46), (self.undo, 12), (self.redo, 8), (self.turn, 12), (self.save, 5), (self.look, 2),
            (self.larger, 1), (self.settings, 3), (self.missed, 2), (self.versions, 2), (self.wizard, 1),
            (self.menu, 3), (self.shrink, 2), (self.revert, 1),
        ]  # fmt: skip

    def _fault(self, kind: type[BaseException], error: BaseException, trace: Any) -> None:
        import traceback

        text = "".join(traceback.format_exception(kind, error, trace))
        self.faults.append(text)
        sys.stderr.write(text)

    def spin(self, times: int = 3) -> None:
        for _ in range(times):
            self.app.processEvents()

    def act(self) -> None:
        """One action, and what follows from it at once."""
        step = self.rng.choices([s for s, _ in self.steps], [n for _, n in self.steps])[0]
        try:
            step()
            self.done[step.__name__] += 1
        except BadInput:
            self.done["refused"] += 1
        self.spin()

    def fill_history(self, steps: int) -> None:
        """An undo list that is as long as it gets: while it grows, memory does."""
        history = self.window.document.history
        assert history is not None
        while len(history.steps) < steps:
            try:
                history.push("step", self.rng.choice(INTENTS)(self.rng, history.project))
            except BadInput:
                continue
        self.window.document.undo()

    # ---- actions ---------------------------------------------------------------------------------
    def edit(self) -> None:
        intent = self.rng.choice(INTENTS)
        self.window.host.change_or_raise(intent.__name__, lambda p: intent(self.rng, p))

    def undo(self) -> None:
        for _ in range(self.rng.choice((1, 1, 2, 5))):
            self.window.document.undo()

    def redo(self) -> None:
        for _ in range(self.rng.choice((1, 2, 4))):
            self.window.document.redo()

    def turn(self) -> None:
        self.window.go_to(self.rng.choice(list(PAGES)))

    def save(self) -> None:
        self.window.save()

    def look(self) -> None:
        self.window.themes.choose(self.rng.choice(("night", "light")))

    def larger(self) -> None:
        self.window.themes.set_percent(self.rng.choice((100, 100, 150)))

    def shrink(self) -> None:
        self.window.resize(self.rng.choice((900, 1280, 1500)), self.rng.choice((640, 800)))

    def revert(self) -> None:
        self.window.document.revert()

    def settings(self) -> None:
        self.window.work.edit_settings()
        self.close_dialogs()

    def missed(self) -> None:
        self.window.work.ask_missed()
        self.close_dialogs()

    def versions(self) -> None:
        self.window.files.earlier_versions()
        self.close_dialogs()

    def wizard(self) -> None:
        self.window.files.begin_new()
        self.close_dialogs()

    def menu(self) -> None:
        menus = [action.menu() for action in self.window.menuBar().actions() if action.menu() is not None]
        self.rng.choice(menus).aboutToShow.emit()  # type: ignore[attr-defined]

    def close_dialogs(self) -> None:
        self.spin(2)
        for widget in self.app.topLevelWidgets():
            if isinstance(widget, QDialog) and widget.isVisible():
                widget.reject()
        self.spin(2)

    # ---- what is held ----------------------------------------------------------------------------
    def rest(self, seconds: float = 60.0) -> None:
        """Until nothing works in the background any more; then what is not needed is let go of."""
        self.close_dialogs()
        self.window.themes.choose("night")
        self.window.themes.set_percent(100)
        self.window.resize(1280, 800)
        for key in PAGES:
            # every page is there and has been told of the project
            self.window.go_to(key)
            self.spin()
        self.window.go_to("plan")
        end = time.monotonic() + seconds
        calm = 0
        while calm < 5 and time.monotonic() < end:
            self.spin()
            busy = not self.window.stack.all_told or any(b.busy for b in self.app.findChildren(Background))
            busy = busy or any(b.busy for b in self.window.findChildren(Background))
            calm = 0 if busy else calm + 1
            time.sleep(0.02)
        for _ in range(3):
            self.app.sendPostedEvents(None, 52)  # QEvent.DeferredDelete
            self.spin()
            gc.collect()
        _trim()

    def held(self) -> dict[str, float]:
        """Megabytes, and how many threads, handles, objects, running timers, windows and actions there are."""
        objects = [o for top in self.app.topLevelWidgets() for o in (top, *top.findChildren(QObject))]
        objects += self.app.findChildren(QObject)
        timers = sum(isinstance(o, QTimer) and o.isActive() and not o.isSingleShot() for o in objects)
        return {
            "memory": _megabytes(),
            "threads": float(_threads()),
            "handles": float(_handles()),
            "objects": float(len(objects)),
            "timers": float(timers),
            "windows": float(len(self.app.topLevelWidgets())),
            "actions": float(sum(isinstance(o, QAction) for o in objects)),
            "ours": float(_ours()),
        }

    def end(self) -> None:
        self.window.document.history.mark_saved()  # type: ignore[union-attr]
        self.window.close()
        self.spin()
        self.desk.shut()
        sys.excepthook = sys.__excepthook__


def _megabytes() -> float:
    """Resident memory of this process; 0 where the system does not say."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except OSError:
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def _threads() -> int:
    try:
        return len(os.listdir("/proc/self/task"))
    except OSError:
        return threading.active_count()


def _handles() -> int:
    try:
        return len(os.listdir("/proc/self/fd"))
    except OSError:
        return 0


def _ours() -> int:
    """Objects of our own classes, there or gone, that Python still knows.

    Of the toolkit's own, counting them with ``findChildren`` makes more: what Python knows of them is no measure.
    """
    return sum(isinstance(o, QObject) and type(o).__module__.startswith("nightplan") for o in gc.get_objects())


def _trim() -> None:
    """Give back what the allocator keeps for later; only glibc has it."""
    with contextlib.suppress(AttributeError, OSError):
        ctypes.CDLL(None).malloc_trim(0)


def soak(actions: int, seed: int, tell: Callable[[str], None] = lambda _text: None) -> dict[str, Any]:
    """The actions, with samples of what is held: some after a third, some at the end."""
    with tempfile.TemporaryDirectory(prefix="nightplan-soak-") as place:
        os.environ["NIGHTPLAN_LOG_DIR"] = os.environ["NIGHTPLAN_DATA_DIR"] = place
        os.environ["NIGHTPLAN_SETTINGS"] = place
        run = Soak(seed, Path(place))
        run.fill_history(LIMIT if actions >= ACTIONS else 50)
        third = actions // 3
        gap = max(1, actions // 60)
        wanted = {third + n * gap for n in range(SAMPLES_EACH)} | {actions - n * gap for n in range(SAMPLES_EACH)}
        samples: list[tuple[int, dict[str, float]]] = []
        for n in range(1, actions + 1):
            run.act()
            if n in wanted or n % 500 == 0:
                run.rest()
                held = run.held()
                if n in wanted:
                    samples.append((n, held))
                tell(f"{n}: " + ", ".join(f"{k} {v:.0f}" for k, v in held.items()))
        early = [h for n, h in samples if n < (third + actions) // 2]
        late = [h for n, h in samples if n >= (third + actions) // 2]
        keys = samples[0][1]
        found = {
            "actions": sum(run.done.values()),
            "done": dict(run.done),
            "early": {k: statistics.median(h[k] for h in early) for k in keys},
            "late": {k: statistics.median(h[k] for h in late) for k in keys},
            # threads of a pool and rows of a page come and go; what leaks stays
            "most": {k: max(h[k] for h in early) for k in keys},
            "least": {k: min(h[k] for h in late) for k in keys},
            "faults": list(run.faults),
        }
        run.end()
    return found


def judged(found: dict[str, Any]) -> list[str]:
    """What grew beyond measure."""
    early, late = found["early"], found["late"]
    grew = [f"a fault: {found['faults'][0].strip().splitlines()[-1]}"] if found["faults"] else []
    # a slice is over before the memory has settled
    if found["actions"] >= ACTIONS // 2 and late["memory"] > early["memory"] * (1 + MOST_GROWTH):
        grew.append(f"memory: {early['memory']:.0f} to {late['memory']:.0f} MB")
    for key in ("threads", "handles", "timers", "windows", "objects", "ours"):
        if found["least"][key] > found["most"][key]:
            grew.append(f"{key}: {found['most'][key]:.0f} to {found['least'][key]:.0f}")
    return grew


def main(small: bool = False, seed: int = 1, tell: Callable[[str], None] = lambda _text: None) -> list[tuple[str, ...]]:
    """Rows of (what is done, how often, what came of it, what grew or broke)."""
    found = soak(SMALL_ACTIONS if small else ACTIONS, seed, tell)
    grew = judged(found)
    early, late = found["early"], found["late"]
    for fault in found["faults"][:5]:
        tell(fault)
    share = late["memory"] / early["memory"] - 1 if early["memory"] else 0.0
    kept = ", ".join(f"{k} {early[k]:.0f} → {late[k]:.0f}" for k in ("threads", "timers", "handles", "objects"))
    rows = [
        (
            "actions in one window",
            f"{found['actions']:,}",
            f"memory {early['memory']:.0f} → {late['memory']:.0f} MB ({share:+.1%}); {kept}",
            "; ".join(grew) or "0",
        )
    ]
    walks = [walk(seed * 100_000 + n, 25) for n in range(SMALL_WALKS if small else WALKS)]
    wrong = [sentence for _, _, said in walks for sentence in said]
    for sentence in wrong[:5]:
        tell(sentence)
    rows.append(
        (
            "walks of undo and redo",
            f"{len(walks):,}",
            f"{sum(t for t, _, _ in walks):,} steps; the bytes of the start and of the end, every time",
            str(len(wrong)),
        )
    )
    return rows


HEADINGS = ("what is done", "how often", "what came of it (after a third → at the end)", "grew or broke")

if __name__ == "__main__":
    from bench_reliability_hostile import table

    faulthandler.enable()
    parser = argparse.ArgumentParser(description="Long use of the desk in a short time.")
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    made = main(given.small, given.seed, lambda text: print(text, file=sys.stderr, flush=True))
    print(table(made, HEADINGS))
    sys.stdout.flush()
    # the toolkit's own end is not what is measured
    os._exit(any(row[-1] != "0" for row in made))
