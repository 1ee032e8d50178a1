# SPDX-License-Identifier: GPL-3.0-or-later
"""How a window begins and ends, and what it asks. Common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from desk_fakes import FakeServices
from desk_leaks import let_go, valid
from desk_sweep import doubled, nameless, out_of_reach
from plan_page_project import AS_OF, project
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent, QAction
from PySide6.QtWidgets import QMenu
from pytestqt.qtbot import QtBot

from nightplan.actions import edit
from nightplan.desk.pages import PAGES
from nightplan.desk.services import Services
from nightplan.desk.window import MainWindow
from nightplan.engine import forecast as engine
from nightplan.files.store import load, save

Make = Callable[..., MainWindow]
Settle = Callable[[MainWindow], None]


# --- begin ---


def test_help_without_a_project_has_a_way_back(make_window: Make) -> None:
    window = make_window()
    assert window.stack.currentWidget() is window.empty
    window.go_to("help")
    assert window.stack.currentWidget() is window.pages["help"]
    assert window.side.begin_button.isVisible()
    window.side.begin_button.click()
    assert window.stack.currentWidget() is window.empty
    assert window.side.begin_button.isChecked()


def test_a_project_opened_from_help_shows_its_plan(make_window: Make, services: FakeServices, tmp_path: Path) -> None:
    services.go_to_day(AS_OF)
    place = tmp_path / "moth.nightplan"
    save(project(), place)
    window = make_window()
    window.work.missed_asked = True
    window.go_to("help")
    assert window.open_path(str(place))
    assert window.current == "plan"
    assert window.stack.currentWidget() is window.pages["plan"]
    assert not window.side.begin_button.isVisible()


def test_pages_of_a_project_cannot_be_chosen_without_one(make_window: Make) -> None:
    window = make_window()
    enabled = {str(action.data()) for action in window.menus.page_actions if action.isEnabled()}
    assert enabled == {"help"}


# --- end ---


def test_closing_is_asked_once_and_staying_stays(window: MainWindow, services: FakeServices) -> None:
    assert not window.close()
    assert not window.close()
    assert [q.title for q in services.questions] == ["Unsaved changes"]
    services.answer("stay")
    assert window.isVisible()
    assert not window.close()
    assert len(services.questions) == 1


def test_a_save_given_up_while_closing_does_not_close_later(
    window: MainWindow, services: FakeServices, tmp_path: Path
) -> None:
    window.close()
    services.answer("save")
    services.choose(None)
    assert window.isVisible()
    window.save_as()
    services.choose(tmp_path / "moth.nightplan")
    let_go()
    assert valid(window)
    assert window.isVisible()
    assert load(tmp_path / "moth.nightplan") == window.document.project


def test_a_save_that_fails_while_closing_does_not_close_later(
    window: MainWindow, services: FakeServices, tmp_path: Path
) -> None:
    window.close()
    services.answer("save")
    services.choose(tmp_path / "no such folder" / "moth.nightplan")
    assert services.questions[-1].title == "Not saved"
    services.answer("later")
    window.save_as()
    services.choose(tmp_path / "moth.nightplan")
    let_go()
    assert valid(window)
    assert window.isVisible()


def test_saving_while_closing_closes(window: MainWindow, services: FakeServices, tmp_path: Path) -> None:
    window.close()
    services.answer("save")
    services.choose(tmp_path / "moth")
    let_go()
    assert not valid(window)
    assert load(tmp_path / "moth.nightplan").title == "Moth and Lantern"


def test_throwing_away_leaves_nothing_aside(window: MainWindow, services: FakeServices) -> None:
    window.document.keep_recovery()
    window.close()
    services.answer("discard")
    let_go()
    assert not valid(window)
    assert list(services.recovery_folder().glob("*")) == []


# --- between ---


def test_the_odds_of_a_baseline_come_from_all_futures(window: MainWindow, settle: Settle, qtbot: QtBot) -> None:
    settle(window)
    window.document.apply("Change estimate", edit.change_item(window.document.project, "spline", likely=5.0))
    window.work.accept_baseline()
    assert window.document.project.baselines == ()
    qtbot.waitUntil(lambda: len(window.document.project.baselines) == 1, timeout=30_000)
    assert window.menus.undo_action.text() == "&Undo: Accept the plan as baseline"
    assert window.document.project.forecasts[-1].futures == engine.FUTURES


def test_a_baseline_is_accepted_after_the_odds_were_stopped(window: MainWindow, settle: Settle, qtbot: QtBot) -> None:
    settle(window)
    window.document.apply("Change estimate", edit.change_item(window.document.project, "spline", likely=5.0))
    window.status.odds.stop_button.click()
    assert not window.document.worker.busy
    window.work.accept_baseline()
    qtbot.waitUntil(lambda: len(window.document.project.baselines) == 1, timeout=30_000)


def test_an_ampersand_in_a_label_is_an_ampersand(window: MainWindow) -> None:
    window.document.apply("Rename Moth & Lantern", window.document.project.but(title="Other"))
    assert window.menus.undo_action.text() == "&Undo: Rename Moth && Lantern"


def test_a_clash_that_is_on_the_screen_is_not_asked_again(
    window: MainWindow, services: FakeServices, tmp_path: Path
) -> None:
    place = tmp_path / "moth.nightplan"
    window.document.save_as(str(place))
    start = window.document.project
    window.document.apply("Rename item", edit.change_item(start, "cut", name="Mine"))
    for name in ("Theirs", "Theirs, again"):
        save(edit.change_item(start, "cut", name=name), place)
        window.document.look_at_disk()
    assert window.save() is False
    assert [q.title for q in services.questions] == ["The file was changed by another program"]
    services.answer("mine")
    assert window.save() is True
    assert load(place).items["cut"].name == "Mine"


def test_a_fault_of_the_odds_goes_where_faults_go(
    window: MainWindow, settle: Settle, qtbot: QtBot, services: FakeServices, monkeypatch: pytest.MonkeyPatch
) -> None:
    settle(window)

    def break_down(*_args: Any, **_keys: Any) -> Any:
        raise ZeroDivisionError("ours")

    faults: list[BaseException] = []
    monkeypatch.setattr(services, "fault", faults.append)
    with monkeypatch.context() as patch:
        patch.setattr(engine, "forecast", break_down)
        window.document.apply("Rename project", window.document.project.but(title="Other"))
        qtbot.waitUntil(lambda: bool(faults), timeout=30_000)
    assert isinstance(faults[0], ZeroDivisionError)


def test_a_new_day_is_said_and_missed_evenings_are_asked_for(
    window: MainWindow, settle: Settle, services: FakeServices
) -> None:
    settle(window)
    services.go_to_day(AS_OF.replace(day=AS_OF.day + 1))
    window.document.look_at_day()
    assert "A new day" in window.statusBar().currentMessage()
    settle(window)
    assert "Wed 27 Jan" in window.statusBar().currentMessage()


def test_what_is_said_is_read_aloud(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    monkeypatch.setattr(QAccessible, "isActive", lambda: True)
    monkeypatch.setattr(
        QAccessible,
        "updateAccessibility",
        lambda event: read.append(event.message() if isinstance(event, QAccessibleAnnouncementEvent) else ""),
    )
    window.say("Saved moth.nightplan.")
    assert "Saved moth.nightplan." in read


@pytest.mark.parametrize("page", list(PAGES))
def test_every_control_has_a_name_of_its_own_and_tab_comes_to_it(window: MainWindow, settle: Settle, page: str) -> None:
    settle(window)
    window.go_to(page)
    assert (nameless(window), doubled(window), out_of_reach(window)) == ([], [], [])
    assert [b.property("page") for b in window.side.buttons if b.isChecked()] == [page]
    unreached = [b.text() for b in window.side.buttons if not b.focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert unreached == []


def test_a_page_that_is_chosen_again_stays_chosen(window: MainWindow) -> None:
    (on,) = [b for b in window.side.buttons if b.isChecked()]
    on.click()
    assert on.isChecked()
    assert window.current == "plan"


def test_no_shortcut_is_given_twice(window: MainWindow) -> None:
    """Two actions of one key are ambiguous to the toolkit, and neither of them happens."""
    keys: list[str] = []
    for action in window.findChildren(QAction):
        keys += [key.toString() for key in action.shortcuts()]
    assert "Ctrl+W" in keys
    assert sorted(keys) == sorted(set(keys))


def test_every_entry_of_the_menus_has_a_key_of_its_own(window: MainWindow) -> None:
    """The letter after ``&`` is what the keyboard chooses it by."""
    twice = []
    for menu in [window.menuBar(), *window.findChildren(QMenu)]:
        letters = [re.findall(r"&([^&])", action.text().replace("&&", "")) for action in menu.actions()]
        flat = [found[0].lower() for found in letters if found]
        if len(flat) != len(set(flat)):
            twice.append((menu.objectName() or type(menu).__name__, flat))
    assert twice == []


# --- services ---


def test_recent_files_are_few_known_once_and_newest_first(services: FakeServices) -> None:
    Services.add_recent(services, "/a.nightplan")
    # one entry in an INI file reads back as a string, not as a list
    assert services.recent() == ["/a.nightplan"]
    for n in range(12):
        services.add_recent(f"/{n}.nightplan")
    services.add_recent("/9.nightplan")
    assert services.recent()[:3] == ["/9.nightplan", "/11.nightplan", "/10.nightplan"]
    assert len(services.recent()) == 8


def test_a_question_shows_no_markup_and_answers_by_key(qtbot: QtBot) -> None:
    real = Services()
    heard: list[str] = []
    real.ask(None, "Unsaved changes", "<b>Moth</b>", [("save", "&Save"), ("stay", "Stay")], heard.append)
    (box,) = real._open
    assert box.textFormat() is Qt.TextFormat.PlainText  # type: ignore[union-attr]
    qtbot.keyClick(box, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: heard == ["stay"])
    real.ask(None, "Unsaved changes", "Moth", [("save", "&Save"), ("stay", "Stay")], heard.append)
    real._open[0].defaultButton().click()  # type: ignore[union-attr]
    qtbot.waitUntil(lambda: heard == ["stay", "save"])
    real.deleteLater()


def test_a_long_sentence_ends_in_dots_and_is_told_whole(window: MainWindow, qtbot: QtBot) -> None:
    long = "The file was changed by another program; " * 12 + "Undo goes back."
    window.resize(760, 560)
    window.say(long)
    status = window.status
    assert status.currentMessage() == long
    assert status.shown_message().endswith("…")
    assert status.fontMetrics().horizontalAdvance(status.shown_message()) <= status.width()
    assert long in status.toolTip()
    assert status.accessibleDescription() == long
    before = len(status.shown_message())
    window.resize(1300, 560)
    qtbot.waitUntil(lambda: len(status.shown_message()) > before, timeout=10_000)
    window.say("Saved.")
    assert status.shown_message() == "Saved."
