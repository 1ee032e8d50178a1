# SPDX-License-Identifier: GPL-3.0-or-later
"""A walk over every widget of a window that finds what a screen reader could not name.

WCAG 2.2, 4.1.2: name and role of every control can be found by a program. The name is asked of the
accessibility tree itself, so a label with a buddy counts and a label that merely stands beside does not.
"""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QProgressBar,
    QScrollBar,
    QTabBar,
    QTextEdit,
    QWidget,
)

_CONTROLS = (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QTabBar,
    QTextEdit,
)


def every_widget(root: QWidget) -> Iterator[QWidget]:
    """The widget and all below it, hidden ones too."""
    yield root
    yield from root.findChildren(QWidget)


def accessible_name(widget: QWidget) -> str:
    """The name that a screen reader is given.

    The label comes before the name. Elsewhere than on Windows the toolkit gives the value of a drop-down list in
    place of its name: without a label it has none.
    """
    found = QAccessible.queryAccessibleInterface(widget)
    if found is None:
        return ""
    labels = [said.text(QAccessible.Text.Name).strip() for said, _ in found.relations(QAccessible.RelationFlag.Label)]
    name = found.text(QAccessible.Text.Name).strip()
    if isinstance(widget, QComboBox) and (any(labels) or name == found.text(QAccessible.Text.Value).strip()):
        return " ".join(filter(None, labels))
    return name


def _inner(widget: QWidget) -> bool:
    """A part that the toolkit makes inside a control, which speaks for it."""
    if widget.objectName().startswith("qt_") or isinstance(widget, QScrollBar):
        return True
    parent = widget.parentWidget()
    while parent is not None:
        if isinstance(parent, QAbstractSpinBox | QComboBox) or type(parent).__name__ == "QComboBoxPrivateContainer":
            return True
        if isinstance(parent, QAbstractItemView) and not isinstance(widget, QLineEdit | QAbstractSpinBox):
            # headers and corner buttons; editors in cells are the program's own
            return type(widget).__module__.startswith("PySide6")
        parent = parent.parentWidget()
    return False


def nameless(root: QWidget) -> list[str]:
    """Controls without a name, as ``ClassName in ParentName > …``; empty is good."""
    found = []
    for widget in every_widget(root):
        takes_keys = widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        wanted = isinstance(widget, _CONTROLS) or (takes_keys and not isinstance(widget, QLabel | QMenu))
        if wanted and not _inner(widget) and not accessible_name(widget):
            found.append(_path(widget))
    return found


def doubled(root: QWidget) -> list[str]:
    """Names that two visible controls of one kind share: a listener could not tell which is which."""
    seen: dict[tuple[str, str], int] = {}
    for widget in every_widget(root):
        if isinstance(widget, _CONTROLS) and widget.isVisibleTo(root) and not _inner(widget):
            key = type(widget).__name__, accessible_name(widget)
            seen[key] = seen.get(key, 0) + 1
    return [f"{kind} {name!r} stands {count} times" for (kind, name), count in seen.items() if name and count > 1]


def out_of_reach(root: QWidget) -> list[str]:
    """Visible, enabled buttons and fields that the Tab key never comes to."""
    found = []
    for widget in every_widget(root):
        if not isinstance(widget, _CONTROLS) or isinstance(widget, QProgressBar | QScrollBar) or _inner(widget):
            continue
        lost = not widget.focusPolicy() & Qt.FocusPolicy.TabFocus and not _arrows_lead_to(widget)
        if widget.isVisibleTo(root) and widget.isEnabled() and lost:
            found.append(_path(widget))
    return found


def cut_off(root: QWidget) -> list[str]:
    """Visible labels and buttons whose text does not fit, and no tool tip, their own or their card's, tells the rest.

    Text at 200 % after WCAG 2.2, 1.4.4; a name that is told whole elsewhere may end in dots.
    """
    found = []
    for widget in every_widget(root):
        if not isinstance(widget, QLabel | QAbstractButton) or not widget.isVisibleTo(root) or not widget.text():
            continue
        if isinstance(widget, QLabel) and widget.wordWrap():
            fits = widget.heightForWidth(widget.width()) <= widget.height() + 1
        elif isinstance(widget, QLabel):
            fits = widget.sizeHint().width() <= widget.width() + 1
        else:
            fits = widget.minimumSizeHint().width() <= widget.width() + 1
        parent = widget.parentWidget()
        if not fits and not widget.toolTip() and not (parent is not None and parent.toolTip()):
            kind, size, wanted = type(widget).__name__, widget.size().toTuple(), widget.sizeHint().toTuple()
            found.append(f"{kind} {widget.text()[:60]!r}: {size} for {wanted}")
    return found


def _arrows_lead_to(widget: QWidget) -> bool:
    """One of several of which exactly one is on: Tab comes to one of them, the arrows to the others."""
    group = widget.group() if isinstance(widget, QAbstractButton) else None
    if group is None or not group.exclusive():
        return False
    return any(button.focusPolicy() & Qt.FocusPolicy.TabFocus for button in group.buttons())


def _path(widget: QWidget) -> str:
    parts, at = [], widget
    while at is not None and len(parts) < 5:
        label = at.objectName() or at.accessibleName() or getattr(at, "text", lambda: "")()
        parts.append(f"{type(at).__name__}({label})" if isinstance(label, str) and label else type(at).__name__)
        at = at.parentWidget()  # type: ignore[assignment]
    return " in ".join(parts)
