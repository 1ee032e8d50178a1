# SPDX-License-Identifier: GPL-3.0-or-later
"""The line below the pages: the last sentence, and how far the odds are where they take their time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Slot
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QResizeEvent
from PySide6.QtWidgets import QProgressBar, QPushButton, QStatusBar, QWidget

if TYPE_CHECKING:
    from nightplan.desk.document import Document

#: progress is shown for what takes longer
SLOW_MS = 500
#: the toolkit writes the message with a little room at its left
_MARGIN = 12


class StatusLine(QStatusBar):
    """One sentence at a time; where there is no room for it, it ends in dots and stands whole in the tooltip."""

    def __init__(self, document: Document, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._sentence = ""
        self._parts: list[QWidget] = []
        self.setAccessibleName("Messages")
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Odds are being worked out")
        self.progress.setMaximumWidth(180)
        self.progress.setFormat("odds %p %")
        self.stop_button = QPushButton("Stop")
        self.stop_button.setAccessibleName("Stop working out the odds")
        self.stop_button.clicked.connect(self._stop_odds)
        for widget in (self.progress, self.stop_button):
            self.add_part(widget)
        self._slow = QTimer(self)
        self._slow.setSingleShot(True)
        self._slow.setInterval(SLOW_MS)
        self._slow.timeout.connect(self._show_progress)
        document.worker.busy_changed.connect(self._busy_changed)
        document.worker.progressed.connect(self._progressed)

    def add_part(self, widget: QWidget) -> None:
        """Something at the right end, hidden until it is wanted."""
        widget.hide()
        self.addPermanentWidget(widget)
        self._parts.append(widget)

    # --- the sentence ---

    @Slot(object)
    def say(self, sentence: str) -> None:
        """A sentence; it stays until the next one."""
        self._sentence = sentence
        self.setToolTip(sentence)
        self.setAccessibleDescription(sentence)
        self._fit()
        if QAccessible.isActive():
            # a status line that changes is not read aloud by itself
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, sentence))

    def currentMessage(self) -> str:
        """The whole sentence, also where only its beginning is seen."""
        return self._sentence

    def shown_message(self) -> str:
        """What is seen of it."""
        return super().currentMessage()

    def _fit(self) -> None:
        taken = sum(p.width() + 6 for p in self._parts if not p.isHidden())
        if self.isSizeGripEnabled():
            taken += self.height()
        room = max(0, self.width() - taken - _MARGIN)
        shown = self.fontMetrics().elidedText(self._sentence, Qt.TextElideMode.ElideRight, room)
        if shown != self.shown_message():
            self.showMessage(shown)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    # --- odds under way ---

    @Slot(object)
    def _busy_changed(self, busy: bool) -> None:
        if busy:
            if not self.progress.isVisible():
                self.progress.setValue(0)
                self._slow.start()
        else:
            self._slow.stop()
            self._show_odds(False)

    @Slot()
    def _show_progress(self) -> None:
        if self._document.worker.busy:
            self._show_odds(True)

    def _show_odds(self, shown: bool) -> None:
        self.progress.setVisible(shown)
        self.stop_button.setVisible(shown)
        self._fit()

    @Slot(object)
    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(share * 100))

    @Slot()
    def _stop_odds(self) -> None:
        self._document.worker.call_off()
        self.say("The odds shown are those of before; any change works them out again.")
