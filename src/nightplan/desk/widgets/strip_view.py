# SPDX-License-Identifier: GPL-3.0-or-later
"""The evening strip as a widget: scrolls, zooms, can be walked through by keyboard, and says where it is."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QFrame, QToolTip, QWidget

from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.desk.widgets.strip_layout import MAX_ZOOM, MIN_ZOOM, Box, Layout
from nightplan.desk.widgets.strip_model import Block, Column, StripData
from nightplan.desk.widgets.strip_paint import Inks, StripPainter
from nightplan.speech import tr


class StripView(QAbstractScrollArea):
    """The strip. ``current_moved`` when another evening or piece of work is current, ``menu_asked`` with a global
    position when a menu is wanted for it, ``opened`` when Enter or a double click falls on it.
    """

    current_moved = Signal()
    menu_asked = Signal(object)
    opened = Signal()
    told_as = QAccessible.Role.Chart

    def __init__(self, inks: Inks, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._inks = inks
        self._data = StripData()
        self._zoom = 1.0
        #: the zoom follows the window until the artist sets one
        self._automatic = True
        self._painter = StripPainter(self.font())
        self._layout: Layout | None = None
        self._current: tuple[int, int] = (-1, -1)
        self._hover: int | None = None
        #: where the same evenings can be read as a table, empty where nowhere
        self._twin = ""
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName(tr("Evening strip"))
        self.horizontalScrollBar().setAccessibleName(tr("Scroll through the evenings"))
        self._say()

    # ---- what is shown -----------------------------------------------------------------------
    def set_data(self, data: StripData) -> None:
        """Show another state; the current evening stays current where it still exists."""
        first = not self._data.columns
        date = self.current_column
        item = self.current_block
        self._data = data
        self._layout = None
        self._hover = None
        at = data.find(date.date, date.start) if date is not None else None
        if at is None:
            at = data.nearest
        block = -1
        if item is not None and at >= 0:
            block = next((n for n, b in enumerate(data.columns[at].blocks) if b.item == item.item), -1)
        self._current = (at, block)
        self._fit_at_first()
        self._update_bars()
        if first and data.columns:
            self.show_tonight()
        self._say()
        self.viewport().update()
        self.current_moved.emit()

    def set_inks(self, inks: Inks) -> None:
        self._inks = inks
        self.viewport().update()

    @property
    def inks(self) -> Inks:
        return self._inks

    @property
    def data(self) -> StripData:
        return self._data

    @property
    def layout_(self) -> Layout:
        """The geometry at the present size and zoom."""
        if self._layout is None:
            self._layout = Layout(self._data, self._painter.measures, self._zoom, self.viewport().height())
        return self._layout

    @property
    def current_column(self) -> Column | None:
        n = self._current[0]
        return self._data.columns[n] if 0 <= n < len(self._data.columns) else None

    @property
    def current_block(self) -> Block | None:
        column, b = self.current_column, self._current[1]
        return column.blocks[b] if column is not None and 0 <= b < len(column.blocks) else None

    @property
    def current(self) -> tuple[int, int]:
        """Indices of the evening and of the work in it (−1: the whole evening)."""
        return self._current

    def set_current(self, column: int, block: int = -1) -> None:
        """Move to an evening; out of range is brought into range."""
        if not self._data.columns:
            return
        column = min(max(column, 0), len(self._data.columns) - 1)
        block = min(max(block, -1), len(self._data.columns[column].blocks) - 1)
        if (column, block) == self._current:
            return
        self._current = (column, block)
        self._into_sight()
        self._say()
        self.viewport().update()
        self.current_moved.emit()

    def go_to(self, date: dt.date, start: dt.time | None = None) -> None:
        """Move to the evening of a date."""
        n = self._data.find(date, start)
        if n is not None:
            self.set_current(n)

    def show_tonight(self) -> None:
        """Scroll so that tonight stands at a third of the width."""
        n = self._data.tonight if self._data.tonight is not None else self._current[0]
        if 0 <= n < len(self._data.columns):
            self.horizontalScrollBar().setValue(int(self.layout_.left[n] - self.viewport().width() / 3))

    # ---- zoom --------------------------------------------------------------------------------
    @property
    def zoom(self) -> float:
        return self._zoom

    def set_zoom(self, zoom: float, around: float | None = None) -> None:
        """Zoom the width of the evenings.

        Args:
            around: x in the window that keeps its evening; the current evening where None.
        """
        zoom = min(max(zoom, MIN_ZOOM), MAX_ZOOM)
        self._automatic = False
        if abs(zoom - self._zoom) < 1e-9 or not self._data.columns:
            return
        old = self.layout_
        if around is None:
            n = max(self._current[0], 0)
            around = old.left[n] - self._x0
        else:
            n = max(0, min(len(old.left) - 1, len([x for x in old.left if x <= around + self._x0]) - 1))
        offset = old.left[n] - self._x0
        self._zoom = zoom
        self._layout = None
        self._update_bars()
        self.horizontalScrollBar().setValue(int(self.layout_.left[n] - offset))
        self.viewport().update()

    def zoom_in(self) -> None:
        self.set_zoom(self._zoom * 1.25)

    def zoom_out(self) -> None:
        self.set_zoom(self._zoom / 1.25)

    def zoom_to_fit(self) -> None:
        """The whole project in the width of the window, as far as it can be read."""
        if self._data.columns:
            self.set_zoom(self._fitting())

    def _fitting(self) -> float:
        low, high = MIN_ZOOM, 1.6
        for _ in range(9):
            middle = (low + high) / 2
            fits = Layout(self._data, self._painter.measures, middle, self.viewport().height()).width
            low, high = (middle, high) if fits <= self.viewport().width() else (low, middle)
        return low

    def _fit_at_first(self) -> None:
        """The whole project where it can be read at that size, else the usual size."""
        if not self._automatic or not self._data.columns:
            return
        fitting = self._fitting()
        self._zoom = min(fitting, 1.35) if fitting >= 0.62 else 1.0
        self._layout = None

    # ---- bars and geometry -------------------------------------------------------------------
    @property
    def _x0(self) -> int:
        return self.horizontalScrollBar().value()

    def _update_bars(self) -> None:
        bar = self.horizontalScrollBar()
        page = self.viewport().width()
        bar.setPageStep(page)
        bar.setSingleStep(max(10, int(self.layout_.column + self.layout_.gap)))
        bar.setRange(0, max(0, int(self.layout_.width) - page))

    def _into_sight(self) -> None:
        slot = self.layout_.slot(self._current[0])
        bar, width = self.horizontalScrollBar(), self.viewport().width()
        margin = slot.w
        if slot.x - margin - self.layout_.gutter < bar.value():
            bar.setValue(int(slot.x - margin - self.layout_.gutter))
        elif slot.x + slot.w + margin > bar.value() + width:
            bar.setValue(int(slot.x + slot.w + margin - width))

    def sizeHint(self) -> QSize:
        line = self._painter.measures.line
        return QSize(int(line * 50), int(line * 19))

    def minimumSizeHint(self) -> QSize:
        line = self._painter.measures.line
        rows = 1 + max((f.y > self.layout_.flags_top + 1 for f in self.layout_.flags), default=False)
        lanes = max(1, len(self._data.machines))
        return QSize(int(line * 16), int(line * (7 + 2.4 * rows + 1.4 * lanes) + 16))

    # ---- events ------------------------------------------------------------------------------
    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._layout = None
        self._fit_at_first()
        self._update_bars()
        if self._automatic and self._data.columns:
            self.show_tonight()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange, QEvent.Type.ApplicationFontChange):
            self._painter = StripPainter(self.font())
            self._layout = None
            self._update_bars()
            self.updateGeometry()
            self.viewport().update()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        # the gutter stays where it is, so the picture cannot be shifted as a whole
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self.viewport())
        try:
            self._painter.paint(
                p,
                self.layout_,
                self._inks,
                float(self._x0),
                float(self.viewport().width()),
                current=self._current,
                hover=self._hover,
                focus=self.hasFocus(),
            )
        finally:
            p.end()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        # a click is on what is in sight; the keyboard comes to the current evening wherever it is
        if event.reason() != Qt.FocusReason.MouseFocusReason and self._current[0] >= 0:
            self._into_sight()
        self._announce()
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.viewport().update()

    def _hit(self, at: QPointF) -> tuple[str, int, int] | None:
        return self.layout_.hit(at.x() + self._x0, at.y())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        found = self._hit(event.position())
        hover = found[1] if found is not None and found[0] == "evening" else None
        if hover != self._hover:
            self._hover = hover
            self.viewport().update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self._hit(event.position())
        if found is not None and found[0] == "evening":
            self.set_current(found[1], found[2])
        if event.button() == Qt.MouseButton.LeftButton:
            event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        found = self._hit(event.position())
        if found is not None and found[0] == "evening":
            self.opened.emit()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._hover = None
        self.viewport().update()

    def viewportEvent(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            text, box = self.tip_at(QPointF(event.pos()))
            if text:
                QToolTip.showText(event.globalPos(), tip_text(text), self.viewport(), box)
            else:
                QToolTip.hideText()
            return True
        if event.type() == QEvent.Type.Leave:
            self._hover = None
            self.viewport().update()
        return super().viewportEvent(event)

    def tip_at(self, at: QPointF) -> tuple[str, QRect]:
        """The words for a place, and the area that they hold for."""
        found = self._hit(at)
        if found is None:
            return "", QRect()
        kind, n, _ = found
        if kind == "flag":
            return "\n".join(words.flag_lines(self._data.flags[n])), self._on_screen(self.layout_.flags[n])
        if kind == "job":
            return "\n".join(words.job_lines(self._data.jobs[n])), self._on_screen(self.layout_.jobs[n].bar)
        return "\n".join(words.column_lines(self._data.columns[n])), self._on_screen(self.layout_.slot(n))

    def _on_screen(self, box: Box) -> QRect:
        return QRect(int(box.x - self._x0), int(box.y), int(box.w) + 1, int(box.h) + 1)

    def wheelEvent(self, event: QWheelEvent) -> None:
        delta = event.angleDelta()
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.set_zoom(self._zoom * 1.0015 ** delta.y(), event.position().x())
            event.accept()
            return
        # a strip has one direction: an ordinary wheel moves along it
        step = delta.x() or delta.y()
        pixels = event.pixelDelta().x() or event.pixelDelta().y()
        bar = self.horizontalScrollBar()
        before = bar.value()
        bar.setValue(before - (pixels or round(step / 120 * 3 * bar.singleStep())))
        if bar.value() != before:
            event.accept()
        else:
            event.ignore()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        if event.reason() == QContextMenuEvent.Reason.Mouse:
            self.menu_asked.emit(event.globalPos())
        else:
            self.menu_asked.emit(self._menu_place())
        event.accept()

    def _menu_place(self) -> QPoint:
        if self._current[0] < 0:
            return self.viewport().mapToGlobal(self.viewport().rect().center())
        boxes = self.layout_.blocks(self._current[0])
        box = boxes[self._current[1]] if self._current[1] >= 0 else self.layout_.bar(self._current[0])
        return self.viewport().mapToGlobal(self._on_screen(box).center())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        column, block = self._current
        key, shift = event.key(), bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if event.modifiers() & (Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier):
            event.ignore()
            return
        if key == Qt.Key.Key_Left:
            self.set_current(column - 1)
        elif key == Qt.Key.Key_Right:
            self.set_current(column + 1)
        elif key == Qt.Key.Key_Up:
            self.set_current(column, block + 1)
        elif key == Qt.Key.Key_Down:
            self.set_current(column, block - 1)
        elif key == Qt.Key.Key_Home:
            self.set_current(0)
        elif key == Qt.Key.Key_End:
            self.set_current(len(self._data.columns) - 1)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self._by_week(-1 if key == Qt.Key.Key_PageUp else 1)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_in()
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self.zoom_out()
        elif key == Qt.Key.Key_0:
            self.zoom_to_fit()
        elif key == Qt.Key.Key_T:
            if self._data.tonight is not None:
                self.set_current(self._data.tonight)
            self.show_tonight()
        elif key == Qt.Key.Key_Menu or (key == Qt.Key.Key_F10 and shift):
            self.menu_asked.emit(self._menu_place())
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.opened.emit()
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def _by_week(self, step: int) -> None:
        columns = self._data.columns
        if not columns:
            return
        week = columns[max(self._current[0], 0)].week
        if step > 0:
            later = [n for n, c in enumerate(columns) if c.week > week]
            self.set_current(later[0] if later else len(columns) - 1)
        else:
            earlier = [c.week for c in columns if c.week < week]
            self.set_current(next(n for n, c in enumerate(columns) if c.week == max(earlier)) if earlier else 0)

    # ---- screen readers ----------------------------------------------------------------------
    def status_text(self) -> str:
        """The current evening, or the work in it, in one sentence."""
        column, block = self.current_column, self.current_block
        if column is None:
            return tr("No evenings yet.")
        if block is not None:
            return f"{words.day(column.date)}: {words.work(block)}."
        return words.sentence(column)

    def tell_of_table(self, sentence: str) -> None:
        """How a listener comes to the same evenings as a table."""
        self._twin = sentence
        self._say()

    def _say(self) -> None:
        told = (self.status_text(), words.summary(self._data), self._twin)
        self.setAccessibleDescription(" ".join(part for part in told if part))
        if self.hasFocus():
            self._announce()

    def _announce(self) -> None:
        if not QAccessible.isActive():
            return
        # that the description is another one was said by the toolkit
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, self.status_text()))
