# SPDX-License-Identifier: GPL-3.0-or-later
"""What gets the keyboard is scrolled into sight, wherever it comes from.

The toolkit does so only while the keyboard moves within one scrolled part, not where it comes into it from outside.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, QPoint, QRect, Qt, Slot
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget


class IntoSight(QObject):
    """Looks over everything that scrolls in the application."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        app.focusChanged.connect(self._moved)

    @Slot(QWidget, QWidget)
    def _moved(self, _old: QWidget | None, new: QWidget | None) -> None:
        # what is clicked is in sight, and must not move away below the button
        if new is not None and QApplication.mouseButtons() == Qt.MouseButton.NoButton:
            show_whole(new)


def watch(app: QApplication) -> None:
    """Begin; once in an application."""
    if app.findChild(IntoSight) is None:
        IntoSight(app)


def show_whole(widget: QWidget) -> None:
    """Scroll every part around a widget so that it is in sight, or as much of it as there is room for."""
    around = widget.parentWidget()
    while around is not None:
        inside = around.widget() if isinstance(around, QScrollArea) else None
        if isinstance(around, QScrollArea) and inside is not None and inside.isAncestorOf(widget):
            _scroll(around, widget)
        around = around.parentWidget()


def _scroll(area: QScrollArea, widget: QWidget) -> None:
    port = area.viewport()
    place = QRect(widget.mapTo(port, QPoint(0, 0)), widget.size())
    for bar, low, high, room in (
        (area.horizontalScrollBar(), place.left(), place.right() + 1, port.width()),
        (area.verticalScrollBar(), place.top(), place.bottom() + 1, port.height()),
    ):
        if high - low > room:
            # what is larger than the room is left where most of it is seen already
            if low > room // 2 or high < room // 2:
                bar.setValue(bar.value() + low)
        elif low < 0:
            bar.setValue(bar.value() + low)
        elif high > room:
            bar.setValue(bar.value() + high - room)
