# SPDX-License-Identifier: GPL-3.0-or-later
"""A long search under way: how far it is, a way to stop it, and to begin again."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget

from nightplan.desk.widgets.short_label import PlainLabel


class SearchRow(QWidget):
    """Hidden while nothing is searched for."""

    stop_asked = Signal()
    again_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        self.progress = QProgressBar()
        self.progress.setAccessibleName("Looking for ways back")
        self.progress.setFormat("valuing every move in 20,000 futures: %p %")
        self.stop_button = QPushButton("Stop")
        self.stop_button.setAccessibleName("Stop looking for ways back")
        self.stop_button.clicked.connect(self.stop_asked)
        self.stopped = PlainLabel("Stopped; no moves are valued.", "muted", wrap=True)
        self.again_button = QPushButton("&Look again")
        self.again_button.setAccessibleName("Look for ways back again")
        self.again_button.clicked.connect(self.again_asked)
        row.addWidget(self.progress, 1)
        row.addWidget(self.stopped, 1)
        row.addWidget(self.stop_button)
        row.addWidget(self.again_button)
        self.hide()

    def begin(self) -> None:
        self.progress.setValue(0)
        self._show(stopped=False)

    def tell(self, share: float) -> None:
        self.progress.setValue(round(share * 100))

    def tell_stopped(self) -> None:
        self._show(stopped=True)

    def _show(self, *, stopped: bool) -> None:
        self.progress.setVisible(not stopped)
        self.stop_button.setVisible(not stopped)
        self.stopped.setVisible(stopped)
        self.again_button.setVisible(stopped)
        self.show()
