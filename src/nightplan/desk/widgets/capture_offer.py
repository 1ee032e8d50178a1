# SPDX-License-Identifier: GPL-3.0-or-later
"""A quiet offer right after an evening was ticked off: its captures, at the end of the line of messages."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtCore import Slot
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QPushButton, QWidget

from nightplan.desk import words
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project

KEY = "Ctrl+J"


class CaptureOffer(QPushButton):
    """Shown from a tick until it is taken, undone, or another project is opened."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self.date: dt.date | None = None
        #: (title, days that happened) of what was shown before
        self._before: tuple[str, frozenset[dt.date]] | None = None
        self.setProperty("role", "link")
        self.setAccessibleName(tr("Add captures of the evening just ticked off"))
        self.setShortcut(KEY)
        self.setEnabled(False)
        self.hide()
        self.clicked.connect(self._taken)
        host.document.project_changed.connect(self._changed)
        host.document.closing.connect(self._withdraw)

    def follow(self) -> None:
        """Begin with what is open, unless that is known."""
        if self._before is None and self.host.document.is_open:
            self._changed(self.host.project)

    @Slot(object)
    def _changed(self, project: Project) -> None:
        days = frozenset(e.evening for e in project.log if e.happened)
        before, self._before = self._before, (project.title, days)
        if before is None or before[0] != project.title:
            self._withdraw()
            return
        new = days - before[1]
        if len(new) == 1 and before[1] <= days:
            self._offer(next(iter(new)), project)
        elif self.date is not None and self.date not in days:
            self._withdraw()

    def _offer(self, date: dt.date, project: Project) -> None:
        if project.log_by_date[date].captures:
            return
        self.date = date
        key = QKeySequence(KEY).toString(QKeySequence.SequenceFormat.NativeText)
        self.setText(tr("Captures of {day} ({key})", day=words.day(date), key=key))
        self.setAccessibleName(tr("Add captures of {day} to the journal", day=words.day(date)))
        self.setToolTip(tr("Pictures of this evening for the journal and the making-of"))
        # setting the text takes the key away
        self.setShortcut(KEY)
        self.setEnabled(True)
        self.show()

    @Slot()
    def _withdraw(self) -> None:
        self.date = None
        self.setEnabled(False)
        self.hide()

    @Slot()
    def _taken(self) -> None:
        date = self.date
        self._withdraw()
        if date is not None:
            self.host.show_evening(date)
