# SPDX-License-Identifier: GPL-3.0-or-later
"""Deliverables and their rules as a tree, grouped by what the rules are about, with edits in place.

Enter or F2 edits the cell, Delete takes out, Alt+Up and Alt+Down move, Space ticks a person's tick.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QColor, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from nightplan.desk.told import label_for_listeners
from nightplan.desk.widgets.brief_words import CONDITIONS, GROUPS, STRENGTHS, WHATS, group_of
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.speech import tr, trc

if TYPE_CHECKING:
    from nightplan.brief.rules import Deliverable, Rule
    from nightplan.desk.theme import Theme

#: (deliverable, rule); the rule is empty for the deliverable itself, both are for a heading
Key = tuple[str, str]
RULE, WANTED, STRENGTH = range(3)
_KEY = Qt.ItemDataRole.UserRole
_MOST_ROWS = 15


class RuleTree(QTreeWidget):
    """Signals ask for a change; the tree shows what the project says afterwards."""

    chosen = Signal(object)
    #: (key, column, text)
    edited = Signal(object)
    remove_wanted = Signal(object)
    #: (key, steps among its neighbours in the tree)
    move_wanted = Signal(object)
    tick_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        # everything stays open: no marks to open it
        self.setStyleSheet("QTreeView::branch { image: none; border-image: none; }")
        self.setAccessibleName(tr("Deliverables and rules"))
        self.setColumnCount(3)
        self.setHeaderLabels([trc("of a brief", "Rule"), trc("of a rule", "Wanted"), tr("How strict")])
        self.setRootIsDecorated(False)
        self.setItemsExpandable(False)
        self.setIndentation(10)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed)
        self.setItemDelegate(_Delegate(self))
        self.currentItemChanged.connect(self._current_changed)
        header = self.header()
        header.setStretchLastSection(False)
        header.setSectionsMovable(False)
        self._shape: list[Any] = []
        #: edits are told once the editor is gone: what follows may rebuild the rows
        self._edits: list[tuple[Key, int, str]] = []

    # ---- showing -----------------------------------------------------------------------------
    def show_deliverables(self, deliverables: tuple[Deliverable, ...]) -> None:
        """The tree of these; the current row stays current where it is still there."""
        grouped = [(d, _grouped(d)) for d in deliverables]
        shape = [(d.id, [(g, [r.id for r in rules]) for g, rules in groups]) for d, groups in grouped]
        keep = self.current_key
        self.blockSignals(True)
        if shape != self._shape:
            self._shape = shape
            self.clear()
            for d, groups in grouped:
                top = self._row(self.invisibleRootItem(), (d.id, ""))
                for g, rules in groups:
                    heading = self._row(top, ("", f"{d.id}/{g}"))
                    heading.setFlags(Qt.ItemFlag.ItemIsEnabled)
                    heading.setFirstColumnSpanned(True)
                    for r in rules:
                        self._row(heading, (d.id, r.id))
            self.expandAll()
        items = dict(self._items())
        for d, groups in grouped:
            self._fill_deliverable(items[d.id, ""], d)
            for g, rules in groups:
                heading = items["", f"{d.id}/{g}"]
                heading.setText(RULE, GROUPS[g][0])
                heading.setForeground(RULE, QColor(self.theme.muted))
                for r in rules:
                    self._fill_rule(items[d.id, r.id], r)
        if self._find(keep) is None and deliverables:
            keep = (deliverables[0].id, "")
        item = self._find(keep)
        if item is not None:
            self.setCurrentItem(item, max(0, self.currentColumn()))
        self.blockSignals(False)
        self._fit()

    def _row(self, parent: QTreeWidgetItem, key: Key) -> QTreeWidgetItem:
        item = QTreeWidgetItem(parent)
        item.setData(RULE, _KEY, key)
        item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable)
        return item

    def _fill_deliverable(self, item: QTreeWidgetItem, d: Deliverable) -> None:
        font = self.font()
        font.setBold(True)
        for column in range(3):
            item.setFont(column, font)
        item.setText(RULE, d.name)
        what = WHATS[d.what]
        item.setText(WANTED, what if d.fps is None else tr("{what}, {rate} fps", what=what, rate=d.fps))
        item.setText(STRENGTH, CONDITIONS[d.condition] + (" ☑" if d.condition != "always" and d.selected else ""))
        for column in range(3):
            item.setToolTip(column, "" if d.wanted else tr("Only checked and asked for if it is selected"))

    def _fill_rule(self, item: QTreeWidgetItem, r: Rule) -> None:
        from nightplan.actions.brief_values import wanted_text
        from nightplan.brief.hold import wanted_words
        from nightplan.brief.kinds import KINDS

        kind = KINDS[r.kind]
        mark = ""
        if kind.how != "file":
            mark = "☑ " if r.ticked else "☐ " if kind.how in ("tick", "work") else ""
        item.setText(RULE, mark + kind.words)
        wanted = wanted_words(r)
        item.setText(WANTED, wanted)
        # what the editor begins with
        item.setData(WANTED, _KEY, wanted_text(r))
        item.setText(STRENGTH, STRENGTHS[r.strength])
        told = [f"{kind.words}: {wanted}", STRENGTHS[r.strength]]
        if mark:
            told.append(tr("ticked by you") if r.ticked else tr("waits for your tick"))
        if r.wording:
            told.append(f"“{r.wording}”")
        item.setData(RULE, Qt.ItemDataRole.AccessibleTextRole, trc("between the parts of a sentence", "; ").join(told))
        for column in range(3):
            item.setToolTip(column, tip_text("\n".join(told)))

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        for key, item in self._items():
            if not key[0]:
                item.setForeground(RULE, QColor(theme.muted))

    # ---- the current row ---------------------------------------------------------------------
    def key_at(self, item: QTreeWidgetItem | None) -> Key:
        found = ("", "") if item is None else item.data(RULE, _KEY)
        return str(found[0]), str(found[1])

    @property
    def current_key(self) -> Key:
        """(deliverable, rule) of the current row; ("", "") where there is none."""
        key = self.key_at(self.currentItem())
        return key if key[0] else ("", "")

    def go_to(self, key: Key, *, edit: bool = False) -> None:
        item = self._find(key)
        if item is not None:
            self.setCurrentItem(item, WANTED if edit else max(0, self.currentColumn()))
            if edit:
                self.editItem(item, WANTED)

    def _items(self) -> Iterator[tuple[Key, QTreeWidgetItem]]:
        """Every row with its key, headings too."""
        rest = [self.topLevelItem(n) for n in range(self.topLevelItemCount())]
        while rest:
            item = rest.pop()
            if item is not None:
                yield self.key_at(item), item
                rest += [item.child(n) for n in range(item.childCount())]

    def _find(self, key: Key) -> QTreeWidgetItem | None:
        return next((item for found, item in self._items() if found == key), None) if key[0] else None

    def neighbours(self, key: Key) -> list[Key]:
        """The rules of the same group, or all deliverables, in the order of the tree."""
        item = self._find(key)
        if item is None:
            return []
        parent = item.parent() or self.invisibleRootItem()
        return [self.key_at(parent.child(n)) for n in range(parent.childCount())]

    @Slot(QTreeWidgetItem, QTreeWidgetItem)
    def _current_changed(self, item: QTreeWidgetItem | None, _before: QTreeWidgetItem | None) -> None:
        self.chosen.emit(self.key_at(item))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, pressed, item = self.current_key, event.key(), self.currentItem()
        editing = self.state() == QAbstractItemView.State.EditingState
        alt = event.modifiers() & Qt.KeyboardModifier.AltModifier
        if editing or not key[0] or item is None:
            super().keyPressEvent(event)
        elif alt and pressed in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.move_wanted.emit((key, -1 if pressed == Qt.Key.Key_Up else 1))
        elif pressed in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.editItem(item, max(RULE, self.currentColumn()) if not key[1] else self._cell())
        elif pressed == Qt.Key.Key_Delete:
            self.remove_wanted.emit(key)
        elif pressed == Qt.Key.Key_Space:
            self.tick_wanted.emit(key)
        else:
            super().keyPressEvent(event)

    def _cell(self) -> int:
        """The name of a rule's kind is no text to edit; the value beside it is."""
        return max(WANTED, self.currentColumn())

    # ---- edits -------------------------------------------------------------------------------
    def edit_done(self, key: Key, column: int, text: str) -> None:
        self._edits.append((key, column, text))
        QTimer.singleShot(0, self, self._tell_edits)

    @Slot()
    def _tell_edits(self) -> None:
        edits, self._edits = self._edits, []
        for edit in edits:
            self.edited.emit(edit)

    # ---- size --------------------------------------------------------------------------------
    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        letters = self.fontMetrics().averageCharWidth()
        room = self.viewport().width()
        strict = min(letters * 13, room // 4)
        first = min(letters * 34, (room - strict) * 9 // 20)
        self.setColumnWidth(STRENGTH, strict)
        self.setColumnWidth(RULE, first)
        self.setColumnWidth(WANTED, max(40, room - strict - first))
        self.header().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows = sum(1 for _ in self._items())
        row = self.sizeHintForRow(0) if rows else 0
        around = self.header().sizeHint().height() + 2 * self.frameWidth() + 4
        self.setFixedHeight(row * min(max(rows, 2), _MOST_ROWS) + around)


class _Delegate(QStyledItemDelegate):
    def __init__(self, view: RuleTree) -> None:
        super().__init__(view)
        self.view = view

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        return QSize(40, self.view.fontMetrics().lineSpacing() + 10)

    def createEditor(
        self, parent: QWidget, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QWidget:
        key, column = self.view.key_at(self.view.itemFromIndex(index)), index.column()
        if column == RULE and key[1]:
            return None  # type: ignore[return-value]
        what = str(index.sibling(index.row(), RULE).data())
        name = f"{self.view.headerItem().text(column)}: {what}"
        choices = self._choices(key, column)
        if not choices:
            line = QLineEdit(parent)
            line.setAccessibleName(name)
            line.setMaxLength(2_000)
            return line
        box = QComboBox(parent)
        box.setAccessibleName(name)
        label_for_listeners(box)
        for value, text in choices:
            box.addItem(text, value)
        # one choice by the mouse is a whole edit
        box.activated.connect(self._activated)
        return box

    def _choices(self, key: Key, column: int) -> list[tuple[str, str]]:
        if column == STRENGTH:
            return list((STRENGTHS if key[1] else CONDITIONS).items())
        return list(WHATS.items()) if column == WANTED and not key[1] else []

    @Slot()
    def _activated(self) -> None:
        box = self.sender()
        if isinstance(box, QComboBox):
            self.commitData.emit(box)
            self.closeEditor.emit(box, QAbstractItemDelegate.EndEditHint.NoHint)

    def setEditorData(self, editor: QWidget, index: QModelIndex | QPersistentModelIndex) -> None:
        item = self.view.itemFromIndex(index)
        if isinstance(editor, QComboBox):
            texts = [editor.itemText(n) for n in range(editor.count())]
            now = str(index.data())
            # more than the choice may stand in the cell
            fitting = [n for n, t in enumerate(texts) if now.startswith(t)]
            editor.setCurrentIndex(max(fitting, key=lambda n: len(texts[n]), default=0))
        elif isinstance(editor, QLineEdit):
            editor.setText(str(item.data(index.column(), _KEY) if index.column() == WANTED else index.data()))

    def setModelData(self, editor: QWidget, model: Any, index: QModelIndex | QPersistentModelIndex) -> None:
        # the project changes first, then the tree shows it
        key = self.view.key_at(self.view.itemFromIndex(index))
        if isinstance(editor, QComboBox):
            self.view.edit_done(key, index.column(), str(editor.currentData()))
        elif isinstance(editor, QLineEdit):
            self.view.edit_done(key, index.column(), editor.text().strip())


def _grouped(d: Deliverable) -> list[tuple[int, list[Rule]]]:
    groups: dict[int, list[Rule]] = {}
    for rule in d.rules:
        groups.setdefault(group_of(rule.kind), []).append(rule)
    return sorted(groups.items())
