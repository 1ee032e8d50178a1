# SPDX-License-Identifier: GPL-3.0-or-later
"""The Plan page over a real document: edits, odds, undo, export, empty state, sizes. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from desk_fakes import FakeServices
from plan_page_project import AS_OF, project
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QAbstractItemView, QComboBox, QLabel, QPushButton, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from nightplan.actions import edit
from nightplan.desk.document import Document
from nightplan.desk.host import DeskHost
from nightplan.desk.pages.plan_page import PlanPage
from nightplan.desk.theme import LIGHT, NIGHT
from nightplan.desk.widgets.stage_table_cells import HoursEdit
from nightplan.desk.widgets.stage_table_model import BY, LIKELY
from nightplan.exports import words


class Desk:
    """A document with the page on it, wired as the window does it."""

    def __init__(self, qtbot: QtBot, services: FakeServices) -> None:
        self.qtbot = qtbot
        self.document = Document(services)
        self.host = DeskHost(self.document, self.document.services)
        self.document.new(project())
        self.page = PlanPage(self.host, NIGHT)
        qtbot.addWidget(self.page)
        self.document.project_changed.connect(self.page.show_project)
        self.document.odds_changed.connect(self._odds)
        self.page.show_project(self.document.project)
        self.page.resize(1190, 720)
        self.page.show()
        self.settle()

    def _odds(self, answer: Any) -> None:
        self.page.show_forecast(answer.forecast, answer.plan, True)

    def settle(self) -> None:
        """Wait until plan and odds are those of the project."""
        self.qtbot.waitUntil(lambda: self.document.fresh and not self.document.worker.busy, timeout=20_000)

    def odds(self, gate: str = "lock") -> float:
        assert self.document.forecast is not None
        return self.document.forecast.gate(gate).odds

    def undo(self) -> None:
        self.document.undo()
        self.settle()


@pytest.fixture
def desk(qtbot: QtBot, services: FakeServices) -> Iterator[Desk]:
    services.go_to_day(AS_OF)
    made = Desk(qtbot, services)
    yield made
    made.document.close()


def test_an_estimate_typed_over_changes_odds_table_and_strip(qtbot: QtBot, desk: Desk) -> None:
    table = desk.page.table
    before, start = desk.odds(), desk.document.project
    table.select("spline", LIKELY)
    table.view.setFocus()
    table.view.begin_edit(table.model.index_of("spline", LIKELY))
    editor = next(w for w in table.view.viewport().findChildren(HoursEdit))
    editor.selectAll()
    with qtbot.waitSignal(desk.document.preview_changed) as preview:
        qtbot.keyClicks(editor, "6.5")
    (tried,) = preview.args
    assert tried.project.items["spline"].likely in (6.0, 6.5)
    assert tried.forecast.gate("lock").odds < before
    assert desk.document.project is start
    with qtbot.waitSignal(desk.document.project_changed):
        qtbot.keyClick(editor, Qt.Key.Key_Return)
    desk.settle()
    assert desk.document.project.items["spline"].likely == 6.5
    assert desk.odds() < before
    assert desk.document.forecast is not None
    by = {i.id: i.finish.p90 for i in desk.document.forecast.items}
    assert table.model.index_of("spline", BY).data() == words.day(by["spline"])
    assert desk.document.plan is not None
    on_strip = [(c.date, b.item, b.hours) for c in desk.page.strip.view.data.columns for b in c.blocks if not b.logged]
    planned = [(e.date, w.item, w.hours) for e in desk.document.plan.evenings if e.status != "worked" for w in e.work]
    assert on_strip == planned
    desk.undo()
    assert desk.document.project == start
    assert desk.odds() == before


def test_every_intention_of_the_page_is_undone_and_redone(desk: Desk) -> None:
    strip, table = desk.page.strip, desk.page.table
    start = desk.document.project

    def at(key: str, do: Callable[[], object]) -> Callable[[], None]:
        def both() -> None:
            table.select(key)
            do()

        return both

    def evening(day: dt.date, key: str) -> Callable[[], None]:
        def both() -> None:
            strip.view.go_to(day)
            assert strip.do(key)

        return both

    steps = [
        evening(dt.date(2027, 1, 28), "lost"),
        evening(dt.date(2027, 2, 6), "sure"),
        evening(dt.date(2027, 2, 9), "longer"),
        evening(dt.date(2027, 2, 11), "off"),
        evening(dt.date(2027, 1, 21), "missed"),
        at("ropes", lambda: table.move_current(-1)),
        at("set", lambda: table.move_current(-1)),
        at("far-roofs", lambda: table.set_state("cut")),
        at("write-up", lambda: table.set_tier("tertiary")),
        at("polish-pass", table.toggle_pinned),
        at("polish", lambda: table.set_gate("deadline")),
        table.add_stage,
        at("block", table.add_item),
    ]
    seen = [start]
    for step in steps:
        step()
        assert desk.document.project != seen[-1]
        seen.append(desk.document.project)
    history = desk.document.history
    assert history is not None
    for wanted in reversed(seen[:-1]):
        assert history.undo_label
        desk.document.undo()
        assert desk.document.project == wanted
    for wanted in seen[1:]:
        desk.document.redo()
        assert desk.document.project == wanted
    desk.settle()


def test_a_plan_of_a_moment_ago_does_no_harm(desk: Desk) -> None:
    """Between a change and its odds the plan still names what was removed."""
    desk.document.apply("Remove", edit.remove_item(desk.document.project, "ropes"))
    assert not any(b.item == "ropes" for c in desk.page.strip.view.data.columns for b in c.blocks)
    assert not desk.page.table.model.index_of("ropes").isValid()
    desk.page.grab()
    desk.settle()


def test_a_project_without_stages_is_taught_how_to_begin(qtbot: QtBot, desk: Desk) -> None:
    bare = project().but(stages=(), jobs=(), log=())
    desk.document.new(bare)
    desk.settle()
    assert desk.page.stack.currentWidget() is desk.page.empty
    told = " ".join(label.text() for label in desk.page.empty.findChildren(QLabel))
    assert "9 times in 10" in told
    desk.page.focus_first()
    desk.page.empty.add_stage.click()
    assert desk.page.stack.currentWidget() is desk.page.area
    assert [s.name for s in desk.document.project.stages] == ["New stage"]
    qtbot.waitUntil(lambda: desk.page.table.view.state() == QAbstractItemView.State.EditingState)
    desk.page.leave()
    desk.settle()


def test_what_is_being_typed_is_taken_over_when_the_page_is_left(qtbot: QtBot, desk: Desk) -> None:
    table = desk.page.table
    table.select("spline", LIKELY)
    table.view.begin_edit(table.model.index_of("spline", LIKELY))
    editor = next(w for w in table.view.viewport().findChildren(HoursEdit))
    editor.selectAll()
    qtbot.keyClicks(editor, "5")
    desk.page.leave()
    assert desk.document.project.items["spline"].likely == 5.0
    desk.settle()


def test_the_chart_is_exported_through_the_window(qtbot: QtBot, desk: Desk, tmp_path: Path) -> None:
    qtbot.waitUntil(lambda: desk.page.charts.canvas is not None)
    menu = desk.page.charts.save_button.menu()
    assert menu is not None
    for kind in ("png", "svg", "pdf"):
        with qtbot.waitSignal(desk.host.export_wanted) as asked:
            next(a for a in menu.actions() if a.data() == kind).trigger()
        leaving = asked.args[0]
        assert f"*.{kind}" in leaving.filters
        write = leaving.begin()
        write(tmp_path / leaving.suggested, lambda _share: None)
        assert (tmp_path / leaving.suggested).stat().st_size > 5000


def test_ways_back_and_logging_go_to_their_pages(qtbot: QtBot, desk: Desk) -> None:
    with qtbot.waitSignal(desk.host.page_wanted) as page:
        desk.page.notice.button.click()
    assert page.args == ["ways-back"]
    desk.page.strip.view.go_to(AS_OF)
    with qtbot.waitSignal(desk.host.evening_wanted) as evening:
        qtbot.keyClick(desk.page.strip.view, Qt.Key.Key_Return)
    assert evening.args == [AS_OF]


@pytest.mark.parametrize("size", [(830, 560), (1190, 720), (2400, 1400), (3600, 2000)])
def test_nothing_is_squeezed_at_any_size(desk: Desk, size: tuple[int, int]) -> None:
    desk.page.resize(*size)
    desk.page.grab()
    line = desk.page.fontMetrics().height()
    for part in (desk.page.strip, desk.page.table, desk.page.charts):
        assert part.height() >= part.minimumHeight()
    layout = desk.page.strip.view.layout_
    assert layout.floor - layout.bars_top >= 2 * line
    for button in desk.page.findChildren(QToolButton):
        if button.isVisible():
            assert button.width() >= button.fontMetrics().horizontalAdvance(button.text().replace("&", ""))
    shown = [c for c in range(10) if not desk.page.table.view.isColumnHidden(c)]
    assert sum(desk.page.table.view.columnWidth(c) for c in shown) <= desk.page.table.view.viewport().width() + 1


def test_large_letters_stack_the_stages_over_the_chart(desk: Desk) -> None:
    assert desk.page.below.orientation() == Qt.Orientation.Horizontal
    font = desk.page.font()
    font.setPointSizeF(font.pointSizeF() * 2)
    desk.page.setFont(font)
    desk.page.resize(1100, 700)
    desk.page.grab()
    assert desk.page.below.orientation() == Qt.Orientation.Vertical


def test_both_themes_reach_every_part(desk: Desk) -> None:
    desk.page.set_theme(LIGHT)
    assert desk.page.strip.view.inks.panel.name().upper() == LIGHT.panel
    assert desk.page.table.view.inks.text.name().upper() == LIGHT.text.upper()
    assert set(desk.page.strip.view.inks.stages) == {s.id for s in desk.document.project.stages}


def test_every_control_has_a_name(desk: Desk) -> None:
    kinds = (QAbstractButton, QComboBox, QAbstractItemView)
    for widget in desk.page.findChildren(QWidget):
        if isinstance(widget, kinds) and widget.focusPolicy() != Qt.FocusPolicy.NoFocus:
            named = widget.accessibleName() or (isinstance(widget, QPushButton | QToolButton) and widget.text())
            assert named, widget


def test_the_page_is_walked_by_tab(qtbot: QtBot, desk: Desk) -> None:
    """From the strip by Tab to the table and the chart and around again, never stuck."""
    desk.page.focus_first()
    seen: list[QWidget] = []
    widget = desk.page.strip.view.nextInFocusChain()
    while widget is not desk.page.strip.view and len(seen) < 400:
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isVisible():
            seen.append(widget)
        widget = widget.nextInFocusChain()
    assert {desk.page.table.view, desk.page.charts.save_button, desk.page.strip.as_table} <= set(seen)
