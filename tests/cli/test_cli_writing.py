# SPDX-License-Identifier: GPL-3.0-or-later
"""Verbs that change a file: the lock, other writers, earlier versions. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import io
import os
from pathlib import Path

import pytest
from cli_calls import TODAY, sample

from nightplan.cli import writing
from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.cli.writing import change_file
from nightplan.files.lock import locked
from nightplan.files.store import load, save
from nightplan.files.versions import listed
from nightplan.model.project import Project

NOW = dt.datetime(2027, 9, 20, 20, 0, tzinfo=dt.UTC)


def context(folder: Path) -> Context:
    return Context(io.StringIO(), lambda: TODAY, now=lambda: NOW, versions=lambda: folder / "versions")


def call(folder: Path, *argv: str) -> tuple[int, str]:
    err = io.StringIO()
    given = context(folder)
    return main(list(argv), given.out, err, given), err.getvalue()


def test_a_tick_keeps_the_state_before_and_its_own(tmp_path: Path) -> None:
    path = sample(tmp_path)
    assert call(tmp_path, "tick", str(path), "2027-03-01", "--hours", "1") == (0, "")
    assert len(listed(path, tmp_path / "versions")) == 2


def test_new_keeps_what_it_writes_over(tmp_path: Path) -> None:
    path = sample(tmp_path)
    title = load(path).title
    words = ["--title", "Kite", "--zone", "UTC", "--lock", "2027-10-20", "--deadline", "2027-10-30T12:00Z", "--force"]
    assert call(tmp_path, "new", str(path), *words)[0] == 0
    assert load(path).title == "Kite"
    from nightplan.files.versions import project_of

    assert title in {project_of(version).title for version in listed(path, tmp_path / "versions")}


def test_whoever_waits_too_long_is_told_who_writes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = sample(tmp_path)
    monkeypatch.setattr(writing, "WAIT_SECONDS", 0.05)
    before = path.read_bytes()
    with locked(path, program="another window of nightplan"):
        code, said = call(tmp_path, "tick", str(path), "2027-03-01", "--hours", "1")
    assert code == 2
    assert f"is being written by another window of nightplan (process {os.getpid()} on " in said
    assert path.read_bytes() == before


def test_a_program_without_locks_that_writes_in_between_loses_nothing(tmp_path: Path) -> None:
    path = sample(tmp_path)
    seen = []

    def act(project: Project) -> tuple[Project, str]:
        seen.append(project.title)
        if len(seen) == 1:
            save(project.but(title="Theirs"), path)
        return project.but(piece="ours"), "told"

    assert change_file(path, act, context(tmp_path), "tick") == "told"
    assert seen == ["Still Harbour", "Theirs"]
    assert (load(path).title, load(path).piece) == ("Theirs", "ours")


def test_a_program_that_never_stops_writing_is_said(tmp_path: Path) -> None:
    path = sample(tmp_path)
    count = iter(range(100))

    def act(project: Project) -> tuple[Project, None]:
        save(project.but(title=f"Theirs {next(count)}"), path)
        return project.but(piece="ours"), None

    from nightplan.files.errors import ChangedMeanwhile

    with pytest.raises(ChangedMeanwhile, match="another program changed it since it was read"):
        change_file(path, act, context(tmp_path), "tick")
    assert load(path).title.startswith("Theirs ")
