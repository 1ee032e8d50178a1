# SPDX-License-Identifier: GPL-3.0-or-later
"""The tick of an evening: hours, what is done or what is left, a note."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QSpacerItem,
    QWidget,
)

from nightplan.actions.tick import Evening
from nightplan.desk import words
from nightplan.desk.fields import padded
from nightplan.desk.widgets.hours_spin import HoursSpin
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.tonight_cards import Card
from nightplan.model.project import Project, Span
from nightplan.speech import tr, trc

#: lines for items that can be ticked off in one evening
_LINES = 6
_DONE, _MORE = trc("of an item", "done"), tr("needs more")
#: before a choice that is made: its colour says it too
_CHECKED = "✓ "


@dataclass
class Line:
    """One item of the evening: its hours, and whether it is done or what is left."""

    box: QWidget
    name: QLabel
    hours: QDoubleSpinBox
    done: QPushButton
    more: QPushButton
    left: QDoubleSpinBox
    left_box: QWidget
    item: str = ""


def _spin(name: str, most: float = 24.0) -> QDoubleSpinBox:
    spin = padded(HoursSpin())
    spin.setRange(0.0, most)
    spin.setDecimals(2)
    spin.setSingleStep(0.25)
    # translators: hours, behind a number
    spin.setSuffix(tr(" h"))
    spin.setAccessibleName(name)
    spin.setAlignment(Qt.AlignmentFlag.AlignRight)
    spin.setMinimumWidth(110)
    return spin


class TickCard(Card):
    """``hours_changed`` when the hours were typed and are to be shared out anew."""

    hours_changed = Signal()
    tick_wanted = Signal()
    missed_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("Tick off"), parent)
        #: somebody typed hours: they are not those of the plan any more
        self.touched = False
        self.notice = PlainLabel()
        self.notice.setProperty("role", "muted")
        self.notice.setWordWrap(True)
        self.column.addWidget(self.notice)
        row = QHBoxLayout()
        label = PlainLabel(tr("H&ours worked"))
        label.setWordWrap(True)
        self.hours = _spin(tr("Hours worked"))
        label.setBuddy(self.hours)
        self.hours.valueChanged.connect(self._hours_typed)
        row.setSpacing(8)
        row.addWidget(label, 1)
        row.addWidget(self.hours)
        # in one column with the hours of the items
        self._hours_row, self._beside_hours = row, QSpacerItem(1, 0)
        row.addItem(self._beside_hours)
        self.column.addLayout(row)
        self.lines = [self._line() for _ in range(_LINES)]
        note_label = PlainLabel(tr("&Note for the making-of (optional)"))
        self.note = QPlainTextEdit()
        self.note.setAccessibleName(tr("Note for the making-of"))
        self.note.setTabChangesFocus(True)
        self.note.setPlaceholderText(tr("What went well, what fought back, what fixed it."))
        self.note.setFixedHeight(self.note.fontMetrics().lineSpacing() * 7)
        note_label.setBuddy(self.note)
        self.column.addWidget(note_label)
        self.column.addWidget(self.note)
        self.error = PlainLabel()
        self.error.setProperty("role", "bad")
        self.error.setWordWrap(True)
        self.error.hide()
        self.column.addWidget(self.error)
        self.column.addSpacing(4)
        self.column.addLayout(self._buttons())

    def _buttons(self) -> QHBoxLayout:
        buttons = QHBoxLayout()
        self.tick_button = QPushButton(tr("&Tick off the evening"))
        self.tick_button.setProperty("role", "primary")
        self.missed_button = QPushButton(tr("I did not wor&k"))
        for button, wanted, tip in (
            (self.tick_button, self.tick_wanted, tr("Ctrl+Return")),
            (self.missed_button, self.missed_wanted, tr("Ctrl+Shift+M")),
        ):
            button.setAccessibleName(words.spoken(button.text()))
            button.setToolTip(tip)
            button.clicked.connect(wanted)
            buttons.addWidget(button)
        hint = PlainLabel(tr("Ctrl+Return"))
        hint.setProperty("role", "muted")
        buttons.addWidget(hint)
        buttons.addStretch(1)
        return buttons

    def _line(self) -> Line:
        box = QWidget()
        grid = QGridLayout(box)
        grid.setContentsMargins(0, 4, 0, 4)
        grid.setHorizontalSpacing(8)
        name = PlainLabel()
        name.setWordWrap(True)
        name.setTextFormat(Qt.TextFormat.PlainText)
        hours = _spin(tr("Hours on this item"))
        done, more = QPushButton(_CHECKED + _DONE), QPushButton(_CHECKED + _MORE)
        # no group: both may be off, so that the Tab key comes to each
        for button, text in ((done, _DONE), (more, _MORE)):
            button.setCheckable(True)
            button.setProperty("role", "choice")
            # room for the check mark, so that nothing moves when it comes
            button.setMinimumWidth(button.sizeHint().width() + 8)
            button.setText(text)
        left_box = QWidget()
        left_row = QHBoxLayout(left_box)
        left_row.setContentsMargins(0, 0, 0, 0)
        left_label = PlainLabel(tr("likely left"))
        left_label.setProperty("role", "muted")
        left = _spin(tr("Likely hours left"), 500.0)
        left_row.addWidget(left_label)
        left_row.addWidget(left)
        left_row.addStretch(1)
        left_box.hide()
        grid.addWidget(name, 0, 0)
        grid.addWidget(hours, 0, 1)
        grid.addWidget(done, 0, 2)
        grid.addWidget(more, 0, 3)
        grid.addWidget(left_box, 1, 1, 1, 3)
        grid.setColumnStretch(0, 1)
        self.column.addWidget(box)
        box.hide()
        line = Line(box, name, hours, done, more, left, left_box)
        done.toggled.connect(self._lines_toggled)
        more.toggled.connect(self._lines_toggled)
        hours.valueChanged.connect(self._line_hours_changed)
        return line

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._align()

    def _align(self) -> None:
        """The hours of the evening stand above those of its items, where there are any."""
        line, wide = self.lines[0], 0
        if line.item:
            wide = 16 + sum(max(b.minimumWidth(), b.sizeHint().width()) for b in (line.done, line.more))
        if wide != self._beside_hours.sizeHint().width():
            # without items the hours stand beside their label
            grows = QSizePolicy.Policy.Fixed if wide else QSizePolicy.Policy.Expanding
            self._beside_hours.changeSize(wide, 0, grows)
            self._hours_row.setStretch(0, 1 if wide else 0)
            self.column.invalidate()

    # ---- what is shown -----------------------------------------------------------------------
    def say(self, notice: str) -> None:
        """A word above the hours; none where there is nothing to say."""
        self.notice.setText(notice)
        self.notice.setVisible(bool(notice))

    def show_error(self, sentence: str) -> None:
        self.error.setText(sentence)
        self.error.show()

    def set_hours(self, hours: float) -> None:
        """Fill the hours in, without sharing them out."""
        self.hours.blockSignals(True)
        self.hours.setValue(hours)
        self.hours.blockSignals(False)

    def show_lines(self, project: Project, shared: Mapping[str, float]) -> None:
        """The items of the evening with their hours: ``shared`` is item id -> hours."""
        names = list(shared)[:_LINES]
        for line, name in zip(self.lines, [*names, *[""] * (_LINES - len(names))], strict=True):
            keep = line.item == name
            line.item = name
            line.box.setVisible(bool(name))
            if not name:
                continue
            item = project.items[name]
            line.name.setText(f"{project.stage_of[name].name}: {item.name}")
            line.hours.blockSignals(True)
            line.hours.setValue(round(shared[name], 2))
            line.hours.blockSignals(False)
            line.hours.setAccessibleName(tr("Hours on {item}", item=item.name))
            line.done.setAccessibleName(tr("{item} is done", item=item.name))
            line.more.setAccessibleName(tr("{item} needs more", item=item.name))
            line.left.setAccessibleName(tr("Likely hours left of {item}", item=item.name))
            if not keep:
                for button in (line.done, line.more):
                    button.setChecked(False)
                line.left.setValue(max(0.25, round(item.likely / 2 * 4) / 4))
        if len(shared) > _LINES:
            self.lines[-1].hours.setValue(sum(list(shared.values())[_LINES - 1 :]))
        self._align()

    # ---- what is said ------------------------------------------------------------------------
    @Slot()
    def _lines_toggled(self) -> None:
        button = self.sender()
        for line in self.lines:
            if button is line.done and line.done.isChecked():
                line.more.setChecked(False)
            if button is line.more and line.more.isChecked():
                line.done.setChecked(False)
            for choice, text in ((line.done, _DONE), (line.more, _MORE)):
                choice.setText(_CHECKED + text if choice.isChecked() else text)
            line.left_box.setVisible(line.more.isChecked())

    @Slot(float)
    def _hours_typed(self, _value: float) -> None:
        self.touched = True
        self.hours_changed.emit()

    @Slot(float)
    def _line_hours_changed(self, _value: float) -> None:
        self.touched = True
        total = sum(line.hours.value() for line in self.lines if line.item)
        if total > self.hours.value():
            self.set_hours(total)

    def said(self, date: dt.date) -> Evening:
        """The evening as the fields have it."""
        lines = [line for line in self.lines if line.item]
        return Evening(
            date,
            self.hours.value(),
            {line.item: line.hours.value() for line in lines if line.hours.value() > 0},
            tuple(line.item for line in lines if line.done.isChecked()),
            {
                line.item: Span(likely=line.left.value(), high=round(line.left.value() * 1.75, 2))
                for line in lines
                if line.more.isChecked() and line.left.value() > 0
            },
            note=self.note.toPlainText().strip(),
        )

    def missed(self, date: dt.date) -> Evening:
        """The evening did not happen."""
        return Evening(date, missed=True, note=self.note.toPlainText().strip())

    def clear(self) -> None:
        """Ready for the next evening."""
        self.touched = False
        self.note.clear()
        for line in self.lines:
            line.item = ""
