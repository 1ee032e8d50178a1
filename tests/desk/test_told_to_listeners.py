# SPDX-License-Identifier: GPL-3.0-or-later
"""What a screen reader is told of what the program draws itself, of drop-down lists, and of what stands twice.

Source: WCAG 2.2, success criteria 4.1.2 (name, role, value) and 2.4.6 (labels that tell).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_sweep import accessible_name, cut_off, doubled
from plan_page_project import AS_OF, project
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAccessible, QFocusEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QDialogButtonBox, QTextEdit, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk.app import make_app
from nightplan.desk.services import Services
from nightplan.desk.theme import NIGHT
from nightplan.desk.told import label_for_listeners
from nightplan.desk.widgets.odds_bar import OddsBar
from nightplan.desk.widgets.preview import Preview
from nightplan.desk.widgets.tonight_tick import TickCard
from nightplan.desk.window import MainWindow
from nightplan.desk.wizard_fields import WeekFields

Settle = Callable[[MainWindow], None]
Role = QAccessible.Role


@pytest.fixture(autouse=True)
def as_in_the_program(qapp: QApplication) -> None:
    make_app([])


def role(widget: QWidget) -> QAccessible.Role:
    return QAccessible.queryAccessibleInterface(widget).role()


def test_odds_bars_say_their_numbers(qtbot: QtBot) -> None:
    bar = OddsBar(NIGHT)
    qtbot.addWidget(bar)
    bar.say("Lock", 0.541, 0.714, 0.8)
    assert accessible_name(bar.bar) == "Lock: 54 in 100 before, 71 in 100 after"
    assert role(bar.bar) == Role.Graphic


def test_strip_key_and_charts_are_pictures_and_charts(
    make_window: MakeWindow, services: FakeServices, settle: Settle, qtbot: QtBot
) -> None:
    services.go_to_day(AS_OF)
    window = make_window(project())
    settle(window)
    page = window.pages["plan"]
    assert role(page.strip.view) == Role.Chart
    assert role(page.strip.key) == Role.Graphic
    qtbot.waitUntil(lambda: page.charts.canvas is not None)
    assert role(page.charts.canvas) == Role.Chart
    assert accessible_name(page.charts.canvas) == "Chart: Burn-down"
    page.charts.show_view("slip")
    qtbot.waitUntil(lambda: accessible_name(page.charts.canvas) == "Chart: Slip risk")


def test_the_strip_tells_of_its_table(make_window: MakeWindow, services: FakeServices, settle: Settle) -> None:
    services.go_to_day(AS_OF)
    window = make_window(project())
    settle(window)
    strip = window.pages["plan"].strip
    assert strip.view.accessibleDescription().endswith("Alt+T: the same evenings as a table.")
    strip.view.set_current(2)
    assert "Alt+T" in strip.view.accessibleDescription()


def test_a_drawn_widget_without_a_role_keeps_that_of_the_toolkit(qtbot: QtBot) -> None:
    plain = QWidget()
    qtbot.addWidget(plain)
    assert role(plain) == Role.Client
    plain.told_as = "chart"  # type: ignore[attr-defined]
    assert role(plain) == Role.Client, "only a role is one"


def test_a_list_has_its_label_where_only_its_value_is_heard(qtbot: QtBot) -> None:
    ground = QWidget()
    qtbot.addWidget(ground)
    box = QComboBox(ground)
    box.addItems(["sure", "maybe"])
    box.setAccessibleName("Bread & butter")
    label = label_for_listeners(box)
    relations = QAccessible.queryAccessibleInterface(box).relations(QAccessible.RelationFlag.Label)
    assert [said.text(QAccessible.Text.Name) for said, _ in relations] == ["Bread & butter"]
    assert not label.isVisibleTo(ground)
    assert accessible_name(box) == "Bread & butter"


def test_a_label_goes_with_the_editor_it_was_made_for(qtbot: QtBot) -> None:
    ground = QWidget()
    qtbot.addWidget(ground)
    box = QComboBox(ground)
    gone: list[int] = []
    label_for_listeners(box).destroyed.connect(lambda: gone.append(1))
    box.deleteLater()
    qtbot.waitUntil(lambda: bool(gone))


def test_how_sure_is_named_by_its_day(qtbot: QtBot) -> None:
    week = WeekFields()
    qtbot.addWidget(week)
    week.show()
    assert [accessible_name(row[3]) for row in week.rows][:2] == ["Monday how sure", "Tuesday how sure"]
    assert doubled(week) == []


def test_done_and_needs_more_are_each_reached_by_tab(qtbot: QtBot) -> None:
    """Both may be off, so they are no radio group (WAI-ARIA 1.2) but two switches, of which at most one is on."""
    card = TickCard()
    qtbot.addWidget(card)
    planned = project()
    first = planned.stages[0].items[0].id
    card.show_lines(planned, {first: 1.0})
    card.show()
    line = card.lines[0]
    for button in (line.done, line.more):
        assert button.focusPolicy() & Qt.FocusPolicy.TabFocus
        assert role(button) == Role.CheckBox
    line.done.click()
    assert line.more.focusPolicy() & Qt.FocusPolicy.TabFocus, "also when the other is on"
    line.more.click()
    assert (line.done.isChecked(), line.more.isChecked()) == (False, True)
    line.more.click()
    assert not line.more.isChecked()


def test_side_by_side_has_no_name_twice_and_the_keyboard_shows_where_it_is(
    make_window: MakeWindow, services: FakeServices, settle: Settle, qtbot: QtBot
) -> None:
    """WCAG 2.2, 2.4.7: the evening that has the keyboard is scrolled into sight when the keyboard comes."""
    services.go_to_day(AS_OF)
    window = make_window(project())
    settle(window)
    document = window.document
    assert document.plan is not None
    assert document.forecast is not None
    state = document.project, document.plan, document.forecast
    both = Preview(NIGHT)
    qtbot.addWidget(both)
    both.show_both(state, state, AS_OF)
    both.resize(700, 700)
    both.show()
    assert doubled(both) == []
    for chart, which in zip(both.charts, ("today", "after"), strict=True):
        qtbot.waitUntil(lambda chart=chart: chart.canvas is not None)
        assert accessible_name(chart.canvas) == f"Chart, {which}: Burn-down"
    strip = both.strips[1]
    strip.set_zoom(2.0)
    strip.set_current(0)
    bar = strip.horizontalScrollBar()
    bar.setValue(bar.maximum())
    slot = strip.layout_.slot(0)
    assert slot.x + slot.w < bar.value(), "the current evening is scrolled away"
    QApplication.sendEvent(strip, QFocusEvent(QEvent.Type.FocusIn, Qt.FocusReason.TabFocusReason))
    assert slot.x >= bar.value()
    for chart in both.charts:
        qtbot.waitUntil(lambda chart=chart: chart.fresh)


def test_the_details_of_a_question_have_a_name_and_are_reached(qtbot: QtBot, tmp_path: Path) -> None:
    """WCAG 2.2, 2.1.1: what is to be read before an answer can be read without a mouse."""
    services = Services(profile=tmp_path)
    services.ask(
        None, "nightplan", "Bring both together?", [("yes", "Yes"), ("no", "No")], lambda _key: None, detail="a\nb"
    )
    (box,) = services._open
    (field,) = box.findChildren(QTextEdit)
    assert accessible_name(field) == "Details"
    assert field.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert field.tabChangesFocus(), "and the Tab key goes on"
    assert field.minimumWidth() > 300, "lines can be read in it where the question is short"
    box.reject()
    assert services._open == []


@pytest.mark.parametrize(
    ("label", "way"), [("Open it", "Horizontal"), ("Leave it where it is, do not ask", "Vertical")]
)
def test_the_words_of_buttons_are_whole(qtbot: QtBot, tmp_path: Path, label: str, way: str) -> None:
    """WCAG 2.2, 1.4.4: a row of buttons wider than a question may be is stacked."""
    services = Services(profile=tmp_path)
    choices = [(str(n), f"{label} {n}") for n in range(4)]
    services.ask(None, "nightplan", "Which one?", choices, lambda _key: None, detail="a\nb")
    (box,) = services._open
    row = box.findChild(QDialogButtonBox)
    assert isinstance(row, QDialogButtonBox)
    assert row.orientation() == Qt.Orientation[way]
    QApplication.processEvents()
    assert cut_off(box) == []
    box.activateWindow()
    qtbot.waitUntil(box.isActiveWindow)
    come_to = set()
    for _ in range(8):
        QTest.keyClick(QApplication.focusWidget() or box, Qt.Key.Key_Tab)
        come_to.add(QApplication.focusWidget())
    assert set(row.buttons()) <= come_to, "the Tab key comes to each of them"
    box.reject()
