# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates, week and settings of a project that exists, with the fields of the guided start."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import (
    QDialog,
    QDoubleSpinBox,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions.evening import with_dates
from nightplan.actions.settings import change_settings
from nightplan.desk.fields import padded
from nightplan.desk.services import Services
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.columns import Scrolled
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.wizard_fields import DatesFields, OffFields, WeekFields, form_layout, label_width, qdate
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project
from nightplan.speech import tr


class EditProject(QDialog):
    """Dates, week and settings of a project that exists."""

    made = Signal(object)

    def __init__(self, services: Services, theme: Theme, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(tr("Dates, week and settings"))
        self.resize(1000, 620)
        self.project = project
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 18, 24, 16)
        inner = QWidget()
        body = QGridLayout(inner)
        body.setContentsMargins(0, 0, 8, 0)
        body.setHorizontalSpacing(32)
        body.setVerticalSpacing(14)
        left = QVBoxLayout()
        left.setSpacing(9)
        # not aligned: what the deadline means takes more lines where it is narrow
        body.addLayout(left, 0, 0)
        form = form_layout()
        self.title, self.piece = QLineEdit(project.title), QLineEdit(project.piece)
        self.title.setAccessibleName(tr("Title"))
        self.piece.setAccessibleName(tr("Kind of piece"))
        form.addRow(tr("&Title"), self.title)
        form.addRow(tr("&Kind of piece"), self.piece)
        label_width(form)
        left.addLayout(form)
        self.dates = DatesFields(project.announced, project.zone)
        self._begin_dates()
        left.addWidget(self.dates)
        self.week = WeekFields()
        raw = project_to_raw(project)
        self.week.set_slots(raw["week"])
        self.off = OffFields(project.announced)
        for off in project.off:
            self.off.add(off.from_, off.to, off.why)
        self.off.has_bedtime.setChecked(project.bedtime is not None)
        if project.bedtime is not None:
            self.off.bedtime.setTime(self.off.bedtime.time().fromString(f"{project.bedtime:%H:%M}", "HH:mm"))
        body.addWidget(self.week, 0, 1, Qt.AlignmentFlag.AlignTop)
        body.addWidget(self.off, 1, 0, 1, 2)
        form = form_layout()
        self.target = self._number(project.target_odds * 100, 50, 99, tr(" in 100"), tr("Odds you ask for"))
        self.switching = self._number(
            project.switching_minutes, 0, 120, tr(" min"), tr("Minutes lost at a change of work")
        )
        form.addRow(tr("Odds yo&u ask for"), self.target)
        form.addRow(tr("&Minutes lost when\nthe work changes"), self.switching)
        label_width(form)
        left.addLayout(form)
        left.addStretch(1)
        body.setColumnStretch(0, 1)
        body.setRowStretch(2, 1)
        column.addWidget(Scrolled(inner, tr("Settings")), 1)
        self.error = PlainLabel()
        self.error.setProperty("role", "bad")
        self.error.setWordWrap(True)
        self.error.hide()
        column.addWidget(self.error)
        row = QHBoxLayout()
        row.addStretch(1)
        self.cancel_button, self.ok_button = QPushButton(tr("Cancel")), QPushButton(tr("A&pply"))
        self.ok_button.setProperty("role", "primary")
        self.ok_button.setDefault(True)
        row.addWidget(self.cancel_button)
        row.addWidget(self.ok_button)
        column.addLayout(row)
        self.cancel_button.clicked.connect(self.reject)
        self.ok_button.clicked.connect(self._apply)
        self.title.setFocus()

    def _begin_dates(self) -> None:
        project = self.project
        deadline, lock = project.gates_by_id["deadline"], project.gates_by_id["lock"]
        self._deadline_text = deadline.wording or ""
        if not self._deadline_text:
            if deadline.at is not None:
                self._deadline_text = f"{deadline.at:%Y-%m-%d %H:%M} {deadline.zone or project.zone}"
            elif deadline.on is not None:
                self._deadline_text = f"{deadline.on} 24:00 {project.zone}"
        self.dates.deadline.setText(self._deadline_text)
        self._lock_date = lock.on or (lock.at.date() if lock.at is not None else project.announced)
        self.dates.lock.setDate(qdate(self._lock_date))

    @staticmethod
    def _number(value: float, low: float, high: float, suffix: str, name: str) -> QDoubleSpinBox:
        field = padded(QDoubleSpinBox())
        field.setRange(low, high)
        field.setDecimals(0)
        field.setValue(value)
        field.setSuffix(suffix)
        field.setAccessibleName(name)
        return field

    def changed_project(self) -> Project:
        """The project with the fields' values. Raises BadInput."""
        project = self.project
        values = self.dates.values()
        off, bedtime = self.off.values()
        gates = list(project.gates)
        for n, gate in enumerate(gates):
            # a gate whose field was not touched stays as it was, to the letter
            if gate.id == "lock" and values["lock"]["on"] != self._lock_date.isoformat():
                gates[n] = gate.but(on=values["lock"]["on"], at=None, zone=None)
            if gate.id == "deadline" and self.dates.deadline.text().strip() != self._deadline_text:
                gates[n] = gate.but(on=None, **values["deadline"])
        raw = project_to_raw(project)
        raw["week"] = self.week.values() if self.week.values() != _as_fields(raw["week"]) else raw["week"]
        raw["off"] = off if off != [_plain(o) for o in raw["off"]] else raw["off"]
        typed = project_from_raw(raw)
        changed = with_dates(project, week=typed.week, off=typed.off).but(gates=tuple(gates))
        changed = change_settings(
            changed,
            title=self.title.text().strip(),
            piece=self.piece.text().strip(),
            zone=values["zone"],
            announced=values["announced"],
            bedtime=bedtime,
            target_odds=round(self.target.value() / 100, 4),
            switching_minutes=self.switching.value(),
        )
        if project.target_odds * 100 == self.target.value():
            changed = changed.but(target_odds=project.target_odds)
        return check_project(changed)

    @Slot()
    def _apply(self) -> None:
        try:
            changed = self.changed_project()
        except BadInput as error:
            self.error.setText(error.sentence)
            self.error.show()
            return
        self.made.emit(changed)
        self.accept()


def _as_fields(week: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{k: slot[k] for k in ("day", "start", "hours", "chance")} for slot in week]


def _plain(off: dict[str, Any]) -> dict[str, Any]:
    return {k: off.get(k, "") for k in ("from", "to", "why")}
