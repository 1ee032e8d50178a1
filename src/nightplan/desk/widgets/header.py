# SPDX-License-Identifier: GPL-3.0-or-later
"""Title and odds above the pages: side by side where there is room, else one above the other."""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from nightplan.desk.theme import Theme
from nightplan.desk.widgets.elided import ElidedLabel
from nightplan.desk.widgets.odds_band import OddsBand

_GAP = 16
#: the title is not made narrower than so many letters for the cards' sake
_TITLE_LETTERS = 16


class Header(QWidget):
    """``title``, ``sub`` and the ``band`` of odds."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self.sub = ElidedLabel(role="title"), ElidedLabel(role="muted")
        self.band = OddsBand(theme)
        titles = QVBoxLayout()
        titles.setSpacing(2)
        titles.addWidget(self.title)
        titles.addWidget(self.sub)
        titles.addStretch(1)
        self._row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(_GAP)
        self._row.addLayout(titles, 2)
        self._row.addWidget(self.band, 5)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def event(self, event: QEvent) -> bool:
        # a title, odds or a text size changed
        if event.type() == QEvent.Type.LayoutRequest:
            self._arrange()
        return super().event(event)

    def _arrange(self) -> None:
        titles = self.title.fontMetrics().averageCharWidth() * _TITLE_LETTERS
        beside = self.width() >= max(titles + _GAP + self.band.row_width(), self.band.row_width() * 7 // 5)
        wanted = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if self._row.direction() != wanted:
            self._row.setDirection(wanted)
            self._row.setSpacing(_GAP if beside else 6)
            self._row.setStretch(0, 2 if beside else 0)
            self._row.setStretch(1, 5 if beside else 0)
