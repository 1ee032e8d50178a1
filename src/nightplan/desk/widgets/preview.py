# SPDX-License-Identifier: GPL-3.0-or-later
"""Today and after, side by side: the strip and the chart of both."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtWidgets import QDialog, QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from nightplan.desk.theme import Theme
from nightplan.desk.widgets.charts import ChartPanel
from nightplan.desk.widgets.short_label import PlainLabel
from nightplan.desk.widgets.strip_model import strip_data
from nightplan.desk.widgets.strip_view import StripView
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan

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
        self.setAccessibleName("Today and after, side by side")
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(0, 0, 0, 0)
        self.grid.setHorizontalSpacing(14)
        self._states: tuple[State, State] | None = None
        self._as_of = dt.date.min
        self.strips: list[StripView] = []
        self.charts: list[ChartPanel] = []

    def _build(self, hosts: list[_Still]) -> None:
        for column, (name, host) in enumerate(zip(("Today", "After"), hosts, strict=True)):
            self.grid.addWidget(PlainLabel(name, "heading"), 0, column)
            strip = StripView(self.theme.inks(host.project), self)
            strip.setAccessibleName(f"Evening strip, {name.lower()}")
            strip.setMinimumHeight(210)
            chart = ChartPanel(host, self.theme.look, self)
            chart.setAccessibleName(f"Chart, {name.lower()}")
            chart.setMinimumHeight(280)
            self.grid.addWidget(strip, 1, column)
            self.grid.addWidget(chart, 2, column)
            self.grid.setColumnStretch(column, 1)
            self.strips.append(strip)
            self.charts.append(chart)

    def show_both(self, now: State, after: State, as_of: dt.date) -> None:
        self._states, self._as_of = (now, after), as_of
        hosts = [_Still(*state, as_of) for state in (now, after)]
        if not self.strips:
            self._build(hosts)
        for strip, chart, state, host in zip(self.strips, self.charts, (now, after), hosts, strict=True):
            strip.set_inks(self.theme.inks(state[0]))
            strip.set_data(strip_data(*state))
            chart._host = host
            chart.refresh()

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
        self.setWindowTitle("Today and after, side by side")
        self.resize(1180, 720)
        column = QVBoxLayout(self)
        column.setContentsMargins(18, 14, 18, 14)
        self.words = PlainLabel("", "heading", wrap=True)
        column.addWidget(self.words)
        self.preview = Preview(theme, self)
        column.addWidget(self.preview, 1)
        row = QHBoxLayout()
        row.addStretch(1)
        self.close_button = QPushButton("&Close")
        self.close_button.setAccessibleName("Close")
        self.close_button.clicked.connect(self.accept)
        row.addWidget(self.close_button)
        column.addLayout(row)

    def say(self, text: str) -> None:
        self.words.setText(text)
