# SPDX-License-Identifier: GPL-3.0-or-later
"""The stage table: edits in place, refusals that lose nothing, order, states. Common practice, no source."""

from __future__ import annotations

import pytest
from plan_page_host import TestHost
from plan_page_project import raw
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtWidgets import QAbstractItemView, QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk.theme import NIGHT
from nightplan.desk.widgets.stage_table import StageTable
from nightplan.desk.widgets.stage_table_cells import HoursEdit
from nightplan.desk.widgets.stage_table_model import (
    BY,
    ERROR_ROLE,
    HEADERS,
    HIGH,
    LEFT,
    LIKELY,
    LOW,
    NAME,
    NOTE_ROLE,
    SPENT,
    TIER,
)
from nightplan.desk.widgets.stage_table_picker import waiting_on
from nightplan.desk.widgets.stage_table_rows import at_the_cell
from nightplan.exports import words
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw


@pytest.fixture
def table(qtbot: QtBot, host: TestHost) -> StageTable:
    return make(qtbot, host)


def make(qtbot: QtBot, host: TestHost) -> StageTable:
    widget = StageTable(host, NIGHT.inks(None))
    qtbot.addWidget(widget)
    host.listeners.append(widget.refresh)
    widget.resize(1300, 600)
    widget.refresh()
    widget.show()
    return widget


def cell(table: StageTable, row: str, column: int) -> str:
    return str(table.model.index_of(row, column).data())


def open_editor(table: StageTable, row: str, column: int) -> QWidget:
    table.select(row, column)
    table.view.setFocus()
    table.view.edit(table.model.index_of(row, column))
    found = [w for w in table.view.viewport().findChildren(QWidget) if isinstance(w, HoursEdit | QLineEdit | QComboBox)]
    return next(w for w in found if not isinstance(w.parent(), HoursEdit | QComboBox) and w.isVisible())


def press(qtbot: QtBot, table: StageTable, editor: QWidget, key: Qt.Key = Qt.Key.Key_Return) -> None:
    """A key that ends an editor; the view closes it once the key has been dealt with."""
    with qtbot.waitSignal(table.view.itemDelegate().closeEditor):
        qtbot.keyClick(editor, key)


def type_hours(
    qtbot: QtBot, table: StageTable, row: str, column: int, text: str, end: Qt.Key = Qt.Key.Key_Return
) -> None:
    editor = open_editor(table, row, column)
    assert isinstance(editor, HoursEdit)
    editor.selectAll()
    qtbot.keyClicks(editor, text)
    press(qtbot, table, editor, end)


def test_the_cells_are_the_projects_numbers(table: StageTable, host: TestHost) -> None:
    planned = {i.id: i for i in host.plan.items}
    by = {i.id: i.finish.p90 for i in host.forecast.items}
    for key, item in host.project.items.items():
        assert cell(table, key, NAME) == item.name
        assert cell(table, key, TIER) == item.tier
        assert cell(table, key, LIKELY) == words.hours(item.likely)
        assert cell(table, key, HIGH) == words.hours(item.high)
        if key in by:
            assert cell(table, key, LEFT) == words.hours(planned[key].hours)
            assert cell(table, key, BY) == words.day(by[key])
        else:
            assert cell(table, key, LEFT) == "done"
            assert cell(table, key, BY) == "—"
    assert cell(table, "rig-wings", SPENT) == "4 h"
    assert cell(table, "animate", LIKELY) == "8 h"


def test_a_number_typed_over_changes_the_project_and_the_odds(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    start, odds = host.project, host.forecast.gate("lock").odds
    type_hours(qtbot, table, "spline", LIKELY, "6")
    assert host.project.items["spline"].likely == 6.0
    assert host.label == "Estimate of Splining pass"
    assert host.forecast.gate("lock").odds < odds
    assert cell(table, "spline", LIKELY) == "6 h"
    host.undo()
    assert host.project == start
    assert cell(table, "spline", LIKELY) == "4 h"


def test_the_odds_follow_while_the_number_is_typed(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    editor = open_editor(table, "spline", HIGH)
    assert isinstance(editor, HoursEdit)
    editor.selectAll()
    qtbot.keyClicks(editor, "12")
    assert host.previews[-1] is not None
    assert host.previews[-1].items["spline"].high == 12.0
    assert len(host.steps) == 1
    qtbot.keyClick(editor, Qt.Key.Key_Up)
    assert host.previews[-1].items["spline"].high == 12.25
    press(qtbot, table, editor, Qt.Key.Key_Escape)
    assert host.previews[-1] is None
    assert len(host.steps) == 1
    assert cell(table, "spline", HIGH) == "7 h"


def test_a_forecast_that_arrives_does_not_overwrite_what_is_typed(
    qtbot: QtBot, table: StageTable, host: TestHost
) -> None:
    editor = open_editor(table, "spline", LIKELY)
    assert isinstance(editor, HoursEdit)
    editor.selectAll()
    qtbot.keyClicks(editor, "5.5")
    table.refresh()
    assert editor.isVisible()
    assert editor.value() == 5.5


def test_a_refused_number_stays_with_its_reason_and_is_tried_again_with_the_next(
    qtbot: QtBot, table: StageTable, host: TestHost
) -> None:
    type_hours(qtbot, table, "spline", LIKELY, "9")
    assert len(host.steps) == 1
    index = table.model.index_of("spline", LIKELY)
    assert index.data(ERROR_ROLE)
    assert cell(table, "spline", LIKELY) == "9 h"
    sentence = table.model.index_of("spline").data(NOTE_ROLE)
    assert "at least likely" in sentence
    assert "stages[" not in sentence
    assert table.refusal.isVisible()
    assert table.refusal.text() == sentence
    assert host.said[-1] == sentence
    editor = open_editor(table, "spline", LIKELY)
    assert isinstance(editor, HoursEdit)
    assert editor.value() == 9.0
    press(qtbot, table, editor, Qt.Key.Key_Escape)
    type_hours(qtbot, table, "spline", HIGH, "14")
    assert (host.project.items["spline"].likely, host.project.items["spline"].high) == (9.0, 14.0)
    assert len(host.steps) == 2
    assert not index.data(ERROR_ROLE)


def test_escape_takes_a_refused_number_back(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    type_hours(qtbot, table, "spline", LIKELY, "9")
    assert cell(table, "spline", LIKELY) == "9 h"
    assert table.refusal.isVisible()
    table.view.setFocus()
    qtbot.keyClick(table.view, Qt.Key.Key_Escape)
    assert cell(table, "spline", LIKELY) == "4 h"
    assert not table.refusal.isVisible()


def test_the_optional_number_can_be_set_and_emptied(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    assert cell(table, "spline", LOW) == ""
    type_hours(qtbot, table, "spline", LOW, "2")
    assert host.project.items["spline"].low == 2.0
    editor = open_editor(table, "spline", LOW)
    assert isinstance(editor, HoursEdit)
    editor.set_hours(None)
    press(qtbot, table, editor, Qt.Key.Key_Return)
    assert host.project.items["spline"].low is None


def test_tab_in_an_editor_goes_on_to_the_next_number(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    type_hours(qtbot, table, "spline", LIKELY, "5", Qt.Key.Key_Tab)
    assert host.project.items["spline"].likely == 5.0
    assert table.view.currentIndex().column() == HIGH
    assert table.view.state() == QAbstractItemView.State.EditingState


def test_names_are_typed_over(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    for key, name in (("spline", "Second pass"), ("animate", "Animation")):
        editor = open_editor(table, key, NAME)
        assert isinstance(editor, QLineEdit)
        editor.selectAll()
        qtbot.keyClicks(editor, name)
        press(qtbot, table, editor, Qt.Key.Key_Return)
        assert cell(table, key, NAME) == name
    assert host.project.items["spline"].name == "Second pass"
    assert host.project.stages_by_id["animate"].name == "Animation"
    assert host.label == "Rename Animate to Animation"


def test_an_empty_name_is_refused(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    editor = open_editor(table, "spline", NAME)
    assert isinstance(editor, QLineEdit)
    editor.clear()
    press(qtbot, table, editor, Qt.Key.Key_Return)
    assert host.project.items["spline"].name == "Splining pass"
    assert "must not be empty" in table.refusal.text()


def test_a_tier_is_chosen(table: StageTable, host: TestHost) -> None:
    table.model.setData(table.model.index_of("set-porch", TIER), "secondary")
    assert host.project.items["set-porch"].tier == "secondary"
    table.select("set-porch")
    table.set_tier("primary")
    assert host.project.items["set-porch"].tier == "primary"


def test_an_item_is_added_behind_the_current_one_and_named(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    start = host.project
    table.select("block")
    table.add_item()
    order = [i.name for i in host.project.stages_by_id["animate"].items]
    assert order == ["Blocking pass", "New item", "Splining pass"]
    qtbot.waitUntil(lambda: table.view.state() == QAbstractItemView.State.EditingState)
    editor = next(w for w in table.view.viewport().findChildren(QLineEdit) if w.isVisible())
    qtbot.keyClicks(editor, "Wing overlap")
    press(qtbot, table, editor, Qt.Key.Key_Return)
    assert host.project.items["new-item"].name == "Wing overlap"
    host.undo()
    host.undo()
    assert host.project == start


def test_a_stage_is_added_and_removed(table: StageTable, host: TestHost) -> None:
    start = host.project
    table.add_stage()
    assert host.project.stages[-1].name == "New stage"
    assert cell(table, "new-stage", LEFT) == "no items"
    table.select("new-stage")
    table._remove_current()
    assert host.project.stages == start.stages


def test_an_item_with_hours_in_the_log_is_not_removed(table: StageTable, host: TestHost) -> None:
    table.select("block")
    table._remove_current()
    assert len(host.steps) == 1
    assert "leave it out" in host.said[-1]


@pytest.mark.parametrize(("row", "key", "order"), [("far-roofs", Qt.Key.Key_Up, 0), ("set-porch", Qt.Key.Key_Down, 1)])
def test_alt_and_arrow_reorder(
    qtbot: QtBot, table: StageTable, host: TestHost, row: str, key: Qt.Key, order: int
) -> None:
    start = host.project
    table.select(row)
    qtbot.keyClick(table.view, key, Qt.KeyboardModifier.AltModifier)
    assert [i.id for i in host.project.stages_by_id["set"].items].index(row) == order
    current = table.current
    assert current is not None
    assert current.id == row
    host.undo()
    assert host.project == start


def test_a_stage_moves_with_its_items(qtbot: QtBot, table: StageTable, host: TestHost) -> None:
    table.select("set")
    qtbot.keyClick(table.view, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert [s.id for s in host.project.stages].index("set") == 2


def test_rows_are_dragged(table: StageTable, host: TestHost) -> None:
    model = table.model
    mime = model.mimeData([model.index_of("ropes")])
    model.dropMimeData(mime, Qt.DropAction.MoveAction, 0, 0, model.index_of("set"))
    assert [i.id for i in host.project.stages_by_id["set"].items] == ["ropes", "set-porch", "far-roofs"]
    mime = model.mimeData([model.index_of("ropes")])
    model.dropMimeData(mime, Qt.DropAction.MoveAction, 2, 0, model.index_of("set"))
    assert [i.id for i in host.project.stages_by_id["set"].items] == ["set-porch", "ropes", "far-roofs"]
    mime = model.mimeData([model.index_of("ropes")])
    model.dropMimeData(mime, Qt.DropAction.MoveAction, -1, -1, model.index_of("light"))
    assert [i.id for i in host.project.stages_by_id["light"].items] == ["light-key", "ropes"]
    mime = model.mimeData([model.index_of("light")])
    model.dropMimeData(mime, Qt.DropAction.MoveAction, 0, 0, QModelIndex())
    assert host.project.stages[0].id == "light"


def test_leave_out_bring_back_done(table: StageTable, host: TestHost) -> None:
    start, odds = host.project, host.forecast.gate("lock").odds
    table.select("far-roofs")
    table.set_state("cut")
    assert cell(table, "far-roofs", LEFT) == "left out"
    assert host.forecast.gate("lock").odds >= odds
    table.set_state("open")
    assert host.project == start
    table.set_state("done")
    assert cell(table, "far-roofs", LEFT) == "done"
    host.undo()
    table.select("set")
    table.set_state("cut")
    assert {i.state for i in host.project.stages_by_id["set"].items} == {"cut"}


def test_the_gate_of_a_stage_and_a_pin(table: StageTable, host: TestHost) -> None:
    table.select("polish")
    table.set_gate("deadline")
    assert host.project.stages_by_id["polish"].gate == "deadline"
    table.select("polish-pass")
    table.toggle_pinned()
    assert host.project.items["polish-pass"].pinned
    assert cell(table, "polish-pass", NAME) == "Polish pass (pinned)"
    table.toggle_pinned()
    assert not host.project.items["polish-pass"].pinned


def test_what_an_item_waits_for_is_picked(table: StageTable, host: TestHost) -> None:
    table.select("light-key")
    table.ask_waits_for()
    assert table.picker is not None
    table.picker.tick("block")
    table.picker.accept()
    assert host.project.items["light-key"].after == ("block",)
    table.ask_waits_for()
    assert table.picker is not None
    assert table.picker.chosen == ("block",)
    table.picker.tick("block", False)
    table.picker.reject()
    assert host.project.items["light-key"].after == ("block",)


def test_the_picker_offers_nothing_that_would_make_a_circle(host: TestHost) -> None:
    assert {"animate", "block", "spline", "polish", "polish-pass", "final-render", "cut"} <= waiting_on(
        host.project, "rig-wings"
    )
    assert not {"reference", "set-porch", "rig-lantern"} & waiting_on(host.project, "rig-wings")


def test_work_that_runs_over_says_by_how_much(qtbot: QtBot) -> None:
    changed = raw()
    changed["log"][-1]["work"][1]["left"] = {"likely": 3.0, "high": 4.0}
    host = TestHost(project_from_raw(changed))
    table = make(qtbot, host)
    # 2.5 h spent and 3 h left of a likely 4 h; two of the three finished items took longer than likely
    assert table.model.index_of("block").data(NOTE_ROLE) == (
        "1.5 h over the likely time; 2 of 3 finished items ran over"
    )
    assert table.over.text() == "Blocking pass is running over"


def test_work_planned_behind_its_gate_says_so(qtbot: QtBot) -> None:
    changed = raw()
    changed["stages"][2]["items"][1].update({"likely": 40.0, "high": 60.0})
    table = make(qtbot, TestHost(project_from_raw(changed)))
    assert "after Personal lock (Sun 14 Feb)" in table.model.index_of("spline").data(NOTE_ROLE)


def test_a_narrow_table_keeps_what_is_needed_most(table: StageTable) -> None:
    table.resize(430, 500)
    shown = [c for c in range(len(HEADERS)) if not table.view.isColumnHidden(c)]
    assert {NAME, LIKELY, HIGH, BY} <= set(shown)
    assert LOW not in shown
    assert sum(table.view.columnWidth(c) for c in shown) <= table.view.viewport().width() + 1
    table.resize(1300, 500)
    assert not any(table.view.isColumnHidden(c) for c in range(len(HEADERS)))
    # also what was hidden until now has room for its heading
    header = table.view.header()
    assert all(header.sectionSize(c) >= header.sectionSizeHint(c) for c in range(1, len(HEADERS)))


def test_names_for_screen_readers(table: StageTable) -> None:
    index = table.model.index_of("spline", LIKELY)
    assert index.data(Qt.ItemDataRole.AccessibleTextRole) == "Splining pass, Likely: 4 h"
    editor = open_editor(table, "spline", LIKELY)
    assert editor.accessibleName() == "Likely of Splining pass"
    for widget in (table, table.view, table.add_item_button, table.add_stage_button):
        assert widget.accessibleName()


def test_every_cell_is_text(table: StageTable) -> None:
    for n in range(table.model.rowCount()):
        stage = table.model.index(n, 0)
        for i in range(table.model.rowCount(stage)):
            for c in range(len(HEADERS)):
                assert isinstance(table.model.index(i, c, stage).data(), str)


@pytest.mark.parametrize(
    ("sentence", "shown"),
    [
        (
            "stages[2].items[0].high = 1.0: must be at least likely (8.0)",
            "If it fights back = 1.0: must be at least likely (8.0)",
        ),
        ("stages[2].items[0].name = '': must not be empty", "Name = '': must not be empty"),
        (
            "stages[1].after: these wait for each other in a circle: a -> b",
            "Waits for: these wait for each other in a circle: a -> b",
        ),
        ("no place at all", "no place at all"),
    ],
)
def test_an_error_is_said_without_its_place_in_the_file(sentence: str, shown: str) -> None:
    assert at_the_cell(BadInput(sentence)) == shown
