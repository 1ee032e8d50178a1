# SPDX-License-Identifier: GPL-3.0-or-later
"""What gets the keyboard is in sight. Source: WCAG 2.2, success criterion 2.4.11 (focus not obscured)."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QApplication,
    QPushButton,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from nightplan.desk import into_sight
from nightplan.desk.app import make_app

NAMES = ("first", "second", "last")


class Scrolled(QWidget):
    """A button, and below it a part that scrolls, with three buttons far from each other."""

    def __init__(self) -> None:
        super().__init__()
        self.outside = QPushButton("outside")
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        inside = QWidget()
        column = QVBoxLayout(inside)
        self.buttons = {name: QPushButton(name) for name in NAMES}
        for button in self.buttons.values():
            column.addWidget(button)
            column.addSpacing(400)
        self.area.setWidget(inside)
        outer = QVBoxLayout(self)
        outer.addWidget(self.outside)
        outer.addWidget(self.area)
        self.resize(300, 260)

    def seen(self, widget: QWidget) -> QRect:
        """The part of a widget that is in sight."""
        port = self.area.viewport()
        return QRect(widget.mapTo(port, QPoint(0, 0)), widget.size()) & port.rect()


@pytest.fixture
def scrolled(qtbot: QtBot, qapp: QApplication) -> Scrolled:
    make_app([])
    made = Scrolled()
    qtbot.addWidget(made)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.outside.setFocus()
    return made


@pytest.mark.parametrize("name", NAMES)
def test_the_keyboard_coming_from_outside_scrolls(scrolled: Scrolled, name: str) -> None:
    bar = scrolled.area.verticalScrollBar()
    bar.setValue(bar.maximum() if name == "first" else 0)
    button = scrolled.buttons[name]
    assert scrolled.seen(button).size() != button.size() or name == "first"
    button.setFocus(Qt.FocusReason.TabFocusReason)
    assert scrolled.seen(button).size() == button.size()


def test_what_is_in_sight_stays_where_it_is(scrolled: Scrolled) -> None:
    bar = scrolled.area.verticalScrollBar()
    bar.setValue(5)
    scrolled.buttons["first"].setFocus(Qt.FocusReason.TabFocusReason)
    assert bar.value() == 5


def test_what_is_higher_than_the_room_is_seen_from_its_top(scrolled: Scrolled) -> None:
    tall = scrolled.buttons["second"]
    tall.setFixedHeight(900)
    scrolled.area.widget().layout().activate()
    QApplication.processEvents()
    scrolled.area.verticalScrollBar().setValue(0)
    tall.setFocus(Qt.FocusReason.TabFocusReason)
    assert tall.mapTo(scrolled.area.viewport(), QPoint(0, 0)).y() == 0


def test_what_is_pressed_by_the_mouse_does_not_move_away(scrolled: Scrolled, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(into_sight.QApplication, "mouseButtons", staticmethod(lambda: Qt.MouseButton.LeftButton))
    scrolled.buttons["last"].setFocus(Qt.FocusReason.MouseFocusReason)
    assert scrolled.area.verticalScrollBar().value() == 0


def test_the_cell_that_is_walked_to_is_in_sight(scrolled: Scrolled) -> None:
    """A table as high as its rows, in a page that is lower."""
    table = QTableWidget(40, 1)
    for row in range(40):
        table.setItem(row, 0, QTableWidgetItem(f"row {row}"))
    table.setFixedHeight(40 * table.rowHeight(0) + 60)
    inside = scrolled.area.widget().layout()
    assert isinstance(inside, QVBoxLayout)
    inside.insertWidget(0, table)
    inside.activate()
    QApplication.processEvents()
    table.setCurrentCell(0, 0)
    table.setFocus(Qt.FocusReason.TabFocusReason)
    for row in range(1, 40):
        QTest.keyClick(table, Qt.Key.Key_Down)
        assert table.currentRow() == row
        place = table.visualItemRect(table.item(row, 0))
        port = scrolled.area.viewport()
        seen = QRect(table.viewport().mapTo(port, place.topLeft()), place.size())
        assert port.rect().top() <= seen.top() <= seen.bottom() <= port.rect().bottom(), row
    scrolled.outside.setFocus()
    bar = scrolled.area.verticalScrollBar()
    bar.setValue(0)
    table.setCurrentCell(20, 0)
    assert bar.value() == 0, "without the keyboard nothing moves"
    table.setFocus(Qt.FocusReason.TabFocusReason)
    assert bar.value() > 0, "and back to the current cell"


def test_there_is_one_watcher_in_the_application(scrolled: Scrolled, qapp: QApplication) -> None:
    make_app([])
    assert len(qapp.findChildren(into_sight.IntoSight)) == 1
