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
from nightplan.desk.widgets.watch_list import sentence
from nightplan.speech import tr, trc

if TYPE_CHECKING:
    from nightplan.actions.brief_work import Proposal
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast

_NOTHING = tr("Nothing: what the brief asks for beside the piece itself is in the plan.")


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
        of = {"name": proposal.name, "hours": words.exact_hours(hours)}
        what = (
            tr("{name} – a gate and the work for it, {hours} likely", **of)
            if proposal.make == "gate"
            else tr("{name} – an item, {hours} likely", **of)
        )
        if proposal.on is not None:
            what = tr("{what}, due {day}", what=what, day=words.day(proposal.on, year=True))
        column.addWidget(wrapped(sentence(what, capital=False)))
        if proposal.why and proposal.why not in proposal.name:
            why = wrapped(f"“{proposal.why}”")
            why.setProperty("role", "muted")
            column.addWidget(why)
        line = QWidget()
        flow = Flow(line)
        self.day: QDateEdit | None = None
        if proposal.make == "gate" and proposal.on is None:
            from nightplan.desk.wizard_fields import date_field

            self.day = date_field(day, tr("Due: {name}", name=proposal.name))
            flow.addWidget(self.day)
        self.take = button(tr("Take it into the plan"), self._take)
        self.take.setAccessibleName(tr("Take it into the plan: {name}", name=proposal.name))
        self.try_it = QPushButton(tr("See the odds with it"))
        self.try_it.setCheckable(True)
        self.try_it.setAccessibleName(tr("See the odds with it: {name}", name=proposal.name))
        self.try_it.toggled.connect(self._toggled)
        flow.addWidget(self.take)
        self.refuse = button(tr("Not needed"), self._refuse, tr("Not needed: {name}", name=proposal.name))
        self.refuse.setToolTip(tr("Not needed, or in the plan under another name: it is not proposed again"))
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
        column = card_column(self, tr("What this adds to the plan"))
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
            tr(
                # translators: odds at a gate: "Personal lock 71 in 100 before, 68 in 100 now"
                "{gate} {before} before, {now} now",
                gate=gates[g.id].name,
                before=words.in_100(odds[g.id]),
                now=words.in_100(g.odds),
            )
            if g.id in odds
            else tr("{gate} is new: {odds}", gate=gates[g.id].name, odds=words.in_100(g.odds))
            for g in forecast.gates
        ]
        self.after.setText(
            tr(
                "Taken in: {name}. Hours left {before} before, {now} now. Odds: {odds}. Undo takes it out again.",
                name=name,
                before=words.hours(hours),
                now=words.hours(forecast.hours_left),
                odds=trc("between the parts of a sentence", "; ").join(told),
            )
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
            tr("Take into the plan: {name}", name=row.proposal.name), lambda p: whole_post(p, row.proposal, on=row.on)
        ):
            return
        self.host.say(tr("In the plan: {name}.", name=row.proposal.name))
        if before is not None and fresh:
            odds = {g.id: g.odds for g in before.gates}
            self._taken = row.proposal.name, self.host.project, before.hours_left, odds

    @Slot(object)
    def _refuse(self, row: WorkRow) -> None:
        from nightplan.actions.brief_work import refuse_work

        self.stop_trying()
        self.host.change(tr("Not needed: {name}", name=row.proposal.name), lambda p: refuse_work(p, row.proposal))

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
            self.host.say(
                tr("The odds above are those with {name} in the plan; nothing is changed yet.", name=row.proposal.name)
            )
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
