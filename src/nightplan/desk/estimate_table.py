# SPDX-License-Identifier: GPL-3.0-or-later
"""Every item with its two numbers, typed over in hours or in evenings."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidget, QTableWidgetItem, QWidget

from nightplan.actions.templates import HIGH_FACTOR
from nightplan.model.project import Project
from nightplan.speech import tr
from nightplan.speech.dates import decimal


class EstimateTable(QTableWidget):
    """Every item with likely and high, in hours or in evenings."""

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, 4, parent)
        self.setAccessibleName(tr("Work with its estimates"))
        self.setProperty("role", "estimates")
        self.setHorizontalHeaderLabels([tr("stage"), tr("work"), tr("likely"), tr("if it fights back")])
        self.verticalHeader().hide()
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self.setTabKeyNavigation(False)
        for column in (0, 1):
            head = self.horizontalHeaderItem(column)
            if head is not None:
                head.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header = self.horizontalHeader()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        for column in (2, 3):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.unit_hours = 1.0
        self.numbers: dict[str, tuple[float, float]] = {}
        self._ids: list[str] = []
        self.cellChanged.connect(self._cell)

    def show_project(self, project: Project) -> None:
        self._ids = list(project.items)
        self.numbers = {k: (i.likely, i.high) for k, i in project.items.items()}
        self.blockSignals(True)
        self.setRowCount(len(self._ids))
        last = ""
        for row, key in enumerate(self._ids):
            stage = project.stage_of[key].name
            for column, text in enumerate(("" if stage == last else stage, project.items[key].name)):
                cell = QTableWidgetItem(text)
                cell.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
                self.setItem(row, column, cell)
            last = stage
        self.blockSignals(False)
        self._show_numbers()

    def set_unit(self, hours: float) -> None:
        """Numbers are shown in units of so many hours: 1, or the hours of a usual evening."""
        self.unit_hours = hours
        self._show_numbers()

    def _show_numbers(self) -> None:
        self.blockSignals(True)
        for row, key in enumerate(self._ids):
            for column, hours in zip((2, 3), self.numbers[key], strict=True):
                cell = QTableWidgetItem(decimal(hours / self.unit_hours, 2, least=0))
                cell.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                self.setItem(row, column, cell)
        self.blockSignals(False)

    @Slot(int, int)
    def _cell(self, row: int, column: int) -> None:
        if column < 2:
            return
        key = self._ids[row]
        likely, high = self.numbers[key]
        item = self.item(row, column)
        text = "" if item is None else item.text().strip().replace(",", ".").removesuffix("h").strip()
        try:
            value = float(text) * self.unit_hours
        except ValueError:
            value = -1.0
        if 0 <= value <= 1000:
            if column == 2:
                # the doubt keeps its proportion where the likely number moves
                high = round(value * (high / likely if likely > 0 else HIGH_FACTOR), 4)
                likely = value
            else:
                high = value
            high = max(high, likely)
            if likely > 0 or high == 0:
                self.numbers[key] = (likely, high)
        self._show_numbers()
        self.edited.emit()
