# SPDX-License-Identifier: GPL-3.0-or-later
"""A one-line label that shortens what does not fit; the whole text stays in the tooltip and for screen readers."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from nightplan.desk.widgets.short_label import tip_text


class ShortLabel(QLabel):
    """``hint``: of no use in part, so it is left out where it does not fit as a whole."""

    def __init__(self, text: str = "", parent: QWidget | None = None, *, hint: bool = False) -> None:
        super().__init__(parent)
        self._full = text
        self._hint = hint
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._shorten()

    @property
    def full_text(self) -> str:
        return self._full

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
