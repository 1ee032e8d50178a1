# SPDX-License-Identifier: GPL-3.0-or-later
"""A list whose rows have several lines with their own weights and colours; one row is one stop of the arrow keys.

Rows are told twice: as rich text for the eye, and as one plain sentence for whoever listens, searches or copies.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAbstractTextDocumentLayout,
    QColor,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPalette,
    QPen,
    QResizeEvent,
    QShowEvent,
    QTextDocument,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from nightplan.brief.findings import SIGNS, VERDICT_WORDS

if TYPE_CHECKING:
    from nightplan.desk.theme import Theme
    from nightplan.model.brief import Verdict

_RICH = Qt.ItemDataRole.UserRole
_KEY = Qt.ItemDataRole.UserRole + 1
#: room around a row's text
_PAD = 8
#: the colour of the theme, beside the sign of each verdict
COLOURS = {
    "pass": "good",
    "warn": "warn",
    "fail": "bad",
    "cannot tell": "bad",
    "your tick": "warn",
}  # untranslated: values


@dataclass(frozen=True, slots=True)
class Row:
    """``rich`` may use the names of the theme's colours as ``{bad}``; texts from outside have to be escaped."""

    key: Any
    rich: str
    plain: str


def safe(text: str) -> str:
    """A text from outside for :class:`Row`: no markup, no colour names."""
    return escape(text).replace("{", "&#123;").replace("}", "&#125;")


def verdict_rich(verdict: Verdict) -> str:
    colour, word = COLOURS[verdict], safe(VERDICT_WORDS[verdict])
    return f'<span style="color:{{{colour}}}; font-weight:600">{SIGNS[verdict]}&nbsp;{word}</span>'


class RichList(QListWidget):
    """As high as its rows, up to ``most_lines`` lines of text. Signals give the key of a row."""

    chosen = Signal(object)
    #: Enter or a double click
    opened = Signal(object)
    #: (key of the keyboard as upper letter or name, key of the row)
    pressed_on = Signal(object)

    def __init__(self, name: str, theme: Theme, most_lines: int = 24, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme, self.most_lines = theme, most_lines
        #: keys that are told by ``pressed_on`` instead of searching the list
        self.keys: dict[int, str] = {}
        #: what the heights of rows were measured with
        self._setting: tuple[int, str] = (0, "")
        self.setAccessibleName(name)
        self.setItemDelegate(_Delegate(self))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.currentItemChanged.connect(self._current_changed)
        self.itemDoubleClicked.connect(self._double_clicked)

    # ---- rows --------------------------------------------------------------------------------
    def show_rows(self, rows: Iterable[Row]) -> None:
        """Other rows; the current one stays current where its key is still there, else its place does."""
        rows = list(rows)
        keep, place = self.current_key, self.currentRow()
        self.blockSignals(True)
        if [self.key_of(n) for n in range(self.count())] != [r.key for r in rows]:
            self.clear()
            for row in rows:
                item = QListWidgetItem()
                item.setData(_KEY, row.key)
                self.addItem(item)
        for n, row in enumerate(rows):
            item = self.item(n)
            if item.data(_RICH) != row.rich:
                item.setData(_RICH, row.rich)
                item.setText(row.plain)
        if rows:
            at = next((n for n, r in enumerate(rows) if r.key == keep), min(max(place, 0), len(rows) - 1))
            self.setCurrentRow(at)
        self.blockSignals(False)
        self._fit()

    def key_of(self, n: int) -> Any:
        item = self.item(n)
        return None if item is None else item.data(_KEY)

    @property
    def current_key(self) -> Any:
        return self.key_of(self.currentRow())

    def go_to(self, key: Any) -> bool:
        """Make the row of a key the current one."""
        for n in range(self.count()):
            if self.key_of(n) == key:
                self.setCurrentRow(n)
                return True
        return False

    def _current_changed(self, item: QListWidgetItem | None, _before: QListWidgetItem | None) -> None:
        self.chosen.emit(None if item is None else item.data(_KEY))

    def _double_clicked(self, item: QListWidgetItem) -> None:
        self.opened.emit(item.data(_KEY))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy) and self.currentItem() is not None:
            from PySide6.QtWidgets import QApplication

            QApplication.clipboard().setText(self.currentItem().text())
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentItem() is not None:
            self.opened.emit(self.current_key)
        elif event.key() in self.keys and not event.modifiers() and self.currentItem() is not None:
            self.pressed_on.emit((self.keys[event.key()], self.current_key))
        else:
            super().keyPressEvent(event)

    # ---- size --------------------------------------------------------------------------------
    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        self.viewport().update()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def _fit(self) -> None:
        delegate = self.itemDelegate()
        assert isinstance(delegate, _Delegate)
        setting = self.width(), self.font().toString()
        if setting != self._setting:
            self._setting = setting
            delegate.known.clear()
        self.scheduleDelayedItemsLayout()
        wanted = sum(delegate.height(self.item(n).data(_RICH)) for n in range(self.count()))
        most = self.fontMetrics().lineSpacing() * self.most_lines
        # the frame has the padding in it
        self.setFixedHeight(max(self.fontMetrics().lineSpacing() * 2, min(wanted, most)) + 2 * self.frameWidth() + 2)


class _Delegate(QStyledItemDelegate):
    def __init__(self, view: RichList) -> None:
        super().__init__(view)
        self.view = view
        #: heights of rows at the width that the view has
        self.known: dict[str, int] = {}

    def _document(self, rich: str) -> QTextDocument:
        theme = self.view.theme
        document = QTextDocument()
        document.setDocumentMargin(0)
        document.setDefaultFont(self.view.font())
        # every row's own text comes escaped
        for name in ("good", "warn", "bad", "muted", "accent", "text"):
            rich = rich.replace(f"{{{name}}}", getattr(theme, name))
        document.setHtml(rich)
        # room for a scroll bar is always kept: rows do not change their height when it comes
        document.setTextWidth(max(60, self.view.width() - 2 * self.view.frameWidth() - 2 * _PAD - 4 - 14))
        return document

    def height(self, rich: str) -> int:
        if rich not in self.known:
            self.known[rich] = round(self._document(rich or "").size().height()) + 2 * _PAD - 4
        return self.known[rich]

    def sizeHint(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> QSize:
        return QSize(60, self.height(index.data(_RICH) or ""))

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        theme = self.view.theme
        rect: QRect = option.rect
        state = option.state
        selected = bool(state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.setClipRect(rect)
        if selected:
            painter.fillRect(rect, QColor(theme.raised))
            painter.fillRect(QRect(rect.left(), rect.top(), 3, rect.height()), QColor(theme.accent))
        document = self._document(index.data(_RICH) or "")
        context = QAbstractTextDocumentLayout.PaintContext()
        context.palette.setColor(QPalette.ColorRole.Text, QColor(theme.text))
        painter.translate(rect.left() + _PAD, rect.top() + _PAD - 2)
        context.clip = QRectF(0, 0, rect.width() - _PAD, rect.height())
        document.documentLayout().draw(painter, context)
        painter.translate(-rect.left() - _PAD, -rect.top() - _PAD + 2)
        if selected and self.view.hasFocus():
            painter.setPen(QPen(QColor(theme.focus), 2))
            painter.drawRect(rect.adjusted(1, 1, -1, -1))
        else:
            painter.setPen(QPen(QColor(theme.line), 1))
            painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.restore()
