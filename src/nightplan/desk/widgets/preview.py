# SPDX-License-Identifier: GPL-3.0-or-later
"""Today and after, side by side: the strip and the chart of both."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QTimer, Slot
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.theme import Theme
from nightplan.desk.widgets.charts import ChartPanel
from nightplan.desk.widgets.columns import Scrolled
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.strip_model import strip_data
from nightplan.desk.widgets.strip_view import StripView
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr

#: below this the letters in the columns go
_LEAST_ZOOM = 0.62

State = tuple[Project, Plan, Forecast]


@dataclass
class _Still:
    """A project that nobody can change from here, as the chart wants it."""

    project: Project
    plan: Plan | None
    forecast: Forecast | None
    as_of: dt.date

    def change(self, label: str, make: Callable[[Project], Project]) -> bool:
        return False

    def change_or_raise(self, label: str, make: Callable[[Project], Project]) -> None:
        return None

    def preview(self, make: Callable[[Project], Project] | None) -> None:
        return None

    def say(self, sentence: str) -> None:
        return None

    def log_evening(self, date: dt.date) -> None:
        return None


class Preview(QWidget):
    """Two columns, the same scale of time."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.setAccessibleName(tr("Today and after, side by side"))
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(14)
        self._states: tuple[State, State] | None = None
        self._as_of = dt.date.min
        self.strips: list[StripView] = []
        self.charts: list[ChartPanel] = []
        self._hosts: list[_Still] = []

    def _build(self, hosts: list[_Still]) -> None:
        letter = self.fontMetrics().height()
        for column, ((name, lower), host) in enumerate(
            zip(((tr("Today"), tr("today")), (tr("After"), tr("after"))), hosts, strict=True)
        ):
            head = PlainLabel(name, "heading")
            strip = StripView(self.theme.inks(host.project), self)
            strip.setAccessibleName(tr("Evening strip, {lower}", lower=lower))
            strip.setMinimumHeight(letter * 12)
            chart = ChartPanel(host, self.theme.look, self)
            chart.setAccessibleName(tr("Chart, {lower}", lower=lower))
            chart.named_for(lower)
            chart.setMinimumHeight(letter * 17)
            # nothing is saved from here
            chart.save_button.hide()
            chart._group.buttonClicked.connect(self._chart_chosen)
            for row, widget in enumerate((head, strip, chart)):
                self.grid.addWidget(widget, row, column)
            self.grid.setColumnStretch(column, 1)
            self.strips.append(strip)
            self.charts.append(chart)
        self.grid.setRowStretch(1, 4)
        self.grid.setRowStretch(2, 5)
        one, two = (strip.horizontalScrollBar() for strip in self.strips)
        one.valueChanged.connect(two.setValue)
        two.valueChanged.connect(one.setValue)

    @Slot(QAbstractButton)
    def _chart_chosen(self, button: QAbstractButton) -> None:
        """Both show the same chart."""
        for chart in self.charts:
            if chart.view != button.property("view"):
                chart.show_view(str(button.property("view")))

    def show_both(self, now: State, after: State, as_of: dt.date) -> None:
        self._states, self._as_of = (now, after), as_of
        if not self.strips:
            self._hosts = [_Still(*state, as_of) for state in (now, after)]
            self._build(self._hosts)
        for strip, chart, state, host in zip(self.strips, self.charts, (now, after), self._hosts, strict=True):
            host.project, host.plan, host.forecast = state
            host.as_of = as_of
            strip.set_inks(self.theme.inks(state[0]))
            strip.set_data(strip_data(*state))
            chart.refresh()

    def fit(self) -> None:
        """Both strips whole where they can be read, from tonight on where not."""
        for strip in self.strips:
            strip.zoom_to_fit()
            strip.set_zoom(max(strip.zoom, _LEAST_ZOOM))
        for strip in self.strips[:1]:
            strip.show_tonight()
            # what lies ahead is compared
            bar = strip.horizontalScrollBar()
            bar.setValue(bar.value() + strip.viewport().width() // 5)
            n = strip.data.tonight
            if n is not None and bar.maximum() <= strip.layout_.left[n] - strip.layout_.gutter:
                # all that lies ahead is seen at once, with the flag at its end
                bar.setValue(bar.maximum())

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        for chart in self.charts:
            chart.set_look(theme.look)
        if self._states is not None:
            self.show_both(*self._states, self._as_of)


class SideBySide(QDialog):
    """A window for the comparison; it stays beside the page, which goes on working."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Today and after, side by side"))
        self.resize(1320, 800)
        self._fit = QTimer(self)
        self._fit.setSingleShot(True)
        self._fit.setInterval(0)
        self._fit.timeout.connect(self._fit_strips)
        # the words below a chart take room from it once they are known
        self.redraw = QTimer(self)
        self.redraw.setSingleShot(True)
        self.redraw.setInterval(80)
        self.redraw.timeout.connect(self._draw_again)
        column = QVBoxLayout(self)
        column.setContentsMargins(18, 14, 18, 14)
        self.words = PlainLabel("", "heading", wrap=True)
        column.addWidget(self.words)
        self.preview = Preview(theme, self)
        # with large letters the two columns may be larger than the screen
        column.addWidget(Scrolled(self.preview, tr("Today and after")), 1)
        row = QHBoxLayout()
        row.addStretch(1)
        self.close_button = QPushButton(tr("&Close"))
        self.close_button.setAccessibleName(tr("Close"))
        self.close_button.clicked.connect(self.accept)
        row.addWidget(self.close_button)
        column.addLayout(row)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fit.start()

    @Slot()
    def _fit_strips(self) -> None:
        self.preview.fit()
        self.redraw.start()

    @Slot()
    def _draw_again(self) -> None:
        for chart in self.preview.charts:
            chart.refresh()

    def hideEvent(self, event: QHideEvent) -> None:
        self._fit.stop()
        self.redraw.stop()
        super().hideEvent(event)

    def say(self, text: str) -> None:
        self.words.setText(text)
