# SPDX-License-Identifier: GPL-3.0-or-later
"""Stages and items of the project: the tree, what can be done to a line, and its bar of buttons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QHBoxLayout, QMenu, QVBoxLayout, QWidget

from nightplan.actions import edit
from nightplan.actions.recover import pin
from nightplan.desk.fields import tool_button
from nightplan.desk.widgets.elided import ShortLabel
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.stage_table_cells import TIERS
from nightplan.desk.widgets.stage_table_model import HEADERS, HOURS, NAME, StageTableModel
from nightplan.desk.widgets.stage_table_picker import WaitsForDialog
from nightplan.desk.widgets.stage_table_rows import TIER_WORDS, Row, name_of, stage_rows
from nightplan.desk.widgets.stage_table_view import StageTreeView
from nightplan.desk.widgets.strip_host import Host
from nightplan.desk.widgets.strip_paint import Inks, stage_colours
from nightplan.model.project import Project
from nightplan.speech import tr, trn

NEW_ITEM, NEW_STAGE = tr("New item"), tr("New stage")


class _Changes:
    """The model's edits as actions on the project."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._previewing = False

    def set_fields(self, row: Row, fields: dict[str, Any]) -> None:
        self._previewing = False
        self._host.change_or_raise(_label(row, fields), lambda p: _with_fields(p, row, fields))

    def preview_fields(self, row: Row, fields: dict[str, Any] | None) -> None:
        if fields is None:
            if self._previewing:
                self._previewing = False
                self._host.preview(None)
            return
        self._previewing = True
        self._host.preview(lambda p: _with_fields(p, row, fields))

    def move_to(self, row_id: str, stage_id: str, place: int) -> None:
        project = self._host.project
        if not stage_id:
            here = [s.id for s in project.stages].index(row_id)
            # a place behind itself is one less once it has been taken out
            steps = place - here - (1 if place > here else 0)
            self._change_order(row_id, lambda p: edit.move_stage(p, row_id, steps))
            return
        old = project.stage_of[row_id]
        if old.id == stage_id and place > [i.id for i in old.items].index(row_id):
            place -= 1
        self._change_order(row_id, lambda p: edit.move_item_to_stage(p, row_id, stage_id, place))

    def _change_order(self, row_id: str, make: Callable[[Project], Project]) -> None:
        self._host.change_or_raise(tr("Move {work}", work=name_of(self._host.project, row_id)), make)


def _with_fields(project: Project, row: Row, fields: dict[str, Any]) -> Project:
    if row.is_stage:
        return edit.change_stage(project, row.id, **fields)
    return edit.change_item(project, row.id, **fields)


def _label(row: Row, fields: dict[str, Any]) -> str:
    """What undo calls the change."""
    if set(fields) == {"name"}:
        return tr("Rename {old} to {new}", old=row.name, new=fields["name"])
    if set(fields) == {"tier"}:
        return _tier_label(row, fields["tier"])
    if set(fields) <= {"likely", "high", "low"}:
        return tr("Estimate of {item}", item=row.name)
    return tr("Change {work}", work=row.name)


def _tier_label(row: Row, tier: str) -> str:
    return tr("{item} is {tier}", item=row.name, tier=TIER_WORDS.get(tier, tier))


class StageTable(QWidget):
    """The stages and their items, typed over in place."""

    def __init__(self, host: Host, inks: Inks, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._host = host
        self.setAccessibleName(tr("Stages"))
        self.model = StageTableModel(_Changes(host), self)
        self.view = StageTreeView(self.model, inks, self)
        self.picker: WaitsForDialog | None = None
        self.menu: QMenu | None = None
        self._known: set[str] = set()
        self._noted: list[str] = []
        self._rename: str | None = None
        self.refusal = PlainLabel(parent=self)
        self.refusal.setWordWrap(True)
        self.refusal.setProperty("role", "bad")
        self.refusal.setAccessibleName(tr("Why the number is not accepted"))
        self.refusal.setTextFormat(Qt.TextFormat.PlainText)
        self.refusal.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        layout.addLayout(self._head())
        layout.addWidget(self.view, 1)
        layout.addWidget(self.refusal)
        layout.addLayout(self._foot())
        self.view.menu_asked.connect(self.open_menu)
        self.view.move_asked.connect(self.move_current)
        self.view.remove_asked.connect(self._remove_current)
        self.view.refusal.connect(self._refused)
        self.model.refused.connect(self._refused)
        self.view.header().customContextMenuRequested.connect(self._column_menu)

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        title = PlainLabel(tr("Stages"), parent=self)
        title.setProperty("role", "heading")
        hint = ShortLabel(tr("type over a number and the odds follow"), self, hint=True)
        hint.setProperty("role", "muted")
        row.addWidget(title)
        row.addWidget(hint, 1)
        self.add_item_button = tool_button(tr("Add &item"), tr("A new item in the current stage (Ctrl+I)"))
        self.add_item_button.setShortcut("Ctrl+I")
        self.add_item_button.clicked.connect(self.add_item)
        self.add_stage_button = tool_button(tr("Add sta&ge"), tr("A new stage at the end (Ctrl+Shift+I)"))
        self.add_stage_button.setShortcut("Ctrl+Shift+I")
        self.add_stage_button.clicked.connect(self.add_stage)
        row.addWidget(self.add_item_button)
        row.addWidget(self.add_stage_button)
        return row

    def _foot(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.over = ShortLabel("", self)
        self.over.setAccessibleName(tr("Running over"))
        self.over.setProperty("role", "muted")
        row.addWidget(self.over, 1)
        return row

    # ---- what is shown -----------------------------------------------------------------------
    def refresh(self) -> None:
        """Show the project as it is now; place, open stages and an open editor stay."""
        rows = stage_rows(self._host.project, self._host.as_of, self._host.plan, self._host.forecast)
        self.view.inks = replace(self.view.inks, stages=stage_colours(self._host.project))
        index = self.view.currentIndex()
        row = self.model.row_of(index)
        closed = {
            r.id
            for n in range(self.model.rowCount())
            if not self.view.isExpanded(self.model.index(n, 0)) and (r := self.model.row_of(self.model.index(n, 0)))
        }
        self.model.set_rows(rows)
        for stage in rows:
            # what is finished is out of the way when the project is first shown
            shut = stage.row.id in closed if stage.row.id in self._known else stage.row.state == "done"
            self.view.setExpanded(self.model.index_of(stage.row.id), not shut)
        self._known = {s.row.id for s in rows}
        if row is not None and not self.view.currentIndex().isValid():
            self.view.setCurrentIndex(self.model.index_of(row.id, index.column()))
        if self.view.editing is None:
            self.view.fit_columns()
            notes = [r.id for s in rows for r in s.items if r.note]
            if notes != self._noted:
                self.view.doItemsLayout()
            self._noted = notes
        running_over = [r.name for s in rows for r in s.items if r.over]
        self.over.set_full_text(_running_over(running_over))

    def set_inks(self, inks: Inks) -> None:
        self.view.inks = replace(inks, stages=self.view.inks.stages)
        self.view.fit_columns()
        self.view.viewport().update()

    def select(self, row_id: str, column: int = NAME) -> None:
        """Make a stage or an item current."""
        index = self.model.index_of(row_id, column)
        if index.isValid():
            self.view.setCurrentIndex(index)
            self.view.scrollTo(index)

    @property
    def current(self) -> Row | None:
        return self.model.row_of(self.view.currentIndex())

    def finish_edit(self) -> None:
        """Take over what is being typed."""
        self.view.finish_edit()

    def _refused(self, sentence: str) -> None:
        self.refusal.setText(sentence)
        self.refusal.setVisible(bool(sentence))
        if sentence:
            self._host.say(sentence)

    # ---- what can be done --------------------------------------------------------------------
    def add_item(self) -> None:
        """A new item behind the current one, its name ready to be typed over."""
        project, row = self._host.project, self.current
        if not project.stages:
            self.add_stage()
            return
        stage = project.stages_by_id[row.stage] if row is not None else project.stages[-1]
        order = [i.id for i in stage.items]
        place = order.index(row.id) + 1 if row is not None and row.id in order else len(order)
        key = edit.fresh_id(project, NEW_ITEM)
        if self._host.change(
            tr("Add an item to {stage}", stage=stage.name),
            lambda p: edit.add_item(p, stage.id, NEW_ITEM, position=place),
        ):
            self._type_over(key)

    def add_stage(self) -> None:
        """A new stage at the end, its name ready to be typed over."""
        project = self._host.project
        key = edit.fresh_id(project, NEW_STAGE)
        gate = project.stages[-1].gate if project.stages else project.gates[0].id
        if self._host.change(tr("Add a stage"), lambda p: edit.add_stage(p, NEW_STAGE, gate=gate)):
            self._type_over(key)

    def _type_over(self, row_id: str) -> None:
        self._rename = row_id
        # after the views have been told of the new line
        QTimer.singleShot(0, self, self._begin_rename)

    def _begin_rename(self) -> None:
        row_id, self._rename = self._rename, None
        if row_id is None:
            return
        self.select(row_id)
        index = self.model.index_of(row_id)
        if index.isValid():
            self.view.setFocus()
            self.view.begin_edit(index)

    def move_current(self, steps: int) -> None:
        """The current line earlier (−1) or later (+1) in the artist's order."""
        row = self.current
        if row is None:
            return
        move = edit.move_stage if row.is_stage else edit.move_item
        label = tr("{work} earlier", work=row.name) if steps < 0 else tr("{work} later", work=row.name)
        self._host.change(label, lambda p: move(p, row.id, steps))
        self.select(row.id, max(0, self.view.currentIndex().column()))

    def set_state(self, state: str) -> None:
        """open, done or cut, for the current item or all items of the current stage."""
        row = self.current
        if row is None:
            return
        items = [i.id for i in self._host.project.stages_by_id[row.id].items] if row.is_stage else [row.id]
        words = {
            "open": tr("Bring back {work}", work=row.name),
            "done": tr("{work} is done", work=row.name),
            "cut": tr("Leave out {work}", work=row.name),
        }

        def make(project: Project) -> Project:
            for item in items:
                if project.items[item].state != state and not (row.is_stage and project.items[item].state == "done"):
                    project = edit.change_item(project, item, state=state)
            return project

        self._host.change(words[state], make)

    def set_tier(self, tier: str) -> None:
        row = self.current
        if row is not None and not row.is_stage:
            self._host.change(_tier_label(row, tier), lambda p: edit.change_item(p, row.id, tier=tier))

    def set_gate(self, gate: str) -> None:
        """The gate of the current stage."""
        row = self.current
        if row is not None:
            name = self._host.project.gates_by_id[gate].name
            stage = row.stage
            self._host.change(
                tr("{stage} belongs to {gate}", stage=name_of(self._host.project, stage), gate=name),
                lambda p: edit.change_stage(p, stage, gate=gate),
            )

    def toggle_pinned(self) -> None:
        row = self.current
        if row is not None and not row.is_stage:
            label = tr("Unpin {item}", item=row.name) if row.pinned else tr("Pin {item}", item=row.name)
            self._host.change(label, lambda p: pin(p, [row.id], not row.pinned))

    def _remove_current(self) -> None:
        row = self.current
        if row is None:
            return
        remove = edit.remove_stage if row.is_stage else edit.remove_item
        self._host.change(tr("Remove {work}", work=row.name), lambda p: remove(p, row.id))

    def ask_waits_for(self) -> None:
        """Ask what the current stage or item waits for."""
        row = self.current
        if row is None:
            return
        self.picker = WaitsForDialog(self._host.project, row.id, self)
        self.picker.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.picker.setProperty("row", row.id)
        self.picker.accepted.connect(self._picked)
        self.picker.finished.connect(self._picker_done)
        self.picker.open()

    def _picker_done(self) -> None:
        self.picker = None

    def _picked(self) -> None:
        if self.picker is None:
            return
        key, chosen = str(self.picker.property("row")), self.picker.chosen
        name = name_of(self._host.project, key)
        if key in self._host.project.stages_by_id:
            self._host.change(tr("What {work} waits for", work=name), lambda p: edit.change_stage(p, key, after=chosen))
        else:
            self._host.change(tr("What {work} waits for", work=name), lambda p: edit.change_item(p, key, after=chosen))

    # ---- menus -------------------------------------------------------------------------------
    def open_menu(self, place: QPoint) -> None:
        """What can be done to the current line."""
        row = self.current
        menu = QMenu(self)
        menu.setAccessibleName(tr("Stage menu") if row is None else tr("Menu of {work}", work=row.name))
        menu.setToolTipsVisible(True)
        if row is not None:
            self._line_menu(menu, row)
            menu.addSeparator()
        _entry(menu, tr("Add &item"), "Ctrl+I", self.add_item)
        _entry(menu, tr("Add sta&ge"), "Ctrl+Shift+I", self.add_stage)
        menu.aboutToHide.connect(menu.deleteLater)
        self.menu = menu
        menu.popup(place)

    def _line_menu(self, menu: QMenu, row: Row) -> None:
        if row.state == "done":
            _entry(menu, tr("Not &done after all"), "", self._open)
        elif row.state == "cut":
            _entry(menu, tr("&Bring back"), "", self._open)
        elif row.state != "empty":
            _entry(menu, tr("&Done"), "", self._done)
            _entry(menu, tr("&Leave out"), "", self._cut)
        if row.is_stage:
            gates = menu.addMenu(tr("&Gate"))
            for gate in self._host.project.gates:
                action = gates.addAction(gate.name)
                action.setCheckable(True)
                action.setChecked(self._host.project.stages_by_id[row.id].gate == gate.id)
                action.setData(gate.id)
            gates.triggered.connect(self._gate_chosen)
        else:
            tiers = menu.addMenu(tr("&Tier"))
            for tier in TIERS:
                action = tiers.addAction(TIER_WORDS[tier])
                action.setCheckable(True)
                action.setChecked(row.tier == tier)
                action.setData(tier)
            tiers.triggered.connect(self._tier_chosen)
            pinned = _entry(menu, tr("&Pinned: no recovery may change it"), "", self.toggle_pinned)
            pinned.setCheckable(True)
            pinned.setChecked(row.pinned)
        _entry(menu, tr("&Waits for…"), "", self.ask_waits_for)
        menu.addSeparator()
        _entry(menu, tr("Do &earlier"), "Alt+Up", self._earlier)
        _entry(menu, tr("Do la&ter"), "Alt+Down", self._later)
        menu.addSeparator()
        _entry(menu, tr("Remo&ve"), "Del", self._remove_current)

    def _open(self) -> None:
        self.set_state("open")

    def _done(self) -> None:
        self.set_state("done")

    def _cut(self) -> None:
        self.set_state("cut")

    def _earlier(self) -> None:
        self.move_current(-1)

    def _later(self) -> None:
        self.move_current(1)

    def _gate_chosen(self, action: QAction) -> None:
        self.set_gate(str(action.data()))

    def _tier_chosen(self, action: QAction) -> None:
        self.set_tier(str(action.data()))

    def _column_menu(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAccessibleName(tr("Columns that are shown"))
        for column, (name, tip) in enumerate(HEADERS):
            if column in (NAME, *HOURS[:2]):
                continue
            action = menu.addAction(name)
            action.setToolTip(tip)
            action.setCheckable(True)
            action.setChecked(not self.view.isColumnHidden(column))
            action.setData(column)
        menu.triggered.connect(self._column_chosen)
        menu.aboutToHide.connect(menu.deleteLater)
        self.menu = menu
        menu.popup(self.view.header().mapToGlobal(at))

    def _column_chosen(self, action: QAction) -> None:
        self.view.wanted[int(action.data())] = action.isChecked()
        self.view.fit_columns()


def _entry(menu: QMenu, text: str, keys: str, slot: Callable[[], None]) -> QAction:
    # the keys are shown only; the table itself listens to them
    named = QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText)
    action = menu.addAction(f"{text}\t{named}" if keys else text)
    action.triggered.connect(slot)
    return action


def _running_over(names: list[str]) -> str:
    if len(names) < 2:
        return tr("{item} is running over", item=names[0]) if names else ""
    if len(names) == 2:
        return tr("{item} and {other} are running over", item=names[0], other=names[1])
    return trn(
        "{item} and {n} more are running over", "{item} and {n} more are running over", len(names) - 1, item=names[0]
    )
