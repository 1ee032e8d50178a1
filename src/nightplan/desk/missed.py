# SPDX-License-Identifier: GPL-3.0-or-later
"""Evenings that went by without a word: asked for one by one, one key each."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from nightplan.actions.tick import Evening, tick
from nightplan.actions.today import missed_evenings
from nightplan.desk import words
from nightplan.desk.host import DeskHost
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trn


def mark_all_missed(project: Project, dates: tuple[dt.date, ...]) -> Project:
    """Every one of the evenings as missed."""
    for date in dates:
        project = tick(project, Evening(date, missed=True))
    return project


class MissedEvenings(QDialog):
    """One evening at a time: missed, worked, or later. Each answer is one step of undo."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.host = host
        self.setWindowTitle(tr("Evenings not ticked off"))
        # wide enough for the three buttons at any text size
        self.setMinimumWidth(max(460, 58 * self.fontMetrics().averageCharWidth()))
        try:
            self.dates = list(missed_evenings(host.project, host.as_of))
        except BadInput:
            self.dates = []
        column = QVBoxLayout(self)
        column.setContentsMargins(22, 20, 22, 18)
        column.setSpacing(10)
        self.question, self.rest = PlainLabel(), PlainLabel()
        self.question.setProperty("role", "heading")
        self.rest.setProperty("role", "muted")
        for label in (self.question, self.rest):
            label.setWordWrap(True)
            column.addWidget(label)
        row = QHBoxLayout()
        self.missed_button = QPushButton(tr("&Missed it"))
        self.worked_button = QPushButton(tr("I &worked"))
        self.later_button = QPushButton(tr("Ask me &later"))
        for button, slot, key in (
            (self.missed_button, self._missed, "M"),
            (self.worked_button, self._worked, "W"),
            (self.later_button, self.reject, "L"),
        ):
            button.setAccessibleName(words.spoken(button.text()))
            button.clicked.connect(slot)
            row.addWidget(button)
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.activated.connect(slot)
        self.missed_button.setProperty("role", "primary")
        column.addLayout(row)
        self.all_button = QPushButton(tr("Missed &all of them"))
        self.all_button.setProperty("role", "link")
        self.all_button.setAccessibleName(tr("Missed all of them"))
        self.all_button.clicked.connect(self._all)
        column.addWidget(self.all_button)
        self._show()

    @property
    def empty(self) -> bool:
        return not self.dates

    def _show(self) -> None:
        if not self.dates:
            self.accept()
            return
        date = self.dates[0]
        self.question.setText(tr("What happened on {day}?", day=words.day(date)))
        more = len(self.dates) - 1
        self.rest.setText(
            tr("Press M, W or L. An evening that nobody ticks off counts as not happened.")
            + (" " + trn("{n} more evening after this one.", "{n} more evenings after this one.", more) if more else "")
        )
        self.all_button.setVisible(more > 0)
        self.setAccessibleDescription(self.question.text())

    @Slot()
    def _missed(self) -> None:
        date = self.dates.pop(0)
        self.host.change(f"Missed {words.day(date)}", lambda p: tick(p, Evening(date, missed=True)))
        self._show()

    @Slot()
    def _worked(self) -> None:
        date = self.dates[0]
        self.accept()
        self.host.log_evening(date)

    @Slot()
    def _all(self) -> None:
        dates = tuple(self.dates)
        self.host.change(
            trn("Missed {n} evening", "Missed {n} evenings", len(dates)), lambda p: mark_all_missed(p, dates)
        )
        self.dates = []
        self._show()
