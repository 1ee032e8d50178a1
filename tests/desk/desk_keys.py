# SPDX-License-Identifier: GPL-3.0-or-later
"""A person at the keyboard: every key goes to whatever has the focus, and is counted."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

Key, Mod = Qt.Key, Qt.KeyboardModifier
CTRL, SHIFT, NONE = Mod.ControlModifier, Mod.ShiftModifier, Mod.NoModifier

#: seconds a key for somebody who types with two fingers, and to think before an action
#: (Card, Moran, Newell: The keystroke-level model, Communications of the ACM 23, 1980: K 1.20 s at worst, M 1.35 s)
SECONDS_A_KEY, SECONDS_TO_THINK = 1.20, 1.35


def wake(qtbot: QtBot, window: QWidget) -> None:
    """Give the window the keyboard, as a window manager does; offscreen there is none."""
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)


class Hands:
    """``keys`` counts key presses, ``actions`` the things that were decided on (a text, a chord)."""

    def __init__(self, qtbot: QtBot) -> None:
        self.qtbot = qtbot
        self.keys = 0
        self.actions = 0

    def type(self, text: str) -> None:
        QTest.keyClicks(self._focus(), text)
        self.keys += len(text)
        self.actions += 1

    def press(self, key: Qt.Key, mod: Qt.KeyboardModifier = NONE) -> None:
        QTest.keyClick(self._focus(), key, mod)
        self.keys += 1 if mod == NONE else 2
        self.actions += 1

    def tab_to(self, widget: QWidget) -> None:
        """Tab until the widget has the focus."""
        for _ in range(60):
            if widget.hasFocus():
                return
            QTest.keyClick(self._focus(), Key.Key_Tab)
            self.keys += 1
        raise AssertionError(f"Tab never comes to {widget.accessibleName() or type(widget).__name__}")

    @property
    def seconds(self) -> float:
        return self.keys * SECONDS_A_KEY + self.actions * SECONDS_TO_THINK

    def _focus(self) -> QWidget:
        def found() -> QWidget | None:
            return QApplication.focusWidget() or QApplication.activeWindow()

        if found() is None:
            # what a window manager does when a dialog has closed; offscreen there is none
            next(w for w in QApplication.topLevelWidgets() if w.isVisible()).activateWindow()
        self.qtbot.waitUntil(lambda: found() is not None)
        widget = found()
        assert widget is not None
        return widget
