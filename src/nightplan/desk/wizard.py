# SPDX-License-Identifier: GPL-3.0-or-later
"""Announcement day: from a brief and a week to a plan in four steps."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, QTimer, Signal, Slot
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDoubleSpinBox,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions.templates import new_project
from nightplan.desk import words
from nightplan.desk.estimate_table import EstimateTable
from nightplan.desk.fields import padded
from nightplan.desk.odds_worker import Answer, OddsWorker
from nightplan.desk.services import Services
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.columns import Scrolled
from nightplan.desk.widgets.odds_band import OddsBand
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.wizard_fields import (
    DatesFields,
    OffFields,
    WeekFields,
    form_layout,
    kind_field,
    label_width,
    system_zone,
)
from nightplan.evenings.dated import calendar
from nightplan.model.errors import BadInput, Cancelled
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.speech import tr

_STEPS = (tr("The piece and its dates"), tr("Your evenings"), tr("The work"), tr("The verdict"))
_WAIT_MS = 250


class _Wires(QObject):
    found = Signal(object)


class _WaysJob(QRunnable):
    """What would make it fit, in the background."""

    def __init__(self, project: Project) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self.project = project
        self.wires = _Wires()
        self.called_off = False

    def run(self) -> None:
        from nightplan.engine.recovery import recover

        try:
            found = recover(self.project, self.project.announced, futures=5_000, progress=self._progress)
        except (Cancelled, BadInput):
            return
        self.wires.found.emit((self.project, found))

    def _progress(self, _share: float) -> None:
        if self.called_off:
            raise Cancelled


class NewProject(QDialog):
    """Four steps; Return goes on, the last one makes the plan."""

    made = Signal(object)

    def __init__(self, services: Services, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(tr("Announcement day"))
        self.resize(860, 680)
        self.services, self.theme = services, theme
        self.project: Project | None = None
        self._sized_for: tuple[Any, ...] | None = None
        self.worker = OddsWorker(self)
        self.worker.answered.connect(self._answered)
        self.worker.refused.connect(self._refused)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._ways: list[_WaysJob] = []
        self._build()
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setInterval(_WAIT_MS)
        self._wait.timeout.connect(self._ask)
        self.finished.connect(self._stop)
        self._show_step(0)

    # --- building ---

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(26, 20, 26, 18)
        column.setSpacing(12)
        self.head = PlainLabel()
        self.head.setProperty("role", "title")
        self.where = PlainLabel()
        self.where.setProperty("role", "muted")
        column.addWidget(self.head)
        column.addWidget(self.where)
        self.steps = QStackedWidget()
        column.addWidget(self.steps, 1)
        for widget, name in zip((self._piece(), self._evenings(), self._work(), self._verdict()), _STEPS, strict=True):
            self.steps.addWidget(Scrolled(widget, name))
        self.error = PlainLabel()
        self.error.setProperty("role", "bad")
        self.error.setWordWrap(True)
        self.error.hide()
        column.addWidget(self.error)
        # what was said about a field that is changed since is no longer true
        self.title.textChanged.connect(self.error.hide)
        self.dates.changed.connect(self.error.hide)
        row = QHBoxLayout()
        self.cancel_button = QPushButton(tr("Cancel"))
        self.back_button = QPushButton(tr("&Back"))
        self.next_button = QPushButton(tr("&Next"))
        self.next_button.setProperty("role", "primary")
        self.next_button.setDefault(True)
        row.addWidget(self.cancel_button)
        row.addStretch(1)
        row.addWidget(self.back_button)
        row.addWidget(self.next_button)
        for button in (self.cancel_button, self.back_button):
            button.setAutoDefault(False)
        column.addLayout(row)
        self.cancel_button.clicked.connect(self.reject)
        self.back_button.clicked.connect(self._back)
        self.next_button.clicked.connect(self._next)

    def _piece(self) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 8, 0)
        form = form_layout()
        self.title = QLineEdit()
        self.title.setAccessibleName(tr("Title"))
        self.title.setMaxLength(200)
        self.kind = kind_field()
        form.addRow(tr("&Title"), self.title)
        form.addRow(tr("&Kind of piece"), self.kind)
        label_width(form)
        column.addLayout(form)
        self.dates = DatesFields(self.services.today(), system_zone())
        column.addWidget(self.dates)
        column.addStretch(1)
        return box

    def _evenings(self) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 8, 0)
        hint = PlainLabel(
            tr("The evenings that really exist. One that often falls through is a maybe: it is kept as buffer.")
        )
        hint.setWordWrap(True)
        hint.setProperty("role", "muted")
        column.addWidget(hint)
        self.week = WeekFields()
        self.off = OffFields(self.services.today())
        column.addWidget(self.week)
        column.addWidget(self.off)
        self.count = PlainLabel()
        self.count.setWordWrap(True)
        column.addWidget(self.count)
        column.addStretch(1)
        for fields in (self.week, self.off, self.dates):
            fields.changed.connect(self._count)
        return box

    def _work(self) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 8, 0)
        hint = PlainLabel(
            tr(
                "A start, sized to your evenings with three tenths kept free. Change what you know better: likely is "
                "as often too long as too short, high is enough 9 times in 10."
            )
        )
        hint.setWordWrap(True)
        hint.setProperty("role", "muted")
        column.addWidget(hint)
        row = QHBoxLayout()
        label = PlainLabel(tr("Numbers in"))
        self.unit = QComboBox()
        self.unit.addItems([tr("hours"), tr("evenings")])
        self.unit.setAccessibleName(tr("Unit of the estimates"))
        label.setBuddy(self.unit)
        row.addWidget(label)
        row.addWidget(self.unit)
        row.addStretch(1)
        self.sum = PlainLabel()
        row.addWidget(self.sum)
        column.addLayout(row)
        self.table = EstimateTable()
        self.table.edited.connect(self._edited)
        self.unit.currentIndexChanged.connect(self._unit_chosen)
        column.addWidget(self.table, 1)
        return box

    def _verdict(self) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(12)
        self.verdict = PlainLabel()
        self.verdict.setProperty("role", "heading")
        self.verdict.setWordWrap(True)
        column.addWidget(self.verdict)
        self.band = OddsBand(self.theme)
        column.addWidget(self.band)
        self.detail = PlainLabel()
        self.detail.setWordWrap(True)
        self.detail.setTextFormat(Qt.TextFormat.PlainText)
        column.addWidget(self.detail)
        self.fit_head = PlainLabel(tr("What would make it fit"))
        self.fit_head.setProperty("role", "heading")
        self.fit = PlainLabel()
        self.fit.setWordWrap(True)
        self.fit.setTextFormat(Qt.TextFormat.PlainText)
        for label in (self.fit_head, self.fit):
            label.hide()
            column.addWidget(label)
        row = QHBoxLayout()
        label = PlainLabel(tr("Odds yo&u ask for"))
        self.target = padded(QDoubleSpinBox())
        self.target.setRange(50, 99)
        self.target.setDecimals(0)
        self.target.setValue(80)
        self.target.setSuffix(tr(" in 100"))
        self.target.setAccessibleName(tr("Odds you ask for"))
        label.setBuddy(self.target)
        self.target.valueChanged.connect(self._edited)
        row.addWidget(label)
        row.addWidget(self.target)
        row.addStretch(1)
        column.addLayout(row)
        caution = PlainLabel(
            tr(
                "Odds are a weather report from your own numbers, no promise. "
                "The organiser's rules decide, and sleep is no buffer."
            )
        )
        caution.setProperty("role", "muted")
        caution.setWordWrap(True)
        column.addWidget(caution)
        column.addStretch(1)
        return box

    # --- steps ---

    @property
    def step(self) -> int:
        return self.steps.currentIndex()

    def _show_step(self, step: int) -> None:
        self.steps.setCurrentIndex(step)
        self.head.setText(_STEPS[step])
        self.where.setText(tr("Step {step} of {STEPS}", step=step + 1, STEPS=len(_STEPS)))
        self.back_button.setEnabled(step > 0)
        self.next_button.setText(tr("&Make the plan") if step == len(_STEPS) - 1 else tr("&Next"))
        self.error.hide()
        first = (self.title, self.week.rows[0][0], self.table, self.target)[step]
        first.setFocus()
        if step == 2:
            self.table.setCurrentCell(0, 2)
        if step == 3:
            self._ask()

    @Slot()
    def _back(self) -> None:
        self._show_step(self.step - 1)

    @Slot()
    def _next(self) -> None:
        try:
            self._check_step()
        except BadInput as error:
            self.error.setText(error.sentence)
            self.error.show()
            return
        if self.step == len(_STEPS) - 1:
            assert self.project is not None
            self.made.emit(self.project)
            self.accept()
        else:
            self._show_step(self.step + 1)

    def _check_step(self) -> None:
        if self.step == 0:
            if not self.title.text().strip():
                self.title.setFocus()
                raise BadInput(tr("The piece needs a title; it can be changed later."))
            self.dates.values()
        elif self.step == 1:
            self._size()
        else:
            self._take_numbers()

    def _draft(self) -> Project:
        """A project from the template, sized to the evenings. Raises BadInput."""
        off, bedtime = self.off.values()
        return new_project(
            title=self.title.text().strip() or "untitled",
            piece=str(self.kind.currentData()),
            week=self.week.values(),
            off=off,
            bedtime=bedtime,
            **self.dates.values(),
        )

    def _size(self) -> None:
        """Stages anew where dates, week or kind changed; otherwise the artist's numbers stay."""
        draft = self._draft()
        key = (draft.piece, draft.gates, draft.week, draft.off, draft.announced)
        if key != self._sized_for:
            self._sized_for = key
            self.project = draft
            self.table.show_project(draft)
            self._edited()
        elif self.project is not None:
            self.project = self.project.but(title=draft.title, bedtime=draft.bedtime)

    def _take_numbers(self) -> None:
        if self.project is None:
            return
        raw = project_to_raw(self.project)
        for stage in raw["stages"]:
            for item in stage["items"]:
                item["likely"], item["high"] = self.table.numbers[item["id"]]
        raw["target_odds"] = round(self.target.value() / 100, 2)
        self.project = project_from_raw(raw)

    @Slot()
    def _count(self) -> None:
        try:
            draft = self._draft()
            dated = calendar(draft)
            before = [e for e, _ in dated.before(dated.gate("lock"))]
        except BadInput as error:
            self.count.setText(error.sentence if self.dates.reading is not None else "")
            return
        sure = [e for e in before if e.chance >= PLANNED_CHANCE]
        self.count.setText(
            tr(
                "{count} before the lock: {sure} sure with {sure_hours}, {maybe} maybe with {maybe_hours}.",
                count=words.evenings(len(before)),
                sure=len(sure),
                sure_hours=words.hours(sum(e.hours for e in sure)),
                maybe=len(before) - len(sure),
                maybe_hours=words.hours(sum(e.hours for e in before) - sum(e.hours for e in sure)),
            )
        )

    @Slot()
    def _unit_chosen(self) -> None:
        slots = [s["hours"] for s in self.week.values() if s["chance"] >= PLANNED_CHANCE] or [2.5]
        self.table.set_unit(sum(slots) / len(slots) if self.unit.currentIndex() == 1 else 1.0)

    @Slot()
    def _edited(self) -> None:
        total = sum(likely for likely, _ in self.table.numbers.values())
        self.sum.setText(tr("likely {hours} in all", hours=words.hours(total)))
        self._wait.start()

    # --- odds ---

    @Slot()
    def _ask(self) -> None:
        try:
            self._take_numbers()
        except BadInput as error:
            self.error.setText(error.sentence)
            self.error.show()
            return
        if self.project is not None:
            self.band.show_odds(self.project, None, fresh=False)
            self.verdict.setText(tr("Working out the odds…"))
            self.worker.ask(self.project, self.project.announced)

    @Slot(object)
    def _refused(self, sentence: str) -> None:
        self.verdict.setText(sentence)

    @Slot(object)
    def _answered(self, answer: Answer) -> None:
        project, found = answer.project, answer.forecast
        self.band.show_odds(project, found, fresh=True)
        dated = calendar(project)
        before = [e for e, _ in dated.before(dated.gate("lock"))]
        there = sum(hours * e.chance for e, hours in dated.before(dated.gate("lock")))
        lock = found.gate("lock")
        fits = lock.odds >= project.target_odds
        self.verdict.setText(
            tr("It fits: the lock holds in {odds} futures.", odds=words.in_100(lock.odds))
            if fits
            else tr(
                "It does not fit yet: the lock holds in {odds} futures, you ask for {asked}.",
                odds=words.in_100(lock.odds),
                asked=round(project.target_odds * 100),
            )
        )
        self.detail.setText(
            tr(
                "{count} before the lock give {there} on average. The work needs likely {work}. "
                "Buffer: have {have}, need {need}.",
                count=words.evenings(len(before)),
                there=words.hours(there),
                work=words.hours(found.hours_left),
                have=words.hours(lock.buffer.have_hours),
                need=words.hours(lock.buffer.need_hours),
            )
        )
        for label in (self.fit_head, self.fit):
            label.setVisible(not fits)
        if not fits and answer.whole:
            self.fit.setText(tr("Looking for what would make it fit…"))
            self._look_for_ways(project)

    def _look_for_ways(self, project: Project) -> None:
        for job in self._ways:
            job.called_off = True
        job = _WaysJob(project)
        job.wires.found.connect(self._ways_found)
        self._ways.append(job)
        self._pool.start(job)

    @Slot(object)
    def _ways_found(self, told: tuple[Project, Any]) -> None:
        project, found = told
        if project is not self.project:
            return
        lines = [found.words]
        for value in found.moves[:5]:
            odds = value.odds.get("lock")
            if odds is not None:
                lines.append(f"· {value.move.what}: {words.in_100(odds)}")
        self.fit.setText("\n".join(lines))

    @Slot()
    def _stop(self) -> None:
        self._wait.stop()
        self.worker.close()
        for job in self._ways:
            job.called_off = True
        self._pool.waitForDone()
