# SPDX-License-Identifier: GPL-3.0-or-later
"""The evening strip as a table: the same evenings, one a row, for reading and for screen readers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.desk.widgets.strip_model import Column, StripData
from nightplan.speech import tr, trc

Index = QModelIndex | QPersistentModelIndex

#: the value behind the words, for sorting
SORT_ROLE = Qt.ItemDataRole.UserRole + 1

_COLUMNS: tuple[tuple[str, str, Callable[[Column], str], Callable[[Column], Any]], ...] = (
    (
        tr("Evening"),
        tr("The date of the evening"),
        lambda c: words.day(c.date, year=True),
        lambda c: c.date.isoformat(),
    ),
    (tr("Start"), tr("When it starts, your time"), lambda c: f"{c.start:%H:%M}", lambda c: c.start.isoformat()),
    (tr("Hours"), tr("How long it is"), lambda c: words.hours(c.hours), lambda c: c.hours),
    (
        tr("Chance"),
        tr("How sure you are that it happens"),
        lambda c: "" if c.status in ("off", "busy") else words.chance(c.chance),
        lambda c: c.chance,
    ),
    (tr("State"), tr("What became of it, or what it is for"), lambda c: state(c), lambda c: c.status),
    (
        trc("column", "Work"),
        tr("What the evening is for, or what was done"),
        lambda c: work(c),
        lambda c: sum(b.hours for b in c.blocks),
    ),
)


def state(column: Column) -> str:
    """The state in words, with tonight named and a reason where there is one."""
    text = words.status(column)
    if column.tonight:
        text = tr("tonight, {state}", state=text)
    return f"{text} ({column.why})" if column.why else text


def work(column: Column) -> str:
    parts = [words.work(b) for b in column.blocks]
    if column.free_hours > 0.05 and column.status in ("planned", "relied") and parts:
        parts.append(tr("{hours} free", hours=words.hours(column.free_hours)))
    return "; ".join(parts)


class StripTableModel(QAbstractTableModel):
    """Rows are the strip's columns in the same order."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._data = StripData()

    def set_data(self, data: StripData) -> None:
        """Show another state; where the evenings are the same ones the place in the table stays."""
        same = [(c.date, c.start) for c in data.columns] == [(c.date, c.start) for c in self._data.columns]
        if same and data.columns:
            self._data = data
            self.dataChanged.emit(self.index(0, 0), self.index(len(data.columns) - 1, len(_COLUMNS) - 1))
            return
        self.beginResetModel()
        self._data = data
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self._data.columns)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(_COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(_COLUMNS):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return _COLUMNS[section][0]
        if role == Qt.ItemDataRole.ToolTipRole:
            return _COLUMNS[section][1]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid() or not 0 <= index.row() < len(self._data.columns):
            return None
        column = self._data.columns[index.row()]
        _, _, text, value = _COLUMNS[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return text(column)
        if role == SORT_ROLE:
            return value(column)
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip_text("\n".join(words.column_lines(column)))
        if role == Qt.ItemDataRole.AccessibleTextRole:
            shown = text(column) or tr("nothing")
            return f"{_COLUMNS[index.column()][0]}: {shown}"
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return words.sentence(column)
        return None
