# SPDX-License-Identifier: GPL-3.0-or-later
"""The two buttons that save a look back: the stages as a table, the pictures into a folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from nightplan.desk.export_run import Leaving, Write
from nightplan.desk.fields import button
from nightplan.desk.host import DeskHost
from nightplan.desk.widgets.flow import Flow
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.lookback_reading import Answer


class Saving(QWidget):
    """Nothing can be saved before there is an answer."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self.answer: Answer | None = None
        row = Flow(self)
        name = tr("Save planned against actual as a table")
        self.table_button = button(tr("Save the table…"), self._table, name)
        name = tr("Save the four pictures into a folder")
        self.pictures_button = button(tr("Save the pictures…"), self._pictures, name)
        for each in (self.table_button, self.pictures_button):
            each.setEnabled(False)
            row.addWidget(each)

    def show_answer(self, answer: Answer) -> None:
        self.answer = answer
        for each in (self.table_button, self.pictures_button):
            each.setEnabled(True)

    @Slot()
    def _table(self) -> None:
        self.host.export(Leaving(tr("Save the table"), "look-back.csv", tr("Table (*.csv)"), self._table_to_write))

    def _table_to_write(self) -> Write:
        from nightplan.actions.lookback_leaving import leave_table

        answer = self._known()
        return lambda path, _report: leave_table(answer.looks, path)

    @Slot()
    def _pictures(self) -> None:
        title = tr("A folder for the four pictures")
        self.host.export(Leaving(title, "", "", self._pictures_to_write, into_folder=True))

    def _pictures_to_write(self) -> Write:
        from nightplan.actions.lookback_leaving import leave_pictures

        answer = self._known()
        return lambda path, report: leave_pictures(answer.facts, answer.looks, answer.scores, path, ".svg", report)

    def _known(self) -> Answer:
        assert self.answer is not None
        return self.answer
