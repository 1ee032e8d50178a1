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
_TITLE_SHARE, _BAND_SHARE = 2, 5


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
        self._row.addLayout(titles, _TITLE_SHARE)
        self._row.addWidget(self.band, _BAND_SHARE)

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
        cards = self.band.row_width()
        # by letters, not by what stands there just now: typing must not make the header jump
        beside = self.width() >= _GAP + max(titles + cards, cards * (_TITLE_SHARE + _BAND_SHARE) // _BAND_SHARE)
        wanted = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        if self._row.direction() != wanted:
            self._row.setDirection(wanted)
            self._row.setSpacing(_GAP if beside else 6)
            self._row.setStretch(0, _TITLE_SHARE if beside else 0)
            self._row.setStretch(1, _BAND_SHARE if beside else 0)
