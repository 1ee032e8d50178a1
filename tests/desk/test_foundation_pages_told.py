# SPDX-License-Identifier: GPL-3.0-or-later
"""Who is told what, and how often: the page in sight at once, the others later. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from pytestqt.qtbot import QtBot

from nightplan.actions import edit
from nightplan.desk.pages import Page
from nightplan.desk.window import MainWindow

Make = Callable[..., MainWindow]
Settle = Callable[[MainWindow], None]


def told(page: Page, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What a page is told from now on."""
    heard: list[str] = []
    for name in ("show_project", "take_completed", "show_forecast"):
        was = getattr(page, name)

        def hear(*told: object, name: str = name, was: Callable[..., None] = was) -> None:
            heard.append(name)
            was(*told)

        monkeypatch.setattr(page, name, hear)
    return heard


def all_told(window: MainWindow) -> Callable[[], bool]:
    return lambda: window.stack.all_told


def test_a_tick_draws_the_page_in_sight_once_for_each_answer_and_the_others_once(
    window: MainWindow, settle: Settle, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    settle(window)
    window.go_to("tonight")
    qtbot.waitUntil(all_told(window), timeout=30_000)
    plan = told(window.pages["plan"], monkeypatch)
    tonight = told(window.pages["tonight"], monkeypatch)
    window.pages["tonight"].tick_off()  # type: ignore[attr-defined]
    assert plan == []
    settle(window)
    # the change, the first odds, what all futures add to the tick, and their odds
    assert tonight == ["show_project", "show_forecast", "take_completed", "show_forecast"]
    qtbot.waitUntil(all_told(window), timeout=30_000)
    assert plan == ["show_project", "show_forecast"]
    assert [f.moment for f in window.document.project.forecasts][-1] == "after"


def test_a_page_that_comes_into_sight_shows_the_project_as_it_is(window: MainWindow, settle: Settle) -> None:
    settle(window)
    window.go_to("tonight")
    window.document.apply("Rename", edit.change_item(window.document.project, "spline", name="Another name"))
    assert not window.stack.all_told
    window.go_to("plan")
    assert window.stack.all_told
    model = window.pages["plan"].table.model  # type: ignore[attr-defined]
    stages = [model.index(n, 0) for n in range(model.rowCount())]
    names = [str(model.index(n, 0, stage).data()) for stage in stages for n in range(model.rowCount(stage))]
    assert [name for name in names if "Another name" in name]


def test_what_a_tick_stores_is_part_of_its_step(window: MainWindow, settle: Settle, qtbot: QtBot) -> None:
    settle(window)
    document = window.document
    before, place = document.project, document.history.place  # type: ignore[union-attr]
    window.go_to("tonight")
    heard: list[str] = []
    document.project_changed.connect(lambda _p: heard.append("project"))
    document.odds_changed.connect(lambda a: heard.append("all odds" if a.whole else "first odds"))
    window.pages["tonight"].tick_off()  # type: ignore[attr-defined]
    settle(window)
    assert heard == ["project", "first odds", "all odds"]
    assert document.history.place == place + 1  # type: ignore[union-attr]
    assert document.fresh
    after = document.project
    assert len(after.forecasts) > len(before.forecasts)
    assert window.pages["tonight"].project is after  # type: ignore[attr-defined]
    document.undo()
    assert document.project is before
    document.redo()
    assert document.project is after


def test_a_step_over_a_tick_that_waits_for_its_odds_is_not_given_them(
    window: MainWindow, settle: Settle, qtbot: QtBot
) -> None:
    settle(window)
    window.go_to("tonight")
    window.pages["tonight"].tick_off()  # type: ignore[attr-defined]
    count = len(window.document.project.forecasts)
    window.document.apply("Rename", edit.change_item(window.document.project, "spline", name="Another name"))
    settle(window)
    assert len(window.document.project.forecasts) == count
    assert window.document.project.items["spline"].name == "Another name"
