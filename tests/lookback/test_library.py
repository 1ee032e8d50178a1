# SPDX-License-Identifier: GPL-3.0-or-later
"""The index: built from the files, rebuilt at any time, never trusted over them. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import json
import math
import os
import sqlite3
import sys
from pathlib import Path
from typing import Any

import pytest
from library_cases import by_hand, iso, write

from nightplan.engine.lookback import look_back
from nightplan.engine.lookback_scores import scores
from nightplan.files.library import Library, project_files
from nightplan.model.errors import BadInput, Cancelled
from nightplan.model.results_lookback import Facts

TODAY = dt.date(2028, 1, 1).toordinal()


def facts_of(index: Path | None, *paths: Path) -> Facts:
    with Library(index) as library:
        library.refresh(paths)
        return library.facts(TODAY)


def same(a: Facts, b: Facts) -> bool:
    """Equal in words: arrays have no plain equality, and a rebuilt index may number projects anew."""
    return repr((look_back(a), scores(a.gates, a.finishes))) == repr((look_back(b), scores(b.gates, b.finishes)))


def test_facts_come_through_the_index_as_they_were(tmp_path: Path) -> None:
    write(tmp_path, "one", by_hand())
    facts = facts_of(tmp_path / "index.sqlite", tmp_path)
    assert [(i.stage, i.planned, i.actual) for i in facts.items] == [("Rig", 2.0, 3.0), ("Light", 1.0, 1.5)]
    assert [(e.weekday, e.sure, e.promised, e.kept, e.unlogged, e.chance) for e in facts.evenings] == [
        (0, True, 3, 3, 0, pytest.approx(0.9)),
        (3, True, 2, 1, 0, 0.9),
        (5, False, 2, 1, 1, 0.5),
    ]
    assert [(g.gate, g.outcome, g.odds.tolist()) for g in facts.gates] == [
        ("lock", "missed", [0.8, 0.7, 0.75]),
        ("deadline", "met", [0.9, 0.85, 0.9, 0.6]),
    ]
    (project,) = facts.projects
    assert (project.title, project.items_done, project.planned, project.actual) == ("By hand", 2, 3.0, 4.5)


def test_only_what_changed_is_read_again(tmp_path: Path) -> None:
    index = tmp_path / "index.sqlite"
    one, two = write(tmp_path, "one", by_hand()), write(tmp_path, "two", by_hand(title="Two"))
    with Library(index) as library:
        assert library.refresh([tmp_path]).read == 2
    with Library(index) as library:
        assert (library.refresh([tmp_path]).read, library.refresh([tmp_path]).known) == (0, 2)
        write(tmp_path, "one", by_hand(title="One anew"))
        os.utime(one, ns=(1, 1))
        assert library.refresh([tmp_path]).read == 1
        assert {p.title for p in library.facts(TODAY).projects} == {"One anew", "Two"}
        two.unlink()
        assert library.refresh([tmp_path]).gone == 1
        changed = library.facts(TODAY)
        assert {p.title for p in changed.projects} == {"One anew"}
        library.rebuild([tmp_path])
        assert same(library.facts(TODAY), changed)


def test_a_broken_index_is_built_anew(tmp_path: Path) -> None:
    index = tmp_path / "index.sqlite"
    write(tmp_path, "one", by_hand())
    good = facts_of(index, tmp_path)
    index.write_bytes(b"this is no database at all, not even nearly one" * 40)
    # where an artist named the file it may be anything; in the program's own folder it is no loss
    with pytest.raises(BadInput, match="no index"):
        Library(index)
    Library(index, ours=True).close()
    assert same(facts_of(index, tmp_path), good)
    # broken in the middle, the head intact
    data = bytearray(index.read_bytes())
    data[4096 : 4096 * 6] = os.urandom(4096 * 5)
    index.write_bytes(data)
    assert same(facts_of(index, tmp_path), good)


def test_an_older_index_is_built_anew(tmp_path: Path) -> None:
    index = tmp_path / "index.sqlite"
    write(tmp_path, "one", by_hand())
    good = facts_of(index, tmp_path)
    with sqlite3.connect(index) as db:
        db.execute("DROP TABLE items")
        db.execute("CREATE TABLE items (something TEXT)")
        db.execute("PRAGMA user_version = 99")
    db.close()
    assert same(facts_of(index, tmp_path), good)


def test_a_database_of_somebody_else_is_left_alone(tmp_path: Path) -> None:
    other = tmp_path / "letters.sqlite"
    db = sqlite3.connect(other)
    with db:
        db.execute("CREATE TABLE letters (text TEXT)")
        db.execute("INSERT INTO letters VALUES ('dear')")
    db.close()
    before = other.read_bytes()
    with pytest.raises(BadInput, match=r"letters\.sqlite"):
        Library(other)
    assert other.read_bytes() == before


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        ("{", "breaks off"),
        ("[1, 2]", "a project is a JSON object"),
        ('{"format": "nightplan", "version": 7}', "newer nightplan"),
        ('{"format": "other"}', "a project file says 'nightplan'"),
        ("[" * 5000, "nested"),
        (by_hand(log="none"), "log"),
        (by_hand(announced="2027-13-01"), "announced"),
        (by_hand(zone="Nowhere/Else"), "zone"),
    ],
)
def test_an_unreadable_file_is_skipped_with_a_sentence(tmp_path: Path, content: Any, words: str) -> None:
    write(tmp_path, "good", by_hand())
    bad = write(tmp_path, "bad", content)
    facts = facts_of(None, tmp_path)
    assert len(facts.projects) == 1
    (skipped,) = facts.skipped
    assert skipped.path == str(bad)
    assert skipped.why.startswith("bad.nightplan: ")
    assert words in skipped.why


@pytest.mark.parametrize("hours", ["2", None, True, [], -1, float("nan"), 1e400])
@pytest.mark.parametrize("key", ["likely", "hours"])
def test_no_value_of_the_wrong_kind_breaks_the_index(tmp_path: Path, key: str, hours: Any) -> None:
    raw = by_hand(baselines=[])
    if key == "likely":
        raw["stages"][0]["items"][0]["likely"] = hours
    else:
        raw["log"][0]["work"][0]["hours"] = hours
    write(tmp_path, "odd", raw)
    write(tmp_path, "good", by_hand())
    facts = facts_of(None, tmp_path)
    assert "By hand" in {p.title for p in facts.projects}
    look_back(facts)
    scores(facts.gates, facts.finishes)


def _set(raw: Any, place: str, value: Any) -> Any:
    """``place`` as in ``gates.0.name``."""
    *way, last = (int(p) if p.isdigit() else p for p in place.split("."))
    inner = raw
    for step in way:
        inner = inner[step]
    inner[last] = value
    return raw


@pytest.mark.parametrize(
    "place",
    [
        "title",
        "announced",
        "zone",
        "gates.0.name",
        "gates.0.id",
        "gates.0.on",
        "gates.1.at",
        "week.0.chance",
        "week.0.hours",
        "week.0.day",
        "week.0.start",
        "stages.0.name",
        "stages.0.gate",
        "stages.0.items.0.id",
        "stages.0.items.0.state",
        "log.0.evening",
        "log.0.hours",
        "log.0.work.0.item",
        "log.0.work.0.left",
        "log.0.work.0.left.likely",
        "baselines.0.estimates.rig",
        "baselines.0.estimates.rig.likely",
        "forecasts.0.as_of",
        "forecasts.0.odds.lock",
        "forecasts.0.odds",
        "forecasts.0.finish.lock.p10",
        "forecasts.0.hours_left",
        "lookback",
    ],
)
def test_whatever_stands_in_a_file_the_rest_of_the_library_is_read(tmp_path: Path, place: str) -> None:
    """Every kind of JSON value in every place that is looked at."""
    odd = [
        None,
        True,
        -3,
        10**400,
        0.5,
        float("inf"),
        float("nan"),
        "",
        "\ud800",
        "0001-01-01",
        "9999-12-31",
        [],
        [1],
        {},
    ]
    for n, value in enumerate([*odd, {"applied": [1]}, {"applied": [{"kind": "estimate", "factor": 0}]}]):
        raw = _set(by_hand(title=f"Odd {n}"), place, value)
        (tmp_path / f"odd-{n}.nightplan").write_text(json.dumps(raw), encoding="utf-8")
    write(tmp_path, "good", by_hand())
    facts = facts_of(tmp_path / "index.sqlite", tmp_path)
    assert "By hand" in {p.title for p in facts.projects}
    assert all(s.why for s in facts.skipped)
    looks = look_back(facts)
    assert all(math.isfinite(v) for s in looks.stages for v in (s.ratio, s.bias.low, s.spread.high))
    assert all(0 <= e.chance.low <= e.chance.high <= 1 for e in looks.weekdays)
    scores(facts.gates, facts.finishes)


@pytest.mark.skipif(sys.platform != "linux", reason="file names that are no UTF-8")
def test_a_file_name_that_is_no_text(tmp_path: Path) -> None:
    with open(os.fsencode(tmp_path) + b"/caf\xe9.nightplan", "w", encoding="utf-8") as file:
        json.dump(by_hand(), file)
    with Library(tmp_path / "index.sqlite") as library:
        assert library.refresh([tmp_path]).read == 1
        assert library.refresh([tmp_path]).known == 1
        assert len(library.facts(TODAY).projects) == 1


def test_a_copy_counts_once_and_is_named(tmp_path: Path) -> None:
    write(tmp_path, "one", by_hand())
    (tmp_path / "old").mkdir()
    write(tmp_path / "old", "one", by_hand())
    facts = facts_of(None, tmp_path)
    assert len(facts.projects) == 1
    assert sum(e.promised for e in facts.evenings) == 7
    assert [s.why.endswith("counted once") for s in facts.skipped] == [True]
    assert facts.skipped[0].why.startswith(f"{facts.skipped[0].path} is the same as ")


def test_folders_below_are_entered_hidden_ones_are_not(tmp_path: Path) -> None:
    (tmp_path / "2026" / "spring").mkdir(parents=True)
    (tmp_path / ".trash").mkdir()
    a = write(tmp_path / "2026" / "spring", "a", by_hand())
    write(tmp_path / ".trash", "b", by_hand())
    (tmp_path / "notes.txt").write_text("no project")
    (tmp_path / "round").symlink_to(tmp_path)
    assert project_files([tmp_path]) == [a]
    assert project_files([a, a, tmp_path]) == [a]
    with pytest.raises(BadInput, match="no such file or folder"):
        project_files([tmp_path / "gone"])


def test_a_gate_that_passed_unfinished_was_missed(tmp_path: Path) -> None:
    raw = by_hand()
    raw["log"] = raw["log"][:3]
    raw["stages"][1]["items"][0]["state"] = "open"
    write(tmp_path, "one", raw)
    with Library() as library:
        library.refresh([tmp_path])
        lock = dt.date.fromisoformat(iso(12)).toordinal()
        assert [g.outcome for g in library.facts(lock).gates] == ["unknown", "unknown"]
        assert [g.outcome for g in library.facts(lock + 1).gates] == ["missed", "unknown"]
        assert [g.outcome for g in library.facts(TODAY).gates] == ["missed", "missed"]


def test_calling_off_leaves_the_index_as_it_was(tmp_path: Path) -> None:
    write(tmp_path, "one", by_hand())
    with Library(tmp_path / "index.sqlite") as library:
        library.refresh([tmp_path])
        for n in range(150):
            write(tmp_path, f"more-{n}", by_hand(title=f"More {n}"))

        def stop(_share: float) -> None:
            raise Cancelled

        with pytest.raises(Cancelled):
            library.refresh([tmp_path], stop)
        assert len(library.facts(TODAY).projects) == 1
        assert library.refresh([tmp_path]).read == 150


def test_an_index_where_none_can_be_kept(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(BadInput, match="index"):
        Library(tmp_path / "taken" / "index.sqlite")


def test_samples_are_read(tmp_path: Path) -> None:
    facts = facts_of(None, Path(__file__).parents[2] / "sample_projects")
    assert len(facts.projects) == 4
    assert facts.skipped == ()
    assert len(facts.items) == 11
