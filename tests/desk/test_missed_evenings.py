# SPDX-License-Identifier: GPL-3.0-or-later
"""Evenings that went by without a word: asked for on opening, one key each. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_keys import Hands, Key, wake
from plan_page_project import AS_OF, project
from pytestqt.qtbot import QtBot

from nightplan.actions.today import missed_evenings
from nightplan.desk.missed import MissedEvenings
from nightplan.desk.pages.tonight_page import TonightPage
from nightplan.desk.window import MainWindow
from nightplan.files.store import save

Settle = Callable[[MainWindow], None]
#: by then nobody has said anything of 21, 26, 28 and 30 January
LATER = dt.date(2027, 1, 31)
WAITING = [dt.date(2027, 1, 21), dt.date(2027, 1, 26), dt.date(2027, 1, 28), dt.date(2027, 1, 30)]


def opened(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle, folder: Path, day: dt.date
) -> MainWindow:
    """A file opened on a day, with the dialog on the screen."""
    services.go_to_day(day)
    save(project(), folder / "moth.nightplan")
    window = make_window(folder / "moth.nightplan")
    settle(window)
    qtbot.waitUntil(lambda: hasattr(window, "missed") and window.missed.isVisible())
    wake(qtbot, window.missed)
    return window


def test_each_is_asked_for_on_opening_and_answered_by_one_key(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle, tmp_path: Path
) -> None:
    window = opened(qtbot, make_window, services, settle, tmp_path, LATER)
    assert window.missed.dates == WAITING
    assert "Thu 21 Jan" in window.missed.question.text()
    hands = Hands(qtbot)
    for n, date in enumerate(WAITING, start=1):
        hands.press(Key.Key_M)
        assert not window.document.project.log_by_date[date].happened
        assert hands.keys == n
    settle(window)
    assert missed_evenings(window.document.project, LATER) == ()
    # four steps, four names
    for date in reversed(WAITING):
        assert window.menus.undo_action.text().endswith(f"{date.day} Jan")
        window.document.undo()
    assert not window.document.dirty
    settle(window)


def test_worked_goes_to_the_tonight_page_of_that_date(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle, tmp_path: Path
) -> None:
    window = opened(qtbot, make_window, services, settle, tmp_path, LATER)
    hands = Hands(qtbot)
    hands.press(Key.Key_M)
    hands.press(Key.Key_W)
    page = window.pages["tonight"]
    assert window.current == "tonight"
    assert isinstance(page, TonightPage)
    assert page.date == WAITING[1]
    settle(window)
    assert page.tick_card.hours.value() == 2.5
    page.tick_off()
    assert window.document.project.log_by_date[WAITING[1]].hours == 2.5
    settle(window)


def test_later_leaves_them_and_ctrl_m_asks_again(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle, tmp_path: Path
) -> None:
    window = opened(qtbot, make_window, services, settle, tmp_path, LATER)
    before = window.document.project
    Hands(qtbot).press(Key.Key_L)
    assert window.document.project is before
    window.menus.missed_action.trigger()
    assert window.missed.dates == WAITING
    window.missed.all_button.click()
    assert window.menus.undo_action.text() == "&Undo: Missed 4 evenings"
    assert missed_evenings(window.document.project, LATER) == ()
    window.menus.missed_action.trigger()
    assert "ticked off" in window.statusBar().currentMessage()
    settle(window)


def test_nothing_is_asked_where_all_is_said_nor_of_a_sample(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle, tmp_path: Path
) -> None:
    services.go_to_day(dt.date(2027, 1, 20))
    path = tmp_path / "moth.nightplan"
    whole = project()
    save(whole.but(log=tuple(e for e in whole.log if e.evening < dt.date(2027, 1, 20))), path)
    window = make_window(path)
    settle(window)
    qtbot.waitUntil(lambda: window.work.missed_asked)
    services.go_to_day(dt.date(2031, 1, 1))
    sample = make_window()
    sample.open_sample()
    settle(sample)
    # whatever waits in the event queue has been run by then
    qtbot.waitUntil(lambda: sample.document.fresh)
    for each in (window, sample):
        assert not each.findChildren(MissedEvenings)
    assert sample.document.as_of < dt.date(2031, 1, 1)


def test_on_the_day_itself_it_is_not_missed_yet(services: FakeServices) -> None:
    """design: at as_of, that day's evening is still to come unless logged."""
    assert AS_OF not in missed_evenings(project(), AS_OF)
