# SPDX-License-Identifier: GPL-3.0-or-later
"""The cells of the stage table: how a line is painted, and the editor that each column has."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from nightplan.desk.told import label_for_listeners
from nightplan.desk.widgets.hours_spin import HoursSpin
from nightplan.desk.widgets.stage_table_model import (
    BY,
    ERROR_ROLE,
    HEADERS,
    HIGH,
    HOURS,
    LEFT,
    LIKELY,
    LOW,
    NAME,
    ROW_ROLE,
    SPENT,
    STATE,
    TIER,
    WAITS,
)
from nightplan.desk.widgets.stage_table_rows import TIER_WORDS, Row
from nightplan.desk.widgets.strip_paint import ink_on, mix
from nightplan.model.project import MAX_HOURS
from nightplan.speech import tr
from nightplan.speech.dates import decimal

if TYPE_CHECKING:
    from nightplan.desk.widgets.stage_table_view import StageTreeView

Index = QModelIndex | QPersistentModelIndex
TIERS = ("primary", "secondary", "tertiary")
NUMBERS = (LIKELY, HIGH, LOW, SPENT, LEFT)


class HoursEdit(HoursSpin):
    """A number of hours; may be emptied where nothing is a fair answer."""

    def __init__(self, optional: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.optional = optional
        self.setRange(-0.25 if optional else 0.0, MAX_HOURS)
        self.setDecimals(2)
        self.setSingleStep(0.25)
        # translators: hours, behind a number
        self.setSuffix(tr(" h"))
        self.setKeyboardTracking(True)
        self.setFrame(False)
        self.setButtonSymbols(QDoubleSpinBox.ButtonSymbols.NoButtons)
        if optional:
            self.setSpecialValueText(tr("none"))

    def textFromValue(self, value: float) -> str:
        return decimal(value, 2, least=0)

    def stepBy(self, steps: int) -> None:
        # quarter hours under the arrow keys, whole hours under Page Up and Page Down
        super().stepBy(steps if abs(steps) == 1 else (4 if steps > 0 else -4))

    def hours(self) -> float | None:
        return None if self.optional and self.value() < 0 else self.value()

    def set_hours(self, value: float | None) -> None:
        self.setValue(self.minimum() if value is None else value)


class RowDelegate(QStyledItemDelegate):
    """Paints a line with its stage's chip and makes the editors."""

    def __init__(self, view: StageTreeView) -> None:
        super().__init__(view)
        self._view = view

    # ---- painting ----------------------------------------------------------------------------
    def initStyleOption(self, option: QStyleOptionViewItem, index: Index) -> None:
        super().initStyleOption(option, index)
        row = index.data(ROW_ROLE)
        if not isinstance(row, Row):
            return
        inks = self._view.inks
        option.font = QFont(self._view.font())
        if row.is_stage:
            option.font.setBold(index.column() == NAME)
        quiet = row.state in ("done", "cut") and index.column() not in (NAME, LEFT)
        quiet = (
            quiet or (row.is_stage and index.column() not in (NAME, BY, LEFT)) or index.column() in (STATE, WAITS, TIER)
        )
        if row.state == "cut" and index.column() == NAME:
            option.font.setStrikeOut(True)
            quiet = True
        colour = inks.muted if quiet else inks.text
        if index.data(ERROR_ROLE):
            colour = inks.bad
        for role in (option.palette.ColorRole.Text, option.palette.ColorRole.HighlightedText):
            option.palette.setColor(role, colour)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        row = index.data(ROW_ROLE)
        shown = QStyleOptionViewItem(option)
        note = self._view.note_height(index)
        if note:
            shown.rect = option.rect.adjusted(0, 0, 0, -note)
        if index.column() in NUMBERS:
            shown.rect.adjust(0, 0, -self._view.pad(), 0)
        elif index.column() != NAME:
            shown.rect.adjust(self._view.pad(), 0, 0, 0)
        if index.column() != NAME or not isinstance(row, Row) or not row.is_stage:
            super().paint(painter, shown, index)
            return
        chip = self._view.chip_width()
        self._chip(painter, QRect(shown.rect.left() + 2, shown.rect.top(), chip, shown.rect.height()), row)
        shown.rect = shown.rect.adjusted(chip + 6, 0, 0, 0)
        super().paint(painter, shown, index)

    def _chip(self, p: QPainter, place: QRect, row: Row) -> None:
        ink = self._view.inks.stages.get(row.id)
        if ink is None:
            return
        p.save()
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        font = self._view.chip_font()
        height = QFontMetrics(font).height() + 2
        box = QRect(place.left(), place.center().y() - height // 2, place.width(), height)
        p.setPen(QPen(mix(ink.fill, self._view.inks.text, 0.35), 1))
        p.setBrush(ink.fill)
        p.drawRoundedRect(box, 3, 3)
        p.setFont(font)
        p.setPen(ink_on(ink.fill))
        p.drawText(box, Qt.AlignmentFlag.AlignCenter, ink.letters)
        p.restore()

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        # the widths are the view's own affair (fit_columns), so only the height is worked out
        return QSize(40, int(self._view.fontMetrics().height() * 1.75) + self._view.note_height(index))

    # ---- editors -----------------------------------------------------------------------------
    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        editor: QWidget
        if index.column() in HOURS:
            hours = HoursEdit(index.column() == LOW, parent)
            hours.valueChanged.connect(self._typed)
            editor = hours
        elif index.column() == TIER:
            combo = QComboBox(parent)
            for tier in TIERS:
                combo.addItem(TIER_WORDS[tier], tier)
            combo.view().setAccessibleName(tr("Tiers"))
            combo.activated.connect(self._chosen)
            editor = combo
        else:
            line = QLineEdit(parent)
            line.setFrame(False)
            line.setMaxLength(200)
            editor = line
        row = index.data(ROW_ROLE)
        name = row.name if isinstance(row, Row) else ""
        editor.setAccessibleName(
            tr("{column} of {item}", column=HEADERS[index.column()][0], item=name)
            if index.column() != NAME
            else tr("Name of {item}", item=name)
        )
        if isinstance(editor, QComboBox):
            label_for_listeners(editor)
        editor.setAccessibleDescription(HEADERS[index.column()][1])
        editor.setAutoFillBackground(True)
        self._view.editing = QPersistentModelIndex(index)
        self._view.open_editor = editor
        editor.setProperty("filled", False)
        return editor

    def _typed(self, _value: float) -> None:
        editor = self.sender()
        index = self._view.editing
        if isinstance(editor, HoursEdit) and editor.property("filled") and index is not None and index.isValid():
            self._view.say_refusal(self._view.stage_model.preview(index, editor.hours()))

    def _chosen(self, _n: int) -> None:
        editor = self.sender()
        if isinstance(editor, QWidget):
            self.commitData.emit(editor)
            self.closeEditor.emit(editor)

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        # once: later changes of the forecast must not overwrite what is being typed
        if editor.property("filled"):
            return
        value = index.data(Qt.ItemDataRole.EditRole)
        if isinstance(editor, HoursEdit):
            editor.set_hours(value)
            editor.selectAll()
        elif isinstance(editor, QComboBox):
            editor.setCurrentIndex(editor.findData(value))
        elif isinstance(editor, QLineEdit):
            editor.setText(str(value))
            editor.selectAll()
        editor.setProperty("filled", True)

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        value: Any = None
        if isinstance(editor, HoursEdit):
            editor.interpretText()
            value = editor.hours()
        elif isinstance(editor, QComboBox):
            value = editor.currentData()
        elif isinstance(editor, QLineEdit):
            value = editor.text().strip()
        model.setData(index, value)

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        rect = option.rect.adjusted(0, 0, 0, -self._view.note_height(index))
        if index.column() != NAME:
            # room for what is typed, also in a narrow column
            least = self._view.fontMetrics().horizontalAdvance("0000.00 h ")
            if index.column() == TIER:
                least = editor.sizeHint().width()
            rect.setLeft(min(rect.left(), rect.right() - least))
        else:
            row = index.data(ROW_ROLE)
            if isinstance(row, Row) and row.is_stage:
                rect.setLeft(rect.left() + self._view.chip_width() + 6)
        editor.setGeometry(rect)

    def destroyEditor(self, editor: QWidget, index: Index) -> None:
        self._view.editing = self._view.open_editor = None
        super().destroyEditor(editor, index)
