# SPDX-License-Identifier: GPL-3.0-or-later
"""Frames on disk: what one look finds, and what it makes of the odds."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import pytest
from nights_cases import UTC, day, item, job, make

from nightplan.actions import jobs
from nightplan.engine.plan import plan
from nightplan.files.frames import look
from nightplan.files.frames_space import free_bytes
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw

BEGIN = dt.datetime(2027, 9, 20, 22, tzinfo=UTC)
NOW = BEGIN + dt.timedelta(hours=12)


def write(
    folder: Path, numbers: list[int], minutes: float = 6.0, *, size: int = 5, name: str = "shot_{:04d}.png"
) -> None:
    """Frames, one after the other from 22:00 on."""
    folder.mkdir(exist_ok=True)
    for n, number in enumerate(numbers):
        put(folder / name.format(number), minutes * n, size)


def put(path: Path, minutes: float, size: int = 5) -> None:
    path.write_bytes(b"x" * size)
    stamp = (BEGIN + dt.timedelta(minutes=minutes)).timestamp()
    os.utime(path, (stamp, stamp))


def test_numbers_gaps_placeholders_and_times(tmp_path: Path) -> None:
    write(tmp_path, [1, 2, 3, 6, 7, 10])
    put(tmp_path / "shot_0011.png", 40, 0)
    (tmp_path / "notes.txt").write_text("no frame")
    (tmp_path / ".hidden_0001.png").write_text("no frame")
    (tmp_path / "older_0001").mkdir()
    found = look(tmp_path, NOW)
    assert (found.pattern, found.first, found.last) == ("shot_####.png", 1, 11)
    assert (found.whole, found.placeholders, found.others) == (6, 1, 2)
    assert found.gaps == ((4, 5), (8, 9))
    assert found.missing == 4
    assert (found.oldest, found.newest) == (BEGIN, BEGIN + dt.timedelta(minutes=30))
    # source: trade.md, (newest − oldest)/(n − 1)
    assert found.minutes_per_frame == pytest.approx(6.0)
    assert found.megabytes_per_frame == pytest.approx(5e-6)
    assert found.doubts == ()


def test_one_frame_measures_nothing(tmp_path: Path) -> None:
    write(tmp_path, [1])
    assert look(tmp_path, NOW).minutes_per_frame is None


@pytest.mark.parametrize(
    ("names", "word"),
    [
        ([], "no numbered frame"),
        (["cover.png"], "no numbered frame"),
        (["beauty_0001.exr", "depth_0001.exr"], "several sequences are mixed"),
        (["shot_0001.exr", "shot_0001.png"], "several sequences are mixed"),
        (["shot_0001.png", "shot_1.png"], "the numbers start again"),
    ],
)
def test_what_is_refused(tmp_path: Path, names: list[str], word: str) -> None:
    for n, name in enumerate(names):
        put(tmp_path / name, n)
    with pytest.raises(BadInput, match=word):
        look(tmp_path, NOW)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no such folder"):
        look(tmp_path / "gone", NOW)
    (tmp_path / "file").write_text("x")
    with pytest.raises(BadInput, match="is a file"):
        look(tmp_path / "file", NOW)


def test_a_folder_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # not by chmod: the tests may run as a user who may read everything
    def refuse(_path: object) -> object:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "scandir", refuse)
    with pytest.raises(BadInput, match="may not read"):
        look(tmp_path, NOW)


def test_one_of_several_sequences_by_name(tmp_path: Path) -> None:
    write(tmp_path, [1, 2], name="beauty_{:04d}.exr")
    write(tmp_path, [1, 2, 3], name="depth_{:04d}.exr")
    assert look(tmp_path / "depth_####.exr", NOW).whole == 3
    with pytest.raises(BadInput, match=r"no frame named mist_####\.exr"):
        look(tmp_path / "mist_####.exr", NOW)


def test_a_clock_that_is_ahead(tmp_path: Path) -> None:
    write(tmp_path, [1, 2, 3])
    found = look(tmp_path, BEGIN - dt.timedelta(hours=1))
    assert "ahead of this computer's clock" in found.doubts[0]
    assert found.minutes_per_frame is None


def test_a_clock_that_goes_backwards(tmp_path: Path) -> None:
    write(tmp_path, list(range(1, 21)))
    # put back by an hour: frame 21 comes after the twentieth, dated before it
    for n in range(21, 31):
        put(tmp_path / f"shot_{n:04d}.png", 6 * (n - 1) - 60)
    found = look(tmp_path, NOW)
    assert "the clock went backwards" in found.doubts[0]
    assert "frame 21 is dated 54 min before frame 20" in found.doubts[0]
    # machines that write side by side are no doubt
    assert look(tmp_path, NOW, several=True).doubts == ()


def test_a_render_begun_again_over_an_older_run(tmp_path: Path) -> None:
    write(tmp_path, list(range(1, 31)))
    for n in range(1, 11):
        put(tmp_path / f"shot_{n:04d}.png", 300 + 4 * n)
    found = look(tmp_path, NOW)
    assert "begun again" in found.doubts[0]
    again = look(tmp_path, NOW, since=BEGIN + dt.timedelta(minutes=300))
    assert (again.whole, again.before_start, again.doubts) == (10, 20, ())
    assert again.minutes_per_frame == pytest.approx(4.0)


def test_the_look_becomes_the_estimate(tmp_path: Path) -> None:
    write(tmp_path, list(range(1, 42)))
    raw = job(after=["light"], frames=101, minutes_per_frame={"likely": 20, "high": 30}, folder=str(tmp_path))
    project = make([item("light", 8)], jobs=[raw])
    found = jobs.look_at(project.jobs[0], NOW)
    after = jobs.take_in(project, "render", found)
    # 60 frames at 6 minutes from 02:00 on
    assert plan(after, day(1)).jobs[0].end == dt.datetime(2027, 9, 21, 8, tzinfo=UTC)
    # nothing new, nothing changed, nothing to undo
    assert jobs.take_in(after, "render", found) is after
    assert project_from_raw(project_to_raw(after)) == after


def test_doubts_are_not_taken_in(tmp_path: Path) -> None:
    write(tmp_path, [1, 2, 3])
    project = make([item("light", 8)], jobs=[job(frames=9, minutes_per_frame=20, folder=str(tmp_path))])
    found = jobs.look_at(project.jobs[0], BEGIN - dt.timedelta(hours=1))
    assert jobs.take_in(project, "render", found) is project


def test_another_folder_forgets_what_was_seen(tmp_path: Path) -> None:
    write(tmp_path, [1, 2, 3])
    project = make([item("light", 8)], jobs=[job(frames=9, minutes_per_frame=20, folder=str(tmp_path))])
    seen = jobs.take_in(project, "render", jobs.look_at(project.jobs[0], NOW))
    assert seen.jobs[0].running
    assert not jobs.point_at_folder(seen, "render", str(tmp_path / "b")).jobs[0].running
    assert not jobs.stop_job(seen, "render").jobs[0].running


def test_room_on_the_disk(tmp_path: Path) -> None:
    # 240 frames × 50 MB = 12 GB, decimal
    raw = job(frames=240, minutes_per_frame=1, megabytes_per_frame=50.0, folder=str(tmp_path / "not" / "yet"))
    work = make(jobs=[raw], items=[item("light", 1)]).jobs[0]
    room = jobs.room_for(work)
    assert room is not None
    assert room.need_gigabytes == pytest.approx(12.0)
    assert room.free_gigabytes * 1e9 == pytest.approx(free_bytes(tmp_path), rel=0.05)
