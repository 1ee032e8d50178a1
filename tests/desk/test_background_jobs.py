# SPDX-License-Identifier: GPL-3.0-or-later
"""Computing off the window's thread holds on to nothing, however often it is done. Common practice, no source."""

from __future__ import annotations

import gc
import threading

from pytestqt.qtbot import QtBot

from nightplan.desk.background import Background, Report, _Job, _Wires


def held() -> tuple[int, int]:
    gc.collect()
    there = gc.get_objects()
    return sum(isinstance(o, _Job) for o in there), sum(isinstance(o, _Wires) for o in there)


def test_jobs_that_are_done_are_let_go_of(qtbot: QtBot) -> None:
    before = held()
    worker = Background()
    for _ in range(30):
        worker.start("sum", lambda report: 1)
        qtbot.waitUntil(lambda: not worker.busy)
    jobs, wires = held()
    assert (jobs - before[0], wires - before[1]) == (1, 1)
    worker.close()
    assert held() == before
    worker.deleteLater()


def test_jobs_that_never_began_are_let_go_of_and_never_run(qtbot: QtBot) -> None:
    before = held()
    worker = Background()
    begun, go = threading.Event(), threading.Event()
    ran: list[int] = []

    def first(_report: Report) -> int:
        begun.set()
        go.wait(30)
        return 0

    worker.start("first", first)
    assert begun.wait(30)
    for n in range(30):
        worker.start("next", lambda report, n=n: ran.append(n))  # type: ignore[misc]
    go.set()
    qtbot.waitUntil(lambda: not worker.busy)
    # those in between were called off before they began
    assert ran == [29]
    worker.close()
    assert held() == before
    worker.deleteLater()
