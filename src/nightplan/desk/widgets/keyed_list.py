# SPDX-License-Identifier: GPL-3.0-or-later
"""A list of one-line rows that are known by their keys, and the words that stand in its place while it is empty."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from nightplan.desk.fields import wrapped

_KEY = Qt.ItemDataRole.UserRole


class KeyedList(QListWidget):
    """``lines`` of text high. Where the current row is gone, the first one is taken; the last with ``last_new``."""

    def __init__(
        self, name: str, empty: str, *, lines: int, last_new: bool = False, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.last_new = last_new
        self.empty = wrapped(empty)
        self.setAccessibleName(name)
        self.setFixedHeight(self.fontMetrics().height() * lines)

    def put_into(self, column: QVBoxLayout) -> None:
        """The list and its words for nothing at the end of a column."""
        column.addWidget(self.empty)
        column.addWidget(self)

    def show_rows(self, rows: Sequence[tuple[Any, str]]) -> None:
        """Other rows, each a key and its text; the current one stays current where its key is still there."""
        rows = list(rows)
        keep = self.current_key
        if rows != [(self.item(n).data(_KEY), self.item(n).text()) for n in range(self.count())]:
            self.clear()
            for key, text in rows:
                item = QListWidgetItem(text)
                item.setData(_KEY, key)
                self.addItem(item)
            there = (n for n, (key, _) in enumerate(rows) if key == keep)
            self.setCurrentRow(next(there, len(rows) - 1 if self.last_new else 0))
        self.empty.setVisible(not rows)
        self.setVisible(bool(rows))

    @property
    def current_key(self) -> Any:
        item = self.currentItem()
        return None if item is None else item.data(_KEY)
