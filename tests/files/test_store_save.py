# SPDX-License-Identifier: GPL-3.0-or-later
"""Saving: whole or not at all, in the same form each time."""

from __future__ import annotations

import errno
import json
import os
import stat
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from project_strategies import raw_projects, sample_raw

from nightplan.files import store
from nightplan.files.errors import ChangedMeanwhile, FilesError
from nightplan.files.store import dumps, load, parse, save
from nightplan.model.parse import project_from_raw

PROJECT = project_from_raw(sample_raw())


@settings(max_examples=150, deadline=None)
@given(raw_projects())
def test_a_round_trip_loses_nothing(raw: dict[str, Any]) -> None:
    project = project_from_raw(raw)
    text = dumps(project)
    assert parse(text.encode(), "x") == project
    assert dumps(parse(text.encode(), "x")) == text
    assert_kept(raw, json.loads(text))


def assert_kept(before: Any, after: Any) -> None:
    """Everything in ``before`` is in ``after``, but keys of the model that are null and amounts that are certain."""
    if isinstance(before, dict):
        if not isinstance(after, dict):
            assert before == {"likely": after, "high": after}
            return
        for key, value in before.items():
            if key.startswith("x-"):
                assert after[key] == value
            elif value is not None:
                assert_kept(value, after[key])
    elif isinstance(before, list):
        assert len(before) == len(after)
        for one, two in zip(before, after, strict=True):
            assert_kept(one, two)
    else:
        assert before == after


def test_the_text_is_for_people_and_for_version_control() -> None:
    text = dumps(PROJECT.but(title="Môth 蛾"))
    assert text.startswith('{\n "format": "nightplan",\n "version": 1,\n "title": "Môth 蛾",\n')
    assert text.endswith("}\n")
    assert not text.endswith("\n\n")


def test_save_makes_a_file_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    save(PROJECT, tmp_path / "a.nightplan")
    save(PROJECT, tmp_path / "a.nightplan")
    assert os.listdir(tmp_path) == ["a.nightplan"]
    assert load(tmp_path / "a.nightplan") == PROJECT


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_the_mode_is_kept(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "a.nightplan"
    save(PROJECT, path)
    path.chmod(mode)
    save(PROJECT.but(title="Other"), path)
    assert stat.S_IMODE(path.stat().st_mode) == mode


def test_a_new_file_has_the_mode_that_any_new_file_has(tmp_path: Path) -> None:
    (tmp_path / "plain").touch()
    save(PROJECT, tmp_path / "a.nightplan")
    assert (tmp_path / "a.nightplan").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    save(PROJECT, tmp_path / "real" / "a.nightplan")
    link = tmp_path / "link.nightplan"
    link.symlink_to(tmp_path / "real" / "a.nightplan")
    save(PROJECT.but(title="Other"), link)
    assert link.is_symlink()
    assert load(tmp_path / "real" / "a.nightplan").title == "Other"
    assert os.listdir(tmp_path / "real") == ["a.nightplan"]


def test_a_long_name_of_wide_letters(tmp_path: Path) -> None:
    path = tmp_path / ("蛾" * 75 + ".nightplan")
    save(PROJECT, path)
    assert load(path) == PROJECT


FAULTS = [
    ("fsync", errno.EIO, "the disk reports a fault"),
    ("fsync", errno.ENOSPC, "the disk is full"),
    ("fsync", errno.EDQUOT, "your quota on this disk is used up"),
    ("replace", errno.EACCES, "you may not write there"),
    ("replace", errno.EROFS, "the disk is read-only"),
    ("chmod", errno.EPERM, "you may not write there"),
    ("close", errno.EDQUOT, "your quota on this disk is used up"),
    ("write", errno.ESTALE, "the drive does not answer; is it still connected?"),
    ("write", errno.EFBIG, "the file would be too large for this disk"),
]


@pytest.mark.parametrize(("call", "number", "words"), FAULTS)
@pytest.mark.parametrize("there", [True, False])
def test_a_fault_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, number: int, words: str, there: bool
) -> None:
    path = tmp_path / "a.nightplan"
    if there:
        save(PROJECT, path)
    before = sorted(os.listdir(tmp_path)), store.content_hash(path)

    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(f"nightplan.files.store.os.{call}", fail)
    with pytest.raises(FilesError) as caught:
        save(PROJECT.but(title="Other"), path)
    assert words in caught.value.sentence
    assert str(path) in caught.value.sentence
    monkeypatch.undo()
    assert (sorted(os.listdir(tmp_path)), store.content_hash(path)) == before


def test_a_full_disk_in_the_middle_of_the_text(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.nightplan"
    save(PROJECT, path)
    before = store.content_hash(path)
    real, room = os.write, [1000]

    def half(handle: int, data: bytes) -> int:
        if not room[0]:
            raise OSError(errno.ENOSPC, "No space left on device")
        written = real(handle, data[: room[0]])
        room[0] -= written
        return written

    monkeypatch.setattr("nightplan.files.store.os.write", half)
    with pytest.raises(FilesError, match="the disk is full"):
        save(PROJECT.but(title="Other"), path)
    monkeypatch.undo()
    assert store.content_hash(path) == before
    assert os.listdir(tmp_path) == ["a.nightplan"]


def test_a_disk_that_takes_a_part_at_a_time_gets_all_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # write(2): fewer bytes than asked for may be written, and that is no error
    real = os.write
    monkeypatch.setattr("nightplan.files.store.os.write", lambda handle, data: real(handle, data[:997]))
    save(PROJECT, tmp_path / "a.nightplan")
    monkeypatch.undo()
    assert load(tmp_path / "a.nightplan") == PROJECT


# --- what killed saves leave behind ---


def left_behind(folder: Path, name: str, age_seconds: float) -> Path:
    path = folder / name
    path.write_bytes(b"{")
    moment = path.stat().st_mtime - age_seconds
    os.utime(path, (moment, moment))
    return path


def test_the_next_save_clears_away_what_a_killed_one_left(tmp_path: Path) -> None:
    left_behind(tmp_path, ".a.nightplan.abcdefgh.part", 3_600)
    save(PROJECT, tmp_path / "a.nightplan")
    assert os.listdir(tmp_path) == ["a.nightplan"]


@pytest.mark.parametrize(
    ("name", "age_seconds"),
    [
        (".a.nightplan.abcdefgh.part", 60),
        (".b.nightplan.abcdefgh.part", 3_600),
        (".a.nightplan.of-mine.part", 3_600),
        (".a.nightplan.abcdefgh.part.zip", 3_600),
        ("a.nightplan.abcdefgh.part", 3_600),
    ],
    ids=["young", "another file's", "another name", "another ending", "in sight"],
)
def test_what_may_not_be_ours_stays(tmp_path: Path, name: str, age_seconds: float) -> None:
    left_behind(tmp_path, name, age_seconds)
    save(PROJECT, tmp_path / "a.nightplan")
    assert sorted(os.listdir(tmp_path)) == sorted(["a.nightplan", name])


@pytest.mark.skipif(sys.platform == "win32", reason="no such locks there")
def test_what_somebody_still_writes_stays(tmp_path: Path) -> None:
    import fcntl

    place = left_behind(tmp_path, ".a.nightplan.abcdefgh.part", 3_600)
    with place.open("rb") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        save(PROJECT, tmp_path / "a.nightplan")
        assert place.exists()
    save(PROJECT, tmp_path / "a.nightplan")
    assert not place.exists()


def test_a_link_in_the_place_of_a_leftover_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("mine")
    (tmp_path / ".a.nightplan.abcdefgh.part").symlink_to(tmp_path / "thesis.txt")
    save(PROJECT, tmp_path / "a.nightplan")
    assert (tmp_path / "thesis.txt").read_text() == "mine"


# --- another writer between reading and writing ---


@pytest.mark.parametrize("now", [b"theirs", None])
def test_what_another_program_wrote_is_not_written_over(tmp_path: Path, now: bytes | None) -> None:
    path = tmp_path / "a.nightplan"
    read = save(PROJECT, path)
    if now is None:
        path.unlink()
    else:
        path.write_bytes(now)
    with pytest.raises(ChangedMeanwhile, match="another program changed it"):
        save(PROJECT.but(title="Other"), path, over=read)
    assert (path.read_bytes() if path.exists() else None) == now
    assert [n for n in os.listdir(tmp_path) if n != "a.nightplan"] == []


def test_a_file_that_appears_where_none_was_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "a.nightplan"
    save(PROJECT, path, over="")
    with pytest.raises(ChangedMeanwhile):
        save(PROJECT.but(title="Other"), path, over="")
    assert load(path).title == PROJECT.title


def test_a_folder_that_cannot_be_synced_is_no_failed_save(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # the file is whole and in place by then; some network drives refuse this call
    real = os.open

    def refuse(path: Any, flags: int, *rest: Any, **keys: Any) -> int:
        if Path(path) == tmp_path:
            raise OSError(errno.EINVAL, "Invalid argument")
        return real(path, flags, *rest, **keys)

    monkeypatch.setattr("nightplan.files.store.os.open", refuse)
    save(PROJECT, tmp_path / "a.nightplan")
    monkeypatch.undo()
    assert load(tmp_path / "a.nightplan") == PROJECT


def test_the_folder_is_gone(tmp_path: Path) -> None:
    with pytest.raises(FilesError, match="the folder is gone"):
        save(PROJECT, tmp_path / "gone" / "a.nightplan")


def test_a_folder_in_the_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "a.nightplan").mkdir()
    with pytest.raises(FilesError, match="it is a folder"):
        save(PROJECT, tmp_path / "a.nightplan")
    assert os.listdir(tmp_path) == ["a.nightplan"]


def test_a_file_that_is_protected_stays_protected(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.nightplan"
    save(PROJECT, path)
    # the tests may run as a user whom no protection stops
    monkeypatch.setattr("nightplan.files.store.os.access", lambda *_: False)
    with pytest.raises(FilesError, match="you may not write there"):
        save(PROJECT.but(title="Other"), path)
    assert load(path).title == PROJECT.title


def test_every_part_reaches_the_disk_in_the_right_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # flush, sync the file, rename, sync the folder: the order that rename(2) and fsync(2) of Linux ask for
    calls: list[str] = []
    real_sync, real_replace = os.fsync, os.replace

    def sync(handle: int) -> None:
        folder = stat.S_ISDIR(os.fstat(handle).st_mode)
        calls.append("sync folder" if folder else f"sync file of {os.fstat(handle).st_size}")
        real_sync(handle)

    def replace(old: str, new: str) -> None:
        calls.append("replace")
        assert Path(old).parent == Path(new).parent
        real_replace(old, new)

    monkeypatch.setattr("nightplan.files.store.os.fsync", sync)
    monkeypatch.setattr("nightplan.files.store.os.replace", replace)
    save(PROJECT, tmp_path / "a.nightplan")
    assert calls == [f"sync file of {len(dumps(PROJECT).encode())}", "replace", "sync folder"]
