# SPDX-License-Identifier: GPL-3.0-or-later
"""The offer of the ways back where the artist works: why, and a button to the page."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QPushButton, QWidget

from nightplan.actions.ways_back import worth_saying
from nightplan.desk.widgets.short_label import PlainLabel
from nightplan.desk.widgets.watch_list import sentence
from nightplan.engine.watch import Offer
from nightplan.model.project import Project
from nightplan.model.results import Forecast
from nightplan.speech import tr

_ACROSS = 60


def reasons(found: tuple[Offer, ...]) -> str:
    """All reasons as one sentence."""
    return sentence("; ".join(o.reason for o in found)) if found else ""


class WaysNotice(QFrame):
    """Hidden unless there is something to offer."""

    ways_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "notice")
        self.row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.row.setContentsMargins(14, 6, 10, 6)
        self.row.setSpacing(8)
        self.words = PlainLabel("", wrap=True)
        self.row.addWidget(self.words, 1)
        self.button = QPushButton(tr("See the ways back"))
        self.button.setAccessibleName(tr("See the ways back"))
        self.button.setToolTip(tr("What would bring the odds up, each with its price"))
        self.button.setProperty("role", "primary")
        self.button.clicked.connect(self.ways_wanted)
        self.row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignVCenter)
        self.hide()

    def offer(self, project: Project | None, as_of: dt.date, forecast: Forecast | None) -> None:
        found: tuple[Offer, ...] = ()
        if project is not None and forecast is not None:
            found = worth_saying(project, as_of, {g.id: g.odds for g in forecast.gates})
        self.words.setText(reasons(found))
        self.setVisible(bool(found))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        letters = self.width() / max(1, self.fontMetrics().averageCharWidth())
        way = QBoxLayout.Direction.LeftToRight if letters >= _ACROSS else QBoxLayout.Direction.TopToBottom
        if self.row.direction() != way:
            self.row.setDirection(way)
