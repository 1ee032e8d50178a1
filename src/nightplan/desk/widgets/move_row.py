# SPDX-License-Identifier: GPL-3.0-or-later
"""One way back in the list: a box to tick, what it is, what it costs, what it is worth."""

from __future__ import annotations

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.odds_bar import OddsBar
from nightplan.desk.widgets.short_label import PlainLabel
from nightplan.model.project import Project
from nightplan.model.results_recovery import ValuedMove


class MoveRow(QFrame):
    """``ticked_changed`` when the box changes, ``pin_asked`` with the ids that must never be touched."""

    ticked_changed = Signal()
    pin_asked = Signal(object)

    def __init__(self, value: ValuedMove, project: Project, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.value = value
        self.setProperty("role", "card")
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 8, 14, 8)
        row.setSpacing(12)
        self.box = QCheckBox()
        self.box.setAccessibleName(value.move.what)
        self.box.setAccessibleDescription(self._worth())
        row.addWidget(self.box)
        texts = QVBoxLayout()
        texts.setSpacing(1)
        what = PlainLabel(value.move.what, wrap=True)
        what.setBuddy(self.box)
        texts.addWidget(what)
        texts.addWidget(PlainLabel(f"{self._worth()} · {value.move.cost}", "muted", wrap=True))
        row.addLayout(texts, 1)
        self.pin_button = None
        ids = [key for key in value.move.touches if key in project.items or key in project.jobs_by_id]
        if ids:
            self.pin_button = QPushButton("Never touch")
            self.pin_button.setProperty("role", "link")
            self.pin_button.setAccessibleName(f"Never offer this again: {value.move.what}")
            self.pin_button.setToolTip("Pin this work: no way back may change it. The Plan page takes the pin off.")
            self.pin_button.clicked.connect(self._pin)
            row.addWidget(self.pin_button)
        self._ids = tuple(ids)
        for gate in project.gates:
            if gate.id in value.odds and gate.id in value.before:
                bar = OddsBar(theme)
                bar.say(short_name(gate.name, gate.id), value.before[gate.id], value.odds[gate.id], project.target_odds)
                row.addWidget(bar)
        self.box.toggled.connect(self._toggled)

    def _worth(self) -> str:
        v = self.value
        if abs(v.hours_won) < 0.05:
            return "no evening hours won"
        side = "won" if v.hours_won > 0 else "lost"
        doubt = f" ± {v.hours_error * 1.96:.1f}" if v.hours_error * 1.96 >= 0.05 else ""
        return f"{abs(v.hours_won):.1f}{doubt} h {side}"

    @Slot()
    def _toggled(self) -> None:
        self.ticked_changed.emit()

    @Slot()
    def _pin(self) -> None:
        self.pin_asked.emit(self._ids)


def short_name(name: str, gate_id: str) -> str:
    """A gate's name where there is little room."""
    return {"lock": "lock", "deadline": "hand-in"}.get(gate_id, name if len(name) <= 14 else name[:13] + "…")


def odds_line(project: Project, before: dict[str, float], after: dict[str, float]) -> str:
    """``lock 54 → 83 in 100 · hand-in 88 → 96 in 100``"""
    return " · ".join(
        f"{short_name(g.name, g.id)} {words.in_100(before[g.id]).removesuffix(' in 100')} → {words.in_100(after[g.id])}"
        for g in project.gates
        if g.id in before and g.id in after
    )
