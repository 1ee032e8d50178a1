# SPDX-License-Identifier: GPL-3.0-or-later
"""One writer at a time, and a name for who holds the file up."""

from __future__ import annotations

import datetime as dt
import os
import re
import socket
from pathlib import Path

import pytest

from nightplan.files.errors import FilesError
from nightplan.files.lock import lock_path, locked


def test_a_second_writer_is_told_who_writes(tmp_path: Path) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    with locked(path), pytest.raises(FilesError) as caught, locked(path, timeout_seconds=0):
        pytest.fail("two writers held one lock")
    said = caught.value.sentence
    assert f"process {os.getpid()} on {socket.gethostname()[:60]} since " in said
    match = re.search(r"since (\d{4}-\d\d-\d\d \d\d:\d\d:\d\d)", said)
    assert match
    dt.datetime.fromisoformat(match[1])


def test_the_lock_is_free_again_also_after_an_error(tmp_path: Path) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    with pytest.raises(KeyError), locked(path):
        raise KeyError
    with locked(path, timeout_seconds=0):
        pass


def test_two_names_of_one_file_have_one_lock(tmp_path: Path) -> None:
    (tmp_path / "a.nightplan").touch()
    (tmp_path / "link.nightplan").symlink_to(tmp_path / "a.nightplan")
    assert lock_path(tmp_path / "link.nightplan") == lock_path(tmp_path / "a.nightplan")
    with (
        locked(tmp_path / "link.nightplan"),
        pytest.raises(FilesError),
        locked(tmp_path / "a.nightplan", timeout_seconds=0),
    ):
        pytest.fail("two writers held one lock")


@pytest.mark.parametrize("text", ["", "nonsense", "[1]", '{"process": "x"}', "null"])
def test_a_holder_that_cannot_be_read_is_another_program(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    with locked(path):
        lock_path(path).with_name(".a.nightplan.lock.holder").write_text(text)
        with pytest.raises(FilesError, match="written by another program"), locked(path, timeout_seconds=0):
            pytest.fail("two writers held one lock")


@pytest.mark.parametrize("name", ["a.nightplan", "gone/a.nightplan"])
def test_no_file_no_lock(tmp_path: Path, name: str) -> None:
    # loading says that there is no such file; a slip of the keyboard makes neither folders nor locks
    with locked(tmp_path / name):
        assert os.listdir(tmp_path) == []


def test_a_folder_that_cannot_be_written_does_not_stop_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # the save itself says what is wrong with the folder
    from filelock import FileLock

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "a.nightplan"
    path.touch()
    monkeypatch.setattr(FileLock, "acquire", refuse)
    with locked(path):
        assert os.listdir(tmp_path) == ["a.nightplan"]
