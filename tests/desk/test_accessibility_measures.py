# SPDX-License-Identifier: GPL-3.0-or-later
"""The sweep for accessibility finds what it is there to find.

Source: ARIA Authoring Practices Guide, radio group (one stop of the Tab key, arrows within); WCAG 2.2, 2.1.1.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QMenu, QPushButton, QWidget
from pytestqt.qtbot import QtBot

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "benchmarks"))
import accessibility_measures as measures


class Deaf(QPushButton):
    """Takes no notice of arrow keys."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        event.accept()


def row_of(qtbot: QtBot, kind: type[QPushButton]) -> tuple[QWidget, list[QPushButton]]:
    ground = QWidget()
    qtbot.addWidget(ground)
    row, group = QHBoxLayout(ground), QButtonGroup(ground)
    buttons = [kind(name) for name in ("one", "two", "three")]
    for button in buttons:
        button.setCheckable(True)
        group.addButton(button)
        row.addWidget(button)
    buttons[1].setChecked(True)
    row.addWidget(QPushButton("behind"))
    ground.show()
    ground.activateWindow()
    qtbot.waitUntil(ground.isActiveWindow)
    return ground, buttons


@pytest.mark.parametrize(("kind", "lost"), [(QPushButton, 0), (Deaf, 2)])
def test_a_group_of_which_one_is_on_is_walked_by_the_arrow_keys(
    qtbot: QtBot, kind: type[QPushButton], lost: int
) -> None:
    ground, buttons = row_of(qtbot, kind)
    found = measures.Found()
    measures.tab_ring(ground, found)
    assert found.unreached == lost, found.words
    assert buttons[1].isChecked(), "what was on is on again"


def test_what_only_the_mouse_comes_to_is_found(qtbot: QtBot) -> None:
    ground, buttons = row_of(qtbot, QPushButton)
    buttons[2].group().removeButton(buttons[2])
    buttons[2].setFocusPolicy(Qt.FocusPolicy.ClickFocus)
    found = measures.Found()
    measures.tab_ring(ground, found)
    assert found.words == ["Tab: never comes to QPushButton “three”"]


def test_one_button_alone_does_not_keep_the_keyboard(qtbot: QtBot) -> None:
    ground = QWidget()
    qtbot.addWidget(ground)
    QHBoxLayout(ground).addWidget(QPushButton("OK"))
    ground.show()
    ground.activateWindow()
    qtbot.waitUntil(ground.isActiveWindow)
    found = measures.Found()
    measures.tab_ring(ground, found)
    assert found.words == []


def test_a_menu_is_measured_entry_by_entry(qtbot: QtBot) -> None:
    menu = QMenu()
    qtbot.addWidget(menu)
    for text in ("&Save", "Save &as…", "Save"):
        menu.addAction(text)
    menu.addAction("greyed out").setEnabled(False)
    menu.popup(menu.pos())
    found = measures.measured_menu(menu)
    menu.close()
    assert (found.controls, found.focus_tried, found.unreached) == (4, 3, 0)
    assert found.doubled == 1, "Save stands twice for a listener"
    assert found.texts == 6, "each entry that can be chosen, marked and not"
