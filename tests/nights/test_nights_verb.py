# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan nights`` and the hands in ``nightplan plan``."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
from pathlib import Path
from typing import Any

from nights_cases import ANNOUNCED, NIGHT, UTC, day, item, job, make

from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.files.store import content_hash, save
from nightplan.model.project import Project

NOW = dt.datetime(2027, 9, 21, 9, tzinfo=UTC)


def call(*argv: str | Path, today: dt.date = ANNOUNCED) -> tuple[int, str]:
    out, err = io.StringIO(), io.StringIO()
    code = main([str(a) for a in argv], out, err, Context(out, lambda: today, now=lambda: NOW))
    return code, out.getvalue() + err.getvalue()


def saved(folder: Path, project: Project) -> Path:
    path = folder / "piece.nightplan"
    save(project, path)
    return path


def render(**more: Any) -> Project:
    raw = job(after=["light"], before=["cut"], frames=1440, minutes_per_frame=0.5, **more)
    return make([item("light", 2), item("cut", 1)], jobs=[raw], machines=[{"name": "desk", "window": NIGHT}])


def test_nights_as_json(tmp_path: Path) -> None:
    # 1440 × 30 s = 12 h: eight the first night, four the second
    code, text = call("nights", saved(tmp_path, render()), "--futures", "100", "--json")
    (row,) = json.loads(text)["jobs"]
    assert code == 0
    assert row["hours"] == {"likely": 12.0, "high": 12.0}
    assert row["nights"] == {"likely": 2, "high": 2}
    assert row["ready"]["likely"] == "2027-09-22T03:00:00+00:00"
    assert row["blocks"] == ["2027-09-21"]
    assert row["odds"] == 1.0


def test_nights_in_words(tmp_path: Path) -> None:
    code, text = call("nights", saved(tmp_path, render()), "--futures", "100")
    assert code == 0
    assert "2 nights (12.0 h), from Mon 20 Sep 23:00, ready Wed 22 Sep 03:00" in text
    assert "done by Personal lock: 100 in 100" in text


def test_a_look_changes_the_answer_and_not_the_file(tmp_path: Path) -> None:
    folder = tmp_path / "frames"
    folder.mkdir()
    begin = dt.datetime(2027, 9, 20, 23, tzinfo=UTC).timestamp()
    for n in range(241):
        path = folder / f"moth_{n:04d}.png"
        path.write_bytes(b"x")
        os.utime(path, (begin + 60 * n, begin + 60 * n))
    path = saved(tmp_path, render(folder=str(folder)))
    before = content_hash(path)
    code, text = call("nights", path, "--futures", "100", "--json", "--look", today=day(1))
    (row,) = json.loads(text)["jobs"]
    assert code == 0
    # 241 frames in 4 h of the window: a minute each; 1199 more
    assert row["minutes_per_frame"] == 1.0
    assert row["frames"]["whole"] == 241
    assert row["hours"]["likely"] == round(1199 / 60, 4)
    assert content_hash(path) == before
    _, text = call("nights", path, "--futures", "100", "--look", today=day(1))
    assert "241 of 1440 frames are there" in text


def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    path = saved(tmp_path, render(folder=str(tmp_path / "gone")))
    code, text = call("nights", path, "--futures", "100", "--look")
    assert code == 0
    assert "there is no such folder" in text.replace("\n", " ").replace("  ", " ")


def test_hands_in_the_plan(tmp_path: Path) -> None:
    path = saved(tmp_path, render(start_minutes=10.0, check_minutes=15.0))
    evenings = json.loads(call("plan", path, "--json")[1])["evenings"]
    told = [(e["date"], h["kind"], h["hours"]) for e in evenings for h in e.get("hands", [])]
    assert told == [("2027-09-21", "start", 0.1667), ("2027-09-23", "check", 0.25)]
    assert "start Render, 10 min" in call("plan", path)[1]


def test_a_look_without_a_folder_says_what_is_missing(tmp_path: Path) -> None:
    path = saved(tmp_path, render())
    code, said = call("nights", path, "--look")
    assert code == 0
    assert "has no folder of frames; point it at one first" in said
    assert "no folder of frames" not in call("nights", path)[1]
