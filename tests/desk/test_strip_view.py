# SPDX-License-Identifier: GPL-3.0-or-later
"""The evening strip by keyboard, pointer and menu, and its table twin. Common practice, no source."""

from __future__ import annotations

import datetime as dt

import pytest
from plan_page_host import TestHost
from PySide6.QtCore import QDate, QPoint, QPointF, Qt, QTime
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QComboBox, QDateEdit, QDoubleSpinBox, QTimeEdit
from pytestqt.qtbot import QtBot

from nightplan.desk.theme import NIGHT
from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.strip import EveningStrip
from nightplan.desk.widgets.strip_dialogs import AddEveningDialog
from nightplan.desk.widgets.strip_paint import Inks, contrast, ink_on
from nightplan.exports.palette import STAGE_COLOURS


@pytest.fixture
def strip(qtbot: QtBot, host: TestHost) -> EveningStrip:
    widget = EveningStrip(host, NIGHT.inks(None))
    qtbot.addWidget(widget)
    host.listeners.append(widget.refresh)
    widget.resize(1200, 420)
    widget.refresh()
    widget.show()
    widget.view.setFocus()
    return widget


def date_of(strip: EveningStrip) -> dt.date:
    column = strip.view.current_column
    assert column is not None
    return column.date


def fill(dialog: AddEveningDialog, date: dt.date, start: dt.time, hours: float, sure: bool = True) -> None:
    dialog.findChild(QDateEdit).setDate(QDate(date.year, date.month, date.day))
    dialog.findChild(QTimeEdit).setTime(QTime(start.hour, start.minute))
    dialog.findChild(QDoubleSpinBox).setValue(hours)
    dialog.findChild(QComboBox).setCurrentIndex(0 if sure else 1)


def test_it_starts_at_tonight(strip: EveningStrip) -> None:
    assert date_of(strip) == dt.date(2027, 1, 26)
    assert strip.where.text().startswith("Tuesday 26 Jan 2027, tonight")
    assert strip.view.accessibleDescription().startswith("Tuesday 26 Jan 2027, tonight")


def test_left_and_right_move_between_evenings(qtbot: QtBot, strip: EveningStrip) -> None:
    qtbot.keyClick(strip.view, Qt.Key.Key_Right)
    assert date_of(strip) == dt.date(2027, 1, 28)
    qtbot.keyClick(strip.view, Qt.Key.Key_Left)
    qtbot.keyClick(strip.view, Qt.Key.Key_Left)
    assert date_of(strip) == dt.date(2027, 1, 23)
    assert strip.where.text() == strip.view.status_text()


def test_home_end_and_weeks(qtbot: QtBot, strip: EveningStrip) -> None:
    qtbot.keyClick(strip.view, Qt.Key.Key_Home)
    assert date_of(strip) == strip.view.data.columns[0].date
    qtbot.keyClick(strip.view, Qt.Key.Key_Left)
    assert strip.view.current[0] == 0
    qtbot.keyClick(strip.view, Qt.Key.Key_End)
    assert date_of(strip) == strip.view.data.columns[-1].date
    qtbot.keyClick(strip.view, Qt.Key.Key_PageUp)
    assert date_of(strip) == dt.date(2027, 2, 9)
    qtbot.keyClick(strip.view, Qt.Key.Key_PageDown)
    assert date_of(strip) == dt.date(2027, 2, 16)
    qtbot.keyClick(strip.view, Qt.Key.Key_T)
    assert date_of(strip) == dt.date(2027, 1, 26)


def test_up_and_down_move_through_the_work_of_an_evening(qtbot: QtBot, strip: EveningStrip) -> None:
    blocks = [b.item for b in strip.view.data.columns[strip.view.current[0]].blocks]
    assert len(blocks) > 1
    seen = []
    for _ in blocks:
        qtbot.keyClick(strip.view, Qt.Key.Key_Up)
        assert strip.view.current_block is not None
        seen.append(strip.view.current_block.item)
    assert seen == blocks
    qtbot.keyClick(strip.view, Qt.Key.Key_Up)
    assert strip.view.current[1] == len(blocks) - 1
    assert words.work(strip.view.data.columns[strip.view.current[0]].blocks[-1]) in strip.where.text()
    for _ in blocks:
        qtbot.keyClick(strip.view, Qt.Key.Key_Down)
    assert strip.view.current_block is None


def test_the_current_evening_comes_into_sight(qtbot: QtBot, strip: EveningStrip) -> None:
    strip.view.set_zoom(3.0)
    for key in (Qt.Key.Key_End, Qt.Key.Key_Home):
        qtbot.keyClick(strip.view, key)
        slot = strip.view.layout_.slot(strip.view.current[0])
        x0 = strip.view.horizontalScrollBar().value()
        assert x0 <= slot.x
        assert slot.x + slot.w <= x0 + strip.view.viewport().width()


def test_zoom_by_key_keeps_the_current_evening_in_place(qtbot: QtBot, strip: EveningStrip) -> None:
    before = strip.view.layout_.column
    qtbot.keyClick(strip.view, Qt.Key.Key_Plus)
    assert strip.view.layout_.column > before
    qtbot.keyClick(strip.view, Qt.Key.Key_Minus)
    assert strip.view.layout_.column == pytest.approx(before)
    qtbot.keyClick(strip.view, Qt.Key.Key_0)
    assert strip.view.layout_.width <= strip.view.viewport().width() + 1


def keys(strip: EveningStrip) -> list[str]:
    return [c.key for c in strip.choices()]


@pytest.mark.parametrize(
    ("key", "status", "chance"),
    [("maybe", "relied", 0.5), ("lost", "lost", None), ("off", "off", None)],
)
def test_an_evening_is_marked_and_the_mark_undone(
    strip: EveningStrip, host: TestHost, key: str, status: str, chance: float | None
) -> None:
    on = dt.date(2027, 1, 28)
    strip.view.go_to(on)
    start = host.project
    assert strip.do(key)
    assert date_of(strip) == on
    column = strip.view.current_column
    assert column is not None
    if chance is not None:
        assert column.maybe
        assert column.chance == chance
    else:
        assert column.status == status
        assert "on" in keys(strip)
    assert host.label
    host.undo()
    assert host.project == start
    column = strip.view.current_column
    assert column is not None
    assert column.status == "planned"


def test_a_lost_evening_is_brought_back(strip: EveningStrip, host: TestHost) -> None:
    strip.view.go_to(dt.date(2027, 1, 28))
    start = host.project
    assert strip.do("lost")
    assert strip.do("on")
    assert host.project == start


def test_a_day_off_is_brought_back(strip: EveningStrip, host: TestHost) -> None:
    strip.view.go_to(dt.date(2027, 2, 4))
    column = strip.view.current_column
    assert column is not None
    assert (column.status, column.why) == ("off", "work trip")
    assert strip.do("on")
    column = strip.view.current_column
    assert column is not None
    assert column.status in ("planned", "buffer")


def test_a_maybe_evening_is_made_sure(strip: EveningStrip, host: TestHost) -> None:
    strip.view.go_to(dt.date(2027, 2, 6))
    odds = host.forecast.gate("lock").odds
    assert strip.do("sure")
    column = strip.view.current_column
    assert column is not None
    assert column.chance == 0.9
    assert host.forecast.gate("lock").odds > odds


def test_longer_and_shorter(strip: EveningStrip, host: TestHost) -> None:
    strip.view.go_to(dt.date(2027, 1, 28))
    assert strip.do("longer")
    assert strip.view.current_column is not None
    assert strip.view.current_column.hours == 3.0
    assert strip.do("shorter")
    assert strip.do("shorter")
    assert strip.view.current_column.hours == 2.0


def test_an_evening_without_an_entry_is_logged_as_missed(strip: EveningStrip, host: TestHost) -> None:
    strip.view.go_to(dt.date(2027, 1, 21))
    assert keys(strip)[:2] == ["missed", "log"]
    assert strip.do("log")
    assert host.logged == [dt.date(2027, 1, 21)]
    assert strip.do("missed")
    assert host.project.log_by_date[dt.date(2027, 1, 21)].happened is False
    assert strip.do("forget")
    assert dt.date(2027, 1, 21) not in host.project.log_by_date


def test_work_is_done_earlier_and_later_in_the_artists_order(strip: EveningStrip, host: TestHost) -> None:
    at = next(n for n, c in enumerate(strip.view.data.columns) for b in c.blocks if b.item == "ropes")
    block = [b.item for b in strip.view.data.columns[at].blocks].index("ropes")
    strip.view.set_current(at, block)
    start = host.project
    assert not strip.do("later")
    assert strip.do("earlier")
    order = [i.id for i in host.project.stages_by_id["set"].items]
    assert order == ["set-porch", "ropes", "far-roofs"]
    host.undo()
    assert host.project == start
    strip.view.set_current(at, block)
    assert strip.do("stage-earlier")
    assert [s.id for s in host.project.stages].index("set") == 2
    host.undo()
    assert host.project == start


def test_an_evening_is_added_through_the_dialog(qtbot: QtBot, strip: EveningStrip, host: TestHost) -> None:
    strip.do("add")
    assert strip.dialog is not None
    assert strip.dialog.date not in {c.date for c in strip.view.data.columns if c.status != "off"}
    fill(strip.dialog, dt.date(2027, 1, 31), dt.time(10), 5.0, sure=False)
    strip.dialog.accept()
    added = host.project.extra[-1]
    assert (added.on, added.start, added.hours, added.chance) == (dt.date(2027, 1, 31), dt.time(10), 5.0, 0.5)
    assert date_of(strip) == dt.date(2027, 1, 31)
    assert strip.do("remove")
    assert host.project.extra == ()


def test_a_refused_change_is_said_and_changes_nothing(strip: EveningStrip, host: TestHost) -> None:
    start = host.project
    strip.do("add")
    assert strip.dialog is not None
    # this evening would run into the one of the pattern, a day later
    fill(strip.dialog, dt.date(2027, 1, 27), dt.time(21), 24.0)
    strip.dialog.accept()
    assert host.project == start
    assert len(host.said) == 1


@pytest.mark.parametrize("key", [Qt.Key.Key_Menu, Qt.Key.Key_F10])
def test_the_menu_opens_by_key(qtbot: QtBot, strip: EveningStrip, host: TestHost, key: Qt.Key) -> None:
    strip.view.go_to(dt.date(2027, 1, 28))
    shift = Qt.KeyboardModifier.ShiftModifier if key == Qt.Key.Key_F10 else Qt.KeyboardModifier.NoModifier
    qtbot.keyClick(strip.view, key, shift)
    assert strip.menu is not None
    shown = {str(a.data()): a for a in strip.menu.actions() if a.data()}
    assert {"sure", "maybe", "lost", "off", "longer", "shorter", "add"} <= set(shown)
    assert not shown["sure"].isEnabled()
    assert shown["sure"].toolTip()
    shown["lost"].trigger()
    strip.menu.close()
    assert host.label == "Thu 28 Jan is lost"


def test_the_pointer_selects_and_explains(qtbot: QtBot, strip: EveningStrip) -> None:
    layout = strip.view.layout_
    n = strip.view.data.find(dt.date(2027, 1, 30))
    assert n is not None
    box = layout.blocks(n)[0]
    x0 = strip.view.horizontalScrollBar().value()
    place = QPoint(int(box.middle - x0), int(box.y + box.h / 2))
    qtbot.mouseClick(strip.view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert strip.view.current == (n, 0)
    text, _ = strip.view.tip_at(QPointF(place))
    assert text.splitlines()[0] == "Saturday 30 Jan 2027"
    assert "A maybe evening that the plan needs" in text
    flag = layout.flags[0]
    text, _ = strip.view.tip_at(QPointF(flag.middle - x0, flag.y + 3))
    assert text.startswith("Personal lock\nSun 14 Feb 2027")
    job = layout.jobs[0].bar
    text, _ = strip.view.tip_at(QPointF(job.middle - x0, job.y + 1))
    assert "needs no evening" in text
    assert strip.view.tip_at(QPointF(-5, -5))[0] == ""


def test_the_table_twin_equals_the_plan(strip: EveningStrip, host: TestHost) -> None:
    model = strip.model
    rows = [[model.index(r, c).data() for c in range(model.columnCount())] for r in range(model.rowCount())]
    by_date = {row[0]: row for row in rows}
    for evening in host.plan.evenings:
        row = by_date[words.day(evening.date, year=True)]
        assert row[1] == f"{evening.start:%H:%M}"
        assert row[2] == words.hours(evening.hours)
        assert row[3] == words.chance(evening.chance)
        assert (words.STATUS_WORDS[evening.status] in row[4]) or (evening.status == "planned" and "free" in row[4])
        for work in evening.work:
            assert f"{host.project.items[work.item].name}, {words.exact_hours(work.hours)}" in row[5]
    assert all(isinstance(cell, str) for row in rows for cell in row)
    assert [row[0] for row in rows] == [words.day(c.date, year=True) for c in strip.view.data.columns]


def test_strip_and_table_keep_the_same_place(qtbot: QtBot, strip: EveningStrip) -> None:
    strip.view.go_to(dt.date(2027, 2, 9))
    strip.as_table.click()
    assert strip.table.isVisible()
    assert strip.table.currentIndex().siblingAtColumn(0).data() == "Tue 9 Feb 2027"
    qtbot.keyClick(strip.table, Qt.Key.Key_Down)
    assert date_of(strip) == dt.date(2027, 2, 11)
    assert "Thursday 11 Feb" in strip.where.text()
    strip.as_table.click()
    assert strip.view.isVisible()
    assert date_of(strip) == dt.date(2027, 2, 11)


def test_the_table_has_the_same_menu(qtbot: QtBot, strip: EveningStrip, host: TestHost) -> None:
    strip.as_table.click()
    strip.table.setFocus()
    strip.view.go_to(dt.date(2027, 1, 28))
    qtbot.keyClick(strip.table, Qt.Key.Key_F10, Qt.KeyboardModifier.ShiftModifier)
    assert strip.menu is not None
    next(a for a in strip.menu.actions() if a.data() == "maybe").trigger()
    strip.menu.close()
    assert host.label == "Thu 28 Jan is maybe"


def test_every_control_has_a_name(strip: EveningStrip) -> None:
    for widget in (strip, strip.view, strip.table, strip.where, strip.key, strip.add, strip.out, strip.into, strip.fit):
        assert widget.accessibleName()
    header = [strip.model.headerData(c, Qt.Orientation.Horizontal) for c in range(strip.model.columnCount())]
    assert header == ["Evening", "Start", "Hours", "Chance", "State", "Work"]


def test_letters_read_on_every_stage_colour() -> None:
    """WCAG 2.2, 1.4.3: text has at least 4.5:1."""
    for colour in STAGE_COLOURS:
        fill = QColor(colour)
        assert contrast(fill, ink_on(fill)) >= 4.5


def test_states_differ_without_colour(strip: EveningStrip) -> None:
    """Painted in greys only, a sure, a maybe, a lost and a buffer evening are four different pictures."""
    grey = [QColor(v, v, v) for v in (30, 45, 240, 170, 60, 220, 220, 220, 220)]
    strip.view.set_inks(Inks(*grey, strip.view.inks.stages))
    image = QImage(strip.view.viewport().size(), QImage.Format.Format_RGB32)
    strip.view.viewport().render(image)
    layout, x0 = strip.view.layout_, strip.view.horizontalScrollBar().value()
    looks = set()
    for on in (dt.date(2027, 1, 16), dt.date(2027, 1, 21), dt.date(2027, 2, 6), dt.date(2027, 1, 30)):
        n = strip.view.data.find(on)
        assert n is not None
        bar = layout.bar(n)
        column = [image.pixel(int(bar.x - x0), y) for y in range(int(bar.y) + 4, int(layout.floor) - 4)]
        middle = [image.pixel(int(bar.middle - x0) + 3, y) for y in range(int(bar.y) + 4, int(layout.floor) - 4)]
        looks.add((tuple(column), tuple(middle)))
    assert len(looks) == 4
