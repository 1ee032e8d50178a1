# SPDX-License-Identifier: GPL-3.0-or-later
"""The evenings of a project: the strip, its table twin, the line that says where one is, and what can be done."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from PySide6.QtCore import QModelIndex, QPoint, Qt, QTimer
from PySide6.QtGui import QAction, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QMenu,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions import evening
from nightplan.desk.fields import tool_button
from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.elided import ShortLabel
from nightplan.desk.widgets.plain_label import PlainLabel, tip_text
from nightplan.desk.widgets.strip_dialogs import AddEveningDialog
from nightplan.desk.widgets.strip_host import Host
from nightplan.desk.widgets.strip_key import StripKey
from nightplan.desk.widgets.strip_menu import Choice, evening_choices, work_choices
from nightplan.desk.widgets.strip_model import empty_or_data
from nightplan.desk.widgets.strip_paint import Inks, stage_colours
from nightplan.desk.widgets.strip_table import StripTableModel
from nightplan.desk.widgets.strip_view import StripView
from nightplan.evenings.dated import calendar
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr


class EveningStrip(QWidget):
    """Strip and table show the same evenings and keep the same place."""

    def __init__(self, host: Host, inks: Inks, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._host = host
        self.setAccessibleName(tr("Evenings"))
        self.view = StripView(inks, self)
        self.model = StripTableModel(self)
        self.table = _table(self.model, self)
        self.key = StripKey(inks, self)
        self.where = ShortLabel("", self)
        self.where.setAccessibleName(tr("Current evening"))
        self.where.setProperty("role", "muted")
        self._stack = QStackedWidget(self)
        self._stack.addWidget(self.view)
        self._stack.addWidget(self.table)
        self._following = False
        self.dialog: AddEveningDialog | None = None
        #: the menu that is open or was last open
        self.menu: QMenu | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        layout.addLayout(self._head())
        layout.addWidget(self._stack, 1)
        layout.addWidget(self.key)
        layout.addWidget(self.where)
        self.setTabOrder(self.as_table, self.view)
        keys = self.as_table.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        self.view.tell_of_table(tr("{keys}: the same evenings as a table.", keys=keys))
        self.view.current_moved.connect(self._moved)
        self.view.menu_asked.connect(self.open_menu)
        self.view.opened.connect(self._open)
        self.table.selectionModel().currentRowChanged.connect(self._row_changed)
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.table.customContextMenuRequested.connect(self._table_menu)
        self.table.activated.connect(self._open)
        for key, slot in (("Menu", self._key_menu), ("Shift+F10", self._key_menu)):
            action = QAction(self.table)
            action.setShortcut(QKeySequence(key))
            action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
            action.triggered.connect(slot)
            self.table.addAction(action)

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        title = PlainLabel(tr("Evenings"), parent=self)
        title.setProperty("role", "heading")
        hint = ShortLabel(tr("each column is one evening you have; height is its hours"), self, hint=True)
        hint.setProperty("role", "muted")
        row.addWidget(title)
        row.addWidget(hint, 1)
        self.as_table = tool_button(tr("As a &table"), tr("The same evenings as a table, one a row"))
        self.as_table.setCheckable(True)
        self.as_table.toggled.connect(self.show_as_table)
        self.add = tool_button(tr("A&dd an evening…"), tr("One more dated evening beside the weekly pattern"))
        self.add.clicked.connect(self.ask_for_evening)
        self.to_tonight = tool_button(tr("To&night"), tr("Scroll to tonight (T)"))
        self.to_tonight.clicked.connect(self._tonight)
        self.out = tool_button("−", tr("Narrower evenings (−, or Ctrl and the wheel)"), tr("Zoom out"))
        self.out.clicked.connect(self.view.zoom_out)
        self.into = tool_button("+", tr("Wider evenings (+, or Ctrl and the wheel)"), tr("Zoom in"))
        self.into.clicked.connect(self.view.zoom_in)
        self.fit = tool_button(tr("&All"), tr("The whole project in sight (0)"), tr("Zoom to the whole project"))
        self.fit.clicked.connect(self.view.zoom_to_fit)
        for button in (self.to_tonight, self.out, self.into, self.fit, self.add, self.as_table):
            row.addWidget(button)
        return row

    # ---- what is shown -----------------------------------------------------------------------
    def refresh(self) -> None:
        """Show the project as it is now."""
        project = self._host.project
        self.view.set_inks(replace(self.view.inks, stages=stage_colours(project), target=project.target_odds))
        data = empty_or_data(self._host.project, self._host.plan, self._host.forecast)
        self.model.set_data(data)
        self.view.set_data(data)
        self.to_tonight.setEnabled(data.tonight is not None)

    def set_inks(self, inks: Inks) -> None:
        """Other colours; those of the stages stay."""
        self.view.set_inks(replace(inks, stages=self.view.inks.stages, target=self.view.inks.target))
        self.key.set_inks(inks)

    def show_as_table(self, table: bool) -> None:
        """Strip or table; the keyboard stays on whichever is shown."""
        had = self.view.hasFocus() or self.table.hasFocus()
        self._stack.setCurrentWidget(self.table if table else self.view)
        self.as_table.setChecked(table)
        self._fit_key()
        for button in (self.to_tonight, self.out, self.into, self.fit):
            button.setVisible(not table)
        if table:
            self._moved()
        if had:
            (self.table if table else self.view).setFocus()

    def _moved(self) -> None:
        self.where.set_full_text(self.view.status_text())
        row = self.view.current[0]
        if row >= 0 and self.table.currentIndex().row() != row and not self._following:
            self._following = True
            self.table.setCurrentIndex(self.model.index(row, 0))
            self._following = False

    def _row_changed(self, now: QModelIndex, _before: QModelIndex) -> None:
        if now.isValid() and not self._following:
            self._following = True
            self.view.set_current(now.row())
            self._following = False

    def _tonight(self) -> None:
        n = self.view.data.tonight
        if n is not None:
            self.view.set_current(n)
        self.view.show_tonight()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_key()

    def _fit_key(self) -> None:
        # in a low window the evenings need the room more than the key does
        roomy = self.height() >= 19 * self.fontMetrics().height()
        self.key.setVisible(roomy and not self.as_table.isChecked())

    # ---- what can be done --------------------------------------------------------------------
    def choices(self) -> list[Choice]:
        """Everything that can be done to the current evening and the work in it."""
        column = self.view.current_column
        if column is None:
            return [Choice("add", tr("A&dd an evening…"), group=True)]
        block = self.view.current_block
        if block is None and len({b.item for b in column.blocks}) == 1:
            block = column.blocks[0]
        work = work_choices(self._host.project, block) if block is not None else []
        if work:
            work = [Choice(**{**vars(work[0]), "group": True}), *work[1:]]
        return [*evening_choices(self._host.project, column), *work, Choice("add", tr("A&dd an evening…"), group=True)]

    def do(self, key: str) -> bool:
        """Choose a line of the menu by its key; whether it could be done."""
        choice = next((c for c in self.choices() if c.key == key), None)
        return choice is not None and self._do(choice)

    def _do(self, choice: Choice) -> bool:
        column = self.view.current_column
        if choice.key == "add":
            self.ask_for_evening()
            return True
        if choice.key == "log" and column is not None:
            self._host.log_evening(column.date)
            return True
        if choice.change is None:
            return False
        return self._host.change(choice.label, choice.change)

    def open_menu(self, place: QPoint) -> None:
        """The menu of the current evening."""
        menu = QMenu(self)
        column = self.view.current_column
        menu.setAccessibleName(
            tr("Evening menu") if column is None else tr("Menu of {day}", day=words.day(column.date))
        )
        menu.setToolTipsVisible(True)
        for choice in self.choices():
            if choice.group and not menu.isEmpty():
                menu.addSeparator()
            action = menu.addAction(choice.text)
            action.setData(choice.key)
            if choice.why:
                action.setEnabled(False)
                action.setToolTip(tip_text(choice.why))
        menu.triggered.connect(self._menu_chosen)
        menu.aboutToHide.connect(menu.deleteLater)
        self.menu = menu
        menu.popup(place)

    def _menu_chosen(self, action: QAction) -> None:
        self.do(str(action.data()))

    def _table_menu(self, at: QPoint) -> None:
        index = self.table.indexAt(at)
        if index.isValid():
            self.table.setCurrentIndex(index)
        self.open_menu(self.table.viewport().mapToGlobal(at))

    def _key_menu(self) -> None:
        rect = self.table.visualRect(self.table.currentIndex())
        self.open_menu(self.table.viewport().mapToGlobal(rect.center()))

    def _open(self) -> None:
        """Enter: log what is to be logged, else the menu."""
        column = self.view.current_column
        if column is not None and (column.tonight or column.status == "unlogged") and not column.logged:
            self._host.log_evening(column.date)
        elif column is not None:
            widget = self.table if self.as_table.isChecked() else self.view
            self.open_menu(widget.mapToGlobal(widget.rect().center()))

    # ---- one more evening --------------------------------------------------------------------
    def ask_for_evening(self) -> None:
        """Ask for the date, start and hours of one more evening."""
        project = self._host.project
        try:
            last = max(g.date for g in calendar(project).gates)
        except (BadInput, ValueError):
            last = max([project.announced, self._host.as_of]) + dt.timedelta(weeks=4)
        column = self.view.current_column
        on = max(self._host.as_of, column.date if column is not None else self._host.as_of)
        start = column.start if column is not None else dt.time(20)
        hours = column.hours if column is not None else 2.0
        self.dialog = AddEveningDialog(min(_next_free(project, on), last), start, hours, project.announced, last, self)
        self.dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.dialog.accepted.connect(self._add_evening)
        self.dialog.finished.connect(self._dialog_done)
        self.dialog.open()

    def _dialog_done(self) -> None:
        self.dialog = None

    def _add_evening(self) -> None:
        dialog = self.dialog
        if dialog is None:
            return
        on, start, hours, chance = dialog.date, dialog.start, dialog.hours, dialog.chance
        if self._host.change(
            tr("Add the evening of {day}", day=words.day(on)),
            lambda p: evening.add_evening(p, on, start, hours, chance),
        ):
            self.view.go_to(on, start)
        QTimer.singleShot(0, self.view, self.view.setFocus)


def _next_free(project: Project, on: dt.date) -> dt.date:
    """The first date from ``on`` that has no evening yet."""
    try:
        taken = {e.date for e in calendar(project).evenings}
    except BadInput:
        return on
    return next((d for n in range(60) if (d := on + dt.timedelta(days=n)) not in taken), on)


def _table(model: StripTableModel, parent: QWidget) -> QTableView:
    table = QTableView(parent)
    table.setModel(model)
    table.setAccessibleName(tr("Evenings as a table"))
    table.setAccessibleDescription(tr("The same evenings as on the strip, one a row. Menu key or Shift+F10 for more."))
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
    table.setTabKeyNavigation(False)
    table.setShowGrid(False)
    table.setWordWrap(False)
    table.verticalHeader().hide()
    table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
    table.horizontalHeader().setSectionResizeMode(model.columnCount() - 1, QHeaderView.ResizeMode.Stretch)
    table.horizontalHeader().setHighlightSections(False)
    table.horizontalHeader().setAccessibleName(tr("Columns of the evening table"))
    table.verticalHeader().setAccessibleName(tr("Evenings"))
    return table
