# SPDX-License-Identifier: GPL-3.0-or-later
"""What an empty window shows: what the program is for, and three ways to begin."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Slot
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import Page
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.plain_label import PlainLabel, tip_text
from nightplan.speech import tr

_STEPS = (
    (
        tr("Announcement day"),
        tr("Type the dates from the brief and the evenings you really have. You get a plan and its odds."),
    ),
    (
        tr("Each evening"),
        tr("See what to do tonight and why. Tick off what happened: hours, done or not, a line for later."),
    ),
    (tr("When a stage overruns"), tr("See what each way back is worth before you choose one.")),
)


class EmptyPage(Page):
    """Teaches in three lines, starts in one key."""

    id = "empty"
    title = tr("Begin")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        outer = QVBoxLayout(self)
        outer.addStretch(1)
        self.card = card = QFrame()
        card.setProperty("role", "card")
        self._fit()
        column = QVBoxLayout(card)
        column.setContentsMargins(32, 28, 32, 28)
        column.setSpacing(10)
        title = PlainLabel(tr("Make the piece in the evenings you have"))
        title.setProperty("role", "title")
        title.setWordWrap(True)
        column.addWidget(title)
        for head, text in _STEPS:
            heading, line = PlainLabel(head), PlainLabel(text)
            heading.setProperty("role", "heading")
            line.setProperty("role", "muted")
            line.setWordWrap(True)
            column.addSpacing(6)
            column.addWidget(heading)
            column.addWidget(line)
        column.addSpacing(14)
        row = QHBoxLayout()
        self.new_button = QPushButton(tr("&New project…"))
        self.new_button.setProperty("role", "primary")
        self.open_button = QPushButton(tr("&Open…"))
        self.sample_button = QPushButton(tr("Look at a &sample"))
        for button in (self.new_button, self.open_button, self.sample_button):
            button.setAccessibleName(words.spoken(button.text()))
            row.addWidget(button)
        row.addStretch(1)
        column.addLayout(row)
        self.recent_box = QVBoxLayout()
        self.recent_box.setSpacing(0)
        column.addLayout(self.recent_box)
        across = QHBoxLayout()
        across.addStretch(1)
        across.addWidget(card, 20)
        across.addStretch(1)
        outer.addLayout(across)
        outer.addStretch(2)
        self.new_button.clicked.connect(self._new)
        self.open_button.clicked.connect(self._open)
        self.sample_button.clicked.connect(self._sample)
        self._recent: list[QWidget] = []

    def refresh(self) -> None:
        """Recent files anew."""
        for widget in self._recent:
            self.recent_box.removeWidget(widget)
            widget.deleteLater()
        self._recent = []
        for path in self.host.services.recent()[:4]:
            button = QPushButton(Path(path).name.replace("&", "&&"))
            button.setProperty("role", "link")
            button.setProperty("path", path)
            button.setToolTip(tip_text(path))
            button.setAccessibleName(tr("Open {name}", name=Path(path).name))
            button.clicked.connect(self._open_recent)
            self.recent_box.addWidget(button)
            self._recent.append(button)

    def focus_first(self) -> None:
        self.new_button.setFocus()

    @Slot()
    def _new(self) -> None:
        self.window().new_project()  # type: ignore[attr-defined]

    @Slot()
    def _open(self) -> None:
        self.window().ask_open()  # type: ignore[attr-defined]

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self._fit()

    def _fit(self) -> None:
        """Lines of one length at any text size; the three buttons have room beside each other."""
        letter = QFontMetrics(QApplication.font()).averageCharWidth()
        self.card.setMaximumWidth(max(680, 85 * letter))

    @Slot()
    def _sample(self) -> None:
        self.window().open_sample()  # type: ignore[attr-defined]

    @Slot()
    def _open_recent(self) -> None:
        button = self.sender()
        if isinstance(button, QPushButton):
            self.window().open_path(str(button.property("path")))  # type: ignore[attr-defined]
