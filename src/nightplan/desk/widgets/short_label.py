# SPDX-License-Identifier: GPL-3.0-or-later
"""Labels that show text as it is: what comes from a file is never markup."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget


class PlainLabel(QLabel):
    """A label for plain text, with a role for the style sheet."""

    def __init__(self, text: str = "", role: str = "", *, wrap: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        if role:
            self.setProperty("role", role)
        self.setText(text)
