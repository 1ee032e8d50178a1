# SPDX-License-Identifier: GPL-3.0-or-later
"""Earlier versions of the open file: when they were saved, what differs, and one of them taken back."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import (
    QAbstractItemView,
    QBoxLayout,
    QDialog,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions.differences import differences
from nightplan.desk import words
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.files.versions import Version, follow, listed, project_of
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trn

#: more is no reading any more
MOST_LINES = 500


def moment_words(when: dt.datetime) -> str:
    """``Sun 10 Oct 2027, 20:00`` in local time."""
    local = when.astimezone()
    return f"{words.day(local.date())} {local.year}, {words.clock(local.time())}"


class EarlierVersions(QDialog):
    """The versions of one file, newest first, each held against the project as it is now."""

    #: (label, project) of the version that is wanted back
    wanted = Signal(object)

    def __init__(self, path: str, folder: Path, now: Project, parent: QWidget | None = None) -> None:
        """Args:
        folder: where the rings of all files are kept.
        now: what the versions are held against.
        """
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(tr("Earlier versions"))
        self.now = now
        follow(path, folder)
        self.versions: tuple[Version, ...] = listed(path, folder)
        self._project: Project | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(22, 20, 22, 18)
        column.setSpacing(10)
        heading = tr("Earlier versions of {basename}", basename=os.path.basename(path))
        column.addWidget(PlainLabel(heading, "heading", wrap=True))
        column.addWidget(
            PlainLabel(
                tr(
                    "Each save is kept: the last ones all of them, then one an hour, a day, a week. Take one back, and "
                    "Undo brings you here again; the file changes only when you save."
                ),
                "muted",
                wrap=True,
            )
        )
        self.sides = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self.sides.setSpacing(10)
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Earlier versions"))
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for version in self.versions:
            self.list.addItem(QListWidgetItem(moment_words(version.when)))
        self.lines = QPlainTextEdit()
        self.lines.setReadOnly(True)
        self.lines.setTabChangesFocus(True)
        self.lines.setAccessibleName(tr("What differs from now"))
        self.sides.addWidget(self.list, 2)
        self.sides.addWidget(self.lines, 3)
        column.addLayout(self.sides, 1)
        row = QHBoxLayout()
        row.addStretch(1)
        self.back_button = QPushButton(tr("&Take this one back"))
        self.back_button.setProperty("role", "primary")
        self.close_button = QPushButton(tr("&Close"))
        for button, slot in ((self.back_button, self._take_back), (self.close_button, self.reject)):
            button.setAccessibleName(words.spoken(button.text()))
            button.clicked.connect(slot)
            row.addWidget(button)
        column.addLayout(row)
        self.list.currentRowChanged.connect(self._chosen)
        letter = self.fontMetrics().averageCharWidth()
        self.resize(min(110 * letter, 1200), 26 * self.fontMetrics().height())
        self.back_button.setEnabled(False)
        if self.versions:
            self.list.setCurrentRow(0)
        else:
            self.lines.setPlainText(tr("There is none yet: the next save is the first."))
        self.list.setFocus()

    @Slot(int)
    def _chosen(self, place: int) -> None:
        self._project = None
        self.back_button.setEnabled(False)
        if not 0 <= place < len(self.versions):
            return
        try:
            project = project_of(self.versions[place])
        except BadInput as error:
            self.lines.setPlainText(f"{error.sentence[0].upper()}{error.sentence[1:]}.")
            return
        told = differences(self.now, project)
        if not told:
            self.lines.setPlainText(tr("The same as what is open now."))
            return
        self._project = project
        self.back_button.setEnabled(True)
        more = [tr("… and {rest} more", rest=len(told) - MOST_LINES)] if len(told) > MOST_LINES else []
        head = trn(
            "Taking it back changes {n} thing (now → then):",
            "Taking it back changes {n} things (now → then):",
            len(told),
        )
        self.lines.setPlainText("\n".join((head, "", *told[:MOST_LINES], *more)))

    @Slot()
    def _take_back(self) -> None:
        project, place = self._project, self.list.currentRow()
        if project is None:
            return
        label = tr("Take back the version of {moment_words}", moment_words=moment_words(self.versions[place].when))
        self.accept()
        self.wanted.emit((label, project))
