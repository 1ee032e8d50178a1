# SPDX-License-Identifier: GPL-3.0-or-later
"""Any long computation off the window's thread: the latest wins, an older one is called off.

A computation is given a :class:`Report`: it tells how far it is, and may give parts of its answer on the way.
"""

from __future__ import annotations

import contextlib
import threading
from collections import deque
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal, SignalInstance, Slot

from nightplan.model.errors import Cancelled, NightplanError


class Report:
    """What a computation tells while it is under way; each call raises Cancelled where it was called off."""

    def __init__(self, job: _Job) -> None:
        self._job = job

    def __call__(self, share: float) -> None:
        """The share that is done, 0 to 1."""
        self._job.tell(self._job.wires.progressed, share)

    def part(self, result: object) -> None:
        """An answer that a better one follows."""
        self._job.tell(self._job.wires.parted, result)

    @property
    def called_off(self) -> bool:
        """Nobody waits for the answer any more."""
        return self._job.called_off.is_set()


Work = Callable[[Report], Any]


class _Wires(QObject):
    ended = Signal(object)
    parted = Signal(object)
    progressed = Signal(object)


class _Job:
    def __init__(self, number: int, name: str, work: Work) -> None:
        self.number, self.name, self.work = number, name, work
        self.wires = _Wires()
        self.called_off = threading.Event()

    def run(self) -> None:
        result: Any = None
        error: BaseException | None = None
        try:
            result = self.work(Report(self))
        except Cancelled:
            return
        except BaseException as caught:  # told by the window's thread
            error = caught
        self.wires.ended.emit((self.number, self.name, result, error))

    def tell(self, wire: SignalInstance, what: object) -> None:
        if self.called_off.is_set():
            raise Cancelled
        wire.emit((self.number, self.name, what))


class _Runner(QRunnable):
    """Takes the next job that waits.

    One for all jobs: the pool's Python side never lets go of a runnable that it was once given.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self.waiting: deque[_Job] = deque()

    def run(self) -> None:
        try:
            job = self.waiting.popleft()
        except IndexError:
            # called off before it began
            return
        job.run()


class Background(QObject):
    """One computation at a time, by name; ``done`` gives (name, result), ``partly`` the same on the way there."""

    done = Signal(object)
    partly = Signal(object)
    #: a sentence, for what was refused
    refused = Signal(object)
    #: an exception, for a fault of ours
    failed = Signal(object)
    progressed = Signal(object)
    busy_changed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._runner = _Runner()
        self._number = 0
        self._current: int | None = None
        # kept until a later one is heard of: an object that a thread still runs must not be freed
        self._jobs: dict[int, _Job] = {}

    @property
    def busy(self) -> bool:
        return self._current is not None

    def start(self, name: str, work: Work) -> None:
        """Begin; ``work`` is given a :class:`Report`. What was begun before is called off."""
        self._call_off_jobs()
        self._number += 1
        job = _Job(self._number, name, work)
        self._jobs[self._number] = job
        job.wires.ended.connect(self._ended)
        job.wires.parted.connect(self._parted)
        job.wires.progressed.connect(self._progressed)
        self._set_current(self._number)
        self._runner.waiting.append(job)
        self._pool.start(self._runner)

    def call_off(self) -> None:
        """Stop what is under way; no answer comes."""
        self._call_off_jobs()
        self._set_current(None)

    def close(self) -> None:
        """Call off and wait for the thread to be free."""
        self.call_off()
        self._pool.waitForDone()
        self._jobs.clear()

    def _call_off_jobs(self) -> None:
        for number, job in list(self._jobs.items()):
            job.called_off.set()
            # one that has not begun never will
            with contextlib.suppress(ValueError):
                self._runner.waiting.remove(job)
                del self._jobs[number]

    def _set_current(self, number: int | None) -> None:
        was, self._current = self.busy, number
        if was != self.busy:
            self.busy_changed.emit(self.busy)

    @Slot(object)
    def _ended(self, told: tuple[int, str, Any, BaseException | None]) -> None:
        number, name, result, error = told
        self._jobs = {n: job for n, job in self._jobs.items() if n >= number}
        if number != self._current:
            return
        self._set_current(None)
        if error is None:
            self.done.emit((name, result))
        elif isinstance(error, NightplanError):
            self.refused.emit(str(error))
        else:
            self.failed.emit(error)

    @Slot(object)
    def _parted(self, told: tuple[int, str, Any]) -> None:
        if told[0] == self._current:
            self.partly.emit(told[1:])

    @Slot(object)
    def _progressed(self, told: tuple[int, str, float]) -> None:
        if told[0] == self._current:
            self.progressed.emit(told[2])
