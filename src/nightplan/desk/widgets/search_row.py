# SPDX-License-Identifier: GPL-3.0-or-later
"""A long search under way: how far it is, a way to stop it, and to begin again."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.progress_part import ProgressPart
from nightplan.speech import tr
from nightplan.speech.dates import whole


class SearchRow(QWidget):
    """Hidden while nothing is searched for."""

    stop_asked = Signal()
    again_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        self.part = ProgressPart(tr("Stop"), at_once=True, wide=True)
        self.part.name(
            tr("Looking for ways back"),
            tr("valuing every move in {futures} futures: %p %", futures=whole(20_000)),
            tr("Stop looking for ways back"),
        )
        self.part.stop_wanted.connect(self.stop_asked)
        self.stopped = PlainLabel(tr("Stopped; no moves are valued."), role="muted", wrap=True)
        self.again_button = QPushButton(tr("&Look again"))
        self.again_button.setAccessibleName(tr("Look for ways back again"))
        self.again_button.clicked.connect(self.again_asked)
        row.addWidget(self.part, 1)
        row.addWidget(self.stopped, 1)
        row.addWidget(self.again_button)
        self.hide()

    def begin(self) -> None:
        self._show(stopped=False)

    def tell_stopped(self) -> None:
        self._show(stopped=True)

    def _show(self, *, stopped: bool) -> None:
        self.stopped.setVisible(stopped)
        self.again_button.setVisible(stopped)
        self.show()
