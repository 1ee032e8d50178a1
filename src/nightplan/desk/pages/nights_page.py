# SPDX-License-Identifier: GPL-3.0-or-later
"""Nights: what the machines do, how many nights it takes, what it puts at risk."""

from __future__ import annotations

from PySide6.QtCore import QTimer, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions import jobs as actions
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import Page, nights_words
from nightplan.desk.pages.nights_editor import NightsEditor
from nightplan.desk.pages.nights_watch import watch_of
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.columns import Scrolled, fill, turn
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.engine.nights import NightEstimate, estimates
from nightplan.files.frames import FramesFound
from nightplan.model.errors import BadInput
from nightplan.model.project import Job, Project
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr, trc


class JobCard(QFrame):
    """One machine job."""

    edit_wanted = Signal(object)
    run_wanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "card")
        self.job_id = ""
        column = QVBoxLayout(self)
        column.setContentsMargins(16, 10, 16, 10)
        column.setSpacing(4)
        top = QHBoxLayout()
        self.name = PlainLabel("", role="heading", wrap=True)
        self.edit_button = QPushButton(tr("Edit"))
        self.run_button = QPushButton(tr("Started now"))
        top.addWidget(self.name, 1)
        top.addWidget(self.run_button)
        top.addWidget(self.edit_button)
        column.addLayout(top)
        self.measure = PlainLabel("", role="muted", wrap=True)
        self.estimate = PlainLabel("", wrap=True)
        self.risk = PlainLabel("", wrap=True)
        self.progress = QProgressBar()
        self.progress.setFormat(tr("%v of %m frames"))
        self.folder = PlainLabel("", role="muted", wrap=True)
        self.doubts = PlainLabel("", role="warn", wrap=True)
        self.room = PlainLabel("", role="muted", wrap=True)
        for part in (self.measure, self.estimate, self.risk, self.progress, self.folder, self.doubts, self.room):
            column.addWidget(part)
        self.edit_button.clicked.connect(self._edit)
        self.run_button.clicked.connect(self._run)

    @Slot()
    def _edit(self) -> None:
        self.edit_wanted.emit(self.job_id)

    @Slot()
    def _run(self) -> None:
        self.run_wanted.emit(self.job_id)

    def show_job(
        self,
        project: Project,
        job: Job,
        night: NightEstimate | None,
        odds: float | None,
        found: FramesFound | str | None,
        *,
        done: bool,
        chosen: bool,
    ) -> None:
        self.job_id = job.id
        self.setAccessibleName(job.name)
        self.setProperty("role", "marked" if chosen else "card")
        self.style().unpolish(self)
        self.style().polish(self)
        self.name.setText(job.name)
        self.edit_button.setAccessibleName(tr("Edit {name}", name=job.name))
        self.measure.setText(f"{nights_words.measure_words(job)} · {nights_words.machine_words(project, job)}")
        self.run_button.setVisible(not done)
        self.run_button.setText(tr("Not running") if job.running else tr("Started now"))
        self.run_button.setAccessibleName(
            tr("{name} does not run", name=job.name)
            if job.running
            else tr("{name} was started just now", name=job.name)
        )
        if done:
            _say(self.estimate, tr("Done."))
        else:
            _say(self.estimate, "" if night is None else nights_words.estimate_words(project, night, job.running))
        parts = [nights_words.risk_words(project, job, odds)]
        parts += [nights_words.blocks_words(night)] if night is not None else []
        parts += [nights_words.hands_words(job)]
        _say(self.risk, "" if done else " ".join(p for p in parts if p))
        self._show_folder(project, job, night, found, done=done)

    def _show_folder(
        self, project: Project, job: Job, night: NightEstimate | None, found: FramesFound | str | None, *, done: bool
    ) -> None:
        whole = job.whole_frames or 0
        there = found.whole if found is not None and not isinstance(found, str) else 0
        there = max(there, job.seen.frames if job.seen is not None else 0)
        self.progress.setVisible(bool(job.folder) and whole > 0 and not done)
        self.progress.setRange(0, max(1, whole))
        self.progress.setValue(min(there, whole))
        self.progress.setAccessibleName(tr("Frames of {name} on disk", name=job.name))
        measured = None if night is None else night.measured_minutes
        if job.folder and not done:
            told = tr("Looking…") if found is None else nights_words.found_words(project, job, found, measured)
            _say(self.folder, f"{job.folder}: {told}" if not isinstance(found, str) else "")
        else:
            _say(self.folder, "")
        _say(self.doubts, "" if done else found if isinstance(found, str) else nights_words.doubt_words(found))
        try:
            room = None if done else actions.room_for(job)
            _say(self.room, nights_words.room_words(room))
            role = "muted" if room is None or room.enough else "bad"
        except BadInput as error:
            _say(self.room, error.sentence)
            role = "warn"
        if self.room.property("role") != role:
            self.room.setProperty("role", role)
            self.room.style().unpolish(self.room)
            self.room.style().polish(self.room)


def _say(label: PlainLabel, text: str) -> None:
    label.setText(text)
    label.setVisible(bool(text))


class NightsPage(Page):
    """A card for each machine job, and the form of the one that is chosen."""

    id = "nights"
    title = tr("Nights")
    tip = tr("Renders, caches and transfers: how many nights, ready when, at what risk")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self.project: Project | None = None
        self.nights: dict[str, NightEstimate] = {}
        self.odds: dict[str, float] = {}
        self.cards: list[JobCard] = []
        self.chosen: str | None = None
        self.watch = watch_of(host)
        self.watch.looked.connect(self._looked)
        self._build()

    def _build(self) -> None:
        inner = QWidget()
        self.columns = row = QBoxLayout(QBoxLayout.Direction.LeftToRight, inner)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        left = QVBoxLayout()
        left.setSpacing(8)
        self.head = PlainLabel("", role="muted", wrap=True)
        left.addWidget(self.head)
        self.box = QVBoxLayout()
        self.box.setSpacing(8)
        left.addLayout(self.box)
        self.add_render_button = QPushButton(tr("Add a &render"))
        self.add_render_button.setAccessibleName(tr("Add a render"))
        self.add_render_button.clicked.connect(self._add_render)
        self.add_transfer_button = QPushButton(tr("Add a &transfer"))
        self.add_transfer_button.setAccessibleName(tr("Add a transfer"))
        self.add_transfer_button.clicked.connect(self._add_transfer)
        buttons = QHBoxLayout()
        buttons.addWidget(self.add_render_button)
        buttons.addWidget(self.add_transfer_button)
        buttons.addStretch(1)
        left.addLayout(buttons)
        left.addStretch(1)
        row.addLayout(left, 6)
        right = QVBoxLayout()
        self.editor = NightsEditor(self.host)
        right.addWidget(self.editor)
        right.addStretch(1)
        row.addLayout(right, 5)
        self.area = Scrolled(inner, self.title)
        fill(self, self.area)
        self.editor.hide()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # the form beneath the jobs where both do not fit side by side
        narrow = self.width() < self.editor.minimumSizeHint().width() + 72 * self.fontMetrics().averageCharWidth()
        turn(self.columns, beside=not narrow)

    # --- showing ---

    def show_project(self, project: Project) -> None:
        self.project = project
        if self.chosen not in project.jobs_by_id:
            self.chosen = next((j.id for j in project.jobs if j.state == "open"), None)
        self._fill()

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        if self.project is None:
            return
        if forecast is None or plan is None:
            self.nights, self.odds = {}, {}
        elif fresh:
            self.odds = dict(forecast.job_odds)
            try:
                self.nights = {n.job: n for n in estimates(self.project, self.host.as_of, plan)}
            except BadInput:
                self.nights = {}
        self._fill()

    def focus_first(self) -> None:
        if self.cards:
            self.cards[0].edit_button.setFocus()
        else:
            self.add_render_button.setFocus()

    def _fill(self) -> None:
        project = self.project
        if project is None:
            return
        jobs = [j for j in project.jobs if j.state != "cut"]
        while len(self.cards) < len(jobs):
            card = JobCard()
            card.edit_wanted.connect(self._choose)
            card.run_wanted.connect(self._run)
            self.box.addWidget(card)
            self.cards.append(card)
        while len(self.cards) > len(jobs):
            card = self.cards.pop()
            self.box.removeWidget(card)
            card.hide()
            card.deleteLater()
        done = {name for e in project.log for name in e.jobs_done} | {j.id for j in jobs if j.state == "done"}
        for card, job in zip(self.cards, jobs, strict=True):
            card.show_job(
                project,
                job,
                self.nights.get(job.id),
                self.odds.get(job.id),
                self.watch.found.get(job.id),
                done=job.id in done,
                chosen=job.id == self.chosen,
            )
        self.head.setText(
            tr("Machines work while you sleep. Keep one night free after the last planned one.")
            if jobs
            else tr(
                "No machine job yet. A render, a cache or a transfer takes nights, not evenings; add the first one."
            )
        )
        mine = project.jobs_by_id.get(self.chosen or "")
        self.editor.setVisible(mine is not None)
        if mine is not None:
            self.editor.show_job(project, mine)

    @Slot(object)
    def _looked(self, _job_id: str) -> None:
        self._fill()

    # --- doing ---

    @Slot(object)
    def _choose(self, job_id: str) -> None:
        self.chosen = job_id
        self._fill()
        self.editor.machines.setFocus()
        # where the form stands beneath the jobs it may be out of sight
        if self.columns.direction() == QBoxLayout.Direction.TopToBottom:
            QTimer.singleShot(0, self, self._show_form)

    @Slot()
    def _show_form(self) -> None:
        self.area.ensureWidgetVisible(self.editor, 0, 0)

    @Slot(object)
    def _run(self, job_id: str) -> None:
        job = self.host.project.jobs_by_id[job_id]
        if job.running:
            self.host.change(tr("{name} does not run", name=job.name), lambda p: actions.stop_job(p, job_id))
        else:
            now = self.host.services.now().astimezone()
            self.host.change(tr("{name} started", name=job.name), lambda p: actions.start_job(p, job_id, now))

    @Slot()
    def _add_render(self) -> None:
        # translators: what a new machine job is called
        name = trc("name of a machine job", "Render")
        tests = [{"load": "middle", "minutes": 2.0, "frames": 240}]
        if self.host.change(tr("Add a render"), lambda p: actions.add_render(p, name, 240, tests)):
            self._choose(self.host.project.jobs[-1].id)

    @Slot()
    def _add_transfer(self) -> None:
        name = trc("name of a machine job", "Upload")
        if self.host.change(tr("Add a transfer"), lambda p: actions.add_transfer(p, name, 1.0, 20.0)):
            self._choose(self.host.project.jobs[-1].id)

    def leave(self) -> None:
        """What is typed and not applied stays in the form."""
