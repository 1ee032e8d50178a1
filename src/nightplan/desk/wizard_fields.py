# SPDX-License-Identifier: GPL-3.0-or-later
"""Fields of the guided start: dates and deadline, the week, days off, estimates."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import available_timezones

from PySide6.QtCore import QDate, QLocale, Qt, QTime, QTimeZone, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QCompleter,
    QDateEdit,
    QDoubleSpinBox,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QTimeEdit,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions.templates import KIND_WORDS, TEMPLATES
from nightplan.desk.fields import padded
from nightplan.desk.told import label_for_listeners
from nightplan.desk.widgets.hours_spin import HoursSpin
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.evenings.wording import DeadlineReading, read_deadline
from nightplan.evenings.zones import zone_info
from nightplan.model.errors import BadInput
from nightplan.model.project import DAYS, MAYBE, SURE
from nightplan.speech import dates, tr

DAY_NAMES = tuple(dates.long_weekday(n) for n in range(7))
#: the week that is proposed: two sure evenings and a maybe Saturday
_USUAL = {1: ("20:30", 2.5, SURE), 3: ("20:30", 2.5, SURE), 5: ("14:00", 4.0, MAYBE)}


def qdate(day: dt.date) -> QDate:
    return QDate(day.year, day.month, day.day)


def pydate(day: QDate) -> dt.date:
    return dt.date(day.year(), day.month(), day.day())


def date_field(day: dt.date, name: str) -> QDateEdit:
    field = QDateEdit(qdate(day))
    field.setCalendarPopup(True)
    field.setDisplayFormat(tr("ddd d MMM yyyy"))
    field.setLocale(QLocale(QLocale.Language.English, QLocale.Country.UnitedKingdom))
    field.setAccessibleName(name)
    field.setMinimumWidth(170)
    return field


def hours_field(hours: float, name: str, most: float = 24.0) -> QDoubleSpinBox:
    field = HoursSpin()
    field.setRange(0.25, most)
    field.setSingleStep(0.25)
    field.setDecimals(2)
    field.setSuffix(" h")
    field.setValue(hours)
    field.setAccessibleName(name)
    return padded(field)


def system_zone() -> str:
    """The zone of this machine by its IANA name; UTC where it has none."""
    name = bytes(QTimeZone.systemTimeZoneId().data()).decode("ascii", "replace")
    try:
        zone_info(name)
    except BadInput:
        return "UTC"
    return "UTC" if name.upper().endswith(("/UTC", "/UCT", "/GMT", "/ZULU")) else name


def form_layout(parent: QWidget | None = None) -> QFormLayout:
    """A form whose labels line up with those of its neighbours."""
    form = QFormLayout(parent) if parent is not None else QFormLayout()
    form.setContentsMargins(0, 0, 0, 0)
    form.setVerticalSpacing(9)
    form.setHorizontalSpacing(14)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form


def row_with_hint(form: QFormLayout, text: str, field: QWidget, hint: QLabel) -> None:
    """A field with a line right beneath it; a row of its own would leave a gap."""
    column = QVBoxLayout()
    column.setContentsMargins(0, 0, 0, 4)
    column.setSpacing(4)
    column.addWidget(field)
    column.addWidget(hint)
    label = PlainLabel(text)
    label.setBuddy(field)
    form.addRow(label, column)


def label_width(form: QFormLayout) -> None:
    """The common width of labels, in letters so that it grows with the text."""
    for row in range(form.rowCount()):
        item = form.itemAt(row, QFormLayout.ItemRole.LabelRole)
        widget = item.widget() if item is not None else None
        if widget is not None:
            widget.setMinimumWidth(widget.fontMetrics().averageCharWidth() * 20)


class DatesFields(QWidget):
    """Announcement, deadline as the rules say it, personal lock, own zone."""

    changed = Signal()

    def __init__(self, today: dt.date, zone: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        form = form_layout(self)
        self.zone = QComboBox()
        self.zone.setEditable(True)
        self.zone.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        names = sorted(z for z in available_timezones() if "/" in z and not z.startswith(("Etc/", "posix", "right")))
        self.zone.addItems([*names, "UTC"])
        completer = QCompleter([*names, "UTC"], self.zone)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.zone.setCompleter(completer)
        self.zone.setCurrentText(zone)
        self.zone.setAccessibleName(tr("Your time zone"))
        self.announced = date_field(today, tr("Announced on"))
        self.deadline = QLineEdit()
        self.deadline.setPlaceholderText(tr("as the rules say it: Oct 31, 11:59 pm PT"))
        self.deadline.setAccessibleName(tr("Deadline as the rules say it"))
        self.meaning = PlainLabel()
        self.meaning.setWordWrap(True)
        self.meaning.setTextFormat(Qt.TextFormat.PlainText)
        self.lock = date_field(today + dt.timedelta(days=35), tr("Personal lock on"))
        self.lock_hint = PlainLabel(
            tr("Everything is done by then; what lies between is for the making-of and a calm upload.")
        )
        self.lock_hint.setWordWrap(True)
        self.lock_hint.setProperty("role", "muted")
        form.addRow(tr("&Announced on"), self.announced)
        row_with_hint(form, tr("&Deadline"), self.deadline, self.meaning)
        row_with_hint(form, tr("Personal &lock on"), self.lock, self.lock_hint)
        form.addRow(tr("Your time &zone"), self.zone)
        label_width(form)
        self.reading: DeadlineReading | None = None
        self._lock_touched = False
        self.deadline.textChanged.connect(self._read)
        self.announced.dateChanged.connect(self._read)
        self.zone.currentTextChanged.connect(self._read)
        self.lock.dateChanged.connect(self._lock_moved)
        self._read()

    @Slot()
    def _lock_moved(self) -> None:
        self._lock_touched = True
        self.changed.emit()

    @Slot()
    def _read(self) -> None:
        text = self.deadline.text().strip()
        self.reading = None
        role, told = "muted", tr("What it means for you stands here at once.")
        if text:
            try:
                self.reading = read_deadline(
                    text, home_zone=self.zone.currentText().strip(), not_before=pydate(self.announced.date())
                )
            except BadInput as error:
                role, told = "bad", error.sentence
            else:
                role, told = self._told(self.reading)
                if not self._lock_touched:
                    # a week for what is made from the piece, but not before half of the time is over
                    home, start = self.reading.home.date(), pydate(self.announced.date())
                    lock = max(home - dt.timedelta(days=7), start + (home - start) / 2)
                    self.lock.blockSignals(True)
                    self.lock.setDate(qdate(min(lock, home)))
                    self.lock.blockSignals(False)
        self.meaning.setText(told)
        self.meaning.setProperty("role", role)
        self.meaning.style().polish(self.meaning)
        self.meaning.setAccessibleName(told)
        self._make_room()
        self.changed.emit()

    def _make_room(self) -> None:
        """The form gives a wrapped label less than the lines that it needs."""
        self.meaning.setMinimumHeight(self.meaning.heightForWidth(self.meaning.width()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._make_room()

    @staticmethod
    def _told(reading: DeadlineReading) -> tuple[str, str]:
        if not reading.uncertain:
            return "good", f"{reading.words}."
        told = tr(
            "Planned for {words}. The wording is not clear: {reading}.", words=reading.words, reading=reading.reading
        )
        if reading.others:
            told += tr(" It could be as late as {words}; ask the organiser.", words=reading.others[-1].words)
        return "warn", told

    def values(self) -> dict[str, Any]:
        """Keys for a new project. Raises BadInput."""
        if self.reading is None:
            raise BadInput(
                self.meaning.text() if self.deadline.text().strip() else tr("The deadline is not filled in yet.")
            )
        zone = self.zone.currentText().strip()
        zone_info(zone)
        r = self.reading
        return {
            "zone": zone,
            "announced": pydate(self.announced.date()),
            "lock": {"on": pydate(self.lock.date()).isoformat()},
            "deadline": {
                "at": r.at.isoformat(timespec="minutes"),
                "zone": r.zone,
                "wording": r.wording,
                "uncertain": r.uncertain,
            },
        }


class WeekFields(QWidget):
    """Seven lines: whether, from when, how long, how sure."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setVerticalSpacing(5)
        for column, text in enumerate((tr("evening"), tr("from"), tr("hours"), tr("how sure"))):
            label = PlainLabel(text)
            label.setProperty("role", "muted")
            grid.addWidget(label, 0, column)
        made: dict[int, tuple[QCheckBox, QTimeEdit, QDoubleSpinBox, QComboBox]] = {}
        for place, n in enumerate(dates.week()):
            name = DAY_NAMES[n]
            start, hours, chance = _USUAL.get(n, ("20:30", 2.5, SURE))
            on = QCheckBox(name)
            on.setChecked(n in _USUAL)
            on.setAccessibleName(tr("{name} is one of your evenings", name=name))
            at = padded(QTimeEdit(QTime.fromString(start, "HH:mm")))
            at.setDisplayFormat("HH:mm")
            at.setAccessibleName(tr("{name} from", name=name))
            long = hours_field(hours, tr("{name} hours", name=name))
            sure = QComboBox()
            sure.addItem(tr("sure (9 in 10)"), SURE)
            sure.addItem(tr("likely (7 in 10)"), 0.7)
            sure.addItem(tr("maybe (5 in 10)"), MAYBE)
            sure.addItem(tr("rarely (3 in 10)"), 0.3)
            sure.setCurrentIndex({SURE: 0, MAYBE: 2}[chance])
            sure.setAccessibleName(tr("{name} how sure", name=name))
            for column, widget in enumerate((on, at, long, sure)):
                grid.addWidget(widget, place + 1, column)
            label_for_listeners(sure)
            made[n] = (on, at, long, sure)
            on.toggled.connect(self._toggled)
            at.timeChanged.connect(self._emit)
            long.valueChanged.connect(self._emit)
            sure.currentIndexChanged.connect(self._emit)
        #: by day, Monday first, wherever they stand
        self.rows = [made[n] for n in range(7)]
        grid.setColumnStretch(4, 1)
        self._toggled()

    @Slot()
    def _emit(self) -> None:
        self.changed.emit()

    @Slot()
    def _toggled(self) -> None:
        for on, at, long, sure in self.rows:
            for widget in (at, long, sure):
                widget.setEnabled(on.isChecked())
        self.changed.emit()

    def set_slots(self, slots: list[dict[str, Any]]) -> None:
        for n, (on, at, long, sure) in enumerate(self.rows):
            slot = next((s for s in slots if s["day"] == DAYS[n]), None)
            on.setChecked(slot is not None)
            if slot is not None:
                at.setTime(QTime.fromString(slot["start"], "HH:mm"))
                long.setValue(slot["hours"])
                place = sure.findData(slot["chance"])
                if place < 0:
                    sure.addItem(tr("{tenths} in 10", tenths=f"{slot['chance'] * 10:g}"), slot["chance"])
                    place = sure.count() - 1
                sure.setCurrentIndex(place)

    def values(self) -> list[dict[str, Any]]:
        return [
            {
                "day": DAYS[n],
                "start": at.time().toString("HH:mm"),
                "hours": round(long.value(), 4),
                "chance": float(sure.currentData()),
            }
            for n, (on, at, long, sure) in enumerate(self.rows)
            if on.isChecked()
        ]


class OffFields(QWidget):
    """Days off, and a bedtime."""

    changed = Signal()

    def __init__(self, today: dt.date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._today = today
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        self.has_bedtime = QCheckBox(tr("B&edtime: never propose anything past"))
        self.has_bedtime.setChecked(True)
        self.has_bedtime.setAccessibleName(tr("There is a bedtime"))
        self.bedtime = padded(QTimeEdit(QTime(23, 30)))
        self.bedtime.setDisplayFormat("HH:mm")
        self.bedtime.setAccessibleName(tr("Bedtime"))
        row.addWidget(self.has_bedtime)
        row.addWidget(self.bedtime)
        row.addStretch(1)
        column.addLayout(row)
        self.lines = QVBoxLayout()
        column.addLayout(self.lines)
        self.add_button = QPushButton(tr("Add days &off"))
        self.add_button.setAccessibleName(tr("Add days off"))
        self.add_button.clicked.connect(self._add_empty)
        row = QHBoxLayout()
        row.addWidget(self.add_button)
        row.addStretch(1)
        column.addLayout(row)
        self._spans: list[tuple[QWidget, QDateEdit, QDateEdit, QLineEdit]] = []
        self.has_bedtime.toggled.connect(self.bedtime.setEnabled)

    @Slot()
    def _add_empty(self) -> None:
        self.add(self._today, self._today, "")
        self._spans[-1][1].setFocus()

    def add(self, first: dt.date, last: dt.date, why: str) -> None:
        box = QWidget()
        row = QHBoxLayout(box)
        row.setContentsMargins(0, 0, 0, 0)
        start, end = date_field(first, tr("Days off from")), date_field(last, tr("Days off until"))
        reason = QLineEdit(why)
        reason.setPlaceholderText(tr("why (optional)"))
        reason.setAccessibleName(tr("Why these days are off"))
        gone = QPushButton(tr("Remove"))
        gone.setAccessibleName(tr("Remove these days off"))
        for widget in (start, PlainLabel(tr("to")), end, reason, gone):
            row.addWidget(widget)
        self.lines.addWidget(box)
        self._spans.append((box, start, end, reason))
        start.dateChanged.connect(self._later)
        end.dateChanged.connect(self._emit)
        gone.clicked.connect(self._remove)
        self.changed.emit()

    @Slot()
    def _emit(self) -> None:
        self.changed.emit()

    @Slot()
    def _later(self) -> None:
        for _, start, end, _ in self._spans:
            if end.date() < start.date():
                end.setDate(start.date())
        self.changed.emit()

    @Slot()
    def _remove(self) -> None:
        button = self.sender()
        if isinstance(button, QPushButton):
            box = button.parentWidget()
            if box is None:
                return
            self._spans = [span for span in self._spans if span[0] is not box]
            self.lines.removeWidget(box)
            box.hide()
            box.deleteLater()
            self.changed.emit()

    def values(self) -> tuple[list[dict[str, str]], str | None]:
        spans = [
            {"from": pydate(a.date()).isoformat(), "to": pydate(b.date()).isoformat(), "why": why.text().strip()}
            for _, a, b, why in self._spans
        ]
        return spans, self.bedtime.time().toString("HH:mm") if self.has_bedtime.isChecked() else None


def kind_field() -> QComboBox:
    field = QComboBox()
    for kind in TEMPLATES:
        field.addItem(KIND_WORDS[kind], kind)
    field.setAccessibleName(tr("Kind of piece"))
    return field
