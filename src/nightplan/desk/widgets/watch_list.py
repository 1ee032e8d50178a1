# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program watches for: each warning with its reason and its remedy, and a way to silence it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QPushButton, QVBoxLayout, QWidget

from nightplan.desk.widgets.columns import turn_to_fit
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.engine.watch import WatchWarning
from nightplan.speech import tr, trc

_ACROSS = 80
_LEVELS = {"plan": trc("level of a warning", "Watch"), "act": trc("level of a warning", "Now")}


class WatchNotice(QFrame):
    """One warning; ``silence_asked`` gives its kind."""

    silence_asked = Signal(object)

    def __init__(self, warning: WatchWarning, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.warning = warning
        self.setProperty("role", "notice")
        self.row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.row.setContentsMargins(14, 8, 10, 8)
        self.row.setSpacing(8)
        texts = QVBoxLayout()
        texts.setSpacing(1)
        self.reason = PlainLabel(f"{_LEVELS[warning.level]}: {sentence(warning.reason, capital=False)}", wrap=True)
        self.remedy = PlainLabel(sentence(warning.remedy), role="muted", wrap=True)
        texts.addWidget(self.reason)
        texts.addWidget(self.remedy)
        self.row.addLayout(texts, 1)
        self.quiet = QPushButton(tr("Do not say this again"))
        self.quiet.setProperty("role", "link")
        self.quiet.setAccessibleName(tr("Do not say this again: {reason}", reason=warning.reason))
        self.quiet.setToolTip(tr("Switches this kind of warning off for this project; Undo brings it back"))
        self.quiet.clicked.connect(self._silence)
        self.row.addWidget(self.quiet, 0, Qt.AlignmentFlag.AlignVCenter)

    @Slot()
    def _silence(self) -> None:
        self.silence_asked.emit(self.warning.kind)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        turn_to_fit(self.row, self, _ACROSS)


class WatchList(QWidget):
    """All warnings of the day."""

    silence_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("Warnings"))
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(6)
        self.notices: list[WatchNotice] = []
        self.hide()

    def show_warnings(self, told: Sequence[WatchWarning]) -> None:
        if [n.warning for n in self.notices] != list(told):
            for notice in self.notices:
                self.column.removeWidget(notice)
                notice.hide()
                notice.deleteLater()
            self.notices = [WatchNotice(warning, self) for warning in told]
            for notice in self.notices:
                notice.silence_asked.connect(self.silence_asked)
                self.column.addWidget(notice)
        self.setVisible(bool(self.notices))


def sentence(text: str, *, capital: bool = True) -> str:
    """A clause as a sentence of its own."""
    text = text.strip()
    text = f"{text[:1].upper()}{text[1:]}" if capital else text
    # translators: the full stop of a sentence
    return text if text.endswith((".", "!", "?", "。")) else tr("{sentence}.", sentence=text)
