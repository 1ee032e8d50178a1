# SPDX-License-Identifier: GPL-3.0-or-later
"""The cheapest combination that reaches the asked odds, or the one that comes nearest."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QPushButton, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.widgets.columns import turn_to_fit
from nightplan.desk.widgets.move_row import odds_line
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.model.project import Project
from nightplan.model.results_recovery import Recovery
from nightplan.speech import tr

#: letters across below which the button stands under the words
_ACROSS = 70


class BestCard(QFrame):
    """``button`` ticks the moves; its owner connects it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "marked")
        self.row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.row.setContentsMargins(18, 12, 18, 12)
        self.row.setSpacing(10)
        texts = QVBoxLayout()
        texts.setSpacing(3)
        self.head = PlainLabel("", role="heading", wrap=True)
        self.moves = PlainLabel("", wrap=True)
        self.odds = PlainLabel("", wrap=True)
        self.costs = PlainLabel("", role="muted", wrap=True)
        for label in (self.head, self.moves, self.odds, self.costs):
            texts.addWidget(label)
        self.row.addLayout(texts, 1)
        self.button = QPushButton(tr("&Tick these"))
        self.button.setProperty("role", "primary")
        self.button.setAccessibleName(tr("Tick the moves of this combination"))
        self.row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignVCenter)

    def say(self, found: Recovery, project: Project) -> None:
        asked = words.in_100(found.target)
        moves = found.combination.moves
        self.setVisible(bool(found.gates))
        self.button.setVisible(bool(moves))
        if found.reached and not moves:
            self.head.setText(tr("Nothing has to change: {asked} are reached.", asked=asked))
        elif found.reached:
            self.head.setText(tr("The cheapest way to {asked}", asked=asked))
        elif moves:
            self.head.setText(tr("No combination of these moves reaches {asked}; this comes nearest", asked=asked))
        else:
            self.head.setText(tr("{asked} are out of reach, and no move is left that would help", asked=asked))
        self.moves.setText("\n".join(f"+ {m.what}" if len(moves) > 1 else m.what for m in moves))
        self.odds.setText(odds_line(project, found.before, found.combination.odds))
        costs = list(dict.fromkeys(m.cost for m in moves))
        self.costs.setText(tr("costs: {costs}", costs="; ".join(costs)) if costs else "")
        for label in (self.moves, self.odds, self.costs):
            label.setVisible(bool(label.text()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        turn_to_fit(self.row, self, _ACROSS)
