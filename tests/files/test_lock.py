# SPDX-License-Identifier: GPL-3.0-or-later
"""One writer at a time, and a name for who holds the file up."""

from __future__ import annotations

import datetime as dt
import errno
import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from nightplan.files.errors import FilesError
from nightplan.files.lock import lock_path, locked, named


def test_a_second_writer_is_told_who_writes(tmp_path: Path) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    with locked(path, program="the desk"), pytest.raises(FilesError) as caught, locked(path, timeout_seconds=0):
        pytest.fail("two writers held one lock")
    said = caught.value.sentence
    assert f"written by the desk (process {os.getpid()} on {socket.gethostname()[:60]} since " in said
    match = re.search(r"since (\d{4}-\d\d-\d\d \d\d:\d\d:\d\d)\)", said)
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


def test_a_writer_that_was_killed_holds_nothing_up(tmp_path: Path) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    script = """
import os, sys
from nightplan.files.lock import locked
with locked(sys.argv[1]):
    os._exit(9)
"""
    assert subprocess.run([sys.executable, "-c", script, str(path)], check=False).returncode == 9
    assert ".a.nightplan.lock.holder" in os.listdir(tmp_path)
    assert named(path) == "another program", "a process that is gone is not named"
    with locked(path, timeout_seconds=0):
        assert f"process {os.getpid()} " in named(path)
    assert os.listdir(tmp_path).count(".a.nightplan.lock.holder") == 0


def test_a_holder_on_another_machine_is_named(tmp_path: Path) -> None:
    # whether a process of another machine lives cannot be seen from here
    path = tmp_path / "a.nightplan"
    path.touch()
    holder = lock_path(path).with_name(".a.nightplan.lock.holder")
    holder.write_text('{"process": 1, "machine": "attic", "program": "the desk\\nof"}')
    assert named(path).startswith("the desk of (process 1 on attic since ")


@pytest.fixture
def no_locks(monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk that knows no locks: flock(2) gives ENOLCK or EOPNOTSUPP there."""
    from filelock import FileLock

    def refuse(*_: object, **__: object) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(FileLock, "acquire", refuse)


def test_a_disk_without_locks_gets_a_marker(tmp_path: Path, no_locks: None) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    with (
        locked(path),
        pytest.raises(FilesError, match="is being written by nightplan"),
        locked(path, timeout_seconds=0),
    ):
        pytest.fail("two writers held one lock")
    assert [n for n in os.listdir(tmp_path) if n.endswith((".held", ".holder"))] == []
    with locked(path, timeout_seconds=0):
        pass


def test_a_marker_of_a_killed_writer_is_void(tmp_path: Path, no_locks: None) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    script = """
import os, sys
from filelock import SoftFileLock
lock = SoftFileLock(sys.argv[1])
lock.acquire()
os._exit(9)
"""
    marker = tmp_path / ".a.nightplan.lock.held"
    assert subprocess.run([sys.executable, "-c", script, str(marker)], check=False).returncode == 9
    assert marker.exists()
    with locked(path, timeout_seconds=1):
        pass


def test_an_old_marker_of_another_machine_is_void(tmp_path: Path, no_locks: None) -> None:
    path = tmp_path / "a.nightplan"
    path.touch()
    marker = tmp_path / ".a.nightplan.lock.held"
    marker.write_text("4711\nattic\n")
    with pytest.raises(FilesError), locked(path, timeout_seconds=0):
        pytest.fail("a young marker of another machine is somebody's")
    old = marker.stat().st_mtime - 3_600
    os.utime(marker, (old, old))
    with locked(path, timeout_seconds=1):
        pass
