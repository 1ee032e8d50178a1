# SPDX-License-Identifier: GPL-3.0-or-later
"""The two buttons that save a look back: the stages as a table, the pictures into a folder."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QProgressBar, QPushButton, QWidget

from nightplan.actions.lookback_leaving import leave_pictures, leave_table
from nightplan.desk.background import Background
from nightplan.desk.host import DeskHost
from nightplan.desk.widgets.flow import Flow
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.desk.lookback_reading import Answer

_TABLE = tr("Table (*.csv)")


class Saving(QWidget):
    """Nothing can be saved before there is an answer."""

    def __init__(self, host: DeskHost, folder: Callable[[], str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host, self.folder = host, folder
        self.answer: Answer | None = None
        self.work = Background(self)
        self.work.done.connect(self._done)
        self.work.refused.connect(self.host.say)
        self.work.failed.connect(self.host.services.fault)
        self.work.progressed.connect(self._progressed)
        self.work.busy_changed.connect(self._busy_changed)
        row = Flow(self)
        self.table_button = _button(tr("Save the table…"), tr("Save planned against actual as a table"), self._table)
        self.pictures_button = _button(
            tr("Save the pictures…"), tr("Save the four pictures into a folder"), self._pictures
        )
        self.progress = QProgressBar()
        self.progress.setAccessibleName(tr("Drawing the pictures"))
        self.progress.setFormat(tr("drawing: %p %"))
        self.stop_button = _button(tr("Cancel"), tr("Cancel the pictures"), self._stop)
        for widget in (self.table_button, self.pictures_button, self.progress, self.stop_button):
            row.addWidget(widget)
        self._busy_changed(False)

    def show_answer(self, answer: Answer) -> None:
        self.answer = answer
        self._busy_changed(self.work.busy)

    def close_down(self) -> None:
        self.work.close()

    @Slot()
    def _table(self) -> None:
        suggested = os.path.join(self.folder(), "look-back.csv")
        self.host.services.ask_save(self, suggested, self._table_to, title=tr("Save the table"), filters=_TABLE)

    def _table_to(self, chosen: str | None) -> None:
        answer = self.answer
        if chosen is None or answer is None:
            return

        def write(_progress: Callable[[float], None]) -> str:
            leave_table(answer.looks, Path(chosen))
            return tr("The table is saved as {name}.", name=Path(chosen).name)

        self.work.start("table", write)

    @Slot()
    def _pictures(self) -> None:
        self.host.services.ask_folder(self, tr("A folder for the four pictures"), self.folder(), self._pictures_to)

    def _pictures_to(self, chosen: str | None) -> None:
        answer = self.answer
        if chosen is None or answer is None:
            return

        def draw(progress: Callable[[float], None]) -> str:
            made = leave_pictures(answer.facts, answer.looks, answer.scores, Path(chosen), ".svg", progress)
            return trn(
                "{n} picture is saved in {folder}.", "{n} pictures are saved in {folder}.", len(made), folder=chosen
            )

        self.progress.setValue(0)
        self.work.start("pictures", draw)

    @Slot()
    def _stop(self) -> None:
        self.work.call_off()
        self.host.say(tr("Saving the pictures was called off; those that were finished stay."))
        self.pictures_button.setFocus()

    @Slot(object)
    def _progressed(self, share: float) -> None:
        self.progress.setValue(round(share * 100))

    @Slot(object)
    def _busy_changed(self, busy: bool) -> None:
        for button in (self.table_button, self.pictures_button):
            button.setEnabled(self.answer is not None and not busy)
        self.progress.setVisible(busy)
        self.stop_button.setVisible(busy)

    @Slot(object)
    def _done(self, result: tuple[str, Any]) -> None:
        self.host.say(result[1])


def _button(text: str, name: str, slot: Callable[[], None]) -> QPushButton:
    made = QPushButton(text)
    made.setAccessibleName(name)
    made.clicked.connect(slot)
    return made
