# SPDX-License-Identifier: GPL-3.0-or-later
"""Hand-in sheets that are kept in the project, and whether their files are still those that were checked."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QFrame, QWidget

from nightplan.brief.findings import SIGNS
from nightplan.desk.fields import button, card_column, wrapped
from nightplan.desk.widgets import brief_words as told
from nightplan.desk.widgets.brief_list import RichList
from nightplan.desk.widgets.flow import Flow
from nightplan.speech import tr

if TYPE_CHECKING:
    from collections.abc import Sequence

    from nightplan.brief.handin import FileState
    from nightplan.desk.theme import Theme
    from nightplan.model.brief import Sheet
    from nightplan.model.project import Project

_NONE = tr(
    "None yet. A sheet keeps what was checked, when, with which answer and the fingerprint of every file; later it "
    "says whether the file that you upload is still that file."
)


class SheetsCard(QFrame):
    """Newest first; asks by signals, each with the place of the sheet in the project."""

    #: (place, whether the files are looked for in another folder)
    verify_wanted = Signal(object)
    #: (place, ending)
    save_wanted = Signal(object)
    remove_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sheets: tuple[Sheet, ...] = ()
        self._answer_for: Sheet | None = None
        column = card_column(self, tr("Hand-in sheets"))
        self.empty = wrapped(_NONE)
        column.addWidget(self.empty)
        self.list = RichList(tr("Hand-in sheets, the newest first"), theme, most_lines=12)
        self.list.chosen.connect(self._chosen)
        self.list.opened.connect(self._opened)
        column.addWidget(self.list)
        self.answer = wrapped()
        column.addWidget(self.answer)
        self.row = QWidget()
        flow = Flow(self.row)
        self.still = button(tr("Is it still the same file?"), self._verify)
        self.elsewhere = button(tr("Look in another folder…"), self._verify)
        self.as_html = button(tr("Save as HTML…"), self._save, tr("Save the kept sheet as HTML"))
        self.as_pdf = button(tr("Save as PDF…"), self._save, tr("Save the kept sheet as PDF"))
        self.remove = button(tr("Take it out"), self._remove, tr("Take the hand-in sheet out"))
        self.as_html.setProperty("ending", ".html")
        self.as_pdf.setProperty("ending", ".pdf")
        self.buttons = (self.still, self.elsewhere, self.as_html, self.as_pdf, self.remove)
        for each in self.buttons:
            flow.addWidget(each)
        column.addWidget(self.row)
        self.show_project(None)

    def show_project(self, project: Project | None) -> None:
        """The sheets of a project; the answer about one stays while that one is there."""
        self._sheets = () if project is None else project.handins or ()
        rows = [told.sheet_row(n, s, _when(s.checked_at)) for n, s in enumerate(self._sheets)]
        self.list.show_rows(reversed(rows))
        for widget in (self.list, self.row):
            widget.setVisible(bool(rows))
        self.empty.setVisible(not rows)
        if self._answer_for not in self._sheets:
            self._answer_for = None
        self._chosen(None)

    @property
    def place(self) -> int | None:
        key = self.list.current_key
        return None if key is None else int(key)

    @property
    def current(self) -> Sheet | None:
        place = self.place
        return None if place is None or place >= len(self._sheets) else self._sheets[place]

    def show_states(self, sheet: Sheet, states: Sequence[FileState]) -> None:
        """What was found about the files of a sheet."""
        from nightplan.actions.brief_check import still_sentence

        self._answer_for = sheet
        same = all(s.state == "same" for s in states) and bool(states)
        lines = [f"{SIGNS['pass' if same else 'fail']}  {still_sentence(states)}", told.states_text(states)]
        self.answer.setText("\n".join(line for line in lines if line))
        self.answer.setProperty("role", "good" if same else "bad")
        self.answer.style().unpolish(self.answer)
        self.answer.style().polish(self.answer)
        self._chosen(None)

    def show_busy(self, busy: bool) -> None:
        for each in self.buttons:
            each.setEnabled(not busy)

    def set_theme(self, theme: Theme) -> None:
        self.list.set_theme(theme)

    @Slot(object)
    def _chosen(self, _key: object) -> None:
        self.answer.setVisible(self._answer_for is not None and self._answer_for is self.current)

    @Slot(object)
    def _opened(self, _key: object) -> None:
        self.verify_wanted.emit((self.place, False))

    @Slot()
    def _verify(self) -> None:
        if self.place is not None:
            self.verify_wanted.emit((self.place, self.sender() is self.elsewhere))

    @Slot()
    def _save(self) -> None:
        each = self.sender()
        if each is not None and self.place is not None:
            self.save_wanted.emit((self.place, each.property("ending")))

    @Slot()
    def _remove(self) -> None:
        if self.place is not None:
            self.remove_wanted.emit(self.place)


def _when(stamp: str | None) -> str:
    from nightplan.desk import words

    try:
        at = dt.datetime.fromisoformat(stamp or "")
    except ValueError:
        return stamp or ""
    return f"{words.day(at.date(), year=True)} {at:%H:%M}"
