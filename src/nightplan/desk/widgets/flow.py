# SPDX-License-Identifier: GPL-3.0-or-later
"""A row of widgets that goes on in the next line where it does not fit."""

from __future__ import annotations

from PySide6.QtCore import QMargins, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class Flow(QLayout):
    """Left to right, each widget as wide as it likes to be, lines as high as their highest widget."""

    def __init__(self, parent: QWidget | None = None, spacing: int = 8) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self.setContentsMargins(0, 0, 0, 0)
        self.setSpacing(spacing)

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._place(QRect(0, 0, width, 0), move=False)

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._place(rect, move=True)

    def sizeHint(self) -> QSize:
        shown = [i.sizeHint() for i in self._items if not i.isEmpty()]
        wide = sum(s.width() for s in shown) + self.spacing() * max(0, len(shown) - 1)
        return self._framed(QSize(wide, max((s.height() for s in shown), default=0)))

    def minimumSize(self) -> QSize:
        least = QSize()
        for item in self._items:
            if not item.isEmpty():
                least = least.expandedTo(item.sizeHint())
        return self._framed(least)

    def _framed(self, size: QSize) -> QSize:
        m: QMargins = self.contentsMargins()
        return size + QSize(m.left() + m.right(), m.top() + m.bottom())

    def _place(self, rect: QRect, *, move: bool) -> int:
        """Height taken; with ``move`` the widgets are put there."""
        m = self.contentsMargins()
        inside = rect.adjusted(m.left(), m.top(), -m.right(), -m.bottom())
        x, y, line = inside.x(), inside.y(), 0
        for item in self._items:
            if item.isEmpty():
                continue
            size = item.sizeHint()
            if line and x + size.width() > inside.right() + 1:
                x, y, line = inside.x(), y + line + self.spacing(), 0
            if move:
                item.setGeometry(QRect(x, y, min(size.width(), max(1, inside.width())), size.height()))
            x += size.width() + self.spacing()
            line = max(line, size.height())
        return y + line - rect.y() + m.bottom()
