# SPDX-License-Identifier: GPL-3.0-or-later
"""The Nights page over a real window: estimates, the form, folders watched. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from desk_fakes import FakeServices
from PySide6.QtCore import QTime
from pytestqt.qtbot import QtBot

from nightplan.actions import jobs
from nightplan.desk.pages.nights_page import NightsPage
from nightplan.desk.pages.nights_watch import LABEL
from nightplan.desk.window import MainWindow
from nightplan.files.store import load
from nightplan.model.project import Project

SAMPLE = Path(__file__).parents[2] / "sample_projects" / "moth-and-lantern.nightplan"
RENDER = "final-render"
Made = tuple[MainWindow, NightsPage]
Open = Callable[..., Made]


@pytest.fixture
def open_page(make_window: Any, settle: Any) -> Open:
    """A window on Sunday 10 October, on the page."""

    def make(project: Project | None = None, **how: Any) -> Made:
        window = make_window(load(SAMPLE) if project is None else project, **how)
        settle(window)
        window.go_to("nights")
        page = window.pages["nights"]
        assert isinstance(page, NightsPage)
        return window, page

    return make


def frames(folder: Path, numbers: range, minutes: float = 5.0) -> None:
    """Frames that were written from 9 in the morning of that Sunday on, local time of this computer."""
    folder.mkdir(parents=True, exist_ok=True)
    begin = dt.datetime(2027, 10, 10, 9).timestamp()
    for n in numbers:
        path = folder / f"moth_{n:04d}.exr"
        path.write_bytes(b"x" * 1000)
        os.utime(path, (begin + 60 * minutes * n,) * 2)


def looked(qtbot: QtBot, page: NightsPage, job: str = RENDER) -> None:
    qtbot.waitUntil(lambda: job in page.watch.found and not page.watch.search.busy, timeout=10_000)


def card(page: NightsPage, job: str = RENDER) -> Any:
    return next(c for c in page.cards if c.job_id == job)


def test_each_job_with_nights_and_odds(open_page: Open) -> None:
    window, page = open_page()
    assert [c.job_id for c in page.cards] == [j.id for j in window.host.project.jobs]
    told = card(page)
    assert "night" in told.estimate.text()
    assert "ready" in told.estimate.text()
    assert "in 100" in told.risk.text()


def test_the_form_is_one_step_of_undo(open_page: Open, settle: Any) -> None:
    window, page = open_page()
    before = window.host.project
    card(page).edit_button.click()
    form = page.editor
    minutes, stands_for = form.tests["light"]
    minutes.setValue(2.0)
    stands_for.setValue(100)
    heavy, stands_for = form.tests["heavy"]
    heavy.setValue(8.0)
    stands_for.setValue(92)
    form.windowed.setChecked(True)
    form.opens.setTime(QTime(22, 30))
    form.machines.setText("desk, laptop")
    form.start.setValue(10)
    form.apply_button.click()
    settle(window)
    job = window.host.project.jobs_by_id[RENDER]
    assert job.minutes_per_frame is not None
    assert job.minutes_per_frame.likely == pytest.approx((200 + 736) / 192)
    assert (job.machines, job.start_minutes) == (("desk", "laptop"), 10)
    window_of_desk = window.host.project.machines_by_name["desk"].window
    assert window_of_desk is not None
    assert window_of_desk.from_ == dt.time(22, 30)
    window.document.undo()
    assert window.host.project == before


def test_what_is_refused_is_said_and_stays(open_page: Open) -> None:
    window, page = open_page()
    before = window.host.project
    card(page).edit_button.click()
    page.editor.off.setText("next Tuesday")
    page.editor.off.textEdited.emit("next Tuesday")
    page.editor.apply_button.click()
    assert "next Tuesday" in page.editor.refusal.text()
    assert window.host.project is before
    assert page.editor.off.text() == "next Tuesday"
    page.editor.back_button.click()
    assert page.editor.off.text() == ""


def test_a_form_that_says_nothing_new_changes_nothing(open_page: Open) -> None:
    window, page = open_page()
    for each in window.host.project.jobs:
        card(page, each.id).edit_button.click()
        assert page.editor.changed(window.host.project, each.id) == window.host.project


def test_a_folder_is_watched_and_its_frames_are_one_step(
    open_page: Open, qtbot: QtBot, settle: Any, tmp_path: Path
) -> None:
    folder = tmp_path / "night one"
    frames(folder, range(1, 21))
    window, page = open_page()
    window.host.change("Folder", lambda p: jobs.point_at_folder(p, RENDER, str(folder)))
    looked(qtbot, page)
    settle(window)
    seen = window.host.project.jobs_by_id[RENDER].seen
    assert seen is not None
    assert seen.frames == 20
    assert "20 of 192 frames" in card(page).folder.text()
    assert "5 min a frame" in card(page).folder.text()
    steps = window.document.history.place if window.document.history is not None else 0
    # more frames: the notice of the file system leads to another look, which takes the place of the first
    frames(folder, range(21, 41))
    qtbot.waitUntil(lambda: getattr(window.host.project.jobs_by_id[RENDER].seen, "frames", 0) == 40, timeout=20_000)
    settle(window)
    assert window.document.history is not None
    assert (window.document.history.place, window.document.history.undo_label) == (steps, LABEL)
    window.document.undo()
    assert window.host.project.jobs_by_id[RENDER].seen is None


def test_a_folder_that_is_not_there_is_told(open_page: Open, qtbot: QtBot, tmp_path: Path) -> None:
    project = jobs.point_at_folder(load(SAMPLE), RENDER, str(tmp_path / "gone"))
    window, page = open_page(project)
    looked(qtbot, page)
    assert "there is no such folder" in card(page).doubts.text()
    assert window.host.project == project


def test_a_folder_is_watched_before_the_page_was_ever_shown(
    make_window: Any, settle: Any, qtbot: QtBot, tmp_path: Path
) -> None:
    folder = tmp_path / "night one"
    frames(folder, range(1, 21))
    window = make_window(jobs.point_at_folder(load(SAMPLE), RENDER, str(folder)))
    qtbot.waitUntil(lambda: window.host.project.jobs_by_id[RENDER].running, timeout=10_000)
    settle(window)
    assert "nights" not in window.pages


def test_the_folder_is_chosen_in_a_dialog(open_page: Open, services: FakeServices, tmp_path: Path) -> None:
    window, page = open_page()
    card(page).edit_button.click()
    page.editor._choose()
    services.choose(tmp_path)
    page.editor.apply_button.click()
    assert window.host.project.jobs_by_id[RENDER].folder == str(tmp_path)


def test_started_now_and_not_running(open_page: Open, settle: Any) -> None:
    window, page = open_page()
    card(page).run_button.click()
    assert window.host.project.jobs_by_id[RENDER].running
    settle(window)
    assert card(page).run_button.text() == "Not running"
    card(page).run_button.click()
    assert not window.host.project.jobs_by_id[RENDER].running


def test_new_jobs_come_with_the_defaults(open_page: Open) -> None:
    window, page = open_page()
    page.add_transfer_button.click()
    made = window.host.project.jobs[-1]
    assert (made.line_share, made.retries) == (0.8, 1)
    page.add_render_button.click()
    assert window.host.project.jobs[-1].test_frames is not None
    assert page.editor.job is not None
    assert page.editor.job.id == window.host.project.jobs[-1].id


@pytest.mark.parametrize("theme", ["night", "light"])
@pytest.mark.parametrize("size", [(1360, 860), (760, 520)])
def test_nothing_runs_out_of_the_page(open_page: Open, qtbot: QtBot, theme: str, size: tuple[int, int]) -> None:
    window, page = open_page(theme=theme)
    window.resize(*size)
    qtbot.waitUntil(lambda: window.width() == size[0], timeout=5_000)
    qtbot.waitUntil(lambda: page.area.horizontalScrollBar().maximum() == 0, timeout=5_000)
