# SPDX-License-Identifier: GPL-3.0-or-later
"""The tree view of stages and items: edits in place, notes under the line, Alt+Up and Alt+Down to reorder."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QModelIndex, QPersistentModelIndex, QRect, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QFont, QFontMetrics, QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QStyleOptionViewItem,
    QTreeView,
    QWidget,
)

from nightplan.desk.widgets.stage_table_cells import Index, RowDelegate
from nightplan.desk.widgets.stage_table_model import (
    ERROR_ROLE,
    FIELDS,
    HEADERS,
    LEFT,
    LOW,
    NAME,
    NOTE_ROLE,
    SPENT,
    STATE,
    TIER,
    WAITS,
    StageTableModel,
)
from nightplan.desk.widgets.strip_paint import Inks
from nightplan.speech import tr

#: columns in the order in which a narrow table gives them up
_FIRST_TO_GO = (WAITS, LOW, STATE, TIER, SPENT, LEFT)


class StageTreeView(QTreeView):
    """Emits what the artist wants of the current line."""

    menu_asked = Signal(object)
    #: −1 earlier, +1 later
    move_asked = Signal(object)
    refusal = Signal(object)
    remove_asked = Signal()

    def __init__(self, model: StageTableModel, inks: Inks, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.stage_model = model
        self.inks = inks
        self.editing: QPersistentModelIndex | None = None
        self.open_editor: QWidget | None = None
        #: columns that the artist asked for or sent away; the others follow the width
        self.wanted: dict[int, bool] = {}
        self.setModel(model)
        self.setItemDelegate(RowDelegate(self))
        self.setAccessibleName(tr("Stages and items"))
        self.setAccessibleDescription(
            tr(
                "Enter or F2 edits, Alt+Up and Alt+Down reorder, Menu key for more. "
                "Hours change the odds while you type."
            )
        )
        self.setAllColumnsShowFocus(False)
        self.setUniformRowHeights(False)
        self.setRootIsDecorated(True)
        self.setExpandsOnDoubleClick(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.SelectedClicked
        )
        self.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.setDefaultDropAction(Qt.DropAction.MoveAction)
        self.setDropIndicatorShown(True)
        self.setTabKeyNavigation(False)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        header = self.header()
        header.setStretchLastSection(False)
        header.setSectionsMovable(False)
        header.setMinimumSectionSize(24)
        # as far in as the delegate keeps its texts
        header.setProperty("role", "padded")
        header.setAccessibleName(tr("Columns of the stage table"))
        header.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.setIndentation(max(14, self.fontMetrics().height()))

    # ---- measures ----------------------------------------------------------------------------
    def chip_font(self) -> QFont:
        font = QFont(self.font())
        font.setBold(True)
        if font.pointSizeF() > 0:
            font.setPointSizeF(max(6.0, font.pointSizeF() * 0.82))
        return font

    def chip_width(self) -> int:
        metrics = QFontMetrics(self.chip_font())
        return max([metrics.horizontalAdvance(i.letters) for i in self.inks.stages.values()] or [20]) + 8

    def pad(self) -> int:
        """Room between a number and the words in the next column."""
        return self.fontMetrics().averageCharWidth()

    def note_font(self) -> QFont:
        font = QFont(self.font())
        if font.pointSizeF() > 0:
            font.setPointSizeF(max(6.0, font.pointSizeF() * 0.9))
        return font

    def note_height(self, index: Index) -> int:
        """Height of the note under a line, 0 where it has none."""
        if not index.isValid() or not index.data(NOTE_ROLE):
            return 0
        return QFontMetrics(self.note_font()).height() + 3

    def fit_columns(self) -> None:
        """Give every column its width; a narrow table gives up the columns that are least needed."""
        model, header = self.stage_model, self.header()
        # its margins are those of the style sheet
        header.ensurePolished()
        metrics = self.fontMetrics()
        widths = {}
        for column in range(len(HEADERS)):
            texts = []
            for n in range(model.rowCount()):
                parent = model.index(n, 0)
                rows = [
                    model.row_of(parent),
                    *(model.row_of(model.index(i, 0, parent)) for i in range(model.rowCount(parent))),
                ]
                texts += [model.text(r, column) for r in rows if r is not None]
            longest = max((metrics.horizontalAdvance(t) for t in texts), default=0) + self.pad()
            # the header knows the margins of its own style
            # not its size hint: that is nothing while the column is hidden
            heading = header.sectionSizeFromContents(column).width() + 2
            widths[column] = max(longest + metrics.averageCharWidth() * 2, heading)
        widths[NAME] += self.indentation() * 2 + self.chip_width() + 6
        widths[WAITS] = min(widths[WAITS], metrics.averageCharWidth() * 24)
        room = self.viewport().width()
        letter, inside = metrics.averageCharWidth(), self.indentation() * 2
        # a column goes before the names become hard to tell apart
        least_name, good_name = (min(widths[NAME], letter * n + inside) for n in (12, 20))
        shown = [c for c in range(len(HEADERS)) if self.wanted.get(c, True)]
        for column in _FIRST_TO_GO:
            total = sum(widths[c] for c in shown if c != NAME) + good_name
            if total <= room:
                break
            if column in shown and column not in self.wanted:
                shown.remove(column)
        for column in range(len(HEADERS)):
            header.setSectionHidden(column, column not in shown)
        rest = sum(widths[c] for c in shown if c != NAME)
        for column in shown:
            if column != NAME:
                header.resizeSection(column, widths[column])
        header.resizeSection(NAME, max(least_name, room - rest))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit_columns()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.setIndentation(max(14, self.fontMetrics().height()))
            self.fit_columns()
            self.doItemsLayout()

    # ---- painting ----------------------------------------------------------------------------
    def drawRow(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        super().drawRow(painter, option, index)
        if not isinstance(index, QModelIndex):
            return
        first = index.siblingAtColumn(0)
        note = first.data(NOTE_ROLE)
        if not note:
            return
        error = any(index.siblingAtColumn(c).data(ERROR_ROLE) for c in FIELDS)
        left = self.visualRect(first).left() + 4
        height = self.note_height(first)
        place = QRect(left, option.rect.bottom() - height - 1, self.viewport().width() - left - 4, height)
        painter.save()
        painter.setFont(self.note_font())
        painter.setPen(self.inks.bad if error else self.inks.warn)
        metrics = QFontMetrics(self.note_font())
        text = f"! {note}" if error else note
        painter.drawText(
            place,
            int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop),
            metrics.elidedText(text, Qt.TextElideMode.ElideRight, place.width()),
        )
        painter.restore()

    def say_refusal(self, sentence: str) -> None:
        self.refusal.emit(sentence)

    # ---- keys --------------------------------------------------------------------------------
    def keyPressEvent(self, event: QKeyEvent) -> None:
        alt = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        key = event.key()
        index = self.currentIndex()
        if self.state() == QAbstractItemView.State.EditingState:
            # keys that the editor lets through
            super().keyPressEvent(event)
            return
        if alt and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.move_asked.emit(-1 if key == Qt.Key.Key_Up else 1)
        elif key == Qt.Key.Key_Menu or (key == Qt.Key.Key_F10 and shift):
            self.menu_asked.emit(self.viewport().mapToGlobal(self.visualRect(index).center()))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2) and index.isValid():
            self.begin_edit(index)
        elif key == Qt.Key.Key_Delete and index.isValid():
            self.remove_asked.emit()
        elif key == Qt.Key.Key_Escape and index.isValid():
            row = self.stage_model.row_of(index)
            if row is None or not self.stage_model.drop_drafts(row.id):
                event.ignore()
                return
            self.say_refusal("")
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and index.isValid() and not alt:
            self._sideways(index, 1 if key == Qt.Key.Key_Right else -1)
        else:
            super().keyPressEvent(event)
            return
        event.accept()

    def begin_edit(self, index: QModelIndex) -> None:
        """Edit a cell, or the name of the line where the cell is not for typing."""
        if self.state() == QAbstractItemView.State.EditingState:
            return
        if not index.flags() & Qt.ItemFlag.ItemIsEditable:
            index = index.siblingAtColumn(NAME)
            self.setCurrentIndex(index)
        self.edit(index)

    def finish_edit(self) -> None:
        """Commit and close an open editor."""
        editor = self.open_editor
        if editor is not None:
            self.commitData(editor)
            self.closeEditor(editor, QAbstractItemDelegate.EndEditHint.NoHint)

    def _sideways(self, index: QModelIndex, step: int) -> None:
        """Right and left walk over the cells; at the first cell they close and open a stage."""
        row = self.stage_model.row_of(index)
        first = index.column() == NAME
        if first and row is not None and row.is_stage and self.isExpanded(index.siblingAtColumn(0)) != (step > 0):
            self.setExpanded(index.siblingAtColumn(0), step > 0)
            return
        column = index.column() + step
        while 0 <= column < len(HEADERS) and self.isColumnHidden(column):
            column += step
        if 0 <= column < len(HEADERS):
            self.setCurrentIndex(index.siblingAtColumn(column))
        elif first and step < 0 and index.parent().isValid():
            self.setCurrentIndex(index.parent())

    def moveCursor(self, action: QAbstractItemView.CursorAction, modifiers: Qt.KeyboardModifier) -> QModelIndex:
        """Tab in an editor goes to the next cell that can be typed into."""
        forward = action == QAbstractItemView.CursorAction.MoveNext
        if not forward and action != QAbstractItemView.CursorAction.MovePrevious:
            return super().moveCursor(action, modifiers)
        index = self.currentIndex()
        while index.isValid():
            column = index.column() + (1 if forward else -1)
            while 0 <= column < len(HEADERS):
                cell = index.siblingAtColumn(column)
                if not self.isColumnHidden(column) and cell.flags() & Qt.ItemFlag.ItemIsEditable:
                    return cell
                column += 1 if forward else -1
            index = self.indexBelow(index) if forward else self.indexAbove(index)
            index = index.siblingAtColumn(0 if forward else len(HEADERS) - 1)
            if (
                index.isValid()
                and not self.isColumnHidden(index.column())
                and index.flags() & Qt.ItemFlag.ItemIsEditable
            ):
                return index
        return self.currentIndex()

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        index = self.editing
        super().closeEditor(editor, hint)
        if hint == QAbstractItemDelegate.EndEditHint.RevertModelCache and index is not None and index.isValid():
            self.stage_model.end_preview(index)
            self.say_refusal("")

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        self.menu_asked.emit(event.globalPos())
        event.accept()
