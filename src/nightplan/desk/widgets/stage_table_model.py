# SPDX-License-Identifier: GPL-3.0-or-later
"""Stages and items as a tree for Qt: shows the rows, hands edits on, keeps what could not be accepted yet."""

from __future__ import annotations

from typing import Any, Protocol

from PySide6.QtCore import (
    QAbstractItemModel,
    QByteArray,
    QMimeData,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor

from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.desk.widgets.stage_table_rows import STATE_WORDS, TIER_WORDS, Row, StageRows, at_the_cell
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trc

Index = QModelIndex | QPersistentModelIndex

NAME, TIER, LIKELY, HIGH, LOW, SPENT, LEFT, BY, STATE, WAITS = range(10)
HEADERS = (
    (tr("Stage"), tr("Stages and the items in them")),
    (tr("Tier"), tr("How much the piece needs it: primary, secondary, tertiary. Tertiary is left out first")),
    (tr("Likely"), tr("As likely to take longer as to take less")),
    (tr("If it fights back"), tr("Enough 9 times in 10")),
    (tr("At best"), tr("Optional: the least it can take")),
    (trc("of hours", "Spent"), tr("What the log says was worked on it")),
    (trc("of hours", "Left"), tr("Likely hours still to do")),
    (tr("9 in 10 by"), tr("In 9 of 10 futures it is finished by this evening")),
    (tr("State"), tr("open, started, done, left out")),
    (tr("Waits for"), tr("What must be done before it can start")),
)
#: columns that are typed into, with the key of the item that they change
FIELDS = {NAME: "name", TIER: "tier", LIKELY: "likely", HIGH: "high", LOW: "low"}
HOURS = (LIKELY, HIGH, LOW)

#: the row behind an index, the value of the cell, a note under the row, an error at the cell
ROW_ROLE = Qt.ItemDataRole.UserRole + 1
SORT_ROLE = Qt.ItemDataRole.UserRole + 2
NOTE_ROLE = Qt.ItemDataRole.UserRole + 3
ERROR_ROLE = Qt.ItemDataRole.UserRole + 4
MIME = "application/x-nightplan-row"


class Changes(Protocol):
    """What the table needs of its surroundings; every method may raise BadInput."""

    def set_fields(self, row: Row, fields: dict[str, Any]) -> None: ...
    def preview_fields(self, row: Row, fields: dict[str, Any] | None) -> None: ...
    def move_to(self, row_id: str, stage_id: str, place: int) -> None: ...


class StageTableModel(QAbstractItemModel):
    """``refused`` tells the sentence of an edit that was not accepted; the typed value stays in the cell."""

    refused = Signal(object)

    def __init__(self, changes: Changes, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._changes = changes
        self._stages: tuple[StageRows, ...] = ()
        #: row id -> field -> value that was typed and could not be accepted
        self._drafts: dict[str, dict[str, Any]] = {}
        self._errors: dict[str, tuple[int, str]] = {}
        self.letters: dict[str, str] = {}
        self.colours: dict[str, QColor] = {}

    # ---- what is shown -----------------------------------------------------------------------
    def set_rows(self, stages: tuple[StageRows, ...]) -> None:
        """Show another state. Where the lines are the same ones, an open editor stays open."""
        if _shape(stages) == _shape(self._stages):
            self._stages = stages
            self.refresh()
            return
        self.beginResetModel()
        self._stages = stages
        known = {r.id for s in stages for r in (s.row, *s.items)}
        self._drafts = {k: v for k, v in self._drafts.items() if k in known}
        self._errors = {k: v for k, v in self._errors.items() if k in known}
        self.endResetModel()

    def refresh(self) -> None:
        """Tell the views to read everything again."""
        # ranges, never a single cell: a single cell would be written over under the artist's hand
        count = len(self._stages)
        if not count:
            return
        self.dataChanged.emit(self.index(0, 0), self.index(count - 1, len(HEADERS) - 1))
        for n, stage in enumerate(self._stages):
            if stage.items:
                parent = self.index(n, 0)
                last = self.index(len(stage.items) - 1, len(HEADERS) - 1, parent)
                self.dataChanged.emit(self.index(0, 0, parent), last)

    def row_of(self, index: Index) -> Row | None:
        if not index.isValid():
            return None
        key = index.internalId()
        if key == 0:
            return self._stages[index.row()].row if index.row() < len(self._stages) else None
        stage = self._stages[key - 1] if key - 1 < len(self._stages) else None
        return stage.items[index.row()] if stage is not None and index.row() < len(stage.items) else None

    def index_of(self, row_id: str, column: int = 0) -> QModelIndex:
        """The index of a stage or an item; invalid where there is none."""
        for n, stage in enumerate(self._stages):
            if stage.row.id == row_id:
                return self.index(n, column)
            for i, item in enumerate(stage.items):
                if item.id == row_id:
                    return self.index(i, column, self.index(n, 0))
        return QModelIndex()

    # ---- shape -------------------------------------------------------------------------------
    def index(self, row: int, column: int, parent: Index = QModelIndex()) -> QModelIndex:  # noqa: B008
        if row < 0 or not 0 <= column < len(HEADERS):
            return QModelIndex()
        if not parent.isValid():
            return self.createIndex(row, column, 0) if row < len(self._stages) else QModelIndex()
        if parent.internalId() != 0 or row >= len(self._stages[parent.row()].items):
            return QModelIndex()
        return self.createIndex(row, column, parent.row() + 1)

    def parent(self, index: Index = QModelIndex()) -> Any:  # noqa: B008
        if not index.isValid() or index.internalId() == 0:
            return QModelIndex()
        return self.createIndex(index.internalId() - 1, 0, 0)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        if not parent.isValid():
            return len(self._stages)
        if parent.internalId() != 0 or parent.column() > 0 or parent.row() >= len(self._stages):
            return 0
        return len(self._stages[parent.row()].items)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return len(HEADERS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(HEADERS):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return HEADERS[section][0]
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole):
            return HEADERS[section][1]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = (
                Qt.AlignmentFlag.AlignRight
                if section in (LIKELY, HIGH, LOW, SPENT, LEFT)
                else Qt.AlignmentFlag.AlignLeft
            )
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        row = self.row_of(index)
        if row is None:
            return Qt.ItemFlag.ItemIsDropEnabled
        flags = Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsDragEnabled
        if row.is_stage:
            flags |= Qt.ItemFlag.ItemIsDropEnabled
        if index.column() == NAME or (index.column() in FIELDS and not row.is_stage):
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    # ---- cells -------------------------------------------------------------------------------
    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        row = self.row_of(index)
        if row is None:
            return None
        column = index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return self.text(row, column)
        if role == Qt.ItemDataRole.EditRole:
            return self.value(row, column)
        if role == ROW_ROLE:
            return row
        if role == NOTE_ROLE:
            error = self._errors.get(row.id)
            return error[1] if error is not None else row.note
        if role == ERROR_ROLE:
            error = self._errors.get(row.id)
            return error is not None and error[0] == column
        if role == SORT_ROLE:
            value = self.value(row, column)
            return value if value is not None else -1.0
        if role == Qt.ItemDataRole.TextAlignmentRole:
            right = column in (LIKELY, HIGH, LOW, SPENT, LEFT)
            side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.ToolTipRole:
            error = self._errors.get(row.id)
            return tip_text(error[1] if error is not None else row.tip)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            value = self.text(row, column) or tr("nothing")
            return f"{row.name}, {HEADERS[column][0]}: {value}"
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            error = self._errors.get(row.id)
            return error[1] if error is not None else (row.note or HEADERS[column][1])
        return None

    def value(self, row: Row, column: int) -> Any:
        """What an editor starts from: the draft where there is one."""
        field = FIELDS.get(column)
        if field is not None and field in self._drafts.get(row.id, {}):
            return self._drafts[row.id][field]
        return {
            NAME: row.name,
            TIER: row.tier,
            LIKELY: row.likely,
            HIGH: row.high,
            LOW: row.low,
            SPENT: row.spent,
            LEFT: row.left,
            BY: row.by.isoformat() if row.by is not None else "",
            STATE: STATE_WORDS[row.state],
            WAITS: row.waits_for,
        }[column]

    def text(self, row: Row, column: int) -> str:
        if column == NAME:
            name = str(self.value(row, NAME))
            return tr("{item} (pinned)", item=name) if row.pinned else name
        if column in HOURS:
            value = self.value(row, column)
            return words.exact_hours(value) if value is not None else ""
        if column == SPENT:
            return words.known_hours(row.spent) if row.spent > 0 else "—"
        if column == LEFT:
            if row.state in ("done", "cut"):
                return STATE_WORDS[row.state]
            return words.known_hours(row.left) if row.state != "empty" else tr("no items")
        if column == BY:
            return row.by_words
        if column == TIER:
            return row.gate if row.is_stage else TIER_WORDS.get(str(self.value(row, TIER)), "")
        if column == STATE:
            return STATE_WORDS[row.state]
        return row.waits_for

    # ---- editing -----------------------------------------------------------------------------
    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Hand an edit on. What is refused stays in the cell, with the reason, and is tried again together with
        the next edit of the same line.
        """
        row = self.row_of(index)
        field = FIELDS.get(index.column())
        if row is None or field is None or role != Qt.ItemDataRole.EditRole:
            return False
        fields = {**self._drafts.get(row.id, {}), field: value}
        if all(self._stored(row, f) == v for f, v in fields.items()):
            self._forget(row.id)
            self._changes.preview_fields(row, None)
            return True
        try:
            self._changes.set_fields(row, fields)
        except BadInput as error:
            sentence = at_the_cell(error)
            self._drafts[row.id] = fields
            self._errors[row.id] = (index.column(), sentence)
            self.refresh()
            self.refused.emit(sentence)
            return False
        self._forget(row.id)
        return True

    def _stored(self, row: Row, field: str) -> Any:
        return {"name": row.name, "tier": row.tier, "likely": row.likely, "high": row.high, "low": row.low}[field]

    def preview(self, index: Index, value: Any) -> str:
        """Let the odds follow a value that is still being typed; answers the reason where it cannot be."""
        row = self.row_of(index)
        field = FIELDS.get(index.column())
        if row is None or field is None:
            return ""
        try:
            self._changes.preview_fields(row, {**self._drafts.get(row.id, {}), field: value})
        except BadInput as error:
            return at_the_cell(error)
        return ""

    def end_preview(self, index: Index) -> None:
        row = self.row_of(index)
        if row is not None:
            self._changes.preview_fields(row, None)

    def drop_drafts(self, row_id: str) -> bool:
        """Forget what was typed and refused; whether there was anything."""
        return self._forget(row_id)

    def _forget(self, row_id: str) -> bool:
        had = row_id in self._drafts or row_id in self._errors
        self._drafts.pop(row_id, None)
        self._errors.pop(row_id, None)
        if had:
            self.refresh()
        return had

    # ---- dragging ----------------------------------------------------------------------------
    def supportedDropActions(self) -> Qt.DropAction:
        return Qt.DropAction.MoveAction

    def mimeTypes(self) -> list[str]:
        return [MIME]

    def mimeData(self, indexes: Any) -> QMimeData:
        mime = QMimeData()
        row = self.row_of(indexes[0]) if indexes else None
        if row is not None:
            mime.setData(MIME, QByteArray(row.id.encode()))
        return mime

    def dropMimeData(self, data: QMimeData, action: Qt.DropAction, row: int, column: int, parent: Index) -> bool:
        """An item is moved within or between stages, a stage among stages. Always False: nothing is left to remove."""
        if action != Qt.DropAction.MoveAction or not data.hasFormat(MIME):
            return False
        moved = self.row_of(self.index_of(bytes(data.data(MIME).data()).decode()))
        target = self.row_of(parent)
        if moved is None:
            return False
        try:
            if moved.is_stage:
                at = row if target is None else parent.row()
                self._changes.move_to(moved.id, "", at if at >= 0 else len(self._stages))
            elif target is not None:
                stage = self._stages[parent.row()] if target.is_stage else None
                if stage is not None:
                    self._changes.move_to(moved.id, stage.row.id, row if row >= 0 else len(stage.items))
        except BadInput as error:
            self.refused.emit(at_the_cell(error))
        return False


def _shape(stages: tuple[StageRows, ...]) -> list[list[str]]:
    return [[s.row.id, *(i.id for i in s.items)] for s in stages]
