# SPDX-License-Identifier: GPL-3.0-or-later
"""Tonight: what to work on and why, a clock, and the tick at the end."""

from __future__ import annotations

import datetime as dt
from functools import partial

from PySide6.QtCore import QDate, Qt, Slot
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QDateEdit, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from nightplan.actions.lookback import answers, is_over
from nightplan.actions.tick import Evening, forget, share_out, stored, tick
from nightplan.actions.ways_back import worth_saying
from nightplan.desk import words
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import Page
from nightplan.desk.pages.tonight_words import evening_words
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.columns import Scrolled, fill
from nightplan.desk.widgets.notice import Notice
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.tonight_cards import AfterCard, AroundCard, WhatCard
from nightplan.desk.widgets.tonight_tick import TickCard
from nightplan.desk.widgets.ways_notice import reasons
from nightplan.evenings.dated import calendar
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import COMING, Forecast, Plan, PlannedEvening
from nightplan.speech import tr

#: letters across that two columns need
_TWO_COLUMNS_LETTERS = 116


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
        self.date: dt.date | None = None
        self._chosen = False
        self._plan: Plan | None = None
        self._before: Forecast | None = None
        self._ticked: tuple[dt.date, Project] | None = None
        #: the project changed and its plan has not come yet: what is shown stays for this moment
        self._waiting = False
        self.what_card, self.after_card, self.around_card = WhatCard(), AfterCard(), AroundCard()
        self.tick_card = TickCard()
        self.clock = self.what_card.clock
        self._build()
        self.what_card.started_button.clicked.connect(self._job_started)
        self.clock.started.connect(self._clock_started)
        self.clock.stopped.connect(self._clock_stopped)
        self.after_card.ways_button.clicked.connect(self._ways_back)
        self.tick_card.hours_changed.connect(self._fill_lines)
        self.tick_card.tick_wanted.connect(self.tick_off)
        self.tick_card.missed_wanted.connect(self.missed)

    # --- building ---

    def _build(self) -> None:
        inner = QWidget()
        fill(self, Scrolled(inner, self.title))
        grid = QGridLayout(inner)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(12)
        grid.addWidget(self._head(), 0, 0, 1, 2)
        left = QVBoxLayout()
        left.setSpacing(12)
        for card in (self.what_card, self.after_card, self.around_card):
            left.addWidget(card)
        left.addStretch(1)
        grid.addLayout(left, 1, 0)
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

    def _head(self) -> QWidget:
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, 0, 0, 0)
        self.over = Notice(tr("Look back"), tr("Three questions, and what the estimates say for the next piece"))
        self.over.wanted.connect(self._look_back)
        column.addWidget(self.over)
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        column.addLayout(row)
        self.when = PlainLabel()
        self.when.setProperty("role", "heading")
        self.when.setWordWrap(True)
        row.addWidget(self.when, 1)
        label = PlainLabel(tr("Even&ing"))
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

    @Slot()
    def _ways_back(self) -> None:
        self.host.go_to("ways-back")

    @Slot()
    def _look_back(self) -> None:
        self.host.go_to("look-back")

    def _say_over(self, project: Project) -> None:
        asked = is_over(project, self.host.as_of) and not answers(project)
        self.over.say(
            tr("This piece is over. Three questions while it is fresh: what overran, what to cut, what to do again.")
            if asked
            else ""
        )

    # --- showing ---

    def show_project(self, project: Project) -> None:
        same = self.project is not None and self.project.title == project.title
        self.project = project
        if not same:
            self._chosen = False
        if not self._chosen:
            date = self._next_date(project)
            if date != self.date:
                self.tick_card.touched = False
            self.date = date
        self._waiting = self._plan is not None
        self._say_over(project)
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
                self.after_card.show_odds(self.project, date, self._before, forecast)
                if self.host.document.whole:
                    self._ticked = self._before = None
        self._fill()

    def _offer_ways(self, forecast: Forecast | None) -> None:
        project = self.project
        odds = {} if forecast is None else {g.id: g.odds for g in forecast.gates}
        found = () if project is None or forecast is None else worth_saying(project, self.host.as_of, odds)
        self.after_card.offer(reasons(found))

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
        self.tick_card.touched = False
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
        row, as_of = self._row(), self.host.as_of
        self.when.setText(evening_words(date, row, as_of))
        self.what_card.fill(project, self._plan, row, date, as_of)
        self.around_card.fill(project, self._plan, date)
        if date in project.log_by_date:
            self.tick_card.say(
                tr("This evening is ticked off already; a new tick takes its place. Undo brings the old one back.")
            )
        elif row is None and self._plan is not None:
            self.tick_card.say(tr("No evening of your week: it will be logged as an extra one."))
        else:
            self.tick_card.say("")
        if not self.tick_card.touched and not self.clock.running:
            self.tick_card.set_hours(round(self.clock.hours or (0.0 if row is None else row.hours), 2))
            if not self._waiting:
                self._fill_lines()

    @Slot()
    def _job_started(self) -> None:
        """The machine works from now on: the odds count from there."""
        from nightplan.actions.jobs import start_job

        key, project = self.what_card.starting, self.project
        if not key or project is None or key not in project.jobs_by_id:
            return
        now = self.host.services.now().astimezone()
        self.host.change(tr("Start {job}", job=project.jobs_by_id[key].name), lambda p: start_job(p, key, now))
        self.focus_first()

    @Slot()
    def _fill_lines(self) -> None:
        """The items of the evening with the hours as the plan would share them out."""
        assert self.project is not None
        assert self.date is not None
        hours = self.tick_card.hours.value()
        shared: dict[str, float] = {}
        try:
            base = forget(self.project, self.date)
            # the plan that is shown is that of the evening where the evening is tonight's
            known = self._plan is not None and base is self.project and self.date == self.host.as_of
            rows = self._plan.evenings if known and self._plan is not None and not self._waiting else None
            shared = share_out(base, self.date, hours, rows=rows) if hours > 0 else {}
        except BadInput as error:
            self._say_error(error.sentence)
        self.tick_card.show_lines(self.project, shared)

    @Slot(QDate)
    def _date_picked(self, picked: QDate) -> None:
        self.choose_evening(dt.date(picked.year(), picked.month(), picked.day()))

    # --- clock ---

    @Slot()
    def _clock_started(self) -> None:
        # past midnight it is still this evening, until it is ticked off
        self.host.document.hold_day(True)

    @Slot()
    def _clock_stopped(self) -> None:
        self.tick_card.touched = True
        # to the nearest five minutes: nobody's evening is longer by seconds
        self.tick_card.set_hours(round(self.clock.hours * 12) / 12)
        self._fill_lines()

    # --- the tick ---

    @Slot()
    def tick_off(self) -> None:
        """Record the evening; the odds of before are kept to say what moved."""
        if self.clock.running:
            self.clock.press()
        if self.date is not None:
            self._record(tr("Tick off {day}", day=words.day(self.date)), self.tick_card.said(self.date))

    @Slot()
    def missed(self) -> None:
        """The evening did not happen."""
        if self.date is not None:
            self._record(tr("Missed {day}", day=words.day(self.date)), self.tick_card.missed(self.date))

    def _record(self, label: str, said: Evening) -> None:
        project = self.project
        if project is None:
            return
        self.tick_card.error.hide()
        row = self._row()
        extra = row is None or row.status not in (*COMING, "unlogged")
        before = self.host.forecast if self.host.document.fresh else None
        try:
            after = tick(project, said, extra=extra, replace=said.date in project.log_by_date)
        except BadInput as error:
            self._say_error(error.sentence)
            return
        self._chosen = False
        self.clock.reset()
        self.tick_card.clear()
        self._before = before
        self._ticked = (said.date, after)
        self.after_card.wait(said.date, before is not None)
        complete = None if before is None else partial(_with_forecasts, said.date, before)
        self.host.document.apply(label, after, complete)
        self.host.document.hold_day(False)
        self.host.say(tr("{change}: done. Undo takes it back.", change=label))
        self.focus_first()

    def _say_error(self, sentence: str) -> None:
        self.tick_card.show_error(sentence)
        self.host.say(sentence)

    def focus_first(self) -> None:
        self.tick_card.hours.setFocus()
        self.tick_card.hours.selectAll()
