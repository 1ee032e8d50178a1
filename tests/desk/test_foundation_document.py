# SPDX-License-Identifier: GPL-3.0-or-later
"""The life of a document: what is kept aside and taken up, other programs, other days. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from desk_fakes import FakeServices
from plan_page_project import AS_OF, project
from pytestqt.qtbot import QtBot

from nightplan.actions import edit
from nightplan.desk.document import Document
from nightplan.desk.recovery import kept_changes
from nightplan.files.store import load, save
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

Open = Callable[[], Document]


@pytest.fixture
def document(services: FakeServices) -> Iterator[Open]:
    """Makes documents and closes them at the end."""
    made: list[Document] = []
    services.go_to_day(AS_OF)

    def make() -> Document:
        made.append(Document(services))
        return made[-1]

    yield make
    for one in made:
        one.close()
        one.deleteLater()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    place = tmp_path / "moth.nightplan"
    save(project(), place)
    return place


def renamed(start: Project, item: str, name: str) -> Project:
    return edit.change_item(start, item, name=name)


def names(shown: Project) -> dict[str, str]:
    return {key: item.name for key, item in shown.items.items()}


def offered(services: FakeServices) -> list[dict[str, object]]:
    return [kept for _place, kept in kept_changes(services.recovery_folder())]


# --- kept aside ---


def test_two_projects_that_have_no_file_are_kept_side_by_side(document: Open, services: FakeServices) -> None:
    for name in ("First", "Second"):
        one = document()
        one.new(project().but(title=name))
        one.keep_recovery()
        one.close()
    titles = {str(kept["project"]).split('"title": "')[1].split('"')[0] for kept in offered(services)}
    assert titles == {"First", "Second"}


def test_changes_of_a_document_that_lives_are_not_offered(document: Open, services: FakeServices, file: Path) -> None:
    one = document()
    one.open(str(file))
    one.apply("Rename item", renamed(one.project, "cut", "Rough cut"))
    one.keep_recovery()
    assert offered(services) == []
    one.close()
    assert [kept["step"] for kept in offered(services)] == ["Rename item"]


def test_changes_of_a_killed_process_are_offered(services: FakeServices, tmp_path: Path) -> None:
    script = """
import datetime as dt, os, sys
from pathlib import Path
from nightplan.desk.recovery import Aside
from nightplan.files.store import load
project = load(sys.argv[1])
Aside(Path(sys.argv[2])).keep(project, path=None, base=None, step="Rename item", when=dt.datetime(2027, 1, 26))
os._exit(9)
"""
    place = tmp_path / "there.nightplan"
    save(project(), place)
    ended = subprocess.run([sys.executable, "-c", script, str(place), str(services.recovery_folder())], check=False)
    assert ended.returncode == 9
    assert [kept["step"] for kept in offered(services)] == ["Rename item"]


@pytest.mark.parametrize("how", ["undo", "save"])
def test_nothing_is_left_aside_when_nothing_is_unsaved(
    document: Open, services: FakeServices, file: Path, how: str
) -> None:
    one = document()
    one.open(str(file))
    one.apply("Rename item", renamed(one.project, "cut", "Rough cut"))
    one.keep_recovery()
    getattr(one, how)()
    # closed before the debounce has run out
    one.close()
    assert offered(services) == []
    assert list(services.recovery_folder().glob("*.json")) == []


def test_changes_are_kept_aside_without_being_asked(
    qtbot: QtBot, document: Open, services: FakeServices, file: Path
) -> None:
    one = document()
    one.open(str(file))
    one.apply("Rename item", renamed(one.project, "cut", "Rough cut"))
    qtbot.waitUntil(lambda: bool(list(services.recovery_folder().glob("*.json"))))


def left_behind(document: Open, file: Path) -> None:
    """A run that renamed an item and ended without saving."""
    one = document()
    one.open(str(file))
    one.apply("Rename item", renamed(one.project, "cut", "Rough cut"))
    one.keep_recovery()
    one.close()


def test_recovered_changes_come_on_top_of_the_file_as_it_is_now(
    document: Open, services: FakeServices, file: Path
) -> None:
    left_behind(document, file)
    save(renamed(project(), "spline", "Smoothing"), file)
    later = document()
    (kept,) = offered(services)
    later.recover(kept)
    assert (names(later.project)["cut"], names(later.project)["spline"]) == ("Rough cut", "Smoothing")
    assert later.dirty
    later.undo()
    assert later.project == load(file)
    assert not later.dirty


def test_recovered_changes_hold_where_both_sides_changed_the_same(
    document: Open, services: FakeServices, file: Path
) -> None:
    left_behind(document, file)
    save(renamed(project(), "cut", "Fine cut"), file)
    later = document()
    later.recover(offered(services)[0])
    assert names(later.project)["cut"] == "Rough cut"
    later.undo()
    assert names(later.project)["cut"] == "Fine cut"


def test_recovery_of_a_file_that_is_gone_is_a_project_without_a_file(
    document: Open, services: FakeServices, file: Path
) -> None:
    left_behind(document, file)
    file.unlink()
    later = document()
    later.recover(offered(services)[0])
    assert (later.path, later.dirty) == (None, True)
    assert names(later.project)["cut"] == "Rough cut"


# --- other programs ---


def test_every_atomic_save_of_another_program_is_seen(qtbot: QtBot, document: Open, file: Path) -> None:
    """An atomic save replaces the file, and the watcher forgets a file that was replaced: twice, so that it shows."""
    one = document()
    one.open(str(file))
    for name in ("Rough cut", "Fine cut"):
        save(renamed(project(), "cut", name), file)
        qtbot.waitUntil(lambda name=name: names(one.project)["cut"] == name, timeout=10_000)  # type: ignore[misc]
    assert not one.dirty


def test_what_this_program_saved_is_no_change_of_another(document: Open, file: Path) -> None:
    one = document()
    one.open(str(file))
    one.apply("Rename item", renamed(one.project, "cut", "Rough cut"))
    one.save()
    steps = len(one.history.steps) if one.history else 0
    one.look_at_disk()
    assert one.history is not None
    assert (len(one.history.steps), one.dirty) == (steps, False)


def test_a_clash_is_told_once_for_each_state_of_the_file(qtbot: QtBot, document: Open, file: Path) -> None:
    one = document()
    one.open(str(file))
    told: list[str] = []
    one.clashed.connect(lambda: told.append("clash"))
    one.apply("Rename item", renamed(one.project, "cut", "Mine"))
    save(renamed(project(), "cut", "Theirs"), file)
    for _n in range(3):
        one.look_at_disk()
    assert told == ["clash"]
    save(renamed(project(), "cut", "Theirs, again"), file)
    one.look_at_disk()
    assert told == ["clash", "clash"]
    with pytest.raises(BadInput, match="changed by another program"):
        one.save()
    assert names(load(file))["cut"] == "Theirs, again"
    assert names(one.project)["cut"] == "Mine"


@pytest.mark.parametrize(("keep", "name"), [("mine", "Mine"), ("theirs", "Theirs")])
def test_a_settled_clash_can_be_saved_and_undone(document: Open, file: Path, keep: str, name: str) -> None:
    one = document()
    one.open(str(file))
    one.apply("Rename item", renamed(one.project, "cut", "Mine"))
    save(renamed(renamed(project(), "cut", "Theirs"), "spline", "Smoothing"), file)
    one.settle(keep)
    assert (names(one.project)["cut"], names(one.project)["spline"]) == (name, "Smoothing")
    one.save()
    assert load(file) == one.project
    one.undo()
    assert names(one.project)["cut"] == "Mine"


def test_a_file_that_was_broken_by_another_program_is_told_of_and_mine_stays(document: Open, file: Path) -> None:
    one = document()
    one.open(str(file))
    said: list[str] = []
    one.said.connect(said.append)
    file.write_text("{", encoding="utf-8")
    for _n in range(2):
        one.look_at_disk()
    assert len(said) == 1
    assert "cannot be read now" in said[0]
    assert one.project == project()


# --- other days ---


def test_an_open_window_turns_to_the_new_day_when_the_night_is_over(document: Open, services: FakeServices) -> None:
    one = document()
    one.new(project())
    days: list[dt.date] = []
    one.day_changed.connect(days.append)
    tomorrow = AS_OF + dt.timedelta(days=1)
    services.day, services.moment = tomorrow, dt.datetime.combine(tomorrow, dt.time(1, 30))
    one.look_at_day()
    assert (one.as_of, days) == (AS_OF, [])
    services.moment = dt.datetime.combine(tomorrow, dt.time(8, 0))
    one.look_at_day()
    one.look_at_day()
    assert (one.as_of, days) == (tomorrow, [tomorrow])


def test_a_day_that_is_held_waits(document: Open, services: FakeServices) -> None:
    one = document()
    one.new(project())
    one.hold_day(True)
    services.go_to_day(AS_OF + dt.timedelta(days=2))
    one.look_at_day()
    assert one.as_of == AS_OF
    one.hold_day(False)
    assert one.as_of == AS_OF + dt.timedelta(days=2)


def test_a_fixed_day_stays_fixed(document: Open, services: FakeServices) -> None:
    one = document()
    one.new(project())
    one.set_as_of(AS_OF)
    days: list[dt.date] = []
    one.day_changed.connect(days.append)
    services.go_to_day(AS_OF + dt.timedelta(days=30))
    one.look_at_day()
    assert (one.as_of, days) == (AS_OF, [])


# --- live odds ---


def test_a_value_that_is_typed_and_taken_back_ends_the_preview(qtbot: QtBot, document: Open) -> None:
    one = document()
    one.new(project())
    qtbot.waitUntil(lambda: one.fresh and not one.worker.busy, timeout=30_000)
    shown: list[object] = []
    one.preview_changed.connect(shown.append)
    one.preview(edit.change_item(one.project, "spline", likely=5.0))
    assert not one.apply("Change estimate", one.project)
    assert shown[-1] is None
    assert one.fresh
