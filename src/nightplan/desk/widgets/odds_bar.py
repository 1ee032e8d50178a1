# SPDX-License-Identifier: GPL-3.0-or-later
"""Odds before and after on one bar, with the asked odds as a mark; the numbers stand above it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QAccessible, QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.plain_label import PlainLabel, tip_text
from nightplan.speech import tr
from nightplan.speech.words import per_100


class _Bar(QWidget):
    told_as = QAccessible.Role.Graphic

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.before = self.after = 0.0
        self.target = 0.8
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(120, max(14, self.fontMetrics().height() * 4 // 5))

    def minimumSizeHint(self) -> QSize:
        return QSize(70, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        try:
            p.setRenderHint(QPainter.RenderHint.Antialiasing)
            wide, high = self.width() - 2.0, self.height()
            thick = high * 0.7
            top = (high - thick) / 2
            p.setPen(QPen(QColor(self.theme.border), 1))
            p.setBrush(QColor(self.theme.field))
            p.drawRoundedRect(QRectF(0.5, top, wide, thick), 3, 3)
            p.setPen(QPen(QColor(self.theme.panel), 0))
            low, more = sorted((self.before, self.after))
            p.setBrush(QColor(self.theme.muted))
            p.drawRoundedRect(QRectF(1, top + 1, max(2.0, wide * low), thick - 2), 2, 2)
            if more - low > 0.002:
                gained = self.after > self.before
                p.setBrush(QColor(self.theme.good if gained else self.theme.bad))
                p.drawRect(QRectF(1 + wide * low, top + 1, wide * (more - low), thick - 2))
            x = 1 + wide * self.target
            # a rim of the ground keeps the mark apart from what lies under it
            p.setPen(QPen(QColor(self.theme.panel), 6))
            p.drawLine(round(x), 0, round(x), high)
            p.setPen(QPen(QColor(self.theme.accent), 2))
            p.drawLine(round(x), 0, round(x), high)
        finally:
            p.end()


class OddsBar(QWidget):
    """``54 → 71`` above a bar."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        self.label = PlainLabel()
        self.bar = _Bar(theme)
        column.addWidget(self.label)
        column.addWidget(self.bar)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._least = self.fontMetrics().averageCharWidth() * 18
        self.setMinimumWidth(self._least)

    def set_theme(self, theme: Theme) -> None:
        self.bar.theme = theme
        self.bar.update()

    def say(self, gate: str, before: float, after: float, target: float) -> None:
        was, now = (per_100(v) for v in (before, after))
        self.label.setText(f"{gate} {was} → {now}")
        self.setMinimumWidth(max(self._least, self.label.sizeHint().width()))
        self.bar.before, self.bar.after, self.bar.target = before, after, target
        self.bar.update()
        self.setAccessibleName(
            tr(
                "{gate}: {before} before, {after} after",
                gate=gate,
                before=words.in_100(before),
                after=words.in_100(after),
            )
        )
        self.bar.setAccessibleName(self.accessibleName())
        self.setToolTip(tip_text(tr("{odds}; the line marks what you asked for", odds=self.accessibleName())))
