# SPDX-License-Identifier: GPL-3.0-or-later
"""What takes its time tells how far it is, and ends where it is told to. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from nightplan.actions.leaving import Wanted, leave
from nightplan.actions.today import as_it_stands
from nightplan.files.data import data_folder
from nightplan.files.store import load
from nightplan.model.errors import Cancelled
from nightplan.model.project import Project

SLOW = [("report", ".html"), ("report", ".pdf"), ("one-page", ".pdf"), ("wall-sheet", ".pdf")]


@pytest.fixture(scope="module")
def project() -> Project:
    return load(data_folder("sample_projects") / "moth-and-lantern.nightplan")


def wanted(project: Project, what: str) -> Wanted:
    return Wanted(as_it_stands(project), dt.datetime(2027, 1, 1, tzinfo=dt.UTC), what, futures=300)


@pytest.mark.parametrize(("what", "ending"), SLOW)
def test_the_share_only_grows(project: Project, tmp_path: Path, what: str, ending: str) -> None:
    told: list[float] = []
    leave(project, tmp_path / f"x{ending}", wanted(project, what), progress=told.append)
    assert told == sorted(told)
    assert 0.0 <= told[0] < told[-1] <= 1.0


@pytest.mark.parametrize(("what", "ending"), SLOW)
def test_it_ends_between_two_pages_or_charts_and_leaves_nothing(
    project: Project, tmp_path: Path, what: str, ending: str
) -> None:
    told: list[float] = []

    def stop(share: float) -> None:
        told.append(share)
        if share >= 0.3:
            raise Cancelled

    with pytest.raises(Cancelled):
        leave(project, tmp_path / f"x{ending}", wanted(project, what), progress=stop)
    assert told[-1] < 1.0
    assert list(tmp_path.iterdir()) == []
