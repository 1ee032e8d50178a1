# SPDX-License-Identifier: GPL-3.0-or-later
"""What the marks of the strip mean: a row of swatches with a word beside each."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QAccessible, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from nightplan.desk.widgets.strip_paint import Inks, hatching, mix
from nightplan.speech import tr, trc

_ENTRIES = (
    ("sure", trc("of an evening", "sure")),
    ("maybe", trc("of an evening", "maybe")),
    ("buffer", tr("buffer, kept free")),
    ("relied", tr("maybe, but needed")),
    ("lost", trc("of an evening", "lost")),
    ("unlogged", tr("not logged yet")),
    ("late", tr("too late for its gate")),
    ("job", tr("machine job")),
)


class StripKey(QWidget):
    """Takes as many lines as it needs."""

    told_as = QAccessible.Role.Graphic

    def __init__(self, inks: Inks, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._inks = inks
        self.setAccessibleName(tr("What the marks of the strip mean"))
        self.setAccessibleDescription(
            tr(
                "Solid outline: sure. Dashed outline: maybe. Hatched: buffer, kept free. Amber dashes: a maybe "
                "evening that the plan needs. Empty outline: lost. Question mark: not logged yet. "
                "Red edge: work too late for its gate."
            )
        )
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def set_inks(self, inks: Inks) -> None:
        self._inks = inks
        self.update()

    def _font(self) -> QFont:
        font = QFont(self.font())
        if font.pointSizeF() > 0:
            font.setPointSizeF(max(6.0, font.pointSizeF() * 0.9))
        return font

    def _places(self, width: int) -> tuple[list[tuple[str, str, float, float]], float]:
        metrics = QFontMetricsF(self._font())
        line, swatch = metrics.height(), metrics.height() * 1.1
        places = []
        x = y = 0.0
        for kind, text in _ENTRIES:
            w = swatch + 5 + metrics.horizontalAdvance(text) + line
            if x and x + w - line > width:
                x, y = 0.0, y + line + 4
            places.append((kind, text, x, y))
            x += w
        return places, y + line + 2

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return int(self._places(width)[1]) + 1

    def sizeHint(self) -> QSize:
        return QSize(400, self.heightForWidth(max(400, self.width())))

    def minimumSizeHint(self) -> QSize:
        return QSize(120, self.heightForWidth(max(120, self.width())))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.updateGeometry()

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        try:
            p.setRenderHint(QPainter.RenderHint.Antialiasing)
            p.setFont(self._font())
            metrics = QFontMetricsF(self._font())
            line = metrics.height()
            for kind, text, x, y in self._places(self.width())[0]:
                self._swatch(p, kind, QRectF(x + 0.5, y + 1.5, line * 1.1 - 1, line - 3))
                p.setPen(self._inks.muted)
                p.drawText(QRectF(x + line * 1.1 + 5, y, 1000, line), Qt.AlignmentFlag.AlignVCenter, text)
        finally:
            p.end()

    def _swatch(self, p: QPainter, kind: str, box: QRectF) -> None:
        inks = self._inks
        grey = mix(inks.muted, inks.panel, 0.35)
        p.setBrush(grey if kind in ("sure", "maybe", "relied", "late") else Qt.BrushStyle.NoBrush)
        p.setPen(Qt.PenStyle.NoPen)
        if kind == "job":
            p.setBrush(mix(inks.accent, inks.text, 0.45))
            pill = box.adjusted(0, box.height() / 2 - 4, 0, -(box.height() / 2 - 4))
            p.drawRoundedRect(pill, 4, 4)
            return
        if kind == "buffer":
            p.fillRect(box, mix(inks.panel, inks.muted, 0.10))
            p.setPen(QPen(mix(inks.panel, inks.muted, 0.6), 1))
            p.translate(box.bottomLeft())
            p.drawLines(list(hatching(int(box.width()), int(box.height()), 4)))
            p.translate(-box.bottomLeft())
        pens = {
            "sure": QPen(inks.text, 1),
            "maybe": QPen(inks.text, 1, Qt.PenStyle.DashLine),
            "buffer": QPen(inks.muted, 1),
            "relied": QPen(inks.warn, 1.5, Qt.PenStyle.DashLine),
            "lost": QPen(inks.muted, 1),
            "unlogged": QPen(inks.warn, 1.5),
            "late": QPen(inks.bad, 2.5),
        }
        p.setPen(pens[kind])
        if kind == "buffer":
            p.setBrush(Qt.BrushStyle.NoBrush)
        p.drawRoundedRect(box, 2, 2)
        if kind == "unlogged":
            p.drawText(box, Qt.AlignmentFlag.AlignCenter, "?")
