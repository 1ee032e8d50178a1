# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the Journal page that stand on their own: the brief's wishes, two captures compared, the making-of."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QFocusEvent, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QDoubleSpinBox,
    QFrame,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.fields import card_column, emptied, wrapped
from nightplan.desk.widgets.flow import Flow
from nightplan.model.errors import BadInput, NightplanError

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project

_PARTS = (
    ("Outline as a page…", "making-of", ".html"),
    ("Outline as Markdown…", "making-of", ".md"),
    ("Contact sheet…", "contact-sheet", ".png"),
)


class KeptText(QPlainTextEdit):
    """A text that is kept when the keyboard leaves it."""

    left = Signal()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()


class AskedCard(QFrame):
    """Progress posts and kept stages that the brief asks for, to be ticked."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        column = card_column(self, "What the brief wants kept and posted")
        self.rows = QVBoxLayout()
        column.addLayout(self.rows)

    def show_project(self, project: Project) -> None:
        from nightplan.actions.journal import asked_by_brief

        emptied(self.rows)
        found = asked_by_brief(project)
        self.setVisible(bool(found))
        for row in found[:40]:
            kind = "Post" if row.kind == "progress-post" else "Keep"
            words = " ".join(row.wording.split())
            check = QCheckBox(f"{kind}: {words[:40]}{'…' if len(words) > 40 else ''}".replace("&", "&&"))
            check.setAccessibleName(f"{kind}: {words}")
            check.setToolTip(words)
            check.setChecked(row.ticked)
            check.setProperty("rule", (row.deliverable, row.rule))
            check.clicked.connect(self._clicked)
            self.rows.addWidget(check)

    @Slot()
    def _clicked(self) -> None:
        from nightplan.actions.journal import tick_asked

        check = self.sender()
        if isinstance(check, QCheckBox):
            deliverable, rule = check.property("rule")
            ticked = check.isChecked()
            self.host.change("Tick what the brief asks for", lambda p: tick_asked(p, deliverable, rule, ticked))


class PairCard(QFrame):
    """Two captures beside each other, or what differs between them."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self._folder: Path | None = None
        self._pair: tuple[str, str] | None = None
        column = card_column(self, "Two captures")
        self.words = wrapped()
        column.addWidget(self.words)
        self.picture = QLabel()
        self.picture.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        column.addWidget(self.picture)
        row = QWidget()
        flow = Flow(row)
        self.difference = QCheckBox("Only what differs")
        self.difference.clicked.connect(self._draw)
        flow.addWidget(self.difference)
        self.close_button = QPushButton("Close the comparison")
        self.close_button.clicked.connect(self.hide)
        flow.addWidget(self.close_button)
        column.addWidget(row)
        self.hide()

    def show_pair(self, folder: Path, one: str, two: str) -> None:
        self._folder, self._pair = folder, (one, two)
        self._draw()

    @Slot()
    def _draw(self) -> None:
        from nightplan.files.captures import compared

        if self._pair is None or self._folder is None:
            return
        one, two = self._pair
        apart = self.difference.isChecked()
        try:
            data = compared(self._folder / one, self._folder / two, how="difference" if apart else "beside", tall=540)
        except NightplanError as error:
            self.host.say(str(error))
            return
        self.show()
        picture = QPixmap()
        picture.loadFromData(data)
        wide = max(240, self.width() - 40)
        self.picture.setPixmap(picture.scaledToWidth(wide, Qt.TransformationMode.SmoothTransformation))
        self.words.setText(f"{one} and {two}: {'what differs, grey is the same' if apart else 'left and right'}.")
        self.picture.setAccessibleName(self.words.text())


class FilmCard(QFrame):
    """Length of the making-of, its chapters, and where it is written to."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        column = card_column(self, "Making-of")
        self.minutes = QDoubleSpinBox()
        self.minutes.setAccessibleName("Length of the film in minutes")
        self.minutes.setRange(0.5, 60.0)
        self.minutes.setSingleStep(0.5)
        self.minutes.setDecimals(1)
        self.minutes.setValue(3.0)
        self.minutes.setSuffix(" min")
        self.minutes.valueChanged.connect(self.refresh)
        column.addWidget(self.minutes)
        self.words = wrapped()
        column.addWidget(self.words)
        row = QWidget()
        flow = Flow(row)
        for text, what, ending in _PARTS:
            button = QPushButton(text)
            button.setProperty("part", (what, ending))
            button.clicked.connect(self._save)
            flow.addWidget(button)
        column.addWidget(row)

    @Slot()
    def refresh(self) -> None:
        from nightplan.actions.journal import making_of
        from nightplan.exports.making_of import clock

        if not self.host.document.is_open:
            return
        try:
            outline = making_of(self.host.project, self.minutes.value())
        except BadInput:
            self.words.setText("There is something to tell once the first evening is ticked off.")
            return
        rows = [f"{clock(c.seconds)}  {c.name}" for c in outline.chapters]
        self.words.setText("Lengths in proportion to the hours:\n" + "\n".join(rows))

    @Slot()
    def _save(self) -> None:
        from nightplan.desk.exporting import export

        button = self.sender()
        if isinstance(button, QPushButton):
            what, ending = button.property("part")
            export(self.host, what, ending, minutes=self.minutes.value())
