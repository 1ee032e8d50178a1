# SPDX-License-Identifier: GPL-3.0-or-later
"""The Look back page over a real window. Common practice, no source, unless named."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from desk_fakes import FakeServices
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from nightplan.actions.lookback import answers
from nightplan.desk.pages.lookback_page import LookBackPage
from nightplan.desk.theme import LIGHT
from nightplan.desk.window import MainWindow
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

MONDAY = dt.date(2027, 1, 4)


def raw(title: str = "Piece", *, done: bool = True, took: float = 3.0) -> dict[str, Any]:
    """One Rig item of 2 h (3.5 h), done on the second Monday of three, or not begun."""
    state = "done" if done else "open"
    log = [
        {"evening": "2027-01-04", "hours": took - 1, "work": [{"item": "rig", "hours": took - 1}]},
        {"evening": "2027-01-11", "hours": 1, "work": [{"item": "rig", "hours": 1, "done": True}]},
    ]
    odds = [
        {"as_of": "2027-01-04", "moment": "before", "futures": 9, "seed": 1, "odds": {"lock": 0.7, "deadline": 0.8}}
    ]
    return {
        "format": "nightplan",
        "version": 1,
        "title": title,
        "zone": "UTC",
        "announced": "2027-01-04",
        "gates": [
            {"id": "lock", "name": "Lock", "on": "2027-01-18"},
            {"id": "deadline", "name": "Hand-in", "on": "2027-01-25"},
        ],
        "week": [{"day": "mon", "start": "20:00", "hours": 2, "chance": 0.5}],
        "stages": [
            {
                "id": "rig-stage",
                "name": "Rig",
                "items": [{"id": "rig", "name": "Rig", "likely": 2, "high": 3.5, "state": state}],
            }
        ],
        "log": log if done else [],
        "forecasts": odds if done else [],
    }


def fill(folder: Path, count: int = 6) -> Path:
    folder.mkdir(exist_ok=True)
    for n in range(count):
        (folder / f"piece-{n}.nightplan").write_text(json.dumps(raw(f"Piece {n}", took=3.0 + n / 10)))
    return folder


@pytest.fixture
def open_page(
    qtbot: QtBot, make_window: Any, settle: Any, services: FakeServices, tmp_path: Path
) -> Callable[..., tuple[MainWindow, LookBackPage]]:
    def make(project: Project | None = None, *, library: bool = True) -> tuple[MainWindow, LookBackPage]:
        services.go_to_day(MONDAY)
        services.settings().setValue("library", [str(fill(tmp_path / "past"))] if library else [])
        for key in ("ratio", "worth", "spread", "evenings"):
            services.settings().remove(f"library_prior/{key}")
        window = make_window(project or project_from_raw(raw("New", done=False)))
        settle(window)
        window.go_to("look-back")
        page = window.pages["look-back"]
        assert isinstance(page, LookBackPage)
        rest(qtbot, page)
        return window, page

    return make


def rest(qtbot: QtBot, page: LookBackPage) -> None:
    qtbot.waitUntil(lambda: page.answer is not None and not page.work.busy, timeout=20_000)


Open = Callable[..., tuple[MainWindow, LookBackPage]]


def test_the_library_is_read_and_told(open_page: Open, tmp_path: Path) -> None:
    _window, page = open_page()
    assert "6 projects, 6 with finished items" in page.where.text()
    assert page.words["stages"].text().startswith("6 finished items took 19.5 h where 12.0 h were planned.")
    table = page.tables["stages"]
    assert [table.item(r, 0).text() for r in range(table.rowCount())] == ["Rig", "all stages"]  # type: ignore[union-attr]
    assert "12 of 12 maybe evenings happened" in page.words["evenings"].text()
    assert "you made it" in page.words["honesty"].text()
    assert all(p.canvas is not None for p in page.pictures if p.isVisible())
    assert page.index.is_file()


def test_every_part_shows_its_picture(qtbot: QtBot, open_page: Open) -> None:
    _window, page = open_page()
    for part in ("stages", "evenings", "honesty", "apply", "end"):
        page.show_part(part)
        QApplication.processEvents()
        assert page.part == part
        page.grab()
    assert all(p.canvas is not None and p.figure.axes for p in page.pictures)
    page.set_theme(LIGHT)
    assert page.pictures[0].theme is LIGHT


def test_proposals_are_accepted_one_by_one_and_undone(open_page: Open) -> None:
    window, page = open_page()
    start = window.document.project
    page.show_part("apply")
    names = [c.proposal.id for c in page.cards]
    assert names[0] == "estimate:rig-stage"
    assert window.document.project is start
    card = next(c for c in page.cards if c.proposal.id == "estimate:rig-stage")
    card.button.click()
    changed = window.document.project
    assert changed.items["rig"].likely > 2
    assert changed.week == start.week
    assert "estimate:rig-stage" not in [c.proposal.id for c in page.cards]
    window.document.undo()
    assert window.document.project == start
    assert [c.proposal.id for c in page.cards] == names


def test_nothing_is_changed_by_looking(open_page: Open) -> None:
    window, page = open_page()
    start = window.document.project
    for part in ("stages", "apply", "end", "honesty"):
        page.show_part(part)
    window.go_to("plan")
    assert window.document.project is start


def test_the_three_answers_are_filed_in_one_step(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page(project_from_raw(raw("Over")))
    # once a project is over, this is asked first
    assert page.part == "end"
    assert page.words["end"].text().startswith("This project is over")
    assert not page.answers.button.isEnabled()
    qtbot.keyClicks(page.answers.fields["overran"], "the rig")
    assert page.answers.button.isEnabled()
    page.answers.button.click()
    assert answers(window.document.project) == {"overran": "the rig"}
    assert window.document.history is not None
    assert "File the answers" in window.document.history.undo_label
    window.document.undo()
    assert page.answers.fields["overran"].toPlainText() == ""


def test_what_is_being_typed_is_filed_when_the_page_is_left(qtbot: QtBot, open_page: Open) -> None:
    window, page = open_page()
    assert page.part == "stages"
    page.show_part("end")
    assert not page.words["end"].text().startswith("This project is over")
    qtbot.keyClicks(page.answers.fields["again"], "the storm")
    window.go_to("plan")
    assert answers(window.document.project) == {"again": "the storm"}


def test_folders_are_added_and_forgotten(qtbot: QtBot, open_page: Open, services: FakeServices, tmp_path: Path) -> None:
    _window, page = open_page(library=False)
    assert page.where.text().startswith("No folder of past projects")
    page.add_button.click()
    services.files.pop().reply(str(fill(tmp_path / "more", 2)))
    rest(qtbot, page)
    assert "2 projects" in page.where.text()
    page.forget_button.click()
    rest(qtbot, page)
    assert page.where.text().startswith("No folder of past projects")


def test_what_changed_on_the_disk_is_seen_and_all_can_be_read_again(
    qtbot: QtBot, open_page: Open, tmp_path: Path
) -> None:
    window, page = open_page()
    (tmp_path / "past" / "bad.nightplan").write_text("{")
    window.go_to("plan")
    window.go_to("look-back")
    rest(qtbot, page)
    assert "Skipped: bad.nightplan" in page.where.text()
    page.index.write_bytes(b"broken" * 1000)
    page.again_button.click()
    rest(qtbot, page)
    assert "6 projects" in page.where.text()


def test_the_starting_assumption_can_be_set(qtbot: QtBot, open_page: Open) -> None:
    _window, page = open_page()
    assert page.answer is not None
    before = page.answer.looks.overall.factor.value
    page.prior_fields["worth"].setValue(90.0)
    qtbot.waitUntil(lambda: page.answer is not None and page.answer.looks.overall.factor.value < before, timeout=20_000)
    rest(qtbot, page)
    assert page.answer.looks.overall.prior_share > 0.9


def test_a_closed_window_waits_for_the_reading(open_page: Open, qtbot: QtBot) -> None:
    window, page = open_page()
    page.again_button.click()
    window.setProperty("discard", True)
    window.close()
    assert not page.work.busy


def test_keys_reach_the_parts(qtbot: QtBot, open_page: Open) -> None:
    _window, page = open_page()
    button = page.parts.button(2)
    button.setFocus()
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert page.part == "honesty"
    assert [w.isVisible() for w in page.part_widgets] == [False, False, True, False, False]


@pytest.mark.parametrize(("width", "percent"), [(900, 100), (1280, 100), (1100, 200)])
def test_nothing_is_cut_off(open_page: Open, width: int, percent: int, services: FakeServices) -> None:
    """WCAG 2.2, 1.4.10: no scrolling in two directions, at 200 % as well; button texts whole."""
    window, page = open_page()
    window.themes.set_percent(percent)
    window.resize(width, 760)
    for part in ("stages", "evenings", "honesty", "apply", "end"):
        page.show_part(part)
        QApplication.processEvents()
        page.grab()
        assert page.area.horizontalScrollBar().maximum() == 0, part
        for button in page.findChildren(QPushButton):
            if button.isVisible():
                assert button.width() >= button.sizeHint().width(), button.text()


def test_table_and_pictures_are_saved(qtbot: QtBot, open_page: Open, services: FakeServices, tmp_path: Path) -> None:
    window, page = open_page()
    saving = page.saving
    assert saving.table_button.isEnabled()
    saving.table_button.click()
    assert services.choose(tmp_path / "stages.csv").suggested.endswith("look-back.csv")
    qtbot.waitUntil(lambda: not window.export_run.busy, timeout=20_000)
    lines = (tmp_path / "stages.csv").read_text().splitlines()
    assert [line.split(",")[0] for line in lines] == ["stage", "Rig", "all stages"]
    assert window.statusBar().currentMessage() == "Written: stages.csv"

    folder = tmp_path / "pictures"
    folder.mkdir()
    (folder / "evenings-kept.svg").write_text("an older one")
    saving.pictures_button.click()
    services.choose(folder)
    qtbot.waitUntil(lambda: not window.export_run.busy, timeout=60_000)
    assert [p.suffix for p in folder.iterdir()] == [".svg"] * 4
    assert "<svg" in (folder / "evenings-kept.svg").read_text()


def test_pictures_are_called_off_and_a_refusal_is_told(
    qtbot: QtBot, open_page: Open, services: FakeServices, tmp_path: Path
) -> None:
    window, page = open_page()
    folder = tmp_path / "pictures"
    folder.mkdir()
    (folder / "evenings-kept.svg").write_text("an older one")
    page.saving.pictures_button.click()
    services.choose(folder)
    assert window.export_run.busy
    window.status.leaving.stop_button.click()
    assert not window.export_run.busy
    assert window.statusBar().currentMessage() == "Cancelled: pictures was not written."
    window.export_run.work.close()
    # all pictures or none
    assert [p.name for p in folder.iterdir()] == ["evenings-kept.svg"]
    assert (folder / "evenings-kept.svg").read_text() == "an older one"

    page.saving.table_button.click()
    services.choose(tmp_path / "nowhere" / "stages.csv")
    qtbot.waitUntil(lambda: not window.export_run.busy, timeout=20_000)
    assert window.statusBar().currentMessage() == "Not written: stages.csv."
    assert "stages.csv" in services.questions[-1].text
    assert not (tmp_path / "nowhere").exists()
