# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan lookback``: keys, table, pictures, exit codes. The contract is the design page, section 5."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from library_cases import by_hand, write

from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.files.store import load

SAMPLES = Path(__file__).parents[2] / "sample_projects"


@dataclass
class Answer:
    code: int
    out: str
    err: str


def call(*argv: str | Path) -> Answer:
    out, err = io.StringIO(), io.StringIO()
    code = main(["lookback", *(str(a) for a in argv)], out, err, Context(out, lambda: dt.date(2027, 6, 1)))
    return Answer(code, out.getvalue(), err.getvalue())


def values(*argv: str | Path) -> Any:
    answer = call(*argv, "--json")
    assert (answer.code, answer.err) == (0, "")
    return json.loads(answer.out)


@pytest.fixture
def past(tmp_path: Path) -> Path:
    folder = tmp_path / "past"
    folder.mkdir()
    for n in range(3):
        write(folder, f"piece-{n}", by_hand(title=f"Piece {n}"))
    return folder


def new(tmp_path: Path) -> Path:
    raw = by_hand(log=[], baselines=[], forecasts=[], title="New")
    for stage in raw["stages"]:
        stage["items"][0]["state"] = "open"
    return write(tmp_path, "new", raw)


def test_the_keys_of_the_contract(past: Path) -> None:
    found = values(past)
    assert [{k: s[k] for k in ("stage", "n", "ratio")} for s in found["stages"]] == [
        {"stage": "Rig", "n": 3, "ratio": 1.5},
        {"stage": "Light", "n": 3, "ratio": 1.5},
    ]
    for stage in (*found["stages"], found["overall"]):
        assert stage["bias_low"] < stage["bias"] < stage["bias_high"]
        assert stage["spread_low"] < stage["spread"] < stage["spread_high"]
    assert found["overall"]["n"] == 6
    assert found["scores"]["forecasts"] == 21
    assert found["scores"]["gates"] == 6
    assert found["scores"]["base_rate"] == 0.5
    assert len(found["projects"]) == 3
    assert [(e["kind"], e["promised"], e["kept"]) for e in found["evenings"]] == [("sure", 15, 12), ("maybe", 6, 3)]


def test_files_and_folders_may_be_mixed(past: Path) -> None:
    assert values(past / "piece-0.nightplan")["overall"]["n"] == 2
    assert values(past / "piece-0.nightplan", past)["overall"]["n"] == 6


def test_the_prior_can_be_set(past: Path) -> None:
    usual, firm = values(past), values(past, "--prior-worth", "500", "--prior-ratio", "0.8")
    assert usual["overall"]["factor"] > 1.1
    assert firm["overall"]["factor"] == pytest.approx(0.8, abs=0.02)
    assert firm["prior"]["worth"] == 500
    refused = call(past, "--prior-ratio", "0")
    assert refused.code == 2
    assert refused.err == "nightplan: prior ratio = 0.0: 0.1 to 10 are accepted\n"


def test_for_people(past: Path) -> None:
    answer = call(past)
    assert (answer.code, answer.err) == (0, "")
    for part in ("Rig", "all stages", "12 of 15 happened", "Brier score", "cannot be told", "you made it"):
        assert part in " ".join(answer.out.split())


def test_the_table(past: Path, tmp_path: Path) -> None:
    target = tmp_path / "stages.csv"
    assert call(past, "--csv", target).code == 0
    rows = list(csv.DictReader(io.StringIO(target.read_text(encoding="utf-8"))))
    assert [r["stage"] for r in rows] == ["Rig", "Light", "all stages"]
    assert float(rows[0]["actual_hours"]) == 9.0
    answer = call(past, "--csv", tmp_path / "none" / "stages.csv")
    assert answer.code == 2
    assert "stages.csv" in answer.err


def test_the_pictures(past: Path, tmp_path: Path) -> None:
    assert call(past, "--pictures", tmp_path / "pictures").code == 0
    assert sorted(p.name for p in (tmp_path / "pictures").iterdir()) == [
        "evenings-kept.svg",
        "forecast-honesty.svg",
        "planned-against-actual.svg",
        "ratio-by-stage.svg",
    ]


def test_the_index_is_kept_where_it_is_asked_for_and_nowhere_else(past: Path, tmp_path: Path) -> None:
    before = sorted(tmp_path.rglob("*"))
    assert call(past).code == 0
    assert sorted(tmp_path.rglob("*")) == before
    first = values(past, "--index", tmp_path / "index.sqlite")
    assert values(past, "--index", tmp_path / "index.sqlite") == first
    # an own file that is no index is not written over
    refused = call(past, "--index", past / "piece-0.nightplan")
    assert refused.code == 2
    load(past / "piece-0.nightplan")


def test_a_new_project_is_changed_only_by_what_is_accepted(past: Path, tmp_path: Path) -> None:
    path = new(tmp_path)
    before = path.read_bytes()
    found = values(past, "--for", path)
    names = [p["id"] for p in found["proposals"]]
    assert "estimate:rig-stage" in names
    assert all(p["before"] and p["after"] and p["reason"] for p in found["proposals"])
    assert path.read_bytes() == before
    left = values(past, "--for", path, "--accept", "estimate:rig-stage", "--answer", "again=the night walk")
    assert [p["id"] for p in left["proposals"]] == [n for n in names if n != "estimate:rig-stage"]
    project = load(path)
    assert project.items["rig"].likely > 2.5
    assert project.items["light"].likely == 1
    assert project.unknown["lookback"]["answers"] == {"on": "2027-06-01", "again": "the night walk"}
    refused = call(past, "--for", path, "--accept", "estimate:rig-stage")
    assert refused.code == 2
    assert "one of" in refused.err


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["nowhere"], "no such file or folder"),
        (["--accept", "x", "."], "needs --for"),
        (["--prior-worth", "many", "."], "is no number"),
        ([], "required"),
    ],
)
def test_what_is_refused(tmp_path: Path, argv: list[str], words: str) -> None:
    answer = call(*[str(tmp_path / a) if a in ("nowhere", ".") else a for a in argv])
    assert (answer.code, answer.out) == (2, "")
    assert words in answer.err
    assert answer.err.count("\n") == 1


def test_folders_without_a_usable_file(tmp_path: Path) -> None:
    empty = call(tmp_path)
    assert (empty.code, empty.out) == (2, "")
    assert "no .nightplan file" in empty.err
    write(tmp_path, "bad", "{")
    assert "bad.nightplan" in call(tmp_path).err
    # one bad file does not stop the rest
    write(tmp_path, "good", by_hand())
    found = values(tmp_path)
    assert (found["overall"]["n"], len(found["skipped"])) == (2, 1)


def test_projects_with_nothing_finished_are_no_fault() -> None:
    found = values(SAMPLES / "still-harbour.nightplan")
    assert found["stages"] == []
    assert found["overall"]["ratio"] is None
    assert found["scores"]["brier"] is None
    assert "Nothing is finished yet" in call(SAMPLES / "still-harbour.nightplan").out
