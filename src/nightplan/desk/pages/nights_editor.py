# SPDX-License-Identifier: GPL-3.0-or-later
"""The form of one machine job: its measure, its machines, its hands, its folder."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from PySide6.QtCore import QTime, Signal, Slot
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QCheckBox,
    QDoubleSpinBox,
    QFormLayout,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QSpinBox,
    QTimeEdit,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions import jobs as actions
from nightplan.actions.edit import change_job
from nightplan.desk.fields import padded
from nightplan.desk.host import DeskHost
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.model.errors import BadInput
from nightplan.model.machines import LOADS, Load
from nightplan.model.project import Job, Machine, Project, Span
from nightplan.speech import tr, trc

# translators: between the first and the last of several days: "2027-10-04 to 2027-10-08"
_TO = trc("between two days", "to")
#: read in English and in the artist's language alike
_BETWEEN = re.compile(rf"\s+(?:to|{re.escape(_TO)})\s+")
_OFF_HINT = f"2027-10-04 {_TO} 2027-10-08, 2027-10-12"
# translators: minutes, behind a number
_MIN = tr(" min")
_LOAD_WORDS: dict[Load, str] = {
    # translators: how much work a test frame is for the machine
    "light": trc("test frame", "light"),
    "middle": trc("test frame", "middle"),
    "heavy": trc("test frame", "heavy"),
}


def whole(name: str, most: int, nothing: str = "") -> QSpinBox:
    spin = QSpinBox()
    spin.setRange(0 if nothing else 1, most)
    spin.setSpecialValueText(nothing)
    _named(spin, name)
    return spin


def number(name: str, most: float, suffix: str = "", decimals: int = 2, nothing: str = "") -> QDoubleSpinBox:
    spin = QDoubleSpinBox()
    spin.setDecimals(decimals)
    spin.setRange(0.0, most)
    spin.setSuffix(suffix)
    spin.setSpecialValueText(nothing)
    _named(spin, name)
    return spin


def _named(spin: QAbstractSpinBox, name: str) -> None:
    spin.setAccessibleName(name)
    # the widest number that could be is no measure for the field
    padded(spin).setFixedWidth(spin.fontMetrics().averageCharWidth() * 16)


class NightsEditor(QFrame):
    """Shows one job; Apply is one step of undo."""

    applied = Signal()

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self.setProperty("role", "card")
        self.setAccessibleName(tr("Machine job"))
        self.job: Job | None = None
        self._touched = False
        self._filling = False
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 12, 16, 12)
        column.setSpacing(8)
        self.head = PlainLabel("", role="heading", wrap=True)
        column.addWidget(self.head)
        for box in (self._frames_box(), self._transfer_box(), self._machine_box(), self._hands_box()):
            column.addWidget(box)
        self.refusal = PlainLabel("", role="bad", wrap=True)
        self.refusal.setAccessibleName(tr("What is refused"))
        self.refusal.hide()
        column.addWidget(self.refusal)
        row = QHBoxLayout()
        self.apply_button = QPushButton(tr("&Apply"))
        self.apply_button.setProperty("role", "primary")
        self.apply_button.setAccessibleName(tr("Apply to this job"))
        self.apply_button.clicked.connect(self.apply)
        self.back_button = QPushButton(tr("Put &back"))
        self.back_button.setAccessibleName(tr("Put back what was there"))
        self.back_button.clicked.connect(self.put_back)
        row.addStretch(1)
        row.addWidget(self.back_button)
        row.addWidget(self.apply_button)
        column.addLayout(row)
        column.addStretch(1)
        self._listen()
        self._say_touched()

    # --- building ---

    def _frames_box(self) -> QWidget:
        self.frames_box = QWidget()
        column = QVBoxLayout(self.frames_box)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(
            PlainLabel(
                tr("One calm test frame misleads: render a light, a middle and a heavy one."), role="muted", wrap=True
            )
        )
        grid = QGridLayout()
        grid.setColumnStretch(3, 1)
        grid.setHorizontalSpacing(8)
        for place, text in enumerate((tr("Test frame"), tr("Minutes"), tr("Stands for"))):
            grid.addWidget(PlainLabel(text, role="muted"), 0, place)
        self.tests: dict[Load, tuple[QDoubleSpinBox, QSpinBox]] = {}
        for row, load in enumerate(LOADS, 1):
            minutes = number(
                tr("Minutes of the {load} test frame", load=_LOAD_WORDS[load]), 100_000, _MIN, nothing=tr("none")
            )
            frames = whole(tr("Frames that the {load} test frame stands for", load=_LOAD_WORDS[load]), 10_000_000)
            grid.addWidget(PlainLabel(_LOAD_WORDS[load]), row, 0)
            grid.addWidget(minutes, row, 1)
            grid.addWidget(frames, row, 2)
            self.tests[load] = (minutes, frames)
        column.addLayout(grid)
        form = _form()
        self.frames = whole(tr("Frames"), 10_000_000)
        self.likely = number(tr("Likely minutes per frame"), 100_000, _MIN, 3)
        self.high = number(tr("High minutes per frame"), 100_000, _MIN, 3)
        _add(form, tr("Frames"), self.frames)
        _add(form, tr("Minutes: likely · high"), self.likely, self.high)
        self.samples = whole(tr("Samples"), 10_000_000, tr("as tested"))
        self.tested_samples = whole(tr("Samples of the test"), 10_000_000, tr("none"))
        _add(form, tr("Samples: final · test"), self.samples, self.tested_samples)
        self.picture = (whole(tr("Width"), 1_000_000, tr("as tested")), whole(tr("Height"), 1_000_000, tr("as tested")))
        self.tested = (
            whole(tr("Width of the test"), 1_000_000, tr("none")),
            whole(tr("Height of the test"), 1_000_000, tr("none")),
        )
        _add(form, tr("Picture: final"), *self.picture)
        _add(form, tr("Picture: test"), *self.tested)
        self.step = whole(tr("Frame step: 2 is every second frame"), 10_000_000)
        self.again = number(tr("Share of frames done again"), 100, " %", 1)
        _add(form, tr("Frame step · done again"), self.step, self.again)
        self.ranges = whole(tr("Ranges"), 100)
        self.fail = number(tr("Chance that a run fails"), 95, " %", 1)
        _add(form, tr("Ranges · chance to fail"), self.ranges, self.fail)
        self.folder = QLineEdit()
        self.folder.setAccessibleName(tr("Folder of frames"))
        self.folder.setPlaceholderText(tr("a folder, or folder/shot_####.exr"))
        choose = QPushButton(tr("Choose…"))
        choose.setAccessibleName(tr("Choose the folder of frames"))
        choose.clicked.connect(self._choose)
        self.megabytes = number(tr("Megabytes of one frame"), 1e9, " MB", 2, tr("not known"))
        _add(form, tr("Folder"), self.folder, choose)
        _add(form, tr("Size of a frame"), self.megabytes)
        column.addLayout(form)
        return self.frames_box

    def _transfer_box(self) -> QWidget:
        self.transfer_box = QWidget()
        form = _form(self.transfer_box)
        self.gigabytes = number(tr("Gigabytes"), 100_000, " GB", 3)
        self.megabits = number(tr("Megabits per second of the line"), 100_000, " Mbit/s")
        self.share = number(tr("Share of the line"), 100, " %", 0)
        self.retries = whole(tr("Retries that time is kept for"), 10, tr("none"))
        _add(form, tr("Decimal gigabytes"), self.gigabytes)
        _add(form, tr("Line · share of it"), self.megabits, self.share)
        _add(form, tr("Retries"), self.retries)
        return self.transfer_box

    def _machine_box(self) -> QWidget:
        box = QWidget()
        form = _form(box)
        self.machines = QLineEdit()
        self.machines.setAccessibleName(tr("Machines, the first is the job's own"))
        self.machines.setPlaceholderText(tr("desk, laptop"))
        _add(form, tr("Machines"), self.machines)
        self.speed = number(tr("Speed of its own machine"), 1000, "", 2)
        self.windowed = QCheckBox(tr("only"))
        self.windowed.setAccessibleName(tr("Its own machine works only in a nightly window"))
        self.opens, self.closes = QTimeEdit(QTime(23, 0)), QTimeEdit(QTime(7, 0))
        for edit, name in ((self.opens, tr("Window from")), (self.closes, tr("Window to"))):
            edit.setDisplayFormat("HH:mm")
            padded(edit).setAccessibleName(name)
        _add(form, tr("Speed"), self.speed)
        _add(form, tr("Its hours"), self.windowed, self.opens, self.closes)
        self.off = QLineEdit()
        self.off.setAccessibleName(tr("Days on which the power is off"))
        self.off.setPlaceholderText(_OFF_HINT)
        _add(form, tr("Power off"), self.off)
        return box

    def _hands_box(self) -> QWidget:
        box = QWidget()
        form = _form(box)
        self.start = number(tr("Minutes to start it"), 1440, _MIN, 0, tr("none"))
        self.check = number(tr("Minutes to look it over"), 1440, _MIN, 0, tr("none"))
        _add(form, tr("Hands: start · look over"), self.start, self.check)
        return box

    def _listen(self) -> None:
        for spin in self.findChildren(QAbstractSpinBox):
            if isinstance(spin, QSpinBox | QDoubleSpinBox):
                spin.valueChanged.connect(self._touch)
            elif isinstance(spin, QTimeEdit):
                spin.timeChanged.connect(self._touch)
        for line in (self.machines, self.off, self.folder):
            line.textEdited.connect(self._touch)
        self.windowed.toggled.connect(self._touch)

    # --- showing ---

    def show_job(self, project: Project, job: Job) -> None:
        """Another job, or the same one anew; what is being typed for it stays."""
        if self.job is not None and self.job.id == job.id and self._touched:
            self.job = job
            return
        self.job = job
        self._filling = True
        self._fill(project, job)
        self._filling = False
        self._touched = False
        self._say_touched()

    def _fill(self, project: Project, job: Job) -> None:
        self.head.setText(job.name)
        self.frames_box.setVisible(job.frames is not None)
        self.transfer_box.setVisible(job.gigabytes is not None)
        tests = {t.load: t for t in job.test_frames or ()}
        for load, (minutes, frames) in self.tests.items():
            test = tests.get(load)
            minutes.setValue(test.minutes if test else 0.0)
            frames.setValue(test.frames if test else max(1, (job.frames or 3) // 3))
        each = job.minutes_per_frame or Span.sure(0.0)
        self.frames.setValue(job.frames or 1)
        self.likely.setValue(each.likely)
        self.high.setValue(each.high)
        self.samples.setValue(job.samples or 0)
        self.tested_samples.setValue(job.tested_samples or 0)
        for spins, size in ((self.picture, job.picture), (self.tested, job.tested_picture)):
            for spin, edge in zip(spins, size or (0, 0), strict=True):
                spin.setValue(edge)
        self.step.setValue(job.frame_step or 1)
        self.again.setValue(100 * (job.failed_share or 0.0))
        self.ranges.setValue(job.ranges or 1)
        self.fail.setValue(100 * job.fail_chance)
        self.folder.setText(job.folder or "")
        self.megabytes.setValue(job.megabytes_per_frame or 0.0)
        self.gigabytes.setValue(job.gigabytes.likely if job.gigabytes else 0.0)
        self.megabits.setValue(job.megabits_per_second.likely if job.megabits_per_second else 0.0)
        self.share.setValue(100 * (job.line_share or 1.0))
        self.retries.setValue(job.retries or 0)
        self.machines.setText(", ".join(job.machines))
        machine = project.machines_by_name.get(job.machine) or Machine(name=job.machine)
        self.speed.setValue(machine.speed)
        self.windowed.setChecked(machine.window is not None)
        if machine.window is not None:
            for edit, time in ((self.opens, machine.window.from_), (self.closes, machine.window.to)):
                edit.setTime(QTime(time.hour, time.minute))
        self.off.setText(", ".join(f"{o.from_}" if o.from_ == o.to else f"{o.from_} {_TO} {o.to}" for o in machine.off))
        self.start.setValue(job.start_minutes or 0.0)
        self.check.setValue(job.check_minutes or 0.0)
        self.refusal.hide()

    @Slot()
    def _touch(self) -> None:
        if not self._filling:
            self._touched = True
            self._say_touched()

    def _say_touched(self) -> None:
        for button in (self.apply_button, self.back_button):
            button.setEnabled(self._touched)
        window = self.windowed.isChecked()
        self.opens.setEnabled(window)
        self.closes.setEnabled(window)

    @Slot()
    def put_back(self) -> None:
        self._touched = False
        if self.job is not None and self.job.id in self.host.project.jobs_by_id:
            self.show_job(self.host.project, self.host.project.jobs_by_id[self.job.id])

    @Slot()
    def _choose(self) -> None:
        self.host.services.ask_folder(self, tr("Folder of frames"), self.folder.text(), self._chosen)

    def _chosen(self, folder: str | None) -> None:
        if folder:
            self.folder.setText(folder)
            self._touch()

    # --- the step ---

    @Slot()
    def apply(self) -> None:
        job = self.job
        if job is None or not self._touched:
            return
        self._touched = False
        try:
            self.host.change_or_raise(tr("Change {name}", name=job.name), lambda p: self.changed(p, job.id))
        except BadInput as error:
            self._touched = True
            self.refusal.setText(error.sentence)
            self.refusal.show()
            self.host.say(error.sentence)
            return
        finally:
            self._say_touched()
        self.refusal.hide()
        self.applied.emit()

    def changed(self, project: Project, job_id: str) -> Project:
        """The project with what the form says. Raises BadInput."""
        job = actions.job_of(project, job_id)
        project = actions.set_machines(project, job_id, self.machines.text().split(","))
        project = actions.set_machine(project, actions.job_of(project, job_id).machine, **self._machine())
        hands = {"start_minutes": self.start.value() or None, "check_minutes": self.check.value() or None}
        project = change_job(project, job_id, **hands, **self._measure(job))
        if job.frames is not None:
            project = actions.point_at_folder(project, job_id, self.folder.text())
            project = self._with_minutes(project, job)
        return project

    def _machine(self) -> dict[str, Any]:
        window = None
        if self.windowed.isChecked():
            window = {"from": self.opens.time().toString("HH:mm"), "to": self.closes.time().toString("HH:mm")}
        return {"speed": self.speed.value(), "window": window, "off": _days_off(self.off.text())}

    def _measure(self, job: Job) -> dict[str, Any]:
        if job.gigabytes is not None and job.megabits_per_second is not None:
            return {
                "gigabytes": _moved(job.gigabytes, self.gigabytes.value()),
                "megabits_per_second": _moved(job.megabits_per_second, self.megabits.value()),
                "line_share": None if self.share.value() >= 100 else self.share.value() / 100,
                "retries": self.retries.value() or None,
            }
        if job.frames is None:
            return {}
        samples = self.tested_samples.value()
        tested = tuple(s.value() for s in self.tested)
        picture = tuple(s.value() or t for s, t in zip(self.picture, tested, strict=True))
        return {
            "frames": self.frames.value(),
            "samples": (self.samples.value() or samples) if samples else None,
            "tested_samples": samples or None,
            "picture": picture if all(tested) else None,
            "tested_picture": tested if all(tested) else None,
            "frame_step": self.step.value() if self.step.value() > 1 else None,
            "failed_share": self.again.value() / 100 or None,
            "ranges": self.ranges.value() if self.ranges.value() > 1 else None,
            "fail_chance": self.fail.value() / 100,
            "megabytes_per_frame": self.megabytes.value() or None,
        }

    def _with_minutes(self, project: Project, job: Job) -> Project:
        """Test frames where they are new; else the minutes, where those are."""
        tests = [
            {"load": load, "minutes": minutes.value(), "frames": frames.value()}
            for load, (minutes, frames) in self.tests.items()
            if minutes.value() > 0
        ]
        before = [{"load": t.load, "minutes": t.minutes, "frames": t.frames} for t in job.test_frames or ()]
        if tests != before:
            return actions.set_test_frames(project, job.id, tests)
        each = job.minutes_per_frame
        likely, high = self.likely.value(), self.high.value()
        if each is not None and (round(each.likely, 3), round(each.high, 3)) != (likely, high):
            return actions.set_minutes(project, job.id, likely, high)
        return project


def _moved(span: Span, likely: float) -> Span:
    """The span about another likely amount, its spread kept; untouched where the field shows it rounded."""
    if abs(span.likely - likely) < 0.005 or span.likely <= 0:
        return span if abs(span.likely - likely) < 0.005 else Span.sure(likely)
    factor = likely / span.likely
    return Span(likely=likely, high=span.high * factor, low=None if span.low is None else span.low * factor)


def _days_off(text: str) -> list[dict[str, str]]:
    """``2027-10-04 to 2027-10-08, 2027-10-12``. Raises BadInput."""
    spans = []
    for part in (p.strip() for p in text.split(",")):
        if not part:
            continue
        first, *rest = _BETWEEN.split(part, maxsplit=1)
        last = rest[0] if rest else first
        for date in (first, last):
            try:
                dt.date.fromisoformat(date.strip())
            except ValueError:
                raise BadInput.at(tr("power off"), part, tr("write days as {days}", days=_OFF_HINT)) from None
        spans.append({"from": first.strip(), "to": last.strip()})
    return spans


def _form(parent: QWidget | None = None) -> QFormLayout:
    form = QFormLayout() if parent is None else QFormLayout(parent)
    form.setContentsMargins(0, 0, 0, 0)
    form.setVerticalSpacing(6)
    form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
    return form


def _add(form: QFormLayout, text: str, *fields: QWidget) -> None:
    row = QHBoxLayout()
    row.setSpacing(6)
    for field in fields:
        row.addWidget(field, 1 if isinstance(field, QLineEdit) else 0)
    if not any(isinstance(f, QLineEdit) for f in fields):
        row.addStretch(1)
    label = PlainLabel(text, role="muted")
    # one width for all boxes of the form, in letters so that it grows with the text
    label.setMinimumWidth(label.fontMetrics().averageCharWidth() * 23)
    form.addRow(label, row)
