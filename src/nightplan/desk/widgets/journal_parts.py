# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the Journal page that stand on their own: the brief's wishes, and two captures compared."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QFocusEvent, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk import words as day_words
from nightplan.desk.fields import card_column, emptied, wrapped
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.plain_label import PlainLabel, tip_text
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.actions.journal import Asked
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project

_MOST_ASKED = 40


class KeptText(QPlainTextEdit):
    """A text that is kept when the keyboard leaves it."""

    left = Signal()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()


class AskedCard(QFrame):
    """Progress posts and kept stages that the brief asks for, to be ticked, with a note on where they are."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self._asked: tuple[Asked, ...] = ()
        self.checks: list[QCheckBox] = []
        self.wordings: list[QLabel] = []
        self.notes: list[QLineEdit] = []
        column = card_column(self, tr("What the brief wants kept and posted"))
        self.rows = QVBoxLayout()
        self.rows.setSpacing(4)
        column.addLayout(self.rows)
        self.rest = wrapped(tr("Ticks and notes stand in the hand-in sheet."))
        self.rest.setProperty("role", "muted")
        column.addWidget(self.rest)

    def show_project(self, project: Project) -> None:
        from nightplan.actions.journal import asked_by_brief

        try:
            found = asked_by_brief(project)[:_MOST_ASKED]
        except BadInput as error:
            found = ()
            self.host.say(error.sentence)
        if [(a.deliverable, a.rule) for a in found] != [(a.deliverable, a.rule) for a in self._asked]:
            self._rows_for(len(found))
        self._asked = found
        self.setVisible(bool(found))
        for asked, check, wording, note in zip(found, self.checks, self.wordings, self.notes, strict=True):
            post = asked.kind == "progress-post"
            words = " ".join(asked.wording.split())
            days = ", ".join(day_words.day(d) for d in asked.due)
            check.setText(_asked_words(post, days, "").rstrip(" :：\u00a0"))
            wording.setText(words)
            check.setAccessibleName(_asked_words(post, days, words))
            check.setToolTip(tip_text(words))
            check.setChecked(asked.ticked)
            note.setAccessibleName(
                tr("Note on post: {words}", words=words) if post else tr("Note on keep: {words}", words=words)
            )
            note.setPlaceholderText(asked.evidence or (tr("Where is it posted?") if post else tr("Where is it kept?")))
            if note.text() != asked.note:
                note.setText(asked.note)

    def _rows_for(self, count: int) -> None:
        emptied(self.rows)
        self.checks, self.wordings, self.notes = [], [], []
        for n in range(count):
            check, wording, note = QCheckBox(), wrapped(), QLineEdit()
            check.setProperty("row", n)
            check.clicked.connect(self._clicked)
            note.setProperty("row", n)
            note.setMaxLength(2_000)
            note.editingFinished.connect(self._noted)
            for widget in (check, wording, note):
                self.rows.addWidget(widget)
            self.checks.append(check)
            self.wordings.append(wording)
            self.notes.append(note)

    @Slot()
    def _clicked(self) -> None:
        check = self.sender()
        if isinstance(check, QCheckBox):
            n = int(check.property("row"))
            asked = self._asked[n]
            self._tick(asked, check.isChecked(), self.notes[n].text().strip())
            # refused, it stays as it was
            check.setChecked(self._asked[n].ticked)

    @Slot()
    def _noted(self) -> None:
        note = self.sender()
        if isinstance(note, QLineEdit):
            asked = self._asked[int(note.property("row"))]
            if note.text().strip() != asked.note:
                # a note on where it is says that it is there
                self._tick(asked, asked.ticked or bool(note.text().strip()), note.text().strip())

    def _tick(self, asked: Asked, ticked: bool, note: str) -> None:
        from nightplan.actions.journal import tick_asked

        if asked.kind == "progress-post":
            label = tr("Tick a post") if ticked else tr("Take a tick of a post back")
        else:
            label = tr("Tick a kept stage") if ticked else tr("Take a tick of a kept stage back")
        self.host.change(label, lambda p: tick_asked(p, asked.deliverable, asked.rule, ticked, note))


def _asked_words(post: bool, days: str, words: str) -> str:
    """What is asked for, and by when where ``days`` are given."""
    if days:
        by = {"days": days, "words": words}
        return tr("Post (by {days}): {words}", **by) if post else tr("Keep (by {days}): {words}", **by)
    # translators: what the brief wants kept
    return tr("Post: {words}", words=words) if post else tr("Keep: {words}", words=words)


class PairCard(QFrame):
    """Two captures beside each other, or what differs between them."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self._folder: Path | None = None
        self._pair: tuple[str, str] | None = None
        self.work = host.background(self, self._drawn)
        column = card_column(self, tr("Two captures"))
        self.words = wrapped()
        column.addWidget(self.words)
        self.picture = PlainLabel()
        self.picture.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        column.addWidget(self.picture)
        row = QWidget()
        flow = Flow(row)
        self.difference = QCheckBox(tr("Only what differs"))
        self.difference.clicked.connect(self._draw)
        flow.addWidget(self.difference)
        self.close_button = QPushButton(tr("Close the comparison"))
        self.close_button.clicked.connect(self.hide)
        flow.addWidget(self.close_button)
        column.addWidget(row)
        self.hide()

    def show_pair(self, folder: Path, one: str, two: str) -> None:
        self._folder, self._pair = folder, (one, two)
        self._draw()

    @Slot()
    def _draw(self) -> None:
        if self._pair is None or self._folder is None:
            return
        folder, pair = self._folder, self._pair
        apart = self.difference.isChecked()

        def work(progress: Callable[[float], None]) -> tuple[bytes, bool]:
            from nightplan.files.captures import compared, placed

            first, second = (placed(name, folder) for name in pair)
            # pictures of a camera or a render take their time
            return compared(first, second, how="difference" if apart else "beside", tall=540), apart

        self.work.start("pair", work)

    @Slot(object)
    def _drawn(self, told: tuple[str, tuple[bytes, bool]]) -> None:
        if self._pair is None:
            return
        (one, two), (data, apart) = self._pair, told[1]
        self.show()
        picture = QPixmap()
        picture.loadFromData(data)
        wide = max(240, self.width() - 40)
        self.picture.setPixmap(picture.scaledToWidth(wide, Qt.TransformationMode.SmoothTransformation))
        self.words.setText(
            tr("{one} and {two}: what differs, grey is the same.", one=one, two=two)
            if apart
            else tr("{one} and {two}: left and right.", one=one, two=two)
        )
        self.picture.setAccessibleName(self.words.text())
