# SPDX-License-Identifier: GPL-3.0-or-later
"""What every number and time field of the desk shares."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtWidgets import QAbstractSpinBox, QLineEdit

_Field = TypeVar("_Field", bound=QAbstractSpinBox)


def padded(field: _Field) -> _Field:
    """Keep the text away from the outline; a style sheet's padding does not reach into these fields."""
    line = field.findChild(QLineEdit)
    if isinstance(line, QLineEdit):
        line.setTextMargins(6, 0, 6, 0)
    return field
