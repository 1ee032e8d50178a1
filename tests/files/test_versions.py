# SPDX-License-Identifier: GPL-3.0-or-later
"""The ring of earlier versions: what is kept, what is given up, how to go back. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import errno
import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from project_strategies import sample_raw

from nightplan.files import versions
from nightplan.files.store import content_hash, dumps, load, save
from nightplan.files.versions import Ring, Version, keep, listed, project_of, read, save_and_keep, surplus
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw

PROJECT = project_from_raw(sample_raw())
START = dt.datetime(2027, 10, 10, 20, 0, tzinfo=dt.UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    (tmp_path / "work").mkdir()
    return tmp_path / "work" / "moth & lantern.nightplan"


def at(folder: Path, minutes: float = 0) -> Ring:
    return Ring(folder / "rings", START + dt.timedelta(minutes=minutes))


def titles(path: Path, folder: Path) -> list[str]:
    return [project_of(version).title for version in listed(path, folder / "rings")]


def test_each_save_can_be_gone_back_to(tmp_path: Path, path: Path) -> None:
    for n, title in enumerate(["One", "Two", "Three"]):
        save_and_keep(PROJECT.but(title=title), path, at(tmp_path, n))
    assert titles(path, tmp_path) == ["Three", "Two", "One"]
    found = listed(path, tmp_path / "rings")
    assert [v.when for v in found] == [START + dt.timedelta(minutes=n) for n in (2, 1, 0)]
    assert read(found[2]) == dumps(PROJECT.but(title="One")).encode()
    assert os.listdir(path.parent) == [path.name], "nothing lies beside the file"


def test_the_same_twice_is_one_version(tmp_path: Path, path: Path) -> None:
    for n in range(3):
        save_and_keep(PROJECT, path, at(tmp_path, n))
    assert len(listed(path, tmp_path / "rings")) == 1


def test_what_another_program_wrote_is_kept_before_it_is_written_over(tmp_path: Path, path: Path) -> None:
    save_and_keep(PROJECT, path, at(tmp_path))
    save(PROJECT.but(title="Theirs"), path)
    wrote = START + dt.timedelta(minutes=3)
    os.utime(path, (wrote.timestamp(), wrote.timestamp()))
    save_and_keep(PROJECT.but(title="Mine"), path, at(tmp_path, 5))
    assert titles(path, tmp_path) == ["Mine", "Theirs", PROJECT.title]
    assert listed(path, tmp_path / "rings")[1].when == wrote


def test_even_a_file_that_is_no_project_is_kept_before_it_is_written_over(tmp_path: Path, path: Path) -> None:
    path.write_bytes(b"half a file")
    save_and_keep(PROJECT, path, at(tmp_path))
    assert b"half a file" in [read(v) for v in listed(path, tmp_path / "rings")]


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EIO, errno.EROFS])
def test_a_ring_that_fails_never_fails_the_save(
    tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr("nightplan.files.versions.Path.mkdir", refuse)
    assert save_and_keep(PROJECT, path, at(tmp_path)) == content_hash(path)
    assert load(path) == PROJECT


def test_a_file_in_the_place_of_the_ring_never_fails_the_save(tmp_path: Path, path: Path) -> None:
    (tmp_path / "rings").write_text("no folder")
    save_and_keep(PROJECT, path, at(tmp_path))
    assert load(path) == PROJECT
    assert listed(path, tmp_path / "rings") == ()


@pytest.mark.parametrize("how", ["cut", "other", "gone", "nonsense"])
def test_a_damaged_version_is_said_and_the_others_stay(tmp_path: Path, path: Path, how: str) -> None:
    save_and_keep(PROJECT.but(title="One"), path, at(tmp_path))
    save_and_keep(PROJECT.but(title="Two"), path, at(tmp_path, 1))
    new, old = listed(path, tmp_path / "rings")
    if how == "cut":
        new.place.write_bytes(new.place.read_bytes()[:-20])
    elif how == "other":
        new.place.write_bytes(old.place.read_bytes())
    elif how == "nonsense":
        new.place.write_bytes(b"nonsense")
    else:
        new.place.unlink()
    with pytest.raises(BadInput, match=r"^the version of 2027-10-10 20:01 UTC cannot be read: "):
        project_of(new)
    assert project_of(old).title == "One"


def test_files_of_one_name_have_rings_of_their_own(tmp_path: Path, path: Path) -> None:
    other = tmp_path / "elsewhere" / path.name
    other.parent.mkdir()
    save_and_keep(PROJECT.but(title="Here"), path, at(tmp_path))
    save_and_keep(PROJECT.but(title="There"), other, at(tmp_path))
    assert titles(path, tmp_path) == ["Here"]
    assert titles(other, tmp_path) == ["There"]


def test_a_link_and_its_file_have_one_ring(tmp_path: Path, path: Path) -> None:
    save_and_keep(PROJECT.but(title="One"), path, at(tmp_path))
    (tmp_path / "link.nightplan").symlink_to(path)
    save_and_keep(PROJECT.but(title="Two"), tmp_path / "link.nightplan", at(tmp_path, 1))
    assert titles(path, tmp_path) == ["Two", "One"]


def test_a_file_that_was_moved_brings_its_ring_along(tmp_path: Path, path: Path) -> None:
    for n, title in enumerate(["One", "Two"]):
        save_and_keep(PROJECT.but(title=title), path, at(tmp_path, n))
    moved = path.rename(tmp_path / "new.nightplan")
    assert versions.follow(moved, tmp_path / "rings")
    assert titles(moved, tmp_path) == ["Two", "One"]
    save_and_keep(PROJECT.but(title="Three"), moved, at(tmp_path, 3))
    assert titles(moved, tmp_path) == ["Three", "Two", "One"]


def test_a_copy_does_not_take_the_ring_away(tmp_path: Path, path: Path) -> None:
    save_and_keep(PROJECT, path, at(tmp_path))
    copy = tmp_path / "copy.nightplan"
    copy.write_bytes(path.read_bytes())
    assert not versions.follow(copy, tmp_path / "rings")
    assert titles(path, tmp_path) == [PROJECT.title]


def test_strange_files_in_a_ring_are_let_be(tmp_path: Path, path: Path) -> None:
    save_and_keep(PROJECT, path, at(tmp_path))
    (old,) = listed(path, tmp_path / "rings")
    (old.place.parent / "notes.txt").write_text("mine")
    (old.place.parent / ("99999999T999999.000000Z-" + "0" * 64 + ".json.gz")).write_text("x")
    (old.place.parent / ("20271010T200000.000000Z-" + "1" * 64 + ".json.gz")).mkdir()
    assert listed(path, tmp_path / "rings") == (old,)
    save_and_keep(PROJECT.but(title="Two"), path, at(tmp_path, 1))
    assert (old.place.parent / "notes.txt").exists()


def version(minutes_ago: float, size: int = 1000) -> Version:
    when = START - dt.timedelta(minutes=minutes_ago)
    return Version(when, f"{minutes_ago}", size, Path(f"{minutes_ago}"))


def left(found: list[Version]) -> list[Version]:
    gone = surplus(found, START)
    return [v for v in found if v not in gone]


def test_a_ring_is_thinned_by_age() -> None:
    # one every 20 s for three hours
    found = [version(n / 3) for n in range(540)]
    kept = left(found)
    assert kept[: versions.MOST_YOUNG] == found[: versions.MOST_YOUNG]
    rest = [v for v in kept if dt.timedelta(minutes=10) <= START - v.when < dt.timedelta(hours=1)]
    assert len({v.when.replace(second=0) for v in rest}) == len(rest)
    assert 49 <= len(rest) <= 51
    assert len(kept) <= versions.MOST_YOUNG + 51 + 3


def test_years_of_evenings_fit() -> None:
    # saved twice an evening for two years
    found = [version((day * 24 + hour) * 60) for day in range(730) for hour in (1, 3)]
    kept = left(found)
    ages = [(START - v.when) / dt.timedelta(days=1) for v in kept]
    assert len([a for a in ages if 2 <= a < 60]) in (58, 59)
    assert max(ages) > 300
    assert len(kept) <= versions.MOST_VERSIONS


def test_a_ring_is_bounded_in_bytes_and_the_newest_stays() -> None:
    kept = left([version(n * 60, versions.MOST_BYTES // 4) for n in range(40)])
    assert [v.hash for v in kept] == ["0", "60", "120", "180"]
    assert left([version(0, versions.MOST_BYTES * 2)]) == [version(0, versions.MOST_BYTES * 2)]


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(-1000, 2_000_000), st.integers(100, versions.MOST_BYTES)),
        unique_by=lambda row: row[0],
        max_size=200,
    )
)
def test_whatever_a_ring_holds_it_is_bounded_and_settled(rows: list[tuple[int, int]]) -> None:
    found = sorted((version(age, size) for age, size in rows), key=lambda v: v.when, reverse=True)
    kept = left(found)
    assert len(kept) <= versions.MOST_VERSIONS
    assert len(kept) <= 1 or sum(v.size for v in kept) <= versions.MOST_BYTES
    assert kept[:1] == found[:1]
    # what was thinned once is not thinned further at the same moment
    assert left(kept) == kept


def test_keep_thins_the_ring_on_the_disk(tmp_path: Path, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(versions, "MOST_VERSIONS", 3)
    for n in range(6):
        save_and_keep(PROJECT.but(title=f"{n}"), path, at(tmp_path, n * 120))
    assert titles(path, tmp_path) == ["5", "4", "3"]


def test_the_folder_is_named_by_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NIGHTPLAN_DATA_DIR", str(tmp_path))
    assert versions.default_folder() == tmp_path / "versions"
    monkeypatch.delenv("NIGHTPLAN_DATA_DIR")
    assert versions.default_folder().is_absolute()


def test_a_file_that_is_not_there_has_nothing_to_keep(tmp_path: Path, path: Path) -> None:
    keep(path, at(tmp_path), foreign=True)
    assert listed(path, tmp_path / "rings") == ()
    with pytest.raises(BadInput, match="there is no such file"):
        keep(path, at(tmp_path))
