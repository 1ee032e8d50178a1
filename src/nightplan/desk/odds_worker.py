# SPDX-License-Identifier: GPL-3.0-or-later
"""Odds in the background: the latest question wins, an older one is called off."""

from __future__ import annotations

import datetime as dt
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal, Slot

from nightplan.model.errors import BadInput, Cancelled

if TYPE_CHECKING:
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan

#: the first answer comes from so many of the same futures, for the hand that is still typing
QUICK = 2_000


@dataclass(frozen=True)
class Answer:
    """Plan and odds of one project on one day."""

    number: int
    project: Project
    as_of: dt.date
    plan: Plan
    forecast: Forecast
    #: all futures were drawn
    whole: bool


class _Wires(QObject):
    answered = Signal(object)
    refused = Signal(object)
    failed = Signal(object)
    progressed = Signal(object)


class _Job(QRunnable):
    def __init__(self, number: int, project: Project, as_of: dt.date, quick: bool) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self.number, self.project, self.as_of, self.quick = number, project, as_of, quick
        self.wires = _Wires()
        self.called_off = threading.Event()

    def run(self) -> None:
        try:
            # loaded when it is first wanted: the window is painted before that
            from nightplan.engine.forecast import FUTURES, forecast
            from nightplan.engine.plan import plan

            planned = plan(self.project, self.as_of)
            for futures in (QUICK, FUTURES) if self.quick else (FUTURES,):
                found = forecast(self.project, self.as_of, futures=futures, progress=self._progress)
                self._progress(1.0)
                self.wires.answered.emit(
                    Answer(self.number, self.project, self.as_of, planned, found, futures == FUTURES)
                )
        except Cancelled:
            pass
        except BadInput as error:
            self.wires.refused.emit((self.number, error.sentence))
        except BaseException as error:  # a worker's fault is shown by the window's thread
            self.wires.failed.emit((self.number, error))

    def _progress(self, share: float) -> None:
        if self.called_off.is_set():
            raise Cancelled
        self.wires.progressed.emit((self.number, share))


class OddsWorker(QObject):
    """Asks for odds without holding up the window. One question is under way at a time."""

    answered = Signal(object)
    #: the project has no usable answer; a sentence
    refused = Signal(object)
    failed = Signal(object)
    #: share done of the present question, 0 to 1
    progressed = Signal(object)
    busy_changed = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._number = 0
        #: the question under way
        self._current: int | None = None
        # kept until a later one is heard of: with one thread, all earlier ones have ended by then,
        # and an object that a thread still runs must not be freed
        self._jobs: dict[int, _Job] = {}

    @property
    def busy(self) -> bool:
        return self._current is not None

    def ask(self, project: Project, as_of: dt.date, *, quick: bool = True) -> int:
        """Ask; what was asked before is called off. Returns the question's number."""
        self._call_off_jobs()
        self._number += 1
        job = _Job(self._number, project, as_of, quick)
        self._jobs[self._number] = job
        job.wires.answered.connect(self._answered)
        job.wires.refused.connect(self._refused)
        job.wires.failed.connect(self._failed)
        job.wires.progressed.connect(self._progressed)
        self._set_current(self._number)
        self._pool.start(job)
        return self._number

    def call_off(self) -> None:
        """Stop what is under way; no answer comes."""
        self._call_off_jobs()
        self._set_current(None)

    def _call_off_jobs(self) -> None:
        for number, job in list(self._jobs.items()):
            job.called_off.set()
            # one that has not begun never will
            if self._pool.tryTake(job):
                del self._jobs[number]

    def close(self) -> None:
        """Call off and wait for the thread to be free."""
        self.call_off()
        self._pool.waitForDone()
        self._jobs.clear()

    def _set_current(self, number: int | None) -> None:
        was, self._current = self.busy, number
        if was != self.busy:
            self.busy_changed.emit(self.busy)

    def _heard_of(self, number: int) -> bool:
        """Whether the number is the question under way; earlier jobs are let go."""
        self._jobs = {n: job for n, job in self._jobs.items() if n >= number}
        return number == self._current

    @Slot(object)
    def _answered(self, answer: Answer) -> None:
        if self._heard_of(answer.number):
            if answer.whole:
                self._set_current(None)
            self.answered.emit(answer)

    @Slot(object)
    def _refused(self, told: tuple[int, str]) -> None:
        if self._heard_of(told[0]):
            self._set_current(None)
            self.refused.emit(told[1])

    @Slot(object)
    def _failed(self, told: tuple[int, BaseException]) -> None:
        if self._heard_of(told[0]):
            self._set_current(None)
            self.failed.emit(told[1])

    @Slot(object)
    def _progressed(self, told: tuple[int, float]) -> None:
        if told[0] == self._current:
            self.progressed.emit(told[1])
