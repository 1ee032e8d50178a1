# SPDX-License-Identifier: GPL-3.0-or-later
"""Tonight: what to work on and why, a clock, and the tick at the end."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QDate, QElapsedTimer, Qt, QTimer, Slot
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QButtonGroup,
    QDateEdit,
    QDoubleSpinBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions.tick import Evening, share_out, stored, tick
from nightplan.actions.ways_back import worth_saying
from nightplan.desk import words
from nightplan.desk.fields import padded
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import Page
from nightplan.desk.pages.tonight_words import (
    before_you_stop,
    coming_words,
    evening_words,
    last_note,
    last_words,
    left_words,
    moved_words,
    odds_words,
    starts_tonight,
    why_words,
)
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.short_label import PlainLabel
from nightplan.desk.widgets.ways_notice import reasons
from nightplan.evenings.dated import calendar
from nightplan.model.errors import BadInput
from nightplan.model.project import Project, Span
from nightplan.model.results import Forecast, Plan, PlannedEvening
from nightplan.speech import tr, trc

#: lines for items that can be ticked off in one evening
_LINES = 6
#: letters across that two columns need
_TWO_COLUMNS_LETTERS = 116
_TICK_FIRST = tr("Tick the evening off, and the new odds stand here with what moved them.")
_DONE, _MORE = trc("of an item", "done"), tr("needs more")
#: before a choice that is made: its colour says it too
_CHECKED = "✓ "


@dataclass
class _Line:
    """One item of the evening: its hours, and whether it is done or what is left."""

    box: QWidget
    name: QLabel
    hours: QDoubleSpinBox
    done: QPushButton
    more: QPushButton
    left: QDoubleSpinBox
    left_box: QWidget
    group: QButtonGroup
    item: str = ""


def _spin(name: str, most: float = 24.0) -> QDoubleSpinBox:
    spin = padded(QDoubleSpinBox())
    spin.setRange(0.0, most)
    spin.setDecimals(2)
    spin.setSingleStep(0.25)
    # translators: hours, behind a number
    spin.setSuffix(tr(" h"))
    spin.setAccessibleName(name)
    spin.setAlignment(Qt.AlignmentFlag.AlignRight)
    spin.setMinimumWidth(110)
    return spin


def _with_forecasts(date: dt.date, before: Forecast, project: Project, after: Forecast) -> Project:
    """Both forecasts of a tick, kept with the tick itself."""
    fresh = [stored(after, "after")]
    if before.as_of == after.as_of == date:
        fresh.insert(0, stored(before, "before"))
    # one of a kind for a day: what was given as an evening began stays as it was given
    given = {(f.as_of, f.moment) for f in fresh}
    kept = tuple(f for f in project.forecasts if (f.as_of, f.moment) not in given)
    return project.but(forecasts=(*kept, *fresh))


class TonightPage(Page):
    """The evening of a day: at most three actions to tick it off."""

    id = "tonight"
    title = tr("Tonight")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self.project: Project | None = None
        #: id of the machine job that this evening starts
        self._starting = ""
        self.date: dt.date | None = None
        self._chosen = False
        self._plan: Plan | None = None
        self._before: Forecast | None = None
        self._ticked: tuple[dt.date, Project] | None = None
        self._hours_touched = False
        #: the project changed and its plan has not come yet: what is shown stays for this moment
        self._waiting = False
        self._clock = QElapsedTimer()
        self._clock_hours = 0.0
        self._beat = QTimer(self)
        self._beat.setInterval(1000)
        self._beat.timeout.connect(self._tell_time)
        self._build()

    # --- building ---

    def _build(self) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setAccessibleName(tr("Tonight"))
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inner = QWidget()
        inner.setProperty("role", "ground")
        scroll.setWidget(inner)
        outer.addWidget(scroll)
        grid = QGridLayout(inner)
        grid.setContentsMargins(0, 0, 6, 0)
        grid.setSpacing(12)
        grid.addWidget(self._head(), 0, 0, 1, 2)
        left = QVBoxLayout()
        left.setSpacing(12)
        for card in (self._what_card(), self._after_card(), self._around_card()):
            left.addWidget(card)
        left.addStretch(1)
        grid.addLayout(left, 1, 0)
        self.tick_card = self._tick_card()
        grid.addWidget(self.tick_card, 1, 1, Qt.AlignmentFlag.AlignTop)
        self._grid, self._left, self._stacked = grid, left, False
        grid.setColumnStretch(0, 5)
        grid.setColumnStretch(1, 6)
        grid.setRowStretch(1, 1)
        for key, slot in (("Ctrl+Return", self.tick_off), ("Ctrl+Enter", self.tick_off), ("Ctrl+Shift+M", self.missed)):
            shortcut = QShortcut(QKeySequence(key), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(slot)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        stacked = self.width() < self.fontMetrics().averageCharWidth() * _TWO_COLUMNS_LETTERS
        if stacked == self._stacked:
            return
        # side by side where there is room, else what is ticked off comes first
        self._stacked = stacked
        self._grid.removeItem(self._left)
        self._grid.removeWidget(self.tick_card)
        self._grid.addWidget(self.tick_card, 1, 0 if stacked else 1, 1, 2 if stacked else 1, Qt.AlignmentFlag.AlignTop)
        self._grid.addLayout(self._left, 2 if stacked else 1, 0, 1, 2 if stacked else 1)
        self._grid.setRowStretch(1, 0 if stacked else 1)
        self._grid.setRowStretch(2, 1 if stacked else 0)

    def _card(self, head: str) -> tuple[QFrame, QVBoxLayout]:
        card = QFrame()
        card.setProperty("role", "card")
        column = QVBoxLayout(card)
        column.setContentsMargins(20, 16, 20, 16)
        column.setSpacing(8)
        label = QLabel(head)
        label.setProperty("role", "heading")
        column.addWidget(label)
        return card, column

    def _head(self) -> QWidget:
        box = QWidget()
        row = QHBoxLayout(box)
        row.setContentsMargins(2, 0, 0, 0)
        self.when = QLabel()
        self.when.setProperty("role", "heading")
        row.addWidget(self.when)
        row.addStretch(1)
        label = QLabel(tr("Even&ing"))
        self.picker = QDateEdit()
        self.picker.setCalendarPopup(True)
        # translators: letters of a date: ddd d MMM yyyy is Tue 12 Oct 2027
        self.picker.setDisplayFormat(tr("ddd d MMM yyyy"))
        self.picker.setAccessibleName(tr("Evening to tick off"))
        label.setBuddy(self.picker)
        self.picker.dateChanged.connect(self._date_picked)
        row.addWidget(label)
        row.addWidget(self.picker)
        return box

    def _what_card(self) -> QWidget:
        card, column = self._card(tr("What to do"))
        self.first, self.first_why, self.then, self.stop = QLabel(), QLabel(), QLabel(), QLabel()
        self.first.setProperty("role", "title")
        self.first_why.setProperty("role", "muted")
        self.stop.setProperty("role", "warn")
        for label in (self.first, self.first_why, self.then, self.stop):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
            column.addWidget(label)
        self.started_button = QPushButton()
        self.started_button.setProperty("role", "link")
        self.started_button.clicked.connect(self._job_started)
        self.started_button.hide()
        column.addWidget(self.started_button, 0, Qt.AlignmentFlag.AlignLeft)
        row = QHBoxLayout()
        self.clock_button = QPushButton(tr("Start the &clock"))
        self.clock_button.setAccessibleName(tr("Start the clock"))
        self.clock_button.clicked.connect(self._clock_pressed)
        self.clock_label = QLabel(tr("It fills in the hours for you."))
        self.clock_label.setProperty("role", "muted")
        row.addWidget(self.clock_button)
        row.addWidget(self.clock_label, 1)
        column.addLayout(row)
        return card

    def _tick_card(self) -> QWidget:
        card, column = self._card(tr("Tick off"))
        self.notice = QLabel()
        self.notice.setProperty("role", "muted")
        self.notice.setWordWrap(True)
        column.addWidget(self.notice)
        row = QHBoxLayout()
        label = QLabel(tr("H&ours worked"))
        label.setMinimumWidth(150)
        self.hours = _spin(tr("Hours worked"))
        label.setBuddy(self.hours)
        self.hours.valueChanged.connect(self._hours_changed)
        row.addWidget(label)
        row.addWidget(self.hours)
        row.addStretch(1)
        column.addLayout(row)
        self.lines = [self._line(column) for _ in range(_LINES)]
        note_label = QLabel(tr("&Note for the making-of (optional)"))
        self.note = QPlainTextEdit()
        self.note.setAccessibleName(tr("Note for the making-of"))
        self.note.setTabChangesFocus(True)
        self.note.setPlaceholderText(tr("What went well, what fought back, what fixed it."))
        self.note.setFixedHeight(self.note.fontMetrics().lineSpacing() * 7)
        note_label.setBuddy(self.note)
        column.addWidget(note_label)
        column.addWidget(self.note)
        self.error = QLabel()
        self.error.setProperty("role", "bad")
        self.error.setWordWrap(True)
        self.error.hide()
        column.addWidget(self.error)
        buttons = QHBoxLayout()
        self.tick_button = QPushButton(tr("&Tick off the evening"))
        self.tick_button.setProperty("role", "primary")
        self.missed_button = QPushButton(tr("I did not wor&k"))
        for button, slot, tip in (
            (self.tick_button, self.tick_off, tr("Ctrl+Return")),
            (self.missed_button, self.missed, tr("Ctrl+Shift+M")),
        ):
            button.setAccessibleName(words.spoken(button.text()))
            button.setToolTip(tip)
            button.clicked.connect(slot)
            buttons.addWidget(button)
        hint = QLabel(tr("Ctrl+Return"))
        hint.setProperty("role", "muted")
        buttons.addWidget(hint)
        buttons.addStretch(1)
        column.addSpacing(4)
        column.addLayout(buttons)
        return card

    def _line(self, column: QVBoxLayout) -> _Line:
        box = QWidget()
        grid = QGridLayout(box)
        grid.setContentsMargins(0, 4, 0, 4)
        grid.setHorizontalSpacing(8)
        name = QLabel()
        name.setWordWrap(True)
        name.setTextFormat(Qt.TextFormat.PlainText)
        hours = _spin(tr("Hours on this item"))
        done, more = QPushButton(_CHECKED + _DONE), QPushButton(_CHECKED + _MORE)
        group = QButtonGroup(box)
        group.setExclusive(False)
        for button, text in ((done, _DONE), (more, _MORE)):
            button.setCheckable(True)
            button.setProperty("role", "choice")
            # room for the check mark, so that nothing moves when it comes
            button.setMinimumWidth(button.sizeHint().width() + 8)
            button.setText(text)
            group.addButton(button)
        left_box = QWidget()
        left_row = QHBoxLayout(left_box)
        left_row.setContentsMargins(0, 0, 0, 0)
        left_label = QLabel(tr("likely left"))
        left_label.setProperty("role", "muted")
        left = _spin(tr("Likely hours left"), 500.0)
        left_row.addWidget(left_label)
        left_row.addWidget(left)
        left_row.addStretch(1)
        left_box.hide()
        grid.addWidget(name, 0, 0)
        grid.addWidget(hours, 0, 1)
        grid.addWidget(done, 0, 2)
        grid.addWidget(more, 0, 3)
        grid.addWidget(left_box, 1, 1, 1, 3)
        grid.setColumnStretch(0, 1)
        column.addWidget(box)
        box.hide()
        line = _Line(box, name, hours, done, more, left, left_box, group)
        done.toggled.connect(self._lines_toggled)
        more.toggled.connect(self._lines_toggled)
        hours.valueChanged.connect(self._line_hours_changed)
        return line

    def _after_card(self) -> QWidget:
        card, column = self._card(tr("After the evening"))
        self.after_odds, self.after = QLabel(), QLabel(_TICK_FIRST)
        self.after_odds.setProperty("role", "heading")
        self.after_odds.hide()
        self.after.setProperty("role", "muted")
        for label in (self.after_odds, self.after):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
            column.addWidget(label)
        self.ways = PlainLabel("", wrap=True)
        self.ways_button = QPushButton(tr("See the ways &back"))
        self.ways_button.setProperty("role", "link")
        self.ways_button.setAccessibleName(tr("See the ways back"))
        self.ways_button.clicked.connect(self._ways_back)
        for widget in (self.ways, self.ways_button):
            widget.hide()
            column.addWidget(widget, 0)
        return card

    @Slot()
    def _ways_back(self) -> None:
        self.host.go_to("ways-back")

    def _around_card(self) -> QWidget:
        """The last evening and the next ones: where the thread was left, and where it leads."""
        card, column = self._card(tr("Last time"))
        self.last, self.last_note = QLabel(), QLabel()
        self.last_note.setProperty("role", "muted")
        head = QLabel(tr("Coming up"))
        head.setProperty("role", "heading")
        self.coming = QLabel()
        column.addWidget(self.last)
        column.addWidget(self.last_note)
        column.addSpacing(6)
        column.addWidget(head)
        column.addWidget(self.coming)
        for label in (self.last, self.last_note, self.coming):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
        return card

    # --- showing ---

    def show_project(self, project: Project) -> None:
        same = self.project is not None and self.project.title == project.title
        self.project = project
        if not same:
            self._chosen = False
        if not self._chosen:
            date = self._next_date(project)
            if date != self.date:
                self._hours_touched = False
            self.date = date
        self._waiting = self._plan is not None
        self._fill()

    def take_completed(self, project: Project) -> None:
        self.project = project

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        self._plan = plan if fresh else None
        self._waiting = False
        if fresh or forecast is None:
            self._offer_ways(forecast)
        if fresh and self._ticked is not None and self._before is not None and forecast is not None:
            date, ticked = self._ticked
            if self.project is not None and self.project.but(forecasts=ticked.forecasts) == ticked:
                self.after_odds.setText(odds_words(self._before, forecast))
                self.after_odds.show()
                self.after.setText(moved_words(self.project, date, self._before, forecast))
                if self.host.document.whole:
                    self._ticked = self._before = None
        self._fill()

    def _offer_ways(self, forecast: Forecast | None) -> None:
        project = self.project
        odds = {} if forecast is None else {g.id: g.odds for g in forecast.gates}
        found = () if project is None or forecast is None else worth_saying(project, self.host.as_of, odds)
        self.ways.setText(reasons(found))
        for widget in (self.ways, self.ways_button):
            widget.setVisible(bool(found))

    def _next_date(self, project: Project) -> dt.date:
        """Today's evening, or the next one that is not ticked off."""
        as_of = self.host.as_of
        try:
            dates = [e.date for e in calendar(project).evenings if e.date >= as_of]
        except BadInput:
            return as_of
        return next((d for d in dates if d not in project.log_by_date), as_of)

    def choose_evening(self, date: dt.date) -> None:
        """Tick off another evening than the next one."""
        self._chosen = True
        self._hours_touched = False
        self.date = date
        self._fill()
        self.focus_first()

    def _row(self) -> PlannedEvening | None:
        """The plan's evening of the date."""
        if self._plan is None:
            return None
        return next((e for e in self._plan.evenings if e.date == self.date), None)

    def _fill(self) -> None:
        project, date = self.project, self.date
        if project is None or date is None:
            return
        self.picker.blockSignals(True)
        self.picker.setMinimumDate(QDate(project.announced.year, project.announced.month, project.announced.day))
        self.picker.setDate(QDate(date.year, date.month, date.day))
        self.picker.blockSignals(False)
        row = self._row()
        self.when.setText(evening_words(date, row, self.host.as_of))
        self._fill_what(project, row)
        logged = date in project.log_by_date
        self.notice.setText(
            tr("This evening is ticked off already; a new tick takes its place. Undo brings the old one back.")
            if logged
            else (
                ""
                if row is not None or self._plan is None
                else tr("No evening of your week: it will be logged as an extra one.")
            )
        )
        self.notice.setVisible(bool(self.notice.text()))
        if not self._hours_touched and not self._clock_running:
            hours = self._clock_hours or (0.0 if row is None else row.hours)
            self.hours.blockSignals(True)
            self.hours.setValue(round(hours, 2))
            self.hours.blockSignals(False)
            if not self._waiting:
                self._fill_lines()

    def _fill_what(self, project: Project, row: PlannedEvening | None) -> None:
        work = [] if row is None else [w for w in row.work if w.item in project.items]
        if row is not None and row.status in ("worked", "lost"):
            self.first.setText(tr("This evening is over."))
            self.first_why.setText("")
            self.then.setText("")
        elif not work:
            waits = self._plan is not None and any(
                e.work for e in self._plan.evenings if e.date >= (self.date or e.date)
            )
            self.first.setText(tr("Nothing is planned here") if self._plan is not None else tr("Working out the plan…"))
            self.first_why.setText(
                tr("This evening is kept free as buffer. If you work, the next thing in line moves up.")
                if waits
                else ""
            )
            self.then.setText("")
        else:
            first = project.items[work[0].item]
            self.first.setText(f"{project.stage_of[first.id].name}: {first.name}")
            self.first_why.setText(f"{left_words(project, first, self.host.as_of)} {why_words(project, first)}")
            more = [f"{project.items[w.item].name} ({words.hours(w.hours)})" for w in work[1:]]
            self.then.setText(tr("If there is time: {items}", items=", ".join(more)) if more else "")
        stop = "" if self._plan is None or self.date is None else before_you_stop(project, self._plan, self.date)
        self.stop.setText(stop)
        tonight = self._plan is not None and self.date is not None and self.date == self.host.as_of
        jobs = starts_tonight(project, self._plan, self.date) if tonight and self._plan and self.date else ()
        self._starting = jobs[0] if jobs else ""
        self.started_button.setVisible(bool(jobs))
        if jobs:
            self.started_button.setText(tr("{job} is started now", job=project.jobs_by_id[jobs[0]].name))
            self.started_button.setAccessibleName(self.started_button.text())
        self.last.setText(last_words(project))
        self.last_note.setText(last_note(project))
        self.last_note.setVisible(bool(self.last_note.text()))
        self.coming.setText(
            tr("Working out the plan…") if self._plan is None else coming_words(project, self._plan, self.date)
        )
        for label in (self.first_why, self.then, self.stop):
            label.setVisible(bool(label.text()))

    @Slot()
    def _job_started(self) -> None:
        """The machine works from now on: the odds count from there."""
        from nightplan.actions.jobs import start_job

        key, project = self._starting, self.project
        if not key or project is None or key not in project.jobs_by_id:
            return
        now = self.host.services.now().astimezone()
        self.host.change(tr("Start {job}", job=project.jobs_by_id[key].name), lambda p: start_job(p, key, now))
        self.focus_first()

    def _fill_lines(self) -> None:
        """The items of the evening with the hours as the plan would share them out."""
        assert self.project is not None
        assert self.date is not None
        shared: dict[str, float] = {}
        try:
            from nightplan.actions.tick import forget

            base = forget(self.project, self.date)
            # the plan that is shown is that of the evening where the evening is tonight's
            known = self._plan is not None and base is self.project and self.date == self.host.as_of
            rows = self._plan.evenings if known and self._plan is not None and not self._waiting else None
            shared = share_out(base, self.date, self.hours.value(), rows=rows) if self.hours.value() > 0 else {}
        except BadInput as error:
            self._say_error(error.sentence)
        names = list(shared)[:_LINES]
        for line, name in zip(self.lines, [*names, *[""] * (_LINES - len(names))], strict=True):
            keep = line.item == name
            line.item = name
            line.box.setVisible(bool(name))
            if not name:
                continue
            item = self.project.items[name]
            line.name.setText(f"{self.project.stage_of[name].name}: {item.name}")
            line.hours.blockSignals(True)
            line.hours.setValue(round(shared[name], 2))
            line.hours.blockSignals(False)
            line.hours.setAccessibleName(tr("Hours on {item}", item=item.name))
            line.done.setAccessibleName(tr("{item} is done", item=item.name))
            line.more.setAccessibleName(tr("{item} needs more", item=item.name))
            line.left.setAccessibleName(tr("Likely hours left of {item}", item=item.name))
            if not keep:
                for button in (line.done, line.more):
                    button.setChecked(False)
                line.left.setValue(max(0.25, round(item.likely / 2 * 4) / 4))
        if len(shared) > _LINES:
            self.lines[-1].hours.setValue(sum(list(shared.values())[_LINES - 1 :]))

    @Slot()
    def _lines_toggled(self) -> None:
        button = self.sender()
        for line in self.lines:
            if button is line.done and line.done.isChecked():
                line.more.setChecked(False)
            if button is line.more and line.more.isChecked():
                line.done.setChecked(False)
            for choice, text in ((line.done, _DONE), (line.more, _MORE)):
                choice.setText(_CHECKED + text if choice.isChecked() else text)
            line.left_box.setVisible(line.more.isChecked())

    @Slot(QDate)
    def _date_picked(self, picked: QDate) -> None:
        self.choose_evening(dt.date(picked.year(), picked.month(), picked.day()))

    @Slot(float)
    def _hours_changed(self, _value: float) -> None:
        self._hours_touched = True
        self._fill_lines()

    @Slot(float)
    def _line_hours_changed(self, _value: float) -> None:
        self._hours_touched = True
        total = sum(line.hours.value() for line in self.lines if line.item)
        if total > self.hours.value():
            self.hours.blockSignals(True)
            self.hours.setValue(total)
            self.hours.blockSignals(False)

    # --- clock ---

    @property
    def _clock_running(self) -> bool:
        return self._clock.isValid()

    @Slot()
    def _clock_pressed(self) -> None:
        if self._clock_running:
            self._clock_hours += self._clock.elapsed() / 3_600_000
            self._clock.invalidate()
            self._beat.stop()
            self.clock_button.setText(tr("Go &on with the clock"))
            self.clock_button.setAccessibleName(tr("Go on with the clock"))
            self.clock_label.setText(tr("{hours} by the clock, filled in.", hours=words.hours(self._clock_hours)))
            self._hours_touched = True
            self.hours.blockSignals(True)
            # to the nearest five minutes: nobody's evening is longer by seconds
            self.hours.setValue(round(self._clock_hours * 12) / 12)
            self.hours.blockSignals(False)
            self._fill_lines()
            return
        # past midnight it is still this evening, until it is ticked off
        self.host.document.hold_day(True)
        self._clock.start()
        self._beat.start()
        self.clock_button.setText(tr("Stop the &clock"))
        self.clock_button.setAccessibleName(tr("Stop the clock"))
        self._tell_time()

    @Slot()
    def _tell_time(self) -> None:
        seconds = int(self._clock_hours * 3600 + self._clock.elapsed() / 1000)
        self.clock_label.setText(f"{seconds // 3600}:{seconds // 60 % 60:02d}:{seconds % 60:02d}")

    # --- the tick ---

    def _said(self) -> Evening:
        assert self.date is not None
        lines = [line for line in self.lines if line.item]
        return Evening(
            self.date,
            self.hours.value(),
            {line.item: line.hours.value() for line in lines if line.hours.value() > 0},
            tuple(line.item for line in lines if line.done.isChecked()),
            {
                line.item: Span(likely=line.left.value(), high=round(line.left.value() * 1.75, 2))
                for line in lines
                if line.more.isChecked() and line.left.value() > 0
            },
            note=self.note.toPlainText().strip(),
        )

    @Slot()
    def tick_off(self) -> None:
        """Record the evening; the odds of before are kept to say what moved."""
        if self._clock_running:
            self._clock_pressed()
        said = self._said()
        self._record(tr("Tick off {day}", day=words.day(said.date)), said)

    @Slot()
    def missed(self) -> None:
        """The evening did not happen."""
        if self.date is not None:
            said = Evening(self.date, missed=True, note=self.note.toPlainText().strip())
            self._record(tr("Missed {day}", day=words.day(self.date)), said)

    def _record(self, label: str, said: Evening) -> None:
        project = self.project
        if project is None:
            return
        self.error.hide()
        row = self._row()
        extra = row is None or row.status not in ("planned", "relied", "buffer", "late", "unlogged")
        before = self.host.forecast if self.host.document.fresh else None
        try:
            after = tick(project, said, extra=extra, replace=said.date in project.log_by_date)
        except BadInput as error:
            self._say_error(error.sentence)
            return
        self._chosen = False
        self._hours_touched = False
        self._clock_hours = 0.0
        self.clock_button.setText(tr("Start the &clock"))
        self.clock_button.setAccessibleName(tr("Start the clock"))
        self.clock_label.setText(tr("It fills in the hours for you."))
        self.note.clear()
        for line in self.lines:
            line.item = ""
        self._before = before
        self._ticked = (said.date, after)
        self.after_odds.hide()
        self.after.setText(
            tr("{day} is in the log. Working out the new odds…", day=words.day(said.date))
            if before is not None
            else tr(
                "{day} is in the log. The new odds stand above as soon as they are worked out.",
                day=words.day(said.date),
            )
        )
        complete = None if before is None else partial(_with_forecasts, said.date, before)
        self.host.document.apply(label, after, complete)
        self.host.document.hold_day(False)
        self.host.say(tr("{change}: done. Undo takes it back.", change=label))
        self.focus_first()

    def _say_error(self, sentence: str) -> None:
        self.error.setText(sentence)
        self.error.show()
        self.host.say(sentence)

    def focus_first(self) -> None:
        self.hours.setFocus()
        self.hours.selectAll()
