# SPDX-License-Identifier: GPL-3.0-or-later
"""How far something is that takes its time, with a button that stops it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QSizePolicy, QWidget

if TYPE_CHECKING:
    from nightplan.desk.background import Background

#: progress is shown for what takes longer
SLOW_MS = 500


class ProgressPart(QWidget):
    """Hidden until something has been under way for half a second, or until it begins (``at_once``).

    As wide as its words, or as there is room (``wide``). ``changed`` when it comes or goes.
    """

    stop_wanted = Signal()
    changed = Signal()

    def __init__(self, stop: str, *, at_once: bool = False, wide: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wide = wide
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        self.bar = QProgressBar()
        self.bar.setRange(0, 100)
        across = QSizePolicy.Policy.Expanding if wide else QSizePolicy.Policy.Fixed
        self.bar.setSizePolicy(across, QSizePolicy.Policy.Preferred)
        self.stop_button = QPushButton(stop)
        self.stop_button.clicked.connect(self.stop_wanted)
        row.addWidget(self.bar)
        row.addWidget(self.stop_button)
        self._slow = QTimer(self)
        self._slow.setSingleShot(True)
        self._slow.setInterval(0 if at_once else SLOW_MS)
        self._slow.timeout.connect(self._show)
        self.hide()

    def name(self, what: str, words: str, stop: str) -> None:
        """What is under way: as heard, as seen on the bar (``%p`` is the share in 100), and what the button does."""
        self.setAccessibleName(what)
        self.bar.setAccessibleName(what)
        self.bar.setToolTip(what)
        self.bar.setFormat(words)
        self.stop_button.setAccessibleName(stop)
        self._fit()

    def follow(self, work: Background) -> None:
        """Show how far ``work`` is while it is busy, from now on where it is busy already."""
        work.busy_changed.connect(self._busy_changed)
        work.progressed.connect(self.tell)
        if work.busy:
            self.begin()

    def _fit(self) -> None:
        if not self._wide:
            words = self.bar.format().replace("%p", "100")
            self.bar.setFixedWidth(self.bar.fontMetrics().horizontalAdvance(words) + 40)

    def begin(self) -> None:
        """Something began; what is shown already stays."""
        if not self.isHidden():
            return
        self.bar.setValue(0)
        if self._slow.interval():
            self._slow.start()
        else:
            self._show()

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

    @Slot(object)
    def _busy_changed(self, busy: bool) -> None:
        if busy:
            self.begin()
        else:
            self.end()

    @Slot()
    def _show(self) -> None:
        # the letters may have another size by now
        self._fit()
        self.show()
        self.changed.emit()
