# SPDX-License-Identifier: GPL-3.0-or-later
"""One way back in the list: a box to tick, what it is, what it costs, what it is worth."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QCheckBox, QFrame, QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.columns import turn
from nightplan.desk.widgets.odds_bar import OddsBar
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.model.project import Project
from nightplan.model.results_recovery import ValuedMove
from nightplan.speech import tr, trc
from nightplan.speech.dates import decimal
from nightplan.speech.words import per_100

#: letters that the words and the pin want; the bars stand below them where that does not fit
_WORDS = 62
_GAP = 12


class MoveRow(QFrame):
    """``ticked_changed`` when the box changes, ``pin_asked`` with the ids that must never be touched."""

    ticked_changed = Signal()
    pin_asked = Signal(object)

    def __init__(self, value: ValuedMove, project: Project, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.value = value
        self.setProperty("role", "card")
        self.across = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.across.setContentsMargins(14, 8, 14, 8)
        self.across.setSpacing(_GAP)
        row = QHBoxLayout()
        row.setSpacing(_GAP)
        self.box = QCheckBox()
        self.box.setAccessibleName(value.move.what)
        self.box.setAccessibleDescription(f"{odds_line(project, value.before, value.odds)}; {self._worth()}")
        row.addWidget(self.box)
        texts = QVBoxLayout()
        texts.setSpacing(1)
        # a label with a buddy takes & for an Alt letter
        self.what = PlainLabel(value.move.what.replace("&", "&&"), wrap=True)
        self.what.setBuddy(self.box)
        self.worth = PlainLabel(f"{self._worth()} · {value.move.cost}", role="muted", wrap=True)
        self.worth.setToolTip(
            tr("Evening hours to spare at the gate that this wins; ± is what chance may hide, 19 in 20")
        )
        texts.addWidget(self.what)
        texts.addWidget(self.worth)
        row.addLayout(texts, 1)
        self.pin_button: QPushButton | None = None
        self._ids = tuple(key for key in value.move.touches if key in project.items or key in project.jobs_by_id)
        if self._ids:
            self.pin_button = QPushButton(tr("Never touch"))
            self.pin_button.setProperty("role", "link")
            self.pin_button.setAccessibleName(tr("Never touch this: {move}", move=value.move.what))
            self.pin_button.setToolTip(tr("Pin this work: no way back may change it. The Plan page takes the pin off."))
            self.pin_button.clicked.connect(self._pin)
            row.addWidget(self.pin_button)
        self.across.addLayout(row, 1)
        self.bars: list[OddsBar] = []
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(_GAP)
        self._grid.setVerticalSpacing(4)
        self._columns = 0
        for gate in project.gates:
            if gate.id in value.odds and gate.id in value.before:
                bar = OddsBar(theme, self)
                bar.say(short_name(gate.name, gate.id), value.before[gate.id], value.odds[gate.id], project.target_odds)
                self.bars.append(bar)
        self.across.addLayout(self._grid)
        self._place_bars(len(self.bars))
        self.box.toggled.connect(self._toggled)

    def set_theme(self, theme: Theme) -> None:
        for bar in self.bars:
            bar.set_theme(theme)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        letter = max(1, self.fontMetrics().averageCharWidth())
        bar = max((b.minimumWidth() for b in self.bars), default=0) + _GAP
        beside = self.width() >= letter * _WORDS + bar * len(self.bars)
        turn(self.across, beside=beside)
        fit = len(self.bars) if beside else max(1, (self.width() - 28) // max(1, bar))
        self._place_bars(min(fit, len(self.bars)))

    def _place_bars(self, columns: int) -> None:
        if columns == self._columns or not self.bars:
            return
        self._columns = columns
        for bar in self.bars:
            self._grid.removeWidget(bar)
        for n, bar in enumerate(self.bars):
            self._grid.addWidget(bar, n // columns, n % columns, Qt.AlignmentFlag.AlignLeft)

    def _worth(self) -> str:
        v = self.value
        if abs(v.hours_won) < 0.05:
            return tr("no evening hours won")
        hours = decimal(abs(v.hours_won), 1)
        if v.hours_error * 1.96 >= 0.05:
            hours = f"{hours} ± {decimal(v.hours_error * 1.96, 1)}"
        return tr("{hours} h won", hours=hours) if v.hours_won > 0 else tr("{hours} h lost", hours=hours)

    @Slot()
    def _toggled(self) -> None:
        self.ticked_changed.emit()

    @Slot()
    def _pin(self) -> None:
        self.pin_asked.emit(self._ids)


def short_name(name: str, gate_id: str) -> str:
    """A gate's name where there is little room."""
    short = name if len(name) <= 14 else name[:13] + "…"
    return {"lock": trc("gate", "lock"), "deadline": trc("gate", "hand-in")}.get(gate_id, short)


def odds_line(project: Project, before: dict[str, float], after: dict[str, float]) -> str:
    """``lock 54 → 83 in 100 · hand-in 88 → 96 in 100``"""
    return " · ".join(
        f"{short_name(g.name, g.id)} {per_100(before[g.id])} → {words.in_100(after[g.id])}"
        for g in project.gates
        if g.id in before and g.id in after
    )
