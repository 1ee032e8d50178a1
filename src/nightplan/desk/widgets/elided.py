# SPDX-License-Identifier: GPL-3.0-or-later
"""One line of text that ends in dots where there is no room; a screen reader is given all of it."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from nightplan.desk.widgets.short_label import PlainLabel


class ElidedLabel(PlainLabel):
    """A plain label that may be narrower than its text."""

    def __init__(self, text: str = "", role: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, role, parent=parent)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        #: parts behind a dot in the middle of the line go as a whole, the last one first
        self.in_parts = False

    def minimumSizeHint(self) -> QSize:
        return QSize(0, super().minimumSizeHint().height())

    def is_cut(self) -> bool:
        """There is more than can be seen."""
        return self.fontMetrics().horizontalAdvance(self.text()) > self.contentsRect().width()

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
