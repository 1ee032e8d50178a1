# SPDX-License-Identifier: GPL-3.0-or-later
"""What stands beside the tick of an evening: what to do and why, what the tick moved, the evenings around it."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.pages.tonight_words import (
    before_you_stop,
    coming_words,
    last_note,
    last_words,
    left_words,
    moved_words,
    odds_words,
    starts_tonight,
    why_words,
)
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.tonight_clock import EveningClock
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan, PlannedEvening
from nightplan.speech import tr

_TICK_FIRST = tr("Tick the evening off, and the new odds stand here with what moved them.")


class Card(QFrame):
    """A raised panel with a heading; ``column`` is where things go."""

    def __init__(self, head: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "card")
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(20, 16, 20, 16)
        self.column.setSpacing(8)
        label = PlainLabel(head)
        label.setProperty("role", "heading")
        self.column.addWidget(label)


def _wrapped(role: str = "", text: str = "") -> QLabel:
    label = PlainLabel(text)
    if role:
        label.setProperty("role", role)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


class WhatCard(Card):
    """The first thing, why it is the first, what comes then; the machine's part; the clock."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("What to do"), parent)
        self.first, self.first_why, self.then, self.stop = (_wrapped(role) for role in ("title", "muted", "", "warn"))
        for label in (self.first, self.first_why, self.then, self.stop):
            self.column.addWidget(label)
        #: id of the machine job that this evening starts
        self.starting = ""
        self.started_button = QPushButton()
        self.started_button.setProperty("role", "link")
        self.started_button.hide()
        self.column.addWidget(self.started_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.clock = EveningClock()
        self.column.addWidget(self.clock)

    def fill(
        self, project: Project, plan: Plan | None, row: PlannedEvening | None, date: dt.date, as_of: dt.date
    ) -> None:
        """Show the evening of a date; ``row`` is the plan's evening, None where it has none."""
        work = [] if row is None else [w for w in row.work if w.item in project.items]
        if row is not None and row.status in ("worked", "lost"):
            self.first.setText(tr("This evening is over."))
            self.first_why.setText("")
            self.then.setText("")
        elif not work:
            waits = plan is not None and any(e.work for e in plan.evenings if e.date >= date)
            self.first.setText(tr("Nothing is planned here") if plan is not None else tr("Working out the plan…"))
            self.first_why.setText(
                tr("This evening is kept free as buffer. If you work, the next thing in line moves up.")
                if waits
                else ""
            )
            self.then.setText("")
        else:
            first = project.items[work[0].item]
            self.first.setText(f"{project.stage_of[first.id].name}: {first.name}")
            self.first_why.setText(f"{left_words(project, first, as_of)} {why_words(project, first)}")
            more = [f"{project.items[w.item].name} ({words.known_hours(w.hours)})" for w in work[1:]]
            self.then.setText(tr("If there is time: {items}", items=", ".join(more)) if more else "")
        self.stop.setText("" if plan is None else before_you_stop(project, plan, date))
        jobs = starts_tonight(project, plan, date) if plan is not None and date == as_of else ()
        self.starting = jobs[0] if jobs else ""
        self.started_button.setVisible(bool(jobs))
        if jobs:
            self.started_button.setText(tr("{job} is started now", job=project.jobs_by_id[jobs[0]].name))
            self.started_button.setAccessibleName(self.started_button.text())
        for label in (self.first_why, self.then, self.stop):
            label.setVisible(bool(label.text()))


class AfterCard(Card):
    """The new odds and what moved them, and where the ways back are worth a look."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("After the evening"), parent)
        self.odds, self.moved = _wrapped("heading"), _wrapped("muted", _TICK_FIRST)
        self.odds.hide()
        self.ways = PlainLabel("", wrap=True)
        self.ways_button = QPushButton(tr("See the ways &back"))
        self.ways_button.setProperty("role", "link")
        self.ways_button.setAccessibleName(tr("See the ways back"))
        for widget in (self.odds, self.moved, self.ways, self.ways_button):
            self.column.addWidget(widget)
        self.offer("")

    def offer(self, why: str) -> None:
        """Say why the ways back are worth a look; nothing where they are not."""
        self.ways.setText(why)
        for widget in (self.ways, self.ways_button):
            widget.setVisible(bool(why))

    def wait(self, date: dt.date, known: bool) -> None:
        """The evening is in the log, its odds are not there yet; ``known`` are those of before."""
        self.odds.hide()
        self.moved.setText(
            tr("{day} is in the log. Working out the new odds…", day=words.day(date))
            if known
            else tr(
                "{day} is in the log. The new odds stand above as soon as they are worked out.", day=words.day(date)
            )
        )

    def show_odds(self, project: Project, date: dt.date, before: Forecast, after: Forecast) -> None:
        self.odds.setText(odds_words(before, after))
        self.odds.show()
        self.moved.setText(moved_words(project, date, before, after))


class AroundCard(Card):
    """The last evening and the next ones: where the thread was left, and where it leads."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("Last time"), parent)
        self.last, self.last_note, self.coming = _wrapped(), _wrapped("muted"), _wrapped()
        head = PlainLabel(tr("Coming up"))
        head.setProperty("role", "heading")
        self.column.addWidget(self.last)
        self.column.addWidget(self.last_note)
        self.column.addSpacing(6)
        self.column.addWidget(head)
        self.column.addWidget(self.coming)

    def fill(self, project: Project, plan: Plan | None, date: dt.date) -> None:
        self.last.setText(last_words(project))
        self.last_note.setText(last_note(project))
        self.last_note.setVisible(bool(self.last_note.text()))
        self.coming.setText(tr("Working out the plan…") if plan is None else coming_words(project, plan, date))
