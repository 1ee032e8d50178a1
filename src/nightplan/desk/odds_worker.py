# SPDX-License-Identifier: GPL-3.0-or-later
"""Odds in the background: a first answer from few futures, then that of all; the latest question wins."""

from __future__ import annotations

import datetime as dt
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from nightplan.desk.background import Background, Report

if TYPE_CHECKING:
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan

#: the window draws the first answer before the work on the second begins, which would slow it down
_DRAWN_MS, _DRAWN_SECONDS = 60, 0.25

#: the first answer comes from so many of the same futures, for the hand that is still typing
QUICK = 2_000


@dataclass(frozen=True)
class Answer:
    """Plan and odds of one project on one day."""

    project: Project
    as_of: dt.date
    plan: Plan
    forecast: Forecast
    #: all futures were drawn
    whole: bool


class OddsWorker(Background):
    """Asks for odds without holding up the window; ``answered`` gives one Answer or two."""

    answered = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        #: the first answer to the present question has been drawn
        self._drawn = threading.Event()
        self.partly.connect(self._parted_answer)
        self.done.connect(self._answered)

    def ask(self, project: Project, as_of: dt.date, *, quick: bool = True) -> None:
        """Ask; what was asked before is called off. Without ``quick`` only the answer of all futures comes."""

        drawn = threading.Event()

        def work(report: Report) -> Answer:
            # loaded when it is first wanted: the window is painted before that
            from nightplan.engine.forecast import FUTURES, forecast
            from nightplan.engine.plan import plan

            planned = plan(project, as_of)
            if quick:
                first = forecast(project, as_of, futures=QUICK, progress=report)
                report.part(Answer(project, as_of, planned, first, whole=False))
                drawn.wait(_DRAWN_SECONDS)
            found = forecast(project, as_of, futures=FUTURES, progress=report)
            report(1.0)
            return Answer(project, as_of, planned, found, whole=True)

        self.start("odds", work)
        # from here on: to start lets go of the question before, which may be waiting to be drawn
        self._drawn = drawn

    @Slot(object)
    def _parted_answer(self, told: tuple[str, Answer]) -> None:
        drawn = self._drawn
        self._answered(told)
        # what the answer asked for is on its way by then: it waits for nothing but its turn
        QTimer.singleShot(_DRAWN_MS, drawn.set)

    def _call_off_jobs(self) -> None:
        self._drawn.set()
        super()._call_off_jobs()

    @Slot(object)
    def _answered(self, told: tuple[str, Answer]) -> None:
        self.answered.emit(told[1])
