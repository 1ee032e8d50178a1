# SPDX-License-Identifier: GPL-3.0-or-later
"""A project from announcement day to the file, by keyboard, end to end. Common practice, no source but where named."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_keys import CTRL, SHIFT, Hands, Key, wake
from plan_page_project import AS_OF, project
from pytestqt.qtbot import QtBot

from nightplan.desk.pages.tonight_page import TonightPage
from nightplan.desk.window import MainWindow
from nightplan.files.store import load, save

Settle = Callable[[MainWindow], None]
ANNOUNCED = dt.date(2027, 3, 1)


def set_up(qtbot: QtBot, window: MainWindow, hands: Hands) -> None:
    """The guided start with nothing but keys: title, deadline, Return."""
    wake(qtbot, window)
    hands.press(Key.Key_N, CTRL)
    guide = window.wizard
    qtbot.waitUntil(guide.title.hasFocus)
    hands.type("Kite over the Marsh")
    hands.tab_to(guide.dates.deadline)
    hands.type("30 Apr, 11:59 pm PT")
    for step in range(1, 4):
        hands.press(Key.Key_Return)
        assert guide.step == step, guide.error.text()
    qtbot.waitUntil(lambda: "futures" in guide.verdict.text(), timeout=20_000)
    hands.press(Key.Key_Return)
    assert window.document.is_open


def test_set_up_edit_tick_undo_all_redo_all_save_reopen_same_file(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle, tmp_path: Path
) -> None:
    services.go_to_day(ANNOUNCED)
    window, hands = make_window(), Hands(qtbot)
    set_up(qtbot, window, hands)
    settle(window)
    document = window.document
    seen = [document.project]
    assert document.project.title == "Kite over the Marsh"
    assert document.project.gates_by_id["deadline"].zone == "America/Los_Angeles"

    def step() -> None:
        settle(window)
        assert document.project != seen[-1]
        seen.append(document.project)

    # edit: the settings, by keyboard
    hands.press(Key.Key_Comma, CTRL)
    qtbot.waitUntil(window.settings_dialog.title.hasFocus)
    hands.type("Kite over the Salt Marsh")
    hands.press(Key.Key_Return)
    step()
    assert document.project.title == "Kite over the Salt Marsh"
    # accept, tick the first evening, miss the next
    hands.press(Key.Key_B, CTRL)
    step()
    first = next(e.date for e in document.plan.evenings if e.status == "planned")  # type: ignore[union-attr]
    services.go_to_day(first)
    document.set_as_of(None)
    settle(window)
    hands.press(Key.Key_2, CTRL)
    hands.press(Key.Key_Return, CTRL)
    step()
    assert [e.evening for e in document.project.log] == [first]
    page = window.pages["tonight"]
    assert isinstance(page, TonightPage)
    qtbot.waitUntil(lambda: any(f.moment == "after" for f in document.project.forecasts), timeout=20_000)
    seen[-1] = document.project
    hands.press(Key.Key_M, CTRL | SHIFT)
    qtbot.waitUntil(lambda: len(document.project.log) == 2)
    settle(window)
    qtbot.waitUntil(lambda: page._ticked is None, timeout=20_000)
    seen.append(document.project)
    assert [e.happened for e in document.project.log] == [True, False]

    labels = []
    for wanted in reversed(seen[:-1]):
        labels.append(window.menus.undo_action.text())
        hands.press(Key.Key_Z, CTRL)
        assert document.project == wanted, labels
    assert not window.menus.undo_action.isEnabled()
    assert all(": " in label for label in labels), "every step has a name that can be read"
    for wanted in seen[1:]:
        hands.press(Key.Key_Z, CTRL | SHIFT)
        assert document.project == wanted
    assert not window.menus.redo_action.isEnabled()

    path = tmp_path / "kite.nightplan"
    hands.press(Key.Key_S, CTRL)
    services.choose(path)
    assert not window.isWindowModified()
    assert load(path) == document.project
    again = make_window(path)
    assert again.document.project == document.project
    assert not again.isWindowModified()
    written = path.read_bytes()
    save(again.document.project, path)
    assert path.read_bytes() == written
    settle(again)


def test_announcement_day_takes_less_than_three_minutes_of_typing(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle
) -> None:
    """Keys and thoughts by the keystroke-level model (Card, Moran, Newell 1980), at its slowest typist."""
    services.go_to_day(ANNOUNCED)
    window, hands = make_window(), Hands(qtbot)
    set_up(qtbot, window, hands)
    settle(window)
    assert hands.seconds < 180
    assert window.current == "plan"
    assert window.document.plan is not None
    assert any(e.work for e in window.document.plan.evenings)


def test_an_evening_is_ticked_off_in_one_action_and_the_odds_tell_why(
    qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle
) -> None:
    """At most three actions and ten seconds (keystroke-level model): the hours are filled in, Ctrl+Return is enough."""
    services.go_to_day(AS_OF)
    window = make_window(project())
    settle(window)
    wake(qtbot, window)
    window.go_to("tonight")
    page = window.pages["tonight"]
    assert isinstance(page, TonightPage)
    hands = Hands(qtbot)
    wanted = page.tick_card.hours.value()
    assert wanted == 2.5
    hands.press(Key.Key_Return, CTRL)
    assert hands.actions <= 3
    assert hands.seconds < 10
    entry = window.document.project.log_by_date[AS_OF]
    assert entry.hours == wanted
    assert next(w.item for w in entry.work) == "block"
    assert sum(w.hours for w in entry.work) == wanted
    settle(window)
    qtbot.waitUntil(lambda: page._ticked is None, timeout=20_000)
    told = page.after_card.odds.text()
    assert "Personal lock:" in told
    assert "Hand-in:" in told
    assert told.count(" in 100 → ") == 2
    assert "buffer before the lock" in page.after_card.moved.text()
    moments = [(f.as_of, f.moment) for f in window.document.project.forecasts]
    assert moments == [(AS_OF, "before"), (AS_OF, "after")]
    assert window.menus.undo_action.text() == "&Undo: Tick off Tue 26 Jan"
    window.document.undo()
    assert window.document.project == project()
    assert not window.document.project.log_by_date.get(AS_OF)
    settle(window)
