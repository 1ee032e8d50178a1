# SPDX-License-Identifier: GPL-3.0-or-later
"""Ways back: what each move is worth, the cheapest combination, and the step itself."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import Qt, QTimer, Slot
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions import recover as actions
from nightplan.actions.ways_back import why
from nightplan.desk import words
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import Page
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.best_card import BestCard
from nightplan.desk.widgets.columns import Scrolled
from nightplan.desk.widgets.move_row import MoveRow, odds_line
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.preview import SideBySide
from nightplan.desk.widgets.replan_history import ReplanHistory
from nightplan.desk.widgets.search_row import SearchRow
from nightplan.desk.widgets.watch_list import WatchList
from nightplan.desk.widgets.ways_notice import reasons
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.engine.recovery import recover
from nightplan.engine.recovery_moves import apply_moves
from nightplan.engine.watch import offers, warnings
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan
from nightplan.model.results_recovery import Move, Recovery, Together
from nightplan.speech import tr, trc, trn
from nightplan.speech.dates import whole

_WAIT_MS = 200
#: single moves shown before "show all"
_FIRST = 8


@dataclass(frozen=True)
class _Tried:
    """Several moves at once: their odds, and the project as it would stand."""

    together: Together
    project: Project
    plan: Plan
    forecast: Forecast


class RecoverPage(Page):
    """Looks for ways back while it is shown, again after every change."""

    id = "ways-back"
    title = tr("Ways back")
    tip = tr("When a stage overruns: what helps, and what it costs")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self.project: Project | None = None
        self.found: Recovery | None = None
        self._searched: tuple[Project, dt.date] | None = None
        self._tried: _Tried | None = None
        self._all_moves = False
        #: ids of the ticked moves; they stay ticked when the list is made anew
        self._wanted: set[str] = set()
        #: the reason that was filled in, not typed
        self._filled = ""
        self.rows: list[MoveRow] = []
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setInterval(_WAIT_MS)
        self._wait.timeout.connect(self._try)
        self._build()
        refused, failed, part = self._refused, self._failed, self.working.part
        self.search = host.background(self, self._searched_all, refused=refused, failed=failed, part=part)
        self.trial = host.background(self, self._trial_done, refused=refused, failed=failed)
        host.document.closing.connect(self._close_down)

    # --- building ---

    def _build(self) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(10)
        self.inner = QWidget()
        self.area = Scrolled(self.inner, self.title)
        self.column = QVBoxLayout(self.inner)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(8)
        outer.addWidget(self.area, 1)
        self.head = PlainLabel("", role="heading", wrap=True)
        self.column.addWidget(self.head)
        self.watch = WatchList()
        self.watch.silence_asked.connect(self._silence)
        self.column.addWidget(self.watch)
        self.working = SearchRow()
        self.working.stop_asked.connect(self._stop)
        self.working.again_asked.connect(self._look_again)
        self.column.addWidget(self.working)
        self.best = BestCard()
        self.best.button.clicked.connect(self._tick_best)
        self.column.addWidget(self.best)
        self.best.hide()
        self.moves_head = PlainLabel(tr("Single moves"), role="heading")
        self.column.addWidget(self.moves_head)
        self.moves_box = QVBoxLayout()
        self.moves_box.setSpacing(6)
        self.column.addLayout(self.moves_box)
        self.more_button = QPushButton(tr("Show all moves"))
        self.more_button.setProperty("role", "link")
        self.more_button.setAccessibleName(tr("Show all moves"))
        self.more_button.clicked.connect(self._show_all)
        self.column.addWidget(self.more_button)
        self.fine_print = PlainLabel(
            tr(
                "The same {futures} futures value every move, so a difference is the move's. The mark on a bar is what "
                "you asked for. Sleep is no buffer: nothing here ends after your bedtime.",
                futures=whole(20_000),
            ),
            role="muted",
            wrap=True,
        )
        self.column.addWidget(self.fine_print)
        self.history = ReplanHistory()
        self.column.addWidget(self.history)
        self.column.addStretch(1)
        outer.addWidget(self._foot())

    def _foot(self) -> QWidget:
        foot = QFrame()
        foot.setProperty("role", "card")
        column = QVBoxLayout(foot)
        column.setContentsMargins(16, 10, 16, 10)
        column.setSpacing(8)
        self.together = PlainLabel(tr("Tick moves to see what they are worth together."), wrap=True)
        self.together.setAccessibleName(tr("Ticked together"))
        column.addWidget(self.together)
        self.side_by_side = SideBySide(self.theme, self)
        self.preview = self.side_by_side.preview
        self.side_by_side.finished.connect(self._preview_closed)
        row = QHBoxLayout()
        label = PlainLabel(tr("&Why"))
        label.setTextFormat(Qt.TextFormat.AutoText)
        self.reason = QLineEdit()
        self.reason.setAccessibleName(tr("Why you re-plan"))
        self.reason.setPlaceholderText(tr("a line for the journal"))
        label.setBuddy(self.reason)
        self.preview_button = QPushButton(tr("&Side by side"))
        self.preview_button.setCheckable(True)
        self.preview_button.setAccessibleName(tr("Show today and after, side by side"))
        self.preview_button.toggled.connect(self._preview_toggled)
        self.apply_button = QPushButton(tr("&Apply as re-plan"))
        self.apply_button.setProperty("role", "primary")
        self.apply_button.setAccessibleName(tr("Apply as re-plan"))
        self.apply_button.setToolTip(tr("One step, with a new baseline; Undo takes it back whole"))
        self.apply_button.clicked.connect(self._apply)
        row.addWidget(label)
        row.addWidget(self.reason, 1)
        row.addWidget(self.preview_button)
        row.addWidget(self.apply_button)
        column.addLayout(row)
        return foot

    # --- showing ---

    def show_project(self, project: Project) -> None:
        self.project = project
        self.history.show_project(project)
        if self.isVisible():
            self._look()

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        if self.project is None or forecast is None or plan is None or not fresh:
            return
        self._show_watch(self.project, forecast, plan)
        if self.isVisible():
            self._look()

    def focus_first(self) -> None:
        self._look()
        found, planned = self.host.forecast, self.host.plan
        if found is not None and planned is not None and self.project is not None and self.host.document.fresh:
            self._show_watch(self.project, found, planned)
        (self.best.button if self.best.button.isVisibleTo(self) else self.working.part.stop_button).setFocus()

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self.preview.set_theme(theme)
        for row in self.rows:
            row.set_theme(theme)

    def _show_watch(self, project: Project, found: Forecast, planned: Plan) -> None:
        try:
            told = offers(project, self.host.as_of, {g.id: g.odds for g in found.gates})
            self.watch.show_warnings(warnings(project, self.host.as_of, planned))
        except BadInput as error:
            self.head.setText(error.sentence)
            return
        self._order_tabs()
        self.head.setText(
            reasons(told) or tr("Nothing calls for a way back tonight. These are your moves all the same.")
        )
        if self.reason.text() == self._filled:
            self._filled = why(project, told)
            self.reason.setText(self._filled)
            self.reason.setCursorPosition(0)

    @Slot(object)
    def _silence(self, kind: str) -> None:
        self.host.change(tr("Silence a warning"), lambda p: actions.silence(p, kind))

    # --- looking ---

    def _look(self) -> None:
        """Look for ways back, unless those shown are of this very project and day."""
        if self.project is None or self._searched == (self.project, self.host.as_of):
            return
        project, as_of = self.project, self.host.as_of
        self._searched = (project, as_of)
        self.found = self._tried = None
        self.inner.setEnabled(True)
        self._show_moves()
        self.best.hide()
        self.working.begin()

        def work(progress: Callable[[float], None]) -> Recovery:
            return recover(project, as_of, progress=progress)

        self.search.start("search", work)

    @Slot()
    def _stop(self) -> None:
        self.search.call_off()
        self.working.tell_stopped()
        self.working.again_button.setFocus()

    @Slot()
    def _look_again(self) -> None:
        self._searched = None
        self._look()
        self.working.part.stop_button.setFocus()

    @Slot(object)
    def _searched_all(self, told: tuple[str, Any]) -> None:
        self.working.hide()
        self.found = told[1]
        if self.found is not None and self.project is not None:
            self.best.say(self.found, self.project)
        self._show_moves()

    @Slot(object)
    def _refused(self, sentence: str) -> None:
        self.working.hide()
        self.inner.setEnabled(True)
        self.together.setText(sentence)
        self.host.say(sentence)

    @Slot(object)
    def _failed(self, error: BaseException) -> None:
        self.working.hide()
        self.inner.setEnabled(True)
        self.host.services.fault(error)

    def _show_moves(self) -> None:
        """The rows anew: the moves of the combination first, then the best."""
        focused = next((r.value.move.id for r in self.rows if r.isAncestorOf(self.focusWidget() or self)), None)
        for row in self.rows:
            self.moves_box.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.rows = []
        found, project = self.found, self.project
        values = () if found is None or project is None else found.moves
        best = set() if found is None else {m.id for m in found.combination.moves}
        values = (*(v for v in values if v.move.id in best), *(v for v in values if v.move.id not in best))
        shown = values if self._all_moves else values[: max(_FIRST, len(best))]
        if found is not None:
            self._wanted &= {v.move.id for v in shown}
        for value in shown:
            assert project is not None
            row = MoveRow(value, project, self.theme)
            row.box.setChecked(value.move.id in self._wanted)
            row.ticked_changed.connect(self._ticked)
            row.pin_asked.connect(self._pin)
            self.moves_box.addWidget(row)
            # at once, not with the next turn of the event loop: a hidden box takes no focus
            row.show()
            self.rows.append(row)
            if value.move.id == focused:
                row.box.setFocus()
        for widget in (self.moves_head, self.fine_print):
            widget.setVisible(bool(values))
        self.more_button.setVisible(len(shown) < len(values))
        self.more_button.setText(trn("Show all {n} moves", "Show all {n} moves", len(values)))
        self._order_tabs()
        self._update_ticks()

    def _order_tabs(self) -> None:
        """Tab goes down the page as it is read, whenever its rows were made."""
        chain: list[QWidget] = [n.quiet for n in self.watch.notices]
        chain += [self.working.part.stop_button, self.working.again_button, self.best.button]
        for row in self.rows:
            chain += [row.box, *([row.pin_button] if row.pin_button is not None else [])]
        chain += [self.more_button, self.reason, self.preview_button, self.apply_button]
        for one, two in itertools.pairwise(chain):
            QWidget.setTabOrder(one, two)

    @Slot()
    def _show_all(self) -> None:
        self._all_moves = True
        self._show_moves()
        if self.rows:
            self.rows[0].box.setFocus()

    @Slot(object)
    def _pin(self, ids: tuple[str, ...]) -> None:
        names = trc("between the parts of a list", ", ").join(self._name(key) for key in ids)
        self.host.change(tr("Never touch {names}", names=names), lambda p: actions.pin(p, ids))

    def _name(self, key: str) -> str:
        assert self.project is not None
        known = self.project.items.get(key) or self.project.jobs_by_id.get(key)
        return key if known is None else known.name

    # --- trying ---

    def chosen(self) -> tuple[Move, ...]:
        """The ticked moves."""
        return tuple(row.value.move for row in self.rows if row.box.isChecked())

    @Slot()
    def _tick_best(self) -> None:
        if self.found is None:
            return
        best = {m.id for m in self.found.combination.moves}
        for row in self.rows:
            row.box.setChecked(row.value.move.id in best)
        self.reason.setFocus()

    @Slot()
    def _ticked(self) -> None:
        self._wanted = {m.id for m in self.chosen()}
        self._update_ticks()

    def _update_ticks(self) -> None:
        chosen = self.chosen()
        taken = set().union(*(m.forbids for m in chosen)) if chosen else set()
        for row in self.rows:
            row.box.setEnabled(row.box.isChecked() or row.value.move.id not in taken)
            row.box.setToolTip("" if row.box.isEnabled() else tr("A ticked move excludes this one"))
        self._tried = None
        self.apply_button.setEnabled(False)
        self.preview_button.setEnabled(bool(chosen))
        if not chosen:
            self.trial.call_off()
            self.together.setText(tr("Tick moves to see what they are worth together."))
            self.side_by_side.close()
            self.preview_button.setChecked(False)
            return
        self.together.setText(tr("Working out what they are worth together…"))
        self._wait.start()

    @Slot()
    def _try(self) -> None:
        chosen, project = self.chosen(), self.project
        if not chosen or self.found is None or project is None:
            return
        as_of = self.host.as_of

        def work(progress: Callable[[float], None]) -> _Tried:
            changed = apply_moves(project, chosen)
            found = forecast(changed, as_of, progress=progress)
            together = Together(chosen, {g.id: g.odds for g in found.gates}, sum(m.cost_minutes for m in chosen))
            return _Tried(together, changed, plan(changed, as_of), found)

        self.trial.start("trial", work)

    @Slot(object)
    def _trial_done(self, told: tuple[str, Any]) -> None:
        name, result = told
        if name == "apply":
            self._applied(result)
            return
        if self.found is None or self.project is None or tuple(result.together.moves) != self.chosen():
            return
        self._tried = result
        line = odds_line(self.project, self.found.before, result.together.odds)
        self.together.setText(
            tr(
                "Ticked together: {odds} · costs about {hours}",
                odds=line,
                hours=words.hours(result.together.cost_hours),
            )
        )
        self.apply_button.setEnabled(True)
        if self.preview_button.isChecked():
            self._show_preview()

    @Slot(bool)
    def _preview_toggled(self, on: bool) -> None:
        if on:
            self._show_preview()
        else:
            self.side_by_side.close()

    @Slot()
    def _preview_closed(self) -> None:
        self.preview_button.setChecked(False)

    def _show_preview(self) -> None:
        now = self.host
        if self._tried is None or now.plan is None or now.forecast is None or self.project is None:
            return
        self.preview.show_both(
            (self.project, now.plan, now.forecast),
            (self._tried.project, self._tried.plan, self._tried.forecast),
            now.as_of,
        )
        self.side_by_side.say(self.together.text())
        self.side_by_side.show()

    @Slot()
    def _apply(self) -> None:
        """Off the window's thread: both forecasts are drawn for the record."""
        chosen, project = self.chosen(), self.project
        if not chosen or project is None:
            return
        reason, as_of = self.reason.text().strip(), self.host.as_of
        self.apply_button.setEnabled(False)
        # a tick now would call the step off
        self.inner.setEnabled(False)
        self.together.setText(tr("Applying…"))

        def work(progress: Callable[[float], None]) -> tuple[Project, Project]:
            return project, actions.apply(project, chosen, reason, as_of, progress=progress)

        self.trial.start("apply", work)

    def _applied(self, result: tuple[Project, Project]) -> None:
        before, after = result
        self.inner.setEnabled(True)
        if before is not self.project:
            self.host.say(tr("The project changed in the meantime; look again before you apply."))
            return
        self._wanted = set()
        for row in self.rows:
            row.box.setChecked(False)
        self.reason.clear()
        self._filled = ""
        self.side_by_side.close()
        self.preview_button.setChecked(False)
        self.host.document.apply(tr("Re-plan"), after)
        self.host.say(tr("Re-planned, with a new baseline. Undo takes it back whole."))

    @Slot()
    def _close_down(self) -> None:
        self._wait.stop()
        self.search.close()
        self.trial.close()
        self.side_by_side.close()
