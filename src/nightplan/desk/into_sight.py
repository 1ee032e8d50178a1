# SPDX-License-Identifier: GPL-3.0-or-later
"""What has the keyboard is scrolled into sight, wherever it comes from, and the cell that is walked to in a table.

The toolkit does so only while the keyboard moves within one scrolled part, not where it comes into it from outside;
and a table that is as high as its rows does not know that the page around it scrolls.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import shiboken6
from PySide6.QtCore import QObject, QRect, Qt, Slot
from PySide6.QtWidgets import QApplication, QWidget

if TYPE_CHECKING:
    from PySide6.QtCore import QItemSelectionModel
    from PySide6.QtWidgets import QAbstractItemView, QScrollArea


class IntoSight(QObject):
    """Looks over everything that scrolls in the application."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self._view: QAbstractItemView | None = None
        self._cells: QItemSelectionModel | None = None
        app.focusChanged.connect(self._moved)

    @Slot(QWidget, QWidget)
    def _moved(self, _old: QWidget | None, new: QWidget | None) -> None:
        # looked at by name: to load the class for the first paint would cost more than the look
        self._follow(cast("QAbstractItemView", new) if new is not None and new.inherits("QAbstractItemView") else None)
        # what is clicked is in sight, and must not move away below the button
        if new is not None and QApplication.mouseButtons() == Qt.MouseButton.NoButton:
            show_whole(new)
            self._show_cell()

    def _follow(self, view: QAbstractItemView | None) -> None:
        if self._cells is not None and shiboken6.isValid(self._cells):
            self._cells.currentChanged.disconnect(self._cell_moved)
        self._view, self._cells = view, None if view is None else view.selectionModel()
        if self._cells is not None:
            self._cells.currentChanged.connect(self._cell_moved)

    @Slot()
    def _cell_moved(self) -> None:
        if QApplication.mouseButtons() == Qt.MouseButton.NoButton:
            self._show_cell()

    def _show_cell(self) -> None:
        view = self._view
        if view is not None and shiboken6.isValid(view) and view.currentIndex().isValid():
            show(view.viewport(), view.visualRect(view.currentIndex()) & view.viewport().rect())


def watch(app: QApplication) -> None:
    """Begin; once in an application."""
    if app.findChild(IntoSight) is None:
        IntoSight(app)


def show_whole(widget: QWidget) -> None:
    """Scroll every part around a widget so that it is in sight, or as much of it as there is room for."""
    show(widget, widget.rect())


def show(widget: QWidget, part: QRect) -> None:
    """The same for a part of a widget, in its own pixels."""
    around = widget.parentWidget()
    while around is not None and not part.isEmpty():
        if around.inherits("QScrollArea"):
            area = cast("QScrollArea", around)
            inside = area.widget()
            if inside is not None and inside.isAncestorOf(widget):
                _scroll(area, widget, part)
        around = around.parentWidget()


def _scroll(area: QScrollArea, widget: QWidget, part: QRect) -> None:
    port = area.viewport()
    place = QRect(widget.mapTo(port, part.topLeft()), part.size())
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
