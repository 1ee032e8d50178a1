# SPDX-License-Identifier: GPL-3.0-or-later
"""One line of text that is shortened where there is no room; a screen reader is given all of it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from nightplan.desk.widgets.plain_label import PlainLabel, tip_text


class ElidedLabel(PlainLabel):
    """A plain label that may be narrower than its text."""

    def __init__(self, text: str = "", role: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, role, parent=parent)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        #: parts behind a dot in the middle of the line go as a whole, the last one first
        self.in_parts = False

    def minimumSizeHint(self) -> QSize:
        return QSize(0, super().minimumSizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        place = self.contentsRect()
        text = self.text()
        while self.in_parts and " · " in text and self.fontMetrics().horizontalAdvance(text) > place.width():
            text = text.rpartition(" · ")[0]
        shown = self.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, place.width())
        painter = QPainter(self)
        alignment = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.style().drawItemText(
            painter, place, alignment, self.palette(), self.isEnabled(), shown, self.foregroundRole()
        )
        painter.end()


class ShortLabel(QLabel):
    """The tool tip has all of it. ``hint``: of no use in part, so it is left out where it does not fit as a whole."""

    def __init__(self, text: str = "", parent: QWidget | None = None, *, hint: bool = False) -> None:
        super().__init__(parent)
        self._full = text
        self._hint = hint
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._shorten()

    def set_full_text(self, text: str) -> None:
        self._full = text
        self.setAccessibleDescription(text)
        self._shorten()

    def _shorten(self) -> None:
        metrics = self.fontMetrics()
        fits = metrics.horizontalAdvance(self._full) <= self.width()
        shown = self._full if fits else metrics.elidedText(self._full, Qt.TextElideMode.ElideRight, self.width())
        if self._hint and not fits:
            shown = ""
        if shown != self.text():
            self.setText(shown)
        self.setToolTip("" if fits else tip_text(self._full))

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self.fontMetrics().height() + 2)

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().horizontalAdvance(self._full), self.fontMetrics().height() + 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._shorten()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._shorten()
