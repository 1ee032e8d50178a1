# SPDX-License-Identifier: GPL-3.0-or-later
"""Ctrl+Z in a field: the field's own typing first, then the project's steps.

A text field claims the undo keys even where it has nothing to undo; after a tick the keyboard is in
a field that was just filled in, and Ctrl+Z would do nothing at all.
"""

from __future__ import annotations

import shiboken6
from PySide6.QtCore import QEvent, QObject, Slot
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QWidget

#: looked at by name: to load these classes for the first paint would cost more than the paint
_FIELDS = ("QLineEdit", "QAbstractSpinBox", "QComboBox", "QPlainTextEdit")


class UndoKeys(QObject):
    """Looks over the field that has the keyboard within one window, and over no other."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._watched: QWidget | None = None
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._moved)

    @Slot(QWidget, QWidget)
    def _moved(self, _old: QWidget | None, new: QWidget | None) -> None:
        # a field that is gone took the filter with it
        if self._watched is not None and shiboken6.isValid(self._watched):
            self._watched.removeEventFilter(self)
        self._watched = None
        if new is not None and any(new.inherits(name) for name in _FIELDS) and self._window.isAncestorOf(new):
            self._watched = new
            new.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            undo, redo = _can(watched)
            if (event.matches(QKeySequence.StandardKey.Undo) and not undo) or (
                event.matches(QKeySequence.StandardKey.Redo) and not redo
            ):
                event.ignore()
                return True
        return False


def _can(field: QObject) -> tuple[bool, bool]:
    """Whether the field has typing to undo and to redo."""
    from PySide6.QtWidgets import QLineEdit, QPlainTextEdit

    if isinstance(field, QPlainTextEdit):
        return field.document().isUndoAvailable(), field.document().isRedoAvailable()
    line = field if isinstance(field, QLineEdit) else field.findChild(QLineEdit)
    if isinstance(line, QLineEdit):
        return line.isUndoAvailable(), line.isRedoAvailable()
    return False, False
