# SPDX-License-Identifier: GPL-3.0-or-later
"""Files that leave the program: whole or not at all, and the window goes on. Common practice, no source."""

from __future__ import annotations

import os
import stat
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from desk_fakes import FakeServices
from desk_leaks import let_go, valid
from pytestqt.qtbot import QtBot

from nightplan.actions import edit
from nightplan.desk.background import Report
from nightplan.desk.export_run import Leaving
from nightplan.desk.exporting import ENTRIES
from nightplan.desk.window import MainWindow
from nightplan.model.errors import BadInput

Make = Callable[..., MainWindow]
Settle = Callable[[MainWindow], None]


class Slow:
    """Writes half of a file, then waits to be let on; tells its progress all the while."""

    def __init__(self) -> None:
        self.began, self.on, self.ended = threading.Event(), threading.Event(), threading.Event()

    def leaving(self) -> Leaving:
        return Leaving("Export", "slow.txt", "Text (*.txt)", lambda: self.write)

    def write(self, path: Path, report: Report) -> None:
        try:
            path.write_text("half")
            self.began.set()
            while not self.on.wait(0.001):
                report(0.5)
            path.write_text("whole")
        finally:
            self.ended.set()


@pytest.fixture
def slow() -> Iterator[Slow]:
    made = Slow()
    yield made
    made.on.set()


def rested(window: MainWindow) -> Callable[[], bool]:
    return lambda: not window.export_run.busy


def begin(window: MainWindow, slow: Slow, place: Path) -> None:
    window.export_run.start(slow.leaving(), place)
    assert slow.began.wait(30)


def test_what_takes_longer_is_seen_and_named_and_the_window_goes_on(
    window: MainWindow, settle: Settle, qtbot: QtBot, slow: Slow, tmp_path: Path
) -> None:
    settle(window)
    place = tmp_path / "slow.txt"
    begin(window, slow, place)
    part = window.status.leaving
    qtbot.waitUntil(lambda: part.isVisibleTo(window) and part.bar.value() == 50, timeout=30_000)
    assert part.accessibleName() == "Writing slow.txt…"
    assert part.bar.text() == "Writing slow.txt… 50 %"
    assert part.stop_button.accessibleName() == "Cancel writing slow.txt"
    # the artist works on meanwhile, and the odds follow
    window.document.apply("Rename", edit.change_item(window.document.project, "spline", name="Another name"))
    settle(window)
    window.go_to("tonight")
    assert window.export_run.busy
    assert not place.exists()
    slow.on.set()
    qtbot.waitUntil(rested(window), timeout=30_000)
    assert place.read_text() == "whole"
    assert window.status.currentMessage() == "Written: slow.txt"
    assert not part.isVisibleTo(window)
    assert [name for name in os.listdir(tmp_path) if "slow" in name] == ["slow.txt"]


@pytest.mark.parametrize("before", [None, "what was there"])
def test_cancel_leaves_nothing_half_written(
    window: MainWindow, qtbot: QtBot, slow: Slow, tmp_path: Path, before: str | None
) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    place = folder / "slow.txt"
    if before is not None:
        place.write_text(before)
    begin(window, slow, place)
    assert len(os.listdir(folder)) == (1 if before is None else 2)
    window.status.leaving.stop_button.click()
    assert not window.export_run.busy
    assert window.status.currentMessage() == "Cancelled: slow.txt was not written."
    assert slow.ended.wait(30)
    window.export_run.work.close()
    assert os.listdir(folder) == ([] if before is None else ["slow.txt"])
    assert before is None or place.read_text() == before


def test_cancel_after_the_last_word_leaves_nothing(window: MainWindow, slow: Slow, tmp_path: Path) -> None:
    """The worker is done, and the window has not heard of it yet."""
    folder = tmp_path / "out"
    folder.mkdir()
    slow.on.set()
    begin(window, slow, folder / "slow.txt")
    window.export_run.work._pool.waitForDone()
    assert len(os.listdir(folder)) == 1
    window.export_run.cancel()
    let_go()
    assert os.listdir(folder) == []


def test_closing_the_window_during_an_export_is_clean(
    window: MainWindow, slow: Slow, tmp_path: Path, settle: Settle
) -> None:
    settle(window)
    folder = tmp_path / "out"
    folder.mkdir()
    begin(window, slow, folder / "slow.txt")
    window.setProperty("discard", True)
    assert window.close()
    assert slow.ended.is_set()
    let_go()
    assert not valid(window)
    assert os.listdir(folder) == []


def test_one_file_at_a_time(window: MainWindow, slow: Slow, tmp_path: Path, qtbot: QtBot) -> None:
    begin(window, slow, tmp_path / "slow.txt")
    window.export_run.start(Slow().leaving(), tmp_path / "other.txt")
    assert "slow.txt is being written" in window.status.currentMessage()
    slow.on.set()
    qtbot.waitUntil(rested(window), timeout=30_000)
    assert not (tmp_path / "other.txt").exists()


def failing(error: BaseException) -> Leaving:
    def write(path: Path, _report: Report) -> None:
        path.write_text("half")
        raise error

    return Leaving("Export", "x.txt", "Text (*.txt)", lambda: write)


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (BadInput("look = 'x': one of light, night is accepted"), "look = 'x': one of light, night is accepted"),
        (OSError(28, "No space left on device"), "{place} cannot be written (No space left on device)."),
    ],
)
def test_a_failed_export_says_one_sentence_and_leaves_nothing(
    window: MainWindow, services: FakeServices, qtbot: QtBot, tmp_path: Path, error: BaseException, sentence: str
) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    place = folder / "x.txt"
    window.export_run.start(failing(error), place)
    qtbot.waitUntil(rested(window), timeout=30_000)
    assert (services.questions[-1].title, services.questions[-1].text) == (
        "Not written",
        sentence.format(place=place),
    )
    assert os.listdir(folder) == []


def test_a_fault_of_ours_is_told_as_one(
    window: MainWindow, services: FakeServices, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    faults: list[BaseException] = []
    monkeypatch.setattr(services, "fault", faults.append)
    window.export_run.start(failing(ZeroDivisionError("ours")), tmp_path / "x.txt")
    qtbot.waitUntil(lambda: bool(faults), timeout=30_000)
    assert isinstance(faults[0], ZeroDivisionError)
    assert "x.txt was not written" in window.status.currentMessage()
    assert not (tmp_path / "x.txt").exists()


def test_a_folder_that_is_not_there_is_named(
    window: MainWindow, services: FakeServices, qtbot: QtBot, tmp_path: Path
) -> None:
    place = tmp_path / "no such folder" / "moth.csv"
    next(a for a in window.menus.export_menu.actions() if a.data() == ("log", ".csv")).trigger()
    services.choose(place)
    qtbot.waitUntil(rested(window), timeout=30_000)
    told = services.questions[-1].text
    assert "cannot be written (No such file or directory)" in told
    assert ".part" not in told


@pytest.mark.skipif(os.name == "nt", reason="modes and links are of POSIX")
def test_a_link_stays_a_link_and_a_mode_stays(window: MainWindow, slow: Slow, qtbot: QtBot, tmp_path: Path) -> None:
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_text("before")
    real.chmod(0o640)
    link.symlink_to(real)
    slow.on.set()
    begin(window, slow, link)
    qtbot.waitUntil(rested(window), timeout=30_000)
    assert link.is_symlink()
    assert real.read_text() == "whole"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


@pytest.mark.parametrize("entry", [e for e in ENTRIES if e[0]], ids=lambda e: f"{e[1]}{e[2]}")
def test_every_entry_of_the_menu_writes_a_file_off_the_windows_thread(
    window: MainWindow,
    services: FakeServices,
    settle: Settle,
    qtbot: QtBot,
    tmp_path: Path,
    entry: tuple[str, str, str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from nightplan.actions import leaving

    where: list[threading.Thread] = []
    real = leaving.leave

    def leave(*told: Any, **named: Any) -> Any:
        where.append(threading.current_thread())
        return real(*told, **named)

    monkeypatch.setattr(leaving, "leave", leave)
    settle(window)
    before = window.document.project
    next(a for a in window.menus.export_menu.actions() if a.data() == entry[1:]).trigger()
    place = tmp_path / f"file{entry[2]}"
    services.choose(place)
    qtbot.waitUntil(rested(window), timeout=60_000)
    assert services.questions == []
    assert place.stat().st_size > 50
    assert [thread is threading.main_thread() for thread in where] == [False]
    # a calendar remembers what it was told; nothing else changes the project
    assert (window.document.project == before) == (entry[1] != "calendar")


def test_what_changes_while_a_calendar_is_written_is_kept(
    window: MainWindow, services: FakeServices, settle: Settle, qtbot: QtBot, tmp_path: Path
) -> None:
    settle(window)
    next(a for a in window.menus.export_menu.actions() if a.data() == ("calendar", ".ics")).trigger()
    services.choose(tmp_path / "moth.ics")
    window.document.apply("Rename", edit.change_item(window.document.project, "spline", name="Another name"))
    qtbot.waitUntil(rested(window), timeout=30_000)
    assert window.document.project.items["spline"].name == "Another name"
    assert window.document.history is not None
    assert window.document.history.undo_label == "Remember what the calendar was told"
    assert (tmp_path / "moth.ics").exists()
