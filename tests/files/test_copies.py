# SPDX-License-Identifier: GPL-3.0-or-later
"""Conflict copies beside a file. Common practice, no source."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from nightplan.files.copies import conflict_copies


@pytest.mark.parametrize(
    "name",
    [
        "moth (conflicted copy 2027-10-10).nightplan",
        "moth (Ines's conflicted copy).nightplan",
        "moth.sync-conflict-20271010-200000-ABCDEFG.nightplan",
        "moth_Conflict.nightplan",
        "moth (attic, in Konflikt stehende Kopie).nightplan",
        "moth (copie en conflit).nightplan",
        "moth.nightplan (conflict)",
    ],
)
def test_copies_are_noticed(tmp_path: Path, name: str) -> None:
    (tmp_path / name).touch()
    assert conflict_copies(tmp_path / "moth.nightplan") == (tmp_path / name,)


@pytest.mark.parametrize(
    "name",
    [
        "moth.nightplan",
        "moth 2.nightplan",
        "mothconflict.nightplan",
        "other (conflicted copy).nightplan",
        "moth (conflicted copy).png",
        ".moth.nightplan.lock",
    ],
)
def test_other_files_are_not(tmp_path: Path, name: str) -> None:
    (tmp_path / name).touch()
    assert conflict_copies(tmp_path / "moth.nightplan") == ()


def test_the_newest_comes_first_and_folders_do_not_count(tmp_path: Path) -> None:
    for n, name in enumerate(["moth (conflict 2).nightplan", "moth (conflict 1).nightplan"]):
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (1_000 + n, 1_000 + n))
    (tmp_path / "moth (conflict 3).nightplan").mkdir()
    assert [c.name[15] for c in conflict_copies(tmp_path / "moth.nightplan")] == ["1", "2"]


def test_a_file_that_is_itself_such_a_copy_has_none(tmp_path: Path) -> None:
    copy = tmp_path / "moth (conflicted copy).nightplan"
    copy.touch()
    (tmp_path / "moth.nightplan").touch()
    assert conflict_copies(copy) == ()
    assert conflict_copies(tmp_path / "gone" / "moth.nightplan") == ()
