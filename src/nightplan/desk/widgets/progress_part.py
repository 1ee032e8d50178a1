# SPDX-License-Identifier: GPL-3.0-or-later
"""How far something is that takes its time, with a button that stops it; for the line below the pages."""

from __future__ import annotations

from PySide6.QtCore import QTimer, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QSizePolicy, QWidget

#: progress is shown for what takes longer
SLOW_MS = 500


class ProgressPart(QWidget):
    """Hidden until something has been under way for half a second. ``changed`` when it comes or goes."""

    stop_wanted = Signal()
    changed = Signal()

    def __init__(self, stop: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        self.bar = QProgressBar()
        self.bar.setRange(0, 100)
        self.bar.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self.stop_button = QPushButton(stop)
        self.stop_button.clicked.connect(self.stop_wanted)
        row.addWidget(self.bar)
        row.addWidget(self.stop_button)
        self._slow = QTimer(self)
        self._slow.setSingleShot(True)
        self._slow.setInterval(SLOW_MS)
        self._slow.timeout.connect(self._show)
        self.hide()

    def name(self, what: str, words: str, stop: str) -> None:
        """What is under way: as heard, as seen on the bar (``%p`` is the share in 100), and what the button does."""
        self.setAccessibleName(what)
        self.bar.setAccessibleName(what)
        self.bar.setToolTip(what)
        self.bar.setFormat(words)
        self.bar.setFixedWidth(self.bar.fontMetrics().horizontalAdvance(words.replace("%p", "100")) + 40)
        self.stop_button.setAccessibleName(stop)

    def begin(self) -> None:
        """Something began; what is shown already stays."""
        if self.isHidden():
            self.bar.setValue(0)
            self._slow.start()

    @Slot(object)
    def tell(self, share: float) -> None:
        """The share that is done, 0 to 1."""
        self.bar.setValue(round(share * 100))

    def end(self) -> None:
        """It is over, or was stopped."""
        self._slow.stop()
        if not self.isHidden():
            self.hide()
            self.changed.emit()

    @Slot()
    def _show(self) -> None:
        self.show()
        self.changed.emit()
