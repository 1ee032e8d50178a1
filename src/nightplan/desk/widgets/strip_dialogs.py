# SPDX-License-Identifier: GPL-3.0-or-later
"""The dialog that adds one dated evening."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import QDate, QTime
from PySide6.QtWidgets import (
    QComboBox,
    QDateEdit,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QTimeEdit,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.widgets.hours_spin import HoursSpin
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.strip_words import chance
from nightplan.desk.words import spoken
from nightplan.model.project import MAYBE, SURE
from nightplan.speech import tr


class AddEveningDialog(QDialog):
    """Date, start, hours and how sure; ``refuse`` shows a sentence and keeps everything typed."""

    def __init__(
        self, on: dt.date, start: dt.time, hours: float, first: dt.date, last: dt.date, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Add an evening"))
        self.setAccessibleName(tr("Add an evening"))
        layout = QVBoxLayout(self)
        form = QFormLayout()
        layout.addLayout(form)
        self._date = QDateEdit(QDate(on.year, on.month, on.day), self)
        # translators: letters of a date: ddd d MMM yyyy is Tue 12 Oct 2027
        self._date.setDisplayFormat(tr("ddd d MMM yyyy"))
        self._date.setCalendarPopup(True)
        self._date.setDateRange(QDate(first.year, first.month, first.day), QDate(last.year, last.month, last.day))
        self._start = QTimeEdit(QTime(start.hour, start.minute), self)
        self._start.setDisplayFormat("HH:mm")
        self._hours = HoursSpin(self)
        self._hours.setRange(0.25, 24.0)
        self._hours.setSingleStep(0.5)
        self._hours.setDecimals(2)
        # translators: hours, behind a number
        self._hours.setSuffix(tr(" h"))
        self._hours.setValue(hours)
        self._sure = QComboBox(self)
        self._sure.view().setAccessibleName(tr("Sure or maybe"))
        self._sure.addItem(chance(SURE), SURE)
        self._sure.addItem(chance(MAYBE), MAYBE)
        rows: tuple[tuple[str, QWidget, str], ...] = (
            (tr("&Date"), self._date, tr("The date of the evening")),
            (tr("&Start"), self._start, tr("When it starts, your time")),
            (tr("&Hours"), self._hours, tr("How long it is")),
            (tr("S&ure or maybe"), self._sure, tr("How sure you are that it happens")),
        )
        for text, field, tip in rows:
            label = PlainLabel(text, parent=self)
            label.setBuddy(field)
            field.setAccessibleName(spoken(text))
            field.setToolTip(tip)
            form.addRow(label, field)
        self._refusal = PlainLabel(parent=self)
        self._refusal.setWordWrap(True)
        self._refusal.setAccessibleName(tr("Why it cannot be added"))
        self._refusal.hide()
        layout.addWidget(self._refusal)
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, parent=self
        )
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setText(tr("&Add"))
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        layout.addWidget(self.buttons)

    @property
    def date(self) -> dt.date:
        d = self._date.date()
        return dt.date(d.year(), d.month(), d.day())

    @property
    def start(self) -> dt.time:
        t = self._start.time()
        return dt.time(t.hour(), t.minute())

    @property
    def hours(self) -> float:
        return self._hours.value()

    @property
    def chance(self) -> float:
        return float(self._sure.currentData())

    def refuse(self, sentence: str) -> None:
        self._refusal.setText(sentence)
        self._refusal.setVisible(bool(sentence))
