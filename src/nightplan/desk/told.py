# SPDX-License-Identifier: GPL-3.0-or-later
"""What a screen reader is told that the toolkit does not know by itself.

A widget that the program draws itself has the role of a plain one unless it says another: its attribute
``told_as``, read by :func:`install`'s factory. Elsewhere than on Windows the toolkit gives the value of a
drop-down list in place of its name, and leaves the name to a label: :func:`label_for_listeners` makes one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QLabel, QWidget

from nightplan.desk.widgets.plain_label import PlainLabel

if TYPE_CHECKING:
    from PySide6.QtWidgets import QAccessibleWidget

_installed = False


def _made(_kind: str, widget: QObject) -> QAccessibleWidget | None:
    role = getattr(widget, "told_as", None)
    if isinstance(widget, QWidget) and isinstance(role, QAccessible.Role):
        from PySide6.QtWidgets import QAccessibleWidget

        return QAccessibleWidget(widget, role)
    return None


def install() -> None:
    """Have roles read from ``told_as``; once in a process, as there is no way to take a factory back."""
    global _installed
    if not _installed:
        _installed = True
        QAccessible.installFactory(_made)


def label_for_listeners(field: QWidget) -> QLabel:
    """An unseen label beside a field that is in its place: its accessible name, where only labels are heard."""
    # an & would be a letter of the label's own
    label = PlainLabel(field.accessibleName().replace("&", "&&"), parent=field.parentWidget())
    label.setBuddy(field)
    label.hide()
    # editors in cells come and go
    field.destroyed.connect(label.deleteLater)
    return label
