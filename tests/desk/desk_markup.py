# SPDX-License-Identifier: GPL-3.0-or-later
"""A walk over every widget that finds texts of a file which the toolkit would take for markup or for an Alt letter."""

from __future__ import annotations

import json
from typing import Any

from desk_sweep import every_widget
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, Qt
from PySide6.QtGui import QAction
from PySide6.QtGui import Qt as QtOfText
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QGroupBox,
    QLabel,
    QPlainTextEdit,
    QTabBar,
    QTextEdit,
    QWidget,
)

from nightplan.files.data import data_folder
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

MARK = '<b>x</b><img src="file:///etc/hostname">&amp;'
_TEXTS = ("title", "piece", "name", "why", "note", "wording", "source", "author", "changes", "text", "terms", "receipt",
          "reason", "quote", "said", "caption", "where", "machine")  # fmt: skip


def marked_project(name: str) -> Project:
    """A sample of which every free text is markup; names that have to differ end with their id."""
    raw = json.loads((data_folder("sample_projects") / f"{name}.nightplan").read_text("utf-8"))
    raw["title"] = raw["piece"] = MARK
    _mark(raw)

    return project_from_raw(raw)


def _mark(value: Any) -> None:
    if isinstance(value, list):
        for inner in value:
            _mark(inner)
    elif isinstance(value, dict):
        for key, inner in value.items():
            if key in _TEXTS and isinstance(inner, str) and inner:
                value[key] = MARK + str(value.get("id", ""))
            elif key in ("folder", "files", "path"):
                continue
            else:
                _mark(inner)


def taken_for_markup(root: QWidget) -> list[str]:
    """``Class: what`` for each text of a file that would not be shown as it stands; empty is good."""
    found: list[str] = []
    for widget in every_widget(root):
        kind = f"{type(widget).__name__} {widget.accessibleName()[:30]!r} in {type(widget.parentWidget()).__name__}"
        for what, text in (
            ("tool tip", widget.toolTip()),
            ("what's this", widget.whatsThis()),
            ("status", widget.statusTip()),
        ):
            if _rich(text):
                found.append(f"{kind}: {what} {text[:60]!r}")
        if isinstance(widget, QLabel):
            if "<b>x" in widget.text() and widget.textFormat() != Qt.TextFormat.PlainText:
                found.append(f"{kind}: text {widget.text()[:60]!r}")
            if widget.buddy() is not None and _letter(widget.text()):
                found.append(f"{kind}: Alt letter {widget.text()[:60]!r}")
        elif isinstance(widget, QAbstractButton) and _letter(widget.text()):
            found.append(f"{kind}: Alt letter {widget.text()[:60]!r}")
        elif isinstance(widget, QGroupBox) and _letter(widget.title()):
            found.append(f"{kind}: Alt letter {widget.title()[:60]!r}")
        elif isinstance(widget, QTabBar):
            found += [f"{kind}: Alt letter" for n in range(widget.count()) if _letter(widget.tabText(n))]
        elif isinstance(widget, QTextEdit | QPlainTextEdit):
            html = widget.document().toHtml()
            if "<img" in html or (
                isinstance(widget, QTextEdit)
                and "/etc/hostname" in widget.toPlainText()
                and "<b>x" not in widget.toPlainText()
            ):
                found.append(f"{kind}: a picture out of a text")
        elif isinstance(widget, QAbstractItemView) and widget.model() is not None:
            found += [f"{kind}: tool tip {text[:60]!r}" for text in _tips(widget.model()) if _rich(text)]
        for action in widget.actions():
            found += _of_action(kind, action)
    return found


def _of_action(kind: str, action: QAction) -> list[str]:
    found = []
    if _letter(action.text()):
        found.append(f"{kind}: menu letter {action.text()[:60]!r}")
    if _rich(action.toolTip()):
        found.append(f"{kind}: tool tip of a menu {action.toolTip()[:60]!r}")
    return found


def _rich(text: str) -> bool:
    return "<b>x" in text and QtOfText.mightBeRichText(text)


def _letter(text: str) -> bool:
    """Whether the & of the file's text would be swallowed."""
    return "&amp;" in text.replace("&&", "")


def _tips(model: QAbstractItemModel) -> list[str]:
    tips: list[str] = []
    waiting = [QModelIndex()]
    while waiting and len(tips) < 3_000:
        parent = waiting.pop()
        for row in range(min(model.rowCount(parent), 200)):
            for column in range(model.columnCount(parent) if not isinstance(model, QAbstractListModel) else 1):
                index = model.index(row, column, parent)
                tips.append(str(index.data(Qt.ItemDataRole.ToolTipRole) or ""))
                if column == 0:
                    waiting.append(index)
    return tips


def texts_of(root: QWidget) -> str:
    """Everything that labels say, to see that the file's texts are there at all."""
    return "\n".join(w.text() for w in every_widget(root) if isinstance(w, QLabel | QAbstractButton))
