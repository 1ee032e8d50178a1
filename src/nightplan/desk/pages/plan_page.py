# SPDX-License-Identifier: GPL-3.0-or-later
"""The Plan page: the evenings above, the stages and a chart below."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.export_run import Leaving, Write
from nightplan.desk.pages import Page
from nightplan.desk.widgets.charts import ChartPanel
from nightplan.desk.widgets.charts_views import FORMATS
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.stage_table import StageTable
from nightplan.desk.widgets.strip import EveningStrip
from nightplan.desk.widgets.ways_notice import WaysNotice
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan


class PlanPage(Page):
    """Everything that the artist decides about evenings and work."""

    id = "plan"
    title = tr("Plan")
    tip = tr("Evenings, stages and how they fit")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        inks = theme.inks(None)
        self.strip = EveningStrip(host, inks, self)
        self.table = StageTable(host, inks, self)
        self.charts = ChartPanel(host, theme.look, self)
        self.below = QSplitter(Qt.Orientation.Horizontal, self)
        for part in (self.table, self.charts):
            card = _card(part)
            # both start from nothing, so that the stretch alone decides until the artist drags the divider
            card.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            self.below.addWidget(card)
        self.split = QSplitter(Qt.Orientation.Vertical, self)
        self.split.addWidget(_card(self.strip))
        self.split.addWidget(self.below)
        self._dragged: set[QSplitter] = set()
        self.split.splitterMoved.connect(self._split_dragged)
        self.below.splitterMoved.connect(self._below_dragged)
        for splitter, name in (
            (self.split, tr("Divider: evenings and the rest")),
            (self.below, tr("Divider: stages and chart")),
        ):
            splitter.setChildrenCollapsible(False)
            splitter.setHandleWidth(max(8, self.fontMetrics().height() // 2))
            splitter.handle(1).setAccessibleName(name)
        self.area = QScrollArea(self)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setWidgetResizable(True)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setWidget(self.split)
        self.empty = _Empty(self)
        self.empty.add_stage.clicked.connect(self._first_stage)
        self.empty.help.clicked.connect(self._explain)
        self.stack = QStackedWidget(self)
        self.stack.addWidget(self.area)
        self.stack.addWidget(self.empty)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        self.notice = WaysNotice(self)
        self.notice.wanted.connect(self._ways_back)
        layout.addWidget(self.notice)
        layout.addWidget(self.stack)
        self.charts.save_asked.connect(self._save_chart)

    # ---- what is shown -----------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        self.stack.setCurrentWidget(self.area if project.stages else self.empty)
        self.table.refresh()
        self.strip.refresh()

    def take_completed(self, project: Project) -> None:
        # everything here looks at the host's project when the odds come
        return

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        self.table.refresh()
        self.strip.refresh()
        self.charts.refresh()
        if forecast is None or fresh:
            self.notice.offer(self.host.project, self.host.as_of, forecast)

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        inks = theme.inks(None)
        self.strip.set_inks(inks)
        self.table.set_inks(inks)
        self.charts.set_look(theme.look)

    def focus_first(self) -> None:
        if self.stack.currentWidget() is self.empty:
            self.empty.add_stage.setFocus()
        else:
            self.strip.view.setFocus()

    def leave(self) -> None:
        self.table.finish_edit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # two columns need about 115 letters; with large letters or a small window they stand one above the other
        letters = self.width() / max(1, self.fontMetrics().averageCharWidth())
        across = letters >= 118
        wanted = Qt.Orientation.Horizontal if across else Qt.Orientation.Vertical
        if self.below.orientation() != wanted:
            self.below.setOrientation(wanted)
        line = self.fontMetrics().height()
        for widget, lines in (
            (self.strip, 16),
            (self.table, 13 if across else 16),
            (self.charts, 14 if across else 19),
        ):
            widget.setMinimumHeight(line * lines)
        self._share()

    def _share(self) -> None:
        """Share the room until the artist drags a divider: evenings need height only up to a point."""
        line = self.fontMetrics().height()
        if self.split not in self._dragged:
            height = max(self.height(), self.split.minimumSizeHint().height())
            above = min(int(height * (0.5 if height > 46 * line else 0.54)), line * 30)
            self.split.setSizes([above, height - above])
        if self.below not in self._dragged:
            length = self.width() if self.below.orientation() == Qt.Orientation.Horizontal else 1000
            self.below.setSizes([int(length * 0.54), int(length * 0.46)])

    def _split_dragged(self, _at: int, _which: int) -> None:
        self._dragged.add(self.split)

    def _below_dragged(self, _at: int, _which: int) -> None:
        self._dragged.add(self.below)

    # ---- what is done ------------------------------------------------------------------------
    def _first_stage(self) -> None:
        self.table.add_stage()

    def _explain(self) -> None:
        self.host.go_to("help")

    def _ways_back(self) -> None:
        self.host.go_to("ways-back")

    def _save_chart(self, kind: str) -> None:
        name = FORMATS[kind]
        self.host.export(
            Leaving(
                tr("Save the chart as {format}", format=name),
                self.charts.suggested_name(kind),
                f"{name} (*.{kind})",
                self._chart_to_write,
            )
        )

    def _chart_to_write(self) -> Write:
        shown = self.charts.snapshot()
        return lambda path, _report: shown.save(path)


class _Empty(QWidget):
    """What there is to do when there are no stages yet."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("No stages yet"))
        outer = QVBoxLayout(self)
        across = QHBoxLayout()
        card = QFrame(self)
        card.setProperty("role", "card")
        card.setMaximumWidth(self.fontMetrics().averageCharWidth() * 90)
        across.addStretch(1)
        across.addWidget(card, 8)
        across.addStretch(1)
        outer.addStretch(1)
        outer.addLayout(across)
        outer.addStretch(2)
        layout = QVBoxLayout(card)
        layout.setContentsMargins(32, 28, 32, 28)
        layout.setSpacing(12)
        title = PlainLabel(tr("What is this piece made of?"), parent=card)
        title.setProperty("role", "title")
        layout.addWidget(title)
        lines = (
            tr(
                "Write down the stages that it goes through, such as reference, model, light, polish, and in each "
                "the pieces of work."
            ),
            tr(
                "Give every piece two numbers: the hours that are as likely too few as too many, and the hours that "
                "are enough 9 times in 10, if it fights back."
            ),
            tr(
                "nightplan puts them into the evenings that you have, and says how likely you are to make the lock "
                "and the hand-in."
            ),
        )
        for line in lines:
            label = PlainLabel(line, parent=card)
            label.setWordWrap(True)
            layout.addWidget(label)
        row = QHBoxLayout()
        self.add_stage = QPushButton(tr("Add the &first stage"), card)
        self.add_stage.setProperty("role", "primary")
        self.help = QPushButton(tr("How the &numbers work"), card)
        row.addWidget(self.add_stage)
        row.addWidget(self.help)
        row.addStretch(1)
        layout.addLayout(row)


def _card(inside: QWidget) -> QFrame:
    """A raised panel around a widget."""
    card = QFrame()
    card.setProperty("role", "card")
    layout = QVBoxLayout(card)
    layout.setContentsMargins(14, 10, 14, 10)
    layout.addWidget(inside)
    return card
