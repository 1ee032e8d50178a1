# SPDX-License-Identifier: GPL-3.0-or-later
"""What fields, cards and forms of the desk share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QBoxLayout,
    QComboBox,
    QFormLayout,
    QFrame,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.widgets.short_label import PlainLabel

_Field = TypeVar("_Field", bound=QAbstractSpinBox)


def padded(field: _Field) -> _Field:
    """Keep the text away from the outline; a style sheet's padding does not reach into these fields."""
    line = field.findChild(QLineEdit)
    if isinstance(line, QLineEdit):
        line.setTextMargins(6, 0, 6, 0)
    return field


def card_column(frame: QFrame, title: str) -> QVBoxLayout:
    """Makes a card with a heading of a frame, and answers the column that goes below."""
    frame.setProperty("role", "card")
    column = QVBoxLayout(frame)
    column.setContentsMargins(16, 12, 16, 12)
    column.setSpacing(8)
    heading = PlainLabel(title)
    heading.setProperty("role", "heading")
    column.addWidget(heading)
    return column


def card(title: str) -> tuple[QFrame, QVBoxLayout]:
    frame = QFrame()
    return frame, card_column(frame, title)


def form() -> QFormLayout:
    """Fields with their names before them, or above them where the room is small."""
    made = QFormLayout()
    made.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
    made.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return made


def editable_box(name: str) -> QComboBox:
    """A box to choose from or to type into; the box has the frame and the room around the words."""
    box = QComboBox()
    box.setEditable(True)
    box.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
    line = QLineEdit()
    line.setFrame(False)
    line.setStyleSheet("QLineEdit { border: 0; padding: 0; background: transparent; }")
    box.setLineEdit(line)
    for part in (box, line):
        part.setAccessibleName(name)
    return box


def set_box_text(box: QComboBox, text: str) -> None:
    if box.currentText() != text:
        box.setCurrentIndex(box.findText(text))
        box.setEditText(text)


def wrapped(text: str = "") -> QLabel:
    """Plain text over as many lines as it needs."""
    label = PlainLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def button(text: str, slot: Callable[[], object], name: str = "") -> QPushButton:
    """``name`` is for those who hear it, where the text says too little beside other buttons."""
    made = QPushButton(text)
    if name:
        made.setAccessibleName(name)
    made.clicked.connect(slot)
    return made


def emptied(column: QVBoxLayout) -> None:
    """Take every widget out of a column, and let it go."""
    while (item := column.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()


def columns_of(page: QWidget, sides: Sequence[Sequence[QWidget]], shares: Sequence[int] | None = None) -> QBoxLayout:
    """A page of cards in columns that can be scrolled; :func:`turn_to_fit` turns what is answered."""
    outer = QVBoxLayout(page)
    outer.setContentsMargins(0, 0, 0, 0)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    inside = QWidget()
    inside.setProperty("role", "ground")
    columns = QBoxLayout(QBoxLayout.Direction.LeftToRight, inside)
    columns.setContentsMargins(0, 0, 0, 0)
    columns.setSpacing(10)
    for n, cards in enumerate(sides):
        column = QVBoxLayout()
        column.setSpacing(10)
        for each in cards:
            column.addWidget(each)
        column.addStretch(1)
        columns.addLayout(column, shares[n] if shares else 1)
    area.setWidget(inside)
    outer.addWidget(area)
    return columns


def turn_to_fit(columns: QBoxLayout, page: QWidget, letters: int = 120) -> None:
    """Columns side by side, or one above the other with large letters or in a small window."""
    across = page.width() / max(1, page.fontMetrics().averageCharWidth()) >= letters
    way = QBoxLayout.Direction.LeftToRight if across else QBoxLayout.Direction.TopToBottom
    if columns.direction() != way:
        columns.setDirection(way)
