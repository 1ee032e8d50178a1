# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan check``: exit codes, JSON keys, which path is held against which deliverable."""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import pytest
from media_files import frames, movie, picture, png

from nightplan.cli.context import Context
from nightplan.cli.main import main

SHOT = {"id": "shot", "name": "Shot", "what": "movie", "rules": [{"id": "n", "kind": "frame-count", "value": 24}]}
FRAMES = {
    "id": "frames",
    "name": "Frames",
    "what": "sequence",
    "rules": [{"id": "n", "kind": "frame-count", "value": 3}],
}
STILL = {"id": "still", "name": "Still", "what": "image", "rules": [{"id": "t", "kind": "tick", "value": "theme"}]}


def call(*argv: Any) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = main([str(a) for a in argv], out, err, Context(out, lambda: dt.date(2027, 9, 20)))
    return code, out.getvalue(), err.getvalue()


def project(folder: Path, *deliverables: dict[str, Any]) -> Path:
    sample = Path(__file__).parents[2] / "sample_projects" / "still-harbour.nightplan"
    raw = json.loads(sample.read_text(encoding="utf-8"))
    raw["deliverables"] = list(deliverables)
    path = folder / "piece.nightplan"
    path.write_text(json.dumps(raw), encoding="utf-8")
    return path


def test_a_pass_and_a_fail(tmp_path: Path) -> None:
    file = project(tmp_path, FRAMES)
    good = frames(tmp_path / "good", range(1, 4))
    code, out, err = call("check", file, good, "--json")
    assert (code, err) == (0, "")
    answer = json.loads(out)
    assert answer["verdict"] == "pass"
    assert {"rule", "verdict", "measured", "wanted", "where", "repair"} <= set(answer["findings"][0])
    bad = frames(tmp_path / "bad", (1, 3))
    code, out, err = call("check", file, bad)
    assert (code, err) == (1, "")
    assert "frame 2 missing: render range 2" in out
    assert out.splitlines()[0] == "Frames: fail"
    assert "organiser's rules decide" in out


def test_deep_and_headers(tmp_path: Path) -> None:
    file = project(tmp_path, FRAMES)
    folder = frames(tmp_path / "shot", range(1, 4), lambda n: png(picture(2)))
    assert json.loads(call("check", file, folder, "--json")[1])["verdict"] == "pass"
    code, out, _ = call("check", file, folder, "--deep", "--json")
    assert (code, json.loads(out)["verdict"]) == (0, "warn")
    assert json.loads(call("check", file, folder, "--headers", "--json")[1])["deliverables"][0]["depth"] == "headers"


def test_paths_find_their_deliverable(tmp_path: Path) -> None:
    file = project(tmp_path, SHOT, FRAMES, STILL)
    clip = movie(tmp_path / "shot.mp4")
    folder = frames(tmp_path / "shot", range(1, 4))
    code, out, _ = call("check", file, folder, clip, "--json")
    answer = json.loads(out)
    assert code == 0
    assert [d["deliverable"] for d in answer["deliverables"]] == ["shot", "frames"]
    assert answer["not_checked"] == ["still"]
    still = tmp_path / "still.png"
    still.write_bytes(png(picture()))
    code, out, _ = call("check", file, still)
    assert code == 0
    assert "your tick" in out
    # one of them can be named, and is then held against the path whatever it looks like
    code, out, _ = call("check", file, clip, "--deliverable", "frames", "--json")
    assert (code, json.loads(out)["verdict"]) == (1, "fail")


@pytest.mark.parametrize(
    ("deliverables", "argv", "said"),
    [
        ((), ("a.mp4",), "the brief has no deliverables yet"),
        ((SHOT,), ("gone.mp4",), "gone.mp4: there is no such file"),
        ((SHOT, FRAMES), ("piece.nightplan",), "say with --deliverable which one it is: shot, frames"),
        ((SHOT,), ("piece.nightplan", "--deliverable", "film"), "--deliverable 'film': the brief has shot"),
        (({**SHOT, "what": "film"},), ("piece.nightplan",), "deliverables[0].what = 'film': must be"),
        ((SHOT,), (), "the following arguments are required: PATH"),
    ],
)
def test_bad_input(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, deliverables: tuple[Any, ...], argv: tuple[str, ...], said: str
) -> None:
    file = project(tmp_path, *deliverables)
    monkeypatch.chdir(tmp_path)
    code, out, err = call("check", file.name, *argv)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
