# SPDX-License-Identifier: GPL-3.0-or-later
"""A clock that counts the hours of an evening: started, stopped, gone on with."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer, QTimer, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from nightplan.desk import words
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.speech import tr


class EveningClock(QWidget):
    """``started``, and ``stopped`` when its hours are to be filled in."""

    started = Signal()
    stopped = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        #: counted so far, without the run that is under way
        self.hours = 0.0
        self._clock = QElapsedTimer()
        self._beat = QTimer(self)
        self._beat.setInterval(1000)
        self._beat.timeout.connect(self._tell_time)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        self.button = QPushButton()
        self.button.clicked.connect(self.press)
        self.label = PlainLabel()
        self.label.setProperty("role", "muted")
        row.addWidget(self.button)
        row.addWidget(self.label, 1)
        self.reset()

    @property
    def running(self) -> bool:
        return self._clock.isValid()

    def _say(self, text: str, name: str) -> None:
        self.button.setText(text)
        self.button.setAccessibleName(name)

    def reset(self) -> None:
        """Nothing is counted; for the next evening."""
        self.hours = 0.0
        self._say(tr("Start the &clock"), tr("Start the clock"))
        self.label.setText(tr("It fills in the hours for you."))

    @Slot()
    def press(self) -> None:
        if self.running:
            self.hours += self._clock.elapsed() / 3_600_000
            self._clock.invalidate()
            self._beat.stop()
            self._say(tr("Go &on with the clock"), tr("Go on with the clock"))
            self.label.setText(tr("{hours} by the clock, filled in.", hours=words.hours(self.hours)))
            self.stopped.emit()
            return
        self.started.emit()
        self._clock.start()
        self._beat.start()
        self._say(tr("Stop the &clock"), tr("Stop the clock"))
        self._tell_time()

    @Slot()
    def _tell_time(self) -> None:
        seconds = int(self.hours * 3600 + self._clock.elapsed() / 1000)
        self.label.setText(f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}")
