# SPDX-License-Identifier: GPL-3.0-or-later
"""The Tonight page: clock, lines, replacing a tick, refusals, what stays while odds come (common practice)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from plan_page_project import AS_OF, project
from PySide6.QtCore import QDate, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from nightplan.desk.pages.tonight_page import TonightPage
from nightplan.desk.widgets import tonight_tick
from nightplan.desk.window import MainWindow
from nightplan.evenings.dated import calendar

Settle = Callable[[MainWindow], None]


class Evening:
    """A window on the Tonight page."""

    def __init__(self, window: MainWindow, page: TonightPage) -> None:
        self.window, self.page, self.document = window, page, window.document

    def line(self, item: str) -> tonight_tick.Line:
        return next(line for line in self.page.tick_card.lines if line.item == item)


@pytest.fixture
def evening(make_window: MakeWindow, services: FakeServices, settle: Settle) -> Iterator[Evening]:
    services.go_to_day(AS_OF)
    window = make_window(project())
    settle(window)
    window.go_to("tonight")
    page = window.pages["tonight"]
    assert isinstance(page, TonightPage)
    yield Evening(window, page)
    settle(window)


def test_it_says_what_to_do_how_long_and_why(evening: Evening) -> None:
    page = evening.page
    assert page.when.text() == "Tonight, Tue 26 Jan · 20:30 to 23:00 · 2.5 h"
    assert page.what_card.first.text() == "Animate: Blocking pass"
    assert "Likely" in page.what_card.first_why.text()
    assert "waits for it" in page.what_card.first_why.text() or "wait for it" in page.what_card.first_why.text()
    assert page.around_card.last.text() == "Sat 23 Jan, 4.0 h: Lantern rig (done), Blocking pass (2.5 h)"
    assert page.around_card.coming.text().startswith("Thu 28 Jan: ")
    assert page.what_card.then.text() == "If there is time: Porch (0.8 h)"


@pytest.mark.parametrize("typed", ["2.75", "2,75"])
def test_hours_take_a_comma_and_a_point_alike(evening: Evening, typed: str) -> None:
    hours = evening.page.tick_card.hours
    hours.setFocus()
    hours.selectAll()
    QTest.keyClicks(hours, typed)
    assert hours.value() == 2.75


def test_done_and_needs_more_exclude_each_other_and_show_more_than_a_colour(evening: Evening) -> None:
    line = evening.line("block")
    line.done.click()
    assert line.done.text() == "✓ done"
    width = line.done.width()
    line.more.click()
    assert (line.done.isChecked(), line.more.isChecked()) == (False, True)
    assert (line.done.text(), line.more.text()) == ("done", "✓ needs more")
    assert line.done.width() == width
    assert line.left_box.isVisibleTo(evening.page)


def test_done_left_and_note_are_in_the_log(evening: Evening) -> None:
    page = evening.page
    evening.line("block").done.click()
    porch = evening.line("set-porch")
    porch.more.click()
    porch.left.setValue(2.5)
    page.tick_card.note.setPlainText("  Weight shift reads now. ")
    page.tick_card.tick_button.click()
    entry = evening.document.project.log_by_date[AS_OF]
    work = {w.item: w for w in entry.work}
    assert work["block"].done
    assert work["set-porch"].left is not None
    assert work["set-porch"].left.likely == 2.5
    assert entry.note == "Weight shift reads now."
    assert evening.document.project.items["block"].state == "done"
    assert page.tick_card.note.toPlainText() == ""
    assert page.date == dt.date(2027, 1, 28), "the page goes on to the next evening"


def test_typed_hours_stay_while_the_odds_come(evening: Evening, settle: Settle) -> None:
    evening.line("block").hours.setValue(1.0)
    evening.line("block").done.click()
    evening.document.worker.ask(evening.document.project, evening.document.as_of)
    settle(evening.window)
    evening.page.show_forecast(evening.document.forecast, evening.document.plan, True)
    assert evening.line("block").hours.value() == 1.0
    assert evening.line("block").done.isChecked()


def test_hours_of_lines_above_the_evening_lengthen_it(evening: Evening) -> None:
    evening.line("block").hours.setValue(4.0)
    total = sum(line.hours.value() for line in evening.page.tick_card.lines if line.item)
    assert evening.page.tick_card.hours.value() == pytest.approx(total)
    evening.page.tick_card.tick_button.click()
    assert evening.document.project.log_by_date[AS_OF].hours == pytest.approx(4.8, abs=0.05)


def test_a_tick_of_a_logged_evening_says_so_and_takes_its_place(evening: Evening, settle: Settle) -> None:
    page = evening.page
    assert not page.tick_card.notice.isVisibleTo(page)
    page.picker.setDate(QDate(2027, 1, 23))
    assert "ticked off already" in page.tick_card.notice.text()
    assert page.tick_card.notice.isVisibleTo(page)
    before = evening.document.project
    page.tick_card.hours.setValue(1.0)
    page.tick_card.tick_button.click()
    after = evening.document.project
    assert len(after.log) == len(before.log)
    assert after.log_by_date[dt.date(2027, 1, 23)].hours == 1.0
    assert after.items["rig-lantern"].state == "open", "what the old entry had finished is open again"
    settle(evening.window)
    evening.document.undo()
    assert evening.document.project == before


def test_a_day_without_an_evening_is_logged_as_an_extra_one(evening: Evening) -> None:
    page = evening.page
    page.picker.setDate(QDate(2027, 1, 27))
    assert "extra" in page.tick_card.notice.text()
    page.tick_card.hours.setValue(1.5)
    page.tick_card.tick_button.click()
    assert evening.document.project.log_by_date[dt.date(2027, 1, 27)].hours == 1.5


def test_what_is_refused_is_said_and_nothing_changes(evening: Evening) -> None:
    """Nothing open is left, and hours without work: the refusal stands on the page."""
    page = evening.page
    before = evening.document.project
    page.tick_card.hours.setValue(0.0)
    evening.page.date = dt.date(2026, 12, 1)
    page.tick_off()
    assert evening.document.project is before
    assert "announcement" in page.tick_card.error.text()
    assert page.tick_card.error.isVisibleTo(page)


def test_the_clock_fills_the_hours(
    evening: Evening, services: FakeServices, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    page = evening.page

    class StillClock:
        """A clock that has run for an hour and 20 minutes as soon as it is started."""

        def __init__(self) -> None:
            self.running = False

        def start(self) -> None:
            self.running = True

        def invalidate(self) -> None:
            self.running = False

        def isValid(self) -> bool:
            return self.running

        def elapsed(self) -> int:
            return 80 * 60 * 1000

    monkeypatch.setattr(page.clock, "_clock", StillClock())
    qtbot.mouseClick(page.clock.button, Qt.MouseButton.LeftButton)
    assert page.clock.label.text() == "1:20:00"
    # after midnight it is still this evening
    services.go_to_day(AS_OF + dt.timedelta(days=1))
    evening.document.look_at_day()
    assert page.date == AS_OF
    assert page.clock.button.text().replace("&", "") == "Stop the clock"
    page.clock.button.click()
    assert page.tick_card.hours.value() == pytest.approx(4 / 3, abs=0.01)
    assert "1.3 h by the clock" in page.clock.label.text()
    page.clock.button.click()
    page.tick_off()
    assert evening.document.project.log_by_date[AS_OF].hours == pytest.approx(8 / 3, abs=0.01)
    assert page.clock.button.accessibleName() == "Start the clock"


def test_a_missed_evening_is_one_key(evening: Evening) -> None:
    evening.page.tick_card.missed_button.click()
    entry = evening.document.project.log_by_date[AS_OF]
    assert not entry.happened
    assert evening.window.menus.undo_action.text() == "&Undo: Missed Tue 26 Jan"
    evening.window.menus.undo_action.trigger()
    assert evening.document.project.log_by_date.get(AS_OF) is None
    assert evening.window.statusBar().currentMessage() == "Taken back: Missed Tue 26 Jan."
    evening.window.menus.redo_action.trigger()
    assert evening.window.statusBar().currentMessage() == "Done again: Missed Tue 26 Jan."


def test_an_evening_that_changes_the_odds_says_what_moved_them(evening: Evening, settle: Settle, qtbot: QtBot) -> None:
    evening.line("block").done.click()
    evening.page.tick_card.tick_button.click()
    settle(evening.window)
    qtbot.waitUntil(lambda: evening.page._ticked is None, timeout=20_000)
    assert "Blocking pass is done, " in evening.page.after_card.moved.text()
    assert " its likely time" in evening.page.after_card.moved.text()
    assert evening.page.after_card.odds.isVisibleTo(evening.page)


def test_a_piece_that_is_over_is_looked_back_on(
    make_window: MakeWindow, settle: Settle, services: FakeServices
) -> None:
    services.go_to_day(AS_OF)
    whole = project()
    window = make_window(whole)
    settle(window)
    window.go_to("tonight")
    page = window.pages["tonight"]
    assert not page.over.isVisibleTo(window)
    last = max(g.date for g in calendar(whole).gates)
    window.document.set_as_of(last + dt.timedelta(days=1))
    window.show_document()
    settle(window)
    assert "over" in page.over.words.text()
    page.over.button.click()
    assert window.pages["look-back"].isVisible()
