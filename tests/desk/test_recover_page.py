# SPDX-License-Identifier: GPL-3.0-or-later
"""The Ways back page over a real window: offers, moves, ticks, the step, pins, warnings. Common practice, no source."""

from __future__ import annotations

import functools
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from nightplan.actions.recover import replans
from nightplan.actions.tick import Evening, tick
from nightplan.desk.pages import recover_page
from nightplan.desk.pages.recover_page import RecoverPage
from nightplan.desk.theme import LIGHT, NIGHT
from nightplan.desk.window import MainWindow
from nightplan.engine.recovery import recover
from nightplan.files.store import load
from nightplan.model.project import Project

SAMPLES = Path(__file__).parents[2] / "sample_projects"
FUTURES = 1500
Made = tuple[MainWindow, RecoverPage]
Open = Callable[..., Made]


def sample(name: str = "moth-and-lantern") -> Project:
    return load(SAMPLES / f"{name}.nightplan")


def look(qtbot: QtBot, page: RecoverPage) -> None:
    qtbot.waitUntil(lambda: page.found is not None and not page.search.busy, timeout=60_000)


def tried(qtbot: QtBot, page: RecoverPage) -> None:
    qtbot.waitUntil(lambda: page.apply_button.isEnabled(), timeout=60_000)


@pytest.fixture
def open_page(qtbot: QtBot, make_window: Any, settle: Any, monkeypatch: pytest.MonkeyPatch) -> Open:
    """A window on Sunday 10 October, on the page, its search done."""
    # fewer futures: what they say is held elsewhere
    monkeypatch.setattr(recover_page, "recover", functools.partial(recover, futures=FUTURES))

    def make(project: Project | None = None, *, wait: bool = True, **how: Any) -> Made:
        window = make_window(sample() if project is None else project, **how)
        settle(window)
        window.go_to("ways-back")
        page = window.pages["ways-back"]
        assert isinstance(page, RecoverPage)
        if wait:
            look(qtbot, page)
        return window, page

    return make


def test_odds_below_the_asked_ones_are_said_and_answered(open_page: Open) -> None:
    _window, page = open_page()
    assert page.head.text() == "Personal lock stands at 72 in 100; you asked for 80 in 100."
    assert page.best.head.text() == "The cheapest way to 80 in 100"
    assert page.reason.text() == "Personal lock stands at 72 in 100; you asked for 80 in 100"


def test_an_item_past_its_likely_time_and_a_lost_evening_are_reasons(open_page: Open) -> None:
    start = sample()
    over = tick(start, Evening(start.announced.replace(month=10, day=10), 5.0, {"spline": 5.0}))
    lost = tick(over, Evening(start.announced.replace(month=10, day=12), missed=True))
    window, page = open_page(lost)
    assert window.document.as_of.day == 12
    assert "Splining pass is past its likely 3.5 h" in page.head.text()
    assert "the evening of Tue 12 Oct was lost" in page.head.text()


def test_nothing_is_urged_where_nothing_calls_for_it(open_page: Open) -> None:
    _window, page = open_page(sample().but(target_odds=0.5))
    assert page.head.text().startswith("Nothing calls for a way back tonight")
    assert page.best.head.text() == "Nothing has to change: 50 in 100 are reached."
    assert not page.best.button.isVisibleTo(page)
    assert page.reason.text() == ""


def test_every_move_shows_odds_for_every_gate_hours_and_their_doubt(open_page: Open) -> None:
    window, page = open_page()
    assert page.found is not None
    for row in page.rows:
        gates = window.document.project.gates
        assert len(row.bars) == len(gates) == 2
        for bar, gate in zip(row.bars, gates, strict=True):
            was, now = row.value.before[gate.id], row.value.odds[gate.id]
            assert bar.label.text().endswith(f"{round(was * 100)} → {round(now * 100)}")
            assert f"{round(was * 100)} in 100 before, {round(now * 100)} in 100 after" in bar.accessibleName()
        assert row.value.move.cost in row.worth.text()
        if abs(row.value.hours_won) >= 0.05:
            assert f"{abs(row.value.hours_won):.1f}" in row.worth.text()
        if row.value.hours_error * 1.96 >= 0.05 and row.value.hours_won > 0.05:
            assert f"± {row.value.hours_error * 1.96:.1f} h won" in row.worth.text()
    assert any("±" in row.worth.text() for row in page.rows)
    # those of the combination are at the top, all of them can be had
    first = [row.value.move.id for row in page.rows[: len(page.found.combination.moves)]]
    assert set(first) == {m.id for m in page.found.combination.moves}
    page.more_button.click()
    assert {r.value.move.id for r in page.rows} == {v.move.id for v in page.found.moves}


def test_a_combination_ticked_applied_undone(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page()
    assert page.found is not None
    before = window.document.project
    steps = len(window.document.history.steps)  # type: ignore[union-attr]
    page.best.button.click()
    assert {m.id for m in page.chosen()} == {m.id for m in page.found.combination.moves}
    assert not page.apply_button.isEnabled()
    tried(qtbot, page)
    assert page.together.text().startswith("Ticked together: lock 72 → ")
    page.reason.setText("the splining fought back")
    page.apply_button.click()
    qtbot.waitUntil(lambda: window.document.project is not before, timeout=60_000)
    after = window.document.project
    assert len(window.document.history.steps) == steps + 1  # type: ignore[union-attr]
    (record,) = replans(after)[len(replans(before)) :]
    assert record.reason == "the splining fought back"
    assert record.old_baseline == before.baselines[-1].model_dump(mode="json")
    assert record.new_baseline == after.baselines[-1].model_dump(mode="json")
    assert record.odds_before["lock"] < before.target_odds <= record.odds_after["lock"]
    look(qtbot, page)
    assert page.chosen() == ()
    assert page.history.isVisibleTo(page)
    assert "the splining fought back." in page.history.lines.text()
    assert window.menus.undo_action.text() == "&Undo: Re-plan"
    window.document.undo()
    assert window.document.project == before
    look(qtbot, page)
    assert not page.history.isVisibleTo(page)


def test_moves_that_exclude_each_other_cannot_both_be_ticked(qtbot: QtBot, open_page: Open) -> None:
    _window, page = open_page()
    page.more_button.click()
    row = next(r for r in page.rows if r.value.move.forbids)
    row.box.click()
    others = [r for r in page.rows if r.value.move.id in row.value.move.forbids]
    assert others
    assert not any(r.box.isEnabled() for r in others)
    row.box.click()
    assert all(r.box.isEnabled() for r in page.rows)
    assert page.together.text().startswith("Tick moves")
    assert not page.preview_button.isEnabled()


def test_side_by_side_shows_today_and_after(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page()
    page.best.button.click()
    tried(qtbot, page)
    page.preview_button.click()
    assert page.side_by_side.isVisible()
    assert page.side_by_side.words.text() == page.together.text()
    today, after = page.preview.strips

    def hours(strip: Any) -> float:
        return sum(b.hours for c in strip.data.columns for b in c.blocks)

    assert hours(after) < hours(today)
    assert page.preview.charts[0]._host.project is window.document.project
    assert page.preview.charts[1]._host.project is not window.document.project
    # both show the same chart
    page.preview.charts[0].buttons["buffer"].click()
    assert [c.view for c in page.preview.charts] == ["buffer", "buffer"]
    # what is ticked changes: the comparison goes with it
    page.rows[0].box.setChecked(False)
    assert not page.side_by_side.isVisible()
    assert not page.preview_button.isChecked()


def test_pinned_work_is_never_offered_again(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page()
    row = next(r for r in page.rows if r.pin_button is not None and "set-roofs" in r.value.move.touches)
    row.pin_button.click()
    assert window.document.project.items["set-roofs"].pinned
    look(qtbot, page)
    page.more_button.click()
    assert page.found is not None
    assert not any("set-roofs" in v.move.touches for v in page.found.moves)
    window.document.undo()
    look(qtbot, page)
    assert any("set-roofs" in v.move.touches for v in page.found.moves)


def test_a_warning_has_reason_and_remedy_and_can_be_silenced(qtbot: QtBot, open_page: Open, services: Any) -> None:
    heron = sample("clockwork-heron")
    services.go_to_day(max(e.evening for e in heron.log))
    window, page = open_page(heron)
    kinds = {n.warning.kind for n in page.watch.notices}
    notice = next(n for n in page.watch.notices if n.warning.kind == "buffer")
    assert notice.warning.reason in notice.reason.text()
    assert notice.remedy.text() == "Choose a way back now, so that it is ready."
    notice.quiet.click()
    assert window.document.project.silenced == ("buffer",)
    qtbot.waitUntil(lambda: {n.warning.kind for n in page.watch.notices} == kinds - {"buffer"}, timeout=30_000)
    look(qtbot, page)
    window.document.undo()
    qtbot.waitUntil(lambda: {n.warning.kind for n in page.watch.notices} == kinds, timeout=30_000)
    look(qtbot, page)


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Any:
    """A search that tells half of its way and then goes on until it is called off, or let go."""
    monkeypatch.undo()
    go_on, begun = threading.Event(), threading.Event()

    def search(project: Project, as_of: Any, *, progress: Any) -> Any:
        progress(0.5)
        begun.set()
        while not go_on.wait(0.005):
            progress(0.5)
        return recover(project, as_of, futures=200)

    monkeypatch.setattr(recover_page, "recover", search)
    yield begun, go_on
    go_on.set()


def test_progress_stop_and_again(qtbot: QtBot, open_page: Open, slow: Any) -> None:
    _begun, go_on = slow
    window, page = open_page(wait=False)
    qtbot.waitUntil(lambda: page.working.part.bar.value() == 50, timeout=30_000)
    assert page.working.part.stop_button.isVisibleTo(page)
    page.working.part.stop_button.click()
    assert not page.search.busy
    assert page.found is None
    assert page.working.stopped.isVisibleTo(page)
    assert not page.working.part.isVisibleTo(page)
    # it stays stopped until it is asked
    window.go_to("plan")
    window.go_to("ways-back")
    assert not page.search.busy
    go_on.set()
    page.working.again_button.click()
    look(qtbot, page)
    assert not page.working.isVisibleTo(page)
    assert page.rows


def test_a_window_closed_while_it_searches_leaves_nothing(qtbot: QtBot, open_page: Open, slow: Any) -> None:
    begun, _go_on = slow
    window, page = open_page(wait=False)
    qtbot.waitUntil(begun.is_set, timeout=30_000)
    window.setProperty("discard", True)
    window.close()
    # the fixture of every test holds that no thread, timer or window is left
    assert not page.search.busy


def test_a_change_while_it_searches_begins_anew(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page(wait=False)
    changed = window.document.project.but(target_odds=0.6)
    window.document.apply("Ask for less", changed)
    look(qtbot, page)
    assert page.found is not None
    assert page.found.target == 0.6
    assert page._searched == (changed, window.document.as_of)


def test_the_theme_changes_while_it_is_shown(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page(theme="night")
    page.rows[0].box.setChecked(True)
    tried(qtbot, page)
    page.preview_button.click()
    was = page.grab().toImage().pixelColor(page.width() // 2, 2)
    window.themes.choose("light")
    assert page.theme is LIGHT
    assert all(bar.bar.theme is LIGHT for row in page.rows for bar in row.bars)
    assert page.preview.theme is LIGHT
    now = page.grab().toImage().pixelColor(page.width() // 2, 2)
    assert was.lightness() < 80 < 200 < now.lightness()
    # what was ticked and tried stands
    assert [m.id for m in page.chosen()] == [page.rows[0].value.move.id]
    assert page.apply_button.isEnabled()
    window.themes.choose("night")
    assert page.theme is NIGHT


def press(qtbot: QtBot, key: Qt.Key) -> QWidget:
    held = QApplication.focusWidget()
    assert held is not None
    qtbot.keyClick(held, key)
    now = QApplication.focusWidget()
    assert now is not None
    return now


def test_keyboard_alone(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow, timeout=5_000)
    before = window.document.project
    window.go_to("plan")
    window.go_to("ways-back")
    assert QApplication.focusWidget() is page.best.button
    # down the page as it is read: each box in the order of the list
    seen = []
    now = press(qtbot, Qt.Key.Key_Tab)
    while now is not page.reason:
        seen.append(now)
        now = press(qtbot, Qt.Key.Key_Tab)
    assert [w for w in seen if any(w is r.box for r in page.rows)] == [r.box for r in page.rows]
    assert page.more_button in seen
    while QApplication.focusWidget() is not page.rows[1].box:
        press(qtbot, Qt.Key.Key_Backtab)
    press(qtbot, Qt.Key.Key_Space)
    assert page.rows[1].box.isChecked()
    tried(qtbot, page)
    while QApplication.focusWidget() is not page.apply_button:
        press(qtbot, Qt.Key.Key_Tab)
    press(qtbot, Qt.Key.Key_Space)
    qtbot.waitUntil(lambda: window.document.project is not before, timeout=60_000)
    assert replans(window.document.project)
    look(qtbot, page)


@pytest.mark.parametrize(("percent", "size"), [(100, (1000, 700)), (200, (1000, 700)), (200, (1360, 860))])
def test_nothing_is_cut_off(qtbot: QtBot, open_page: Open, percent: int, size: tuple[int, int]) -> None:
    window, page = open_page(percent=percent)
    window.resize(*size)

    def cut_off() -> list[str]:
        found = [r.value.move.what for r in page.rows for b in r.bars if not r.rect().contains(b.geometry())]
        labels = [label for r in page.rows for label in (r.what, r.worth)]
        found += ["the page"] if page.area.horizontalScrollBar().maximum() else []
        return found + [w.text() for w in labels if w.height() < w.heightForWidth(w.width())]

    # the layout comes to rest in a few turns of the event loop
    qtbot.waitUntil(lambda: not cut_off(), timeout=10_000)
    assert page.rows
    assert all(b.height() > b.fontMetrics().height() for r in page.rows for b in r.bars)


def test_plan_and_tonight_offer_the_ways_back(qtbot: QtBot, open_page: Open, settle: Any) -> None:
    window, page = open_page()
    window.go_to("plan")
    plan = window.pages["plan"]
    assert plan.notice.isVisibleTo(plan)
    assert plan.notice.words.text() == "Personal lock stands at 72 in 100; you asked for 80 in 100."
    plan.notice.button.click()
    assert window.current == "ways-back"
    window.go_to("tonight")
    tonight = window.pages["tonight"]
    assert "Personal lock stands at 72 in 100" in tonight.after_card.ways.text()
    tonight.after_card.ways_button.click()
    assert window.current == "ways-back"
    # taken: nobody is told twice
    page.best.button.click()
    tried(qtbot, page)
    page.apply_button.click()
    qtbot.waitUntil(lambda: bool(replans(window.document.project)), timeout=60_000)
    settle(window)
    look(qtbot, page)
    # pages out of sight are told last
    qtbot.waitUntil(lambda: not plan.notice.isVisibleTo(plan), timeout=10_000)
    qtbot.waitUntil(lambda: not tonight.after_card.ways_button.isVisibleTo(tonight), timeout=10_000)
    # an evening lost after that is a new reason
    window.document.apply("Missed", tick(window.document.project, Evening(window.document.as_of, missed=True)))
    settle(window)
    qtbot.waitUntil(lambda: "The evening of Sun 10 Oct was lost" in plan.notice.words.text(), timeout=10_000)
    look(qtbot, page)
