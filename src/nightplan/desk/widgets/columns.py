# SPDX-License-Identifier: GPL-3.0-or-later
"""What does not fit is scrolled, and what stands side by side goes one above the other where there is little room."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QScrollArea, QVBoxLayout, QWidget


class Scrolled(QScrollArea):
    """A widget that is scrolled without a frame around it; the keyboard goes to what is within."""

    def __init__(self, inner: QWidget, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(name)
        inner.setProperty("role", "ground")
        self.setWidget(inner)


class Columns(Scrolled):
    """Cards in columns, one above the other with large letters or in a small window."""

    def __init__(self, name: str, sides: Sequence[Sequence[QWidget]], shares: Sequence[int] | None = None) -> None:
        inner = QWidget()
        self._row = QBoxLayout(QBoxLayout.Direction.LeftToRight, inner)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(10)
        for n, cards in enumerate(sides):
            column = QVBoxLayout()
            column.setSpacing(10)
            for each in cards:
                column.addWidget(each)
            column.addStretch(1)
            self._row.addLayout(column, shares[n] if shares else 1)
        super().__init__(inner, name)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        turn_to_fit(self._row, self, 120)


def fill(page: QWidget, area: QScrollArea) -> None:
    """Nothing but the area on a page."""
    outer = QVBoxLayout(page)
    outer.setContentsMargins(0, 0, 0, 0)
    outer.addWidget(area)


def turn(row: QBoxLayout, *, beside: bool) -> None:
    """Side by side, or one above the other."""
    way = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
    if row.direction() != way:
        row.setDirection(way)


def turn_to_fit(row: QBoxLayout, widget: QWidget, letters: int) -> None:
    """Side by side where the widget is so many letters wide."""
    turn(row, beside=widget.width() / max(1, widget.fontMetrics().averageCharWidth()) >= letters)
