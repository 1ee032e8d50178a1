# SPDX-License-Identifier: GPL-3.0-or-later
"""What fields, cards and forms of the desk share."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QFormLayout,
    QFrame,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
)

from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.words import spoken

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


def wrapped(text: str = "") -> PlainLabel:
    """Plain text over as many lines as it needs."""
    return PlainLabel(text, wrap=True)


def button(text: str, slot: Callable[[], object], name: str = "") -> QPushButton:
    """``name`` is for those who hear it, where the text says too little beside other buttons."""
    made = QPushButton(text)
    if name:
        made.setAccessibleName(name)
    made.clicked.connect(slot)
    return made


def tool_button(text: str, tip: str, name: str = "") -> QToolButton:
    """One of a row of small buttons that the Tab key comes to; ``name`` where the text alone says too little."""
    made = QToolButton()
    made.setText(text)
    made.setToolTip(tip)
    made.setAccessibleName(name or spoken(text).rstrip("…"))
    made.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    made.setAutoRaise(True)
    return made


def emptied(column: QVBoxLayout) -> None:
    """Take every widget out of a column, and let it go."""
    while (item := column.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
