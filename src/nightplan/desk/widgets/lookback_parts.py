# SPDX-License-Identifier: GPL-3.0-or-later
"""Pieces of the Look back page: a picture with its table, a proposal, the three questions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, QSize, Qt, Signal, Slot
from PySide6.QtGui import QAccessible, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.theme import Theme
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.speech import tr, trc

if TYPE_CHECKING:
    from nightplan.model.results_lookback import Facts, LookBack, Proposal, Scores


class Picture(QWidget):
    """One of the pictures; drawn when it is first seen, and anew when its size changes."""

    def __init__(self, name: str, title: str, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name = name
        self.theme = theme
        self.canvas: Any = None
        self.figure: Any = None
        self._told: tuple[Facts, LookBack, Scores] | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(title)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        self._limit()

    def tell(self, facts: Facts, looks: LookBack, scores: Scores) -> None:
        self._told = facts, looks, scores
        self._draw()

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        self._draw()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._draw()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._draw()

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(30 * line, 22 * line)

    def minimumSizeHint(self) -> QSize:
        return QSize(14 * self.fontMetrics().height(), self.sizeHint().height())

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._limit()

    def _limit(self) -> None:
        # a picture whose axes mean the same is about as wide as high
        if self.name in ("planned-against-actual", "forecast-honesty"):
            self.setMaximumWidth(round(1.4 * self.sizeHint().height()))

    def _draw(self) -> None:
        if self._told is None or not self.isVisible():
            return
        from nightplan.exports.lookback_figures import draw

        if self.canvas is None:
            from matplotlib.backends.backend_qtagg import FigureCanvasQTAgg
            from matplotlib.figure import Figure

            self.figure = Figure()
            make: Any = FigureCanvasQTAgg
            self.canvas = make(self.figure)
            self.canvas.told_as = QAccessible.Role.Chart
            self.canvas.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            self.canvas.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
            self.canvas.setAccessibleName(self.accessibleName())
            box = self.layout()
            assert box is not None
            box.addWidget(self.canvas)
        self.figure.set_size_inches(
            max(1, self.width()) / self.figure.dpi, max(1, self.height()) / self.figure.dpi, forward=False
        )
        draw(self.figure, self.name, *self._told, replace(self.theme.look, size=self.font().pointSizeF()))
        self.canvas.draw_idle()


class Table(QTableWidget):
    """Rows of text to read, as high as they are; the picture's twin."""

    def __init__(self, name: str, headings: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(0, len(headings), parent)
        self.setAccessibleName(name)
        for n, heading in enumerate(headings):
            # how sure it is stands below what it is
            item = QTableWidgetItem(heading.replace(", ", ",\n").replace("、", "、\n"))
            item.setTextAlignment(_side(n))
            self.setHorizontalHeaderItem(n, item)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setTabKeyNavigation(False)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().hide()
        head = self.horizontalHeader()
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        head.setHighlightSections(False)
        self.horizontalScrollBar().rangeChanged.connect(self._fit)
        # numbers of two columns side by side are told apart
        for part in (self, head):
            part.setProperty("role", "told")

    def tell(self, rows: Sequence[Sequence[str]]) -> None:
        self.setRowCount(len(rows))
        for r, row in enumerate(rows):
            for c, text in enumerate(row):
                cell = QTableWidgetItem(text)
                cell.setTextAlignment(_side(c))
                self.setItem(r, c, cell)
        self.setVisible(bool(rows))
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # the names are read whole, even where the numbers then run out of sight
        head, mode = self.horizontalHeader(), QHeaderView.ResizeMode
        widths = [max(self.sizeHintForColumn(c), head.sectionSizeHint(c)) for c in range(self.columnCount())]
        fits = sum(widths) <= self.viewport().width()
        head.setSectionResizeMode(0, mode.Stretch if fits else mode.ResizeToContents)

    @Slot()
    def _fit(self) -> None:
        self.resizeRowsToContents()
        high = sum(self.rowHeight(r) for r in range(self.rowCount()))
        bar = self.horizontalScrollBar().sizeHint().height() if self.horizontalScrollBar().maximum() else 0
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + high + bar + 2 * self.frameWidth())


def _side(column: int) -> Qt.AlignmentFlag:
    """Names on the left, numbers on the right, their headings with them."""
    side = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
    return side | Qt.AlignmentFlag.AlignVCenter


class ProposalCard(QFrame):
    """Before, after, why; ``accepted`` with the proposal."""

    accepted = Signal(object)

    def __init__(self, proposal: Proposal, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.proposal = proposal
        self.setProperty("role", "card")
        row = QHBoxLayout(self)
        row.setContentsMargins(14, 10, 14, 10)
        row.setSpacing(12)
        texts = QVBoxLayout()
        texts.setSpacing(2)
        kind = {
            "estimate": tr("estimates"),
            "spread": tr("high hours"),
            "evening": trc("of an evening", "chance"),
            "switching": tr("minutes lost"),
        }
        few = " · " + tr("few data") if proposal.weak else ""
        texts.addWidget(PlainLabel(f"{proposal.what}: {kind[proposal.kind]}{few}", role="heading", wrap=True))
        texts.addWidget(PlainLabel(tr("Before: {before}", before=proposal.before), wrap=True))
        texts.addWidget(PlainLabel(tr("After: {after}", after=proposal.after), wrap=True))
        texts.addWidget(PlainLabel(proposal.reason, role="muted", wrap=True))
        row.addLayout(texts, 1)
        self.button = QPushButton(tr("Accept"))
        self.button.setAccessibleName(
            # translators: a change that past projects propose: "Accept: Shading, high hours"
            tr("Accept: {what}, {kind}", what=proposal.what, kind=kind[proposal.kind])
        )
        self.button.setAccessibleDescription(
            tr("{before}, then {after}. {reason}", before=proposal.before, after=proposal.after, reason=proposal.reason)
        )
        self.button.clicked.connect(self._clicked)
        row.addWidget(self.button, 0, Qt.AlignmentFlag.AlignTop)

    @Slot()
    def _clicked(self) -> None:
        self.accepted.emit(self.proposal)


class Answers(QFrame):
    """The three questions; ``filed`` with the answers by their keys."""

    filed = Signal(object)

    def __init__(self, questions: Sequence[tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "card")
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 10, 14, 10)
        column.setSpacing(6)
        self.fields: dict[str, QPlainTextEdit] = {}
        #: as filed last
        self._kept: dict[str, str] = {}
        for key, question in questions:
            label = PlainLabel(question)
            field = QPlainTextEdit()
            field.setAccessibleName(question)
            field.setTabChangesFocus(True)
            field.setFixedHeight(4 * field.fontMetrics().height())
            field.textChanged.connect(self._changed)
            label.setBuddy(field)
            column.addWidget(label)
            column.addWidget(field)
            self.fields[key] = field
        row = QHBoxLayout()
        self.state = PlainLabel("", role="muted", wrap=True)
        self.button = QPushButton(tr("File the answers"))
        self.button.setProperty("role", "primary")
        self.button.setAccessibleName(tr("File the answers"))
        self.button.clicked.connect(self.file)
        row.addWidget(self.state, 1)
        row.addWidget(self.button)
        column.addLayout(row)
        self._changed()

    @property
    def said(self) -> dict[str, str]:
        return {key: field.toPlainText().strip() for key, field in self.fields.items()}

    @property
    def changed(self) -> bool:
        return any(text != self._kept.get(key, "") for key, text in self.said.items())

    def show_answers(self, kept: dict[str, str]) -> None:
        """Those of the project; what is being typed stays where the project says nothing new."""
        for key, field in self.fields.items():
            new, old = kept.get(key, ""), self._kept.get(key, "")
            if new != old and field.toPlainText().strip() in (old, new):
                field.setPlainText(new)
        self._kept = dict(kept)
        self._changed()

    def forget(self) -> None:
        """Another project."""
        self._kept = {}
        for field in self.fields.values():
            field.clear()

    @Slot()
    def file(self) -> None:
        if self.changed:
            self.filed.emit(self.said)

    @Slot()
    def _changed(self) -> None:
        self.button.setEnabled(self.changed)
        self.state.setText("" if self.changed or not self._kept else tr("Filed in this project."))
