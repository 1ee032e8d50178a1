# SPDX-License-Identifier: GPL-3.0-or-later
"""The making-of on the Journal page: its length, its chapters with weights of one's own, and where it is written to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Slot
from PySide6.QtWidgets import QCheckBox, QDoubleSpinBox, QFrame, QGridLayout, QLabel, QPushButton, QWidget

from nightplan.desk.fields import card_column, padded, wrapped
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.exports.making_of import Outline
    from nightplan.model.project import Project

_PARTS = (
    (tr("Outline as a page…"), "making-of", ".html"),
    (tr("Outline as Markdown…"), "making-of", ".md"),
    (tr("Contact sheet…"), "contact-sheet", ".png"),
)


class FilmCard(QFrame):
    """Lengths follow the hours, or weights of the artist's own, chapter by chapter."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self._outline: Outline | None = None
        self._stages: tuple[str, ...] = ()
        self.lengths: dict[str, QLabel] = {}
        self.weights: dict[str, QDoubleSpinBox] = {}
        column = card_column(self, tr("Making-of"))
        self.minutes = padded(QDoubleSpinBox())
        self.minutes.setAccessibleName(tr("Length of the film in minutes"))
        self.minutes.setRange(0.5, 60.0)
        self.minutes.setSingleStep(0.5)
        self.minutes.setDecimals(1)
        self.minutes.setValue(3.0)
        # translators: minutes, behind a number
        self.minutes.setSuffix(tr(" min"))
        self.minutes.valueChanged.connect(self.refresh)
        label = PlainLabel(self.minutes.accessibleName())
        label.setBuddy(self.minutes)
        column.addWidget(label)
        column.addWidget(self.minutes)
        self.words = wrapped()
        column.addWidget(self.words)
        self.rows = QGridLayout()
        self.rows.setHorizontalSpacing(12)
        self.rows.setVerticalSpacing(4)
        self.rows.setColumnStretch(1, 1)
        column.addLayout(self.rows)
        self.own = QCheckBox(tr("Weights of my own"))
        self.own.setToolTip(tr("Instead of the hours; a chapter of weight 0 is told in no time"))
        self.own.clicked.connect(self._own_clicked)
        column.addWidget(self.own)
        row = QWidget()
        flow = Flow(row)
        for text, what, ending in _PARTS:
            save = QPushButton(text)
            save.setProperty("part", (what, ending))
            save.clicked.connect(self._save)
            flow.addWidget(save)
        column.addWidget(row)

    @Slot()
    def refresh(self) -> None:
        from nightplan.actions.journal import making_of, weights_of

        if not self.host.document.is_open:
            return
        project = self.host.project
        try:
            self._outline = making_of(project, self.minutes.value())
        except BadInput:
            self._outline = None
            self.words.setText(tr("There is something to tell once the first evening is ticked off."))
        weights = weights_of(project)
        self._fill(weights)

    def _fill(self, weights: dict[str, float]) -> None:
        from nightplan.exports.making_of import clock

        chapters = self._outline.chapters if self._outline is not None else ()
        if tuple(c.stage for c in chapters) != self._stages:
            self._rows_for(tuple((c.stage, c.name) for c in chapters))
        if chapters:
            self.words.setText(tr("Lengths by your weights:") if weights else tr("Lengths in proportion to the hours:"))
        self.own.setVisible(bool(chapters))
        self.own.setChecked(bool(weights))
        for chapter in chapters:
            self.lengths[chapter.stage].setText(clock(chapter.seconds))
            weight = self.weights[chapter.stage]
            weight.setVisible(bool(weights))
            with QSignalBlocker(weight):
                weight.setValue(weights.get(chapter.stage, 0.0))

    def _rows_for(self, stages: tuple[tuple[str, str], ...]) -> None:
        while (item := self.rows.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._stages = tuple(key for key, _ in stages)
        self.lengths.clear()
        self.weights.clear()
        for n, (key, name) in enumerate(stages):
            weight = padded(QDoubleSpinBox())
            weight.setRange(0.0, 1000.0)
            weight.setDecimals(1)
            weight.setKeyboardTracking(False)
            weight.setAccessibleName(tr("Weight of the chapter {chapter}", chapter=name))
            weight.setToolTip(tr("Weight of this chapter beside the others"))
            weight.setProperty("stage", key)
            weight.valueChanged.connect(self._weight_changed)
            self.lengths[key], self.weights[key] = PlainLabel(), weight
            for place, widget in enumerate((self.lengths[key], wrapped(name), weight)):
                self.rows.addWidget(widget, n, place)

    @Slot()
    def _own_clicked(self) -> None:
        from nightplan.actions.journal import set_weights

        outline = self._outline
        if outline is None:
            return
        # the hours are what one begins from; chapters without any would all be told in no time
        wanted = {c.stage: round(c.hours, 1) for c in outline.chapters} if self.own.isChecked() else {}
        if wanted and not any(wanted.values()):
            wanted = dict.fromkeys(wanted, 1.0)
        label = tr("Chapters by weights") if wanted else tr("Chapters by hours")
        self.host.change(label, lambda p: set_weights(p, wanted))
        self.refresh()

    @Slot()
    def _weight_changed(self) -> None:
        from nightplan.actions.journal import set_weights, weights_of

        weight = self.sender()
        if not isinstance(weight, QDoubleSpinBox):
            return
        key, value = str(weight.property("stage")), weight.value()

        def make(project: Project) -> Project:
            return set_weights(project, {**weights_of(project), key: value})

        name = next((c.name for c in self._outline.chapters if c.stage == key), key) if self._outline else key
        self.host.change(tr("Weight of the chapter {chapter}", chapter=name), make)
        self.refresh()

    @Slot()
    def _save(self) -> None:
        from nightplan.desk.exporting import export

        pressed = self.sender()
        if isinstance(pressed, QPushButton):
            what, ending = pressed.property("part")
            export(self.host, what, ending, minutes=self.minutes.value())
