# SPDX-License-Identifier: GPL-3.0-or-later
"""Nothing is lost: disks that refuse, earlier versions, conflict copies, newer files, files that go away.

Common practice, no source.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_leaks import let_go, valid
from desk_sweep import nameless, out_of_reach
from plan_page_project import AS_OF, project
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from nightplan.actions import edit
from nightplan.desk.earlier_versions import EarlierVersions
from nightplan.desk.window import MainWindow
from nightplan.files.lock import locked
from nightplan.files.store import load, save
from nightplan.files.versions import listed, project_of
from nightplan.model.project import VERSION, Project

Settle = Callable[[MainWindow], None]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    (tmp_path / "work").mkdir()
    place = tmp_path / "work" / "moth.nightplan"
    save(project(), place)
    return place


@pytest.fixture
def window(make_window: MakeWindow, services: FakeServices, file: Path, settle: Settle) -> Iterator[MainWindow]:
    services.go_to_day(AS_OF)
    made = make_window(file)
    made.work.missed_asked = True
    yield made
    if valid(made):
        settle(made)


def rename(window: MainWindow, name: str, item: str = "cut") -> None:
    window.document.apply("Rename item", edit.change_item(window.document.project, item, name=name))


def renamed(start: Project, name: str, item: str = "cut") -> Project:
    return edit.change_item(start, item, name=name)


def said(window: MainWindow) -> str:
    return window.statusBar().currentMessage()


# --- disks that refuse ---

REFUSALS = [
    (errno.ENOSPC, "the disk is full"),
    (errno.EDQUOT, "your quota on this disk is used up"),
    (errno.EACCES, "you may not write there"),
    (errno.EROFS, "the disk is read-only"),
    (errno.EIO, "the disk reports a fault"),
    (errno.ENOENT, "the folder is gone"),
    (errno.ESTALE, "the drive does not answer"),
    (errno.ENAMETOOLONG, "the name is too long"),
]


def refuse(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr("nightplan.files.store.tempfile.mkstemp", fail)


@pytest.mark.parametrize(("number", "words"), REFUSALS)
def test_a_save_that_is_refused_says_why_and_goes_elsewhere(
    window: MainWindow,
    services: FakeServices,
    file: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    number: int,
    words: str,
) -> None:
    rename(window, "Rough cut")
    with monkeypatch.context() as patch:
        refuse(patch, number)
        assert not window.save()
    question = services.questions[-1]
    assert question.title == "Not saved"
    assert words in question.text
    assert "Nothing is lost" in question.text
    assert window.document.dirty
    services.answer("elsewhere")
    assert services.files[-1].suggested == str(Path("~").expanduser() / "moth.nightplan")
    services.choose(tmp_path / "elsewhere.nightplan")
    assert load(tmp_path / "elsewhere.nightplan").items["cut"].name == "Rough cut"
    assert load(file).items["cut"].name != "Rough cut"
    assert not window.document.dirty
    assert window.document.path == str(tmp_path / "elsewhere.nightplan")


def test_changes_are_kept_aside_the_moment_a_save_fails(
    window: MainWindow, services: FakeServices, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename(window, "Rough cut")
    kept = list(services.recovery_folder().glob("*.json"))
    assert kept == [], "the debounce has not run out"
    real = os.replace

    def only_here(old: str, new: str) -> None:
        if "recovery" not in str(new):
            raise OSError(errno.EIO, "I/O error")
        real(old, new)

    monkeypatch.setattr("nightplan.files.store.os.replace", only_here)
    window.save()
    assert len(list(services.recovery_folder().glob("*.json"))) == 1


def test_try_again_saves_once_the_disk_has_room(
    window: MainWindow, services: FakeServices, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename(window, "Rough cut")
    with monkeypatch.context() as patch:
        refuse(patch, errno.ENOSPC)
        window.save()
    services.answer("again")
    assert services.questions == []
    assert load(file).items["cut"].name == "Rough cut"


def test_saving_elsewhere_while_closing_closes(
    window: MainWindow, services: FakeServices, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename(window, "Rough cut")
    window.close()
    with monkeypatch.context() as patch:
        refuse(patch, errno.EROFS)
        services.answer("save")
    assert valid(window)
    services.answer("elsewhere")
    services.choose(tmp_path / "elsewhere.nightplan")
    let_go()
    assert not valid(window)
    assert load(tmp_path / "elsewhere.nightplan").items["cut"].name == "Rough cut"


def test_a_writer_that_holds_the_lock_is_named(window: MainWindow, services: FakeServices, file: Path) -> None:
    rename(window, "Rough cut")
    with locked(file, program="nightplan tick"):
        assert not window.save()
    assert "is being written by nightplan tick (process " in services.questions[-1].text
    services.answer("again")
    assert load(file).items["cut"].name == "Rough cut"


def test_a_file_that_cannot_be_read_any_more_is_not_written_over(
    window: MainWindow, services: FakeServices, file: Path
) -> None:
    rename(window, "Rough cut")
    file.write_bytes(b"half of another program's f")
    assert not window.save()
    assert "cannot be read now" in services.questions[-1].text
    assert file.read_bytes() == b"half of another program's f"


# --- a file that goes away ---


def test_a_file_that_is_gone_is_said_and_is_not_lost_by_closing(
    window: MainWindow, services: FakeServices, file: Path
) -> None:
    file.unlink()
    window.document.look_at_disk()
    assert "is not there any more" in said(window)
    assert window.document.dirty
    window.close()
    services.answer("save")
    let_go()
    assert load(file) == project()


def test_a_drive_that_comes_back_with_the_same_file_is_well(window: MainWindow, file: Path) -> None:
    away = file.rename(file.with_suffix(".away"))
    window.document.look_at_disk()
    away.rename(file)
    window.document.look_at_disk()
    assert "is there again" in said(window)
    assert not window.document.dirty


# --- two writers ---


def test_what_came_in_by_a_save_is_said(window: MainWindow, file: Path) -> None:
    rename(window, "Rough cut")
    save(renamed(project(), "Smoothing", "spline"), file)
    assert window.save()
    assert 'what another program had changed: item "Smoothing": name' in said(window)
    both = load(file).items
    assert (both["cut"].name, both["spline"].name) == ("Rough cut", "Smoothing")


def test_a_program_that_writes_between_reading_and_writing_loses_nothing(
    window: MainWindow, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from nightplan.files import versions

    rename(window, "Rough cut")
    real, written = versions.save_and_keep, []

    def late(*given: object, **keys: object) -> str:
        if not written:
            written.append(save(renamed(project(), "Smoothing", "spline"), file))
        return real(*given, **keys)  # type: ignore[arg-type]

    monkeypatch.setattr(versions, "save_and_keep", late)
    assert window.save()
    both = load(file).items
    assert (both["cut"].name, both["spline"].name) == ("Rough cut", "Smoothing")


def test_a_clash_says_where_both_sides_differ(window: MainWindow, services: FakeServices, file: Path) -> None:
    rename(window, "Rough cut")
    save(renamed(renamed(project(), "Fine cut"), "Smoothing", "spline"), file)
    assert not window.save()
    question = services.answer("mine")
    assert 'name "Rough cut" → "Fine cut"' in question.detail
    assert window.save()
    both = load(file).items
    assert (both["cut"].name, both["spline"].name) == ("Rough cut", "Smoothing")
    kept = [project_of(v).items["cut"].name for v in listed(file, services.versions_folder())]
    assert kept[:2] == ["Rough cut", "Fine cut"], "what was written over can be gone back to"


# --- earlier versions ---


@pytest.fixture
def versions(window: MainWindow, services: FakeServices) -> EarlierVersions:
    for n, name in enumerate(["First cut", "Second cut"]):
        services.moment = services.moment.replace(minute=n)
        rename(window, name)
        assert window.save()
    window.files.earlier_versions()
    return window.files.versions


def test_earlier_versions_are_listed_with_what_differs(versions: EarlierVersions, window: MainWindow) -> None:
    assert versions.list.count() == 3
    assert versions.list.item(0).text().endswith("20:01")
    assert "The same as what is open now" in versions.lines.toPlainText()
    assert not versions.back_button.isEnabled()
    versions.list.setCurrentRow(1)
    assert 'item "First cut": name "Second cut" → "First cut"' in versions.lines.toPlainText()
    assert nameless(versions) == []
    assert out_of_reach(versions) == []
    versions.close()


def test_a_version_is_taken_back_as_one_step(versions: EarlierVersions, window: MainWindow, file: Path) -> None:
    versions.list.setCurrentRow(1)
    versions.back_button.click()
    assert window.document.project.items["cut"].name == "First cut"
    assert load(file).items["cut"].name == "Second cut", "the file changes only by saving"
    window.document.undo()
    assert window.document.project.items["cut"].name == "Second cut"
    assert window.document.history is not None
    assert (window.document.history.redo_label or "").startswith("Take back the version of ")


def test_a_damaged_version_is_said(versions: EarlierVersions, window: MainWindow) -> None:
    versions.versions[1].place.write_bytes(b"nonsense")
    versions.list.setCurrentRow(1)
    assert "cannot be read: it is damaged." in versions.lines.toPlainText()
    assert not versions.back_button.isEnabled()
    versions.close()


def test_a_file_without_versions_says_so(window: MainWindow) -> None:
    window.files.earlier_versions()
    assert "none yet" in window.files.versions.lines.toPlainText()
    window.files.versions.close()


# --- conflict copies ---


def stage_of_some_item() -> str:
    return next(iter(project().stages)).id


@pytest.fixture
def conflict(tmp_path: Path, make_window: MakeWindow, services: FakeServices, file: Path) -> MainWindow:
    services.go_to_day(AS_OF)
    place = file.with_name("moth (conflicted copy).nightplan")
    save(edit.add_item(renamed(project(), "Their cut"), stage_of_some_item(), "Dust"), place)
    made = make_window(file)
    made.work.missed_asked = True
    return made


def test_a_conflict_copy_is_noticed_and_brought_in_as_one_step(
    conflict: MainWindow, services: FakeServices, settle: Settle
) -> None:
    question = services.answer("bring")
    assert question.text.startswith("moth (conflicted copy).nightplan lies beside this file and differs in 2 things")
    assert 'name "' in question.detail
    items = conflict.document.project.items
    assert "Dust" in {item.name for item in items.values()}
    assert items["cut"].name == project().items["cut"].name, "ours where both say something else"
    told = services.answer("ok")
    assert "In 1 place both sides say something else" in told.text
    conflict.document.undo()
    assert conflict.document.project == project()
    settle(conflict)


def test_a_copy_that_was_settled_is_not_asked_about_again(
    conflict: MainWindow, services: FakeServices, settle: Settle
) -> None:
    services.answer("leave")
    assert not conflict.files.copies.offer()
    settle(conflict)


def test_a_copy_that_says_the_same_is_not_asked_about(
    make_window: MakeWindow, services: FakeServices, file: Path, settle: Settle
) -> None:
    services.go_to_day(AS_OF)
    save(project(), file.with_name("moth (conflicted copy).nightplan"))
    made = make_window(file)
    assert [q.title for q in services.asked if "copy" in q.title] == []
    settle(made)


# --- newer files ---


@pytest.fixture
def looking(make_window: MakeWindow, services: FakeServices, tmp_path: Path) -> MainWindow:
    services.go_to_day(AS_OF)
    raw = json.loads(project().model_dump_json(by_alias=True, exclude_none=True))
    place = tmp_path / "newer.nightplan"
    place.write_text(json.dumps({**raw, "version": VERSION + 1, "mood": "blue", "target_odds": "high"}))
    made = make_window(place)
    services.answer("look")
    return made


def test_a_newer_file_is_refused_by_name_and_can_be_looked_at(
    looking: MainWindow, services: FakeServices, settle: Settle
) -> None:
    assert f"version = {VERSION + 1}: this file is from a newer nightplan" in services.asked[-1].text
    assert looking.document.is_open
    assert "only looked at" in looking.windowTitle()
    assert "2 parts are not understood and not shown" in said(looking)
    settle(looking)


def test_nothing_in_a_newer_file_can_be_changed_or_saved(
    qtbot: QtBot, looking: MainWindow, services: FakeServices, settle: Settle
) -> None:
    assert looking.document.path is not None
    before = looking.document.project, Path(looking.document.path).read_bytes()
    assert not looking.host.change("Rename item", lambda p: renamed(p, "Rough cut"))
    assert "looked at, but not changed" in said(looking)
    looking.say("It is done.")
    assert not looking.document.apply("Rename item", renamed(looking.document.project, "Rough cut"))
    qtbot.waitUntil(lambda: "looked at, but not changed" in said(looking))
    assert not looking.document.follow("Frames", renamed(looking.document.project, "Rough cut"))
    assert not looking.save()
    looking.save_as()
    assert services.files == []
    assert (looking.document.project, Path(looking.document.path).read_bytes()) == before
    assert not looking.document.dirty
    for action in (looking.menus.settings_action, looking.menus.accept_action, looking.menus.versions_action):
        assert not action.isEnabled()
    settle(looking)


def test_cancel_leaves_the_window_empty(make_window: MakeWindow, services: FakeServices, tmp_path: Path) -> None:
    raw = {"format": "nightplan", "version": VERSION + 1, "title": "Kite"}
    (tmp_path / "newer.nightplan").write_text(json.dumps(raw))
    made = make_window(tmp_path / "newer.nightplan")
    services.answer("no")
    assert not made.document.is_open


def test_a_newer_file_of_which_too_little_is_understood_is_said(
    make_window: MakeWindow, services: FakeServices, tmp_path: Path
) -> None:
    raw = {"format": "nightplan", "version": VERSION + 1, "title": "Kite"}
    (tmp_path / "newer.nightplan").write_text(json.dumps(raw))
    made = make_window(tmp_path / "newer.nightplan")
    services.answer("look")
    assert "too little of this file is understood" in services.answer("ok").text
    assert not made.document.is_open
    QApplication.processEvents()


# --- recovery says what it holds ---


def test_recovery_says_what_would_come_back(
    window: MainWindow, services: FakeServices, make_window: MakeWindow, file: Path, settle: Settle
) -> None:
    rename(window, "Rough cut")
    window.document.keep_recovery()
    settle(window)
    window.document.close()
    window.setProperty("discard", True)
    window.close()
    let_go()
    later = make_window(file)
    question = services.answer("later")
    assert question.title == "Unsaved changes from an earlier run"
    assert 'item "Rough cut": name' in question.detail
    settle(later)


def test_every_save_of_the_desk_is_kept(window: MainWindow, services: FakeServices, file: Path) -> None:
    rename(window, "Rough cut")
    window.save()
    # what was there before, and what was written
    assert len(listed(file, services.versions_folder())) == 2
