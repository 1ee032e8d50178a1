# SPDX-License-Identifier: GPL-3.0-or-later
"""A line that is there only when it matters, with a button to where something can be done about it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QPushButton, QWidget

from nightplan.desk.widgets.columns import turn_to_fit
from nightplan.desk.widgets.plain_label import PlainLabel

_ACROSS = 60


class Notice(QFrame):
    """Hidden until it has something to say."""

    wanted = Signal()

    def __init__(self, button: str, tip: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "notice")
        self.row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.row.setContentsMargins(14, 6, 10, 6)
        self.row.setSpacing(8)
        self.words = PlainLabel("", wrap=True)
        self.row.addWidget(self.words, 1)
        self.button = QPushButton(button)
        self.button.setAccessibleName(button)
        self.button.setToolTip(tip)
        self.button.setProperty("role", "primary")
        self.button.clicked.connect(self.wanted)
        self.row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignVCenter)
        self.hide()

    def say(self, sentence: str) -> None:
        """Show the sentence; nothing hides the notice."""
        self.words.setText(sentence)
        self.setVisible(bool(sentence))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        turn_to_fit(self.row, self, _ACROSS)
