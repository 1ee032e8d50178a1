# SPDX-License-Identifier: GPL-3.0-or-later
"""A number of hours that takes a comma and a point alike."""

from __future__ import annotations

from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QDoubleSpinBox


class HoursSpin(QDoubleSpinBox):
    """The toolkit drops the mark that is not its language's: ``2,75`` would be 2 h, and nobody would be told."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        point = self.locale().decimalPoint()
        if event.text() in (",", ".") and event.text() != point:
            event = QKeyEvent(event.type(), event.key(), event.modifiers(), point, event.isAutoRepeat())
        super().keyPressEvent(event)


__all__ = ["HoursSpin"]
