# SPDX-License-Identifier: GPL-3.0-or-later
"""Labels that show text as it is: what comes from a file is never markup."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import Qt as QtOfText
from PySide6.QtWidgets import QLabel, QWidget


def tip_text(text: str) -> str:
    """A text from a file for a tool tip, which has no plain form of its own: what looks like markup is escaped."""
    # the toolkit looks at the first line only, and asks again in another version perhaps
    if "<" in text and (QtOfText.mightBeRichText(text) or any(map(QtOfText.mightBeRichText, text.split("\n")))):
        from html import escape

        return f'<p style="white-space: pre-wrap">{escape(text)}</p>'
    return text


class PlainLabel(QLabel):
    """A label for plain text, with a role for the style sheet."""

    def __init__(self, text: str = "", role: str = "", *, wrap: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        if role:
            self.setProperty("role", role)
        self.setText(text)
