# SPDX-License-Identifier: GPL-3.0-or-later
"""What the brief adds to the plan: posts as gates, slates and kept stages as items; each taken in by hand."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QApplication, QDateEdit, QFrame, QPushButton, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.fields import button, card_column, emptied, wrapped
from nightplan.desk.widgets.flow import Flow

if TYPE_CHECKING:
    from nightplan.actions.brief_work import Proposal
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast

_NOTHING = "Nothing: what the brief asks for beside the piece itself is in the plan."


class WorkRow(QFrame):
    """One gate with its item, or one item: what it is, why, by when, and the button that takes it in."""

    take_wanted = Signal(object)
    refuse_wanted = Signal(object)
    #: (row, whether it is tried)
    tried = Signal(object)

    def __init__(self, proposal: Proposal, hours: float, day: dt.date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.proposal = proposal
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 4)
        column.setSpacing(4)
        kind = "a gate and the work for it" if proposal.make == "gate" else "an item"
        due = f", due {words.day(proposal.on)} {proposal.on.year}" if proposal.on is not None else ""
        column.addWidget(wrapped(f"{proposal.name} – {kind}, {hours:g} h likely{due}."))
        if proposal.why and proposal.why not in proposal.name:
            why = wrapped(f"“{proposal.why}”")
            why.setProperty("role", "muted")
            column.addWidget(why)
        line = QWidget()
        flow = Flow(line)
        self.day: QDateEdit | None = None
        if proposal.make == "gate" and proposal.on is None:
            from nightplan.desk.wizard_fields import date_field

            self.day = date_field(day, f"Due: {proposal.name}")
            flow.addWidget(self.day)
        self.take = button("Take it into the plan", self._take)
        self.take.setAccessibleName(f"Take it into the plan: {proposal.name}")
        self.try_it = QPushButton("See the odds with it")
        self.try_it.setCheckable(True)
        self.try_it.setAccessibleName(f"See the odds with it: {proposal.name}")
        self.try_it.toggled.connect(self._toggled)
        flow.addWidget(self.take)
        self.refuse = button("Not needed", self._refuse)
        self.refuse.setAccessibleName(f"Not needed: {proposal.name}")
        self.refuse.setToolTip("Not needed, or in the plan under another name: it is not proposed again")
        flow.addWidget(self.try_it)
        flow.addWidget(self.refuse)
        column.addWidget(line)

    @property
    def on(self) -> dt.date | None:
        if self.day is None:
            return None
        date = self.day.date()
        return dt.date(date.year(), date.month(), date.day())

    @Slot()
    def _take(self) -> None:
        self.take_wanted.emit(self)

    @Slot()
    def _refuse(self) -> None:
        self.refuse_wanted.emit(self)

    @Slot(bool)
    def _toggled(self, on: bool) -> None:
        self.tried.emit((self, on))


class WorkCard(QFrame):
    """The rows, and what the last one did: odds before and after."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        column = card_column(self, "What this adds to the plan")
        self.words = wrapped()
        column.addWidget(self.words)
        self.column = QVBoxLayout()
        self.column.setSpacing(2)
        column.addLayout(self.column)
        self.after = wrapped()
        self.after.hide()
        column.addWidget(self.after)
        self.rows: list[WorkRow] = []
        self._shown: tuple[Proposal, ...] = ()
        #: name of what was taken in, its project, and hours and odds of before
        self._taken: tuple[str, Project, float, dict[str, float]] | None = None

    # ---- showing -----------------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        from nightplan.actions.brief_work import work_asked

        asked = work_asked(project)
        gates = {p.id for p in asked if p.make == "gate"}
        # a gate brings its item along
        shown = tuple(p for p in asked if p.make == "gate" or p.gate not in gates)
        self.setVisible(bool(project.deliverables))
        if shown != self._shown:
            self._shown = shown
            focus = next(
                (n for n, r in enumerate(self.rows) if r.isAncestorOf(QApplication.focusWidget() or self)), None
            )
            emptied(self.column)
            self.rows = []
            for n, p in enumerate(shown):
                hours = p.likely_hours or sum(o.likely_hours or 0.0 for o in asked if o.gate == p.id)
                row = WorkRow(p, hours, _spread(project, n, len(shown)))
                row.take_wanted.connect(self._take)
                row.tried.connect(self._tried)
                row.refuse_wanted.connect(self._refuse)
                self.rows.append(row)
                self.column.addWidget(row)
            if focus is not None and self.rows:
                self.rows[min(focus, len(self.rows) - 1)].take.setFocus()
        self.words.setText("" if shown else _NOTHING)
        self.words.setVisible(not shown)
        if self._taken is not None and project is not self._taken[1]:
            # another change since: before and after no longer speak of one step
            self._taken = None
            self.after.hide()

    def show_forecast(self, forecast: Forecast | None, fresh: bool) -> None:
        """Once the odds of the step are there, they are told beside those of before."""
        if self._taken is None or forecast is None or not fresh or self.host.document.project is not self._taken[1]:
            return
        name, _project, hours, odds = self._taken
        gates = self.host.project.gates_by_id
        told = [
            f"{gates[g.id].name} {words.in_100(odds[g.id])} before, {words.in_100(g.odds)} now"
            if g.id in odds
            else f"{gates[g.id].name} is new: {words.in_100(g.odds)}"
            for g in forecast.gates
        ]
        self.after.setText(
            f"Taken in: {name}. Hours left {words.hours(hours)} before, {words.hours(forecast.hours_left)} now. "
            f"Odds: {'; '.join(told)}. Undo takes it out again."
        )
        self.after.show()

    # ---- changing ----------------------------------------------------------------------------
    @Slot(object)
    def _take(self, row: WorkRow) -> None:
        from nightplan.actions.brief_work import whole_post

        before = self.host.forecast
        fresh = self.host.document.fresh
        self.stop_trying()
        if not self.host.change(
            f"Take into the plan: {row.proposal.name}", lambda p: whole_post(p, row.proposal, on=row.on)
        ):
            return
        self.host.say(f"In the plan: {row.proposal.name}.")
        if before is not None and fresh:
            odds = {g.id: g.odds for g in before.gates}
            self._taken = row.proposal.name, self.host.project, before.hours_left, odds

    @Slot(object)
    def _refuse(self, row: WorkRow) -> None:
        from nightplan.actions.brief_work import refuse_work

        self.stop_trying()
        self.host.change(f"Not needed: {row.proposal.name}", lambda p: refuse_work(p, row.proposal))

    @Slot(object)
    def _tried(self, told: tuple[WorkRow, bool]) -> None:
        from nightplan.actions.brief_work import whole_post
        from nightplan.model.errors import BadInput

        row, on = told
        for other in self.rows:
            if other is not row and other.try_it.isChecked():
                other.try_it.blockSignals(True)
                other.try_it.setChecked(False)
                other.try_it.blockSignals(False)
        if not on:
            self.host.preview(None)
            return
        try:
            self.host.preview(lambda p: whole_post(p, row.proposal, on=row.on))
            self.host.say(f"The odds above are those with {row.proposal.name} in the plan; nothing is changed yet.")
        except BadInput as error:
            self.host.say(error.sentence)
            row.try_it.setChecked(False)

    def stop_trying(self) -> None:
        """Back to the odds of the project."""
        for row in self.rows:
            if row.try_it.isChecked():
                row.try_it.setChecked(False)


def _spread(project: Project, n: int, count: int) -> dt.date:
    """A first proposal for a day that the brief leaves open: posts evenly between announcement and hand-in."""
    from nightplan.evenings.gates import gate_moment

    end = gate_moment(project, project.gates_by_id["deadline"]).date
    return project.announced + (end - project.announced) * (n + 1) // (count + 1)
