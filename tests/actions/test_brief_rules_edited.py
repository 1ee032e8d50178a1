# SPDX-License-Identifier: GPL-3.0-or-later
"""Deliverables, rules, ticks and typed values of the brief. Round trips and refusals are common practice, no source."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from nightplan.actions import brief
from nightplan.actions.brief_values import start_of, value_from_text, value_text, wanted_from_text, wanted_text
from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import Rule
from nightplan.files.store import load
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

SAMPLES = sorted((Path(__file__).parents[2] / "sample_projects").glob("*.nightplan"))


@pytest.fixture
def project() -> Project:
    return load(SAMPLES[0]).but(deliverables=())


def again(project: Project) -> Project:
    return project_from_raw(json.loads(json.dumps(project_to_raw(project))))


def test_a_brief_is_built_and_taken_apart(project: Project) -> None:
    p = brief.add_deliverable(project, "Final frames", "sequence", fps=24)
    p = brief.add_deliverable(p, "Final frames", "movie", condition="if selected")
    assert [d.id for d in brief.deliverables_of(p)] == ["final-frames", "final-frames-2"]
    p = brief.add_rule(p, "final-frames", "frame-count", 120, wording="120 frames.", breach="You are out.")
    p = brief.add_rule(p, "final-frames", "duration", [3, 15], "between", strength="should", evidence="page 2")
    p = brief.add_rule(p, "final-frames", "frame-count", 100, "at least", position=0)
    first = brief.deliverable_of(p, "final-frames")
    assert [r.id for r in first.rules] == ["frame-count-2", "frame-count", "duration"]
    assert (first.rules[1].breach, first.rules[2].evidence) == ("You are out.", "page 2")
    p = brief.move_rule(p, "final-frames", "duration", -9)
    assert brief.deliverable_of(p, "final-frames").rules[0].id == "duration"
    p = brief.change_rule(p, "final-frames", "duration", comparison="at most", value=15)
    assert brief.rule_of(p, "final-frames", "duration").comparison == "at most"
    p = brief.move_rule_to(p, "final-frames", "duration", "final-frames-2")
    assert [r.id for r in brief.deliverable_of(p, "final-frames-2").rules] == ["duration"]
    p = brief.move_deliverable(p, "final-frames-2", -1)
    p = brief.change_deliverable(p, "final-frames-2", selected=True, name="Clip")
    assert [d.name for d in brief.deliverables_of(p)] == ["Clip", "Final frames"]
    assert brief.deliverables_of(again(p)) == brief.deliverables_of(p)
    p = brief.remove_rule(p, "final-frames", "frame-count")
    p = brief.remove_deliverable(p, "final-frames-2")
    assert [len(d.rules) for d in brief.deliverables_of(p)] == [1]


@pytest.mark.parametrize("name", brief.PRESETS)
def test_presets_come_in_and_twice(project: Project, name: str) -> None:
    p = brief.add_preset(brief.add_preset(project, name), name)
    one, two = brief.deliverables_of(again(p))
    assert one.id != two.id
    assert one.rules == two.rules


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda p: brief.add_rule(p, "a", "frame-count", "many"), r"deliverables\[0\]\.rules\[0\]\.value = 'many'"),
        (lambda p: brief.add_rule(p, "a", "wings", 1), r"deliverables\[0\]\.rules\[0\]\.kind = 'wings': must be"),
        (lambda p: brief.add_rule(p, "b", "fps", 24), r"'b' is no deliverable"),
        (lambda p: brief.add_deliverable(p, "x", "poem"), r"deliverables\[1\]\.what = 'poem': must be"),
        (lambda p: brief.add_deliverable(p, "", "movie"), r"deliverables\[1\]\.name"),
        (lambda p: brief.change_deliverable(p, "a", fps="fast"), r"deliverables\[0\]\.fps = 'fast'"),
        (lambda p: brief.remove_rule(p, "a", "none"), r"'none' is no rule of 'A'"),
        (lambda p: brief.remove_handin(p, 0), r"handins = 0"),
    ],
)
def test_refusals_name_the_place(project: Project, change: Any, words: str) -> None:
    p = brief.add_deliverable(project, "A", "sequence")
    with pytest.raises(BadInput, match=words):
        change(p)


def test_keys_that_are_not_known_survive_every_change(project: Project) -> None:
    rule = {"id": "n", "kind": "frame-count", "value": 3, "colour_of_ink": "blue"}
    raw = [{"id": "a", "name": "A", "what": "sequence", "courier": "owl", "rules": [rule]}]
    raw.append({"id": "b", "name": "B", "what": "movie"})
    p = again(project.but(deliverables=raw, brief={"text": "x", "page": 3}))
    p = brief.change_rule(p, "a", "n", value=4)
    p = brief.answer_tick(p, "a", "n", True, " as agreed ")
    p = brief.move_deliverable(p, "a", 1)
    p = brief.move_rule_to(p, "a", "n", "b")
    kept = json.loads(json.dumps(project_to_raw(again(p))))
    assert kept["deliverables"][1]["courier"] == "owl"
    assert kept["deliverables"][0]["rules"][0] == {**rule, "value": 4, "ticked": True, "tick_note": "as agreed"}
    assert kept["brief"] == {"text": "x", "page": 3, "refused": []}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_files_from_before_gain_no_key(path: Path) -> None:
    project = load(path)
    if project.handins is None and project.brief is None:
        assert not {"handins", "brief"} & set(project_to_raw(project))
    assert again(project) == project


@pytest.mark.parametrize(
    ("kind", "comparison", "text", "value"),
    [
        ("frame-count", "exactly", "120 frames", 120),
        ("text-length", "at most", "1,500 words", 1500),
        ("duration", "between", "3 and 15", [3, 15]),
        ("duration", "between", "1:30 – 2:00", ["1:30", "2:00"]),
        ("fps", "exactly", "23.976", "23.976"),
        ("fps", "one of", "24, 25 or 30", [24, 25, 30]),
        ("picture-size", "one of", "1920x1080; 3840x2160", ["1920x1080", "3840x2160"]),
        ("alpha", "exactly", "Yes", True),
        ("audio", "exactly", "no", False),
        ("image-format", "one of", "PNG or EXR", ["PNG", "EXR"]),
        ("tree", "exactly", "frames/####.png, readme.txt", ["frames/####.png", "readme.txt"]),
        ("tree", "at least", "a, b.png\nc.png", ["a, b.png", "c.png"]),
        ("tick", "exactly", "", None),
        ("loudness", "exactly", "-14", -14),
        ("frame-range", "exactly", "1-120", "1-120"),
        ("file-size", "at most", "100 MB", "100 MB"),
    ],
)
def test_typed_values(kind: str, comparison: str, text: str, value: Any) -> None:
    read = value_from_text(kind, comparison, text)
    assert read == {"value": value, "tolerance": None}
    rule = Rule.model_validate({"id": "r", "kind": kind, "comparison": comparison, **read})
    assert value_from_text(kind, comparison, value_text(rule)) == read


def test_a_value_and_how_far_off() -> None:
    assert value_from_text("fps", "within", "24 ± 0.5 fps") == {"value": 24, "tolerance": 0.5}
    rule = Rule.model_validate({"id": "r", "kind": "loudness", "comparison": "within", "value": -14, "tolerance": 1})
    assert value_text(rule) == "-14 ± 1"
    with pytest.raises(BadInput, match="how far off"):
        value_from_text("fps", "within", "24")
    with pytest.raises(BadInput, match="must be yes or no"):
        value_from_text("alpha", "exactly", "perhaps")


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_of_each_kind_is_read_as_it_is_typed(kind: str) -> None:
    value = json.loads(KINDS[kind].example)
    typed = ", ".join(value) if isinstance(value, list) else {True: "yes", False: "no"}.get(value, value)
    if isinstance(value, int) and not isinstance(value, bool):
        typed = str(value)
    comparison = KINDS[kind].comparisons[0]
    zone = {"zone": "UTC"} if kind == "publish-not-before" else {}
    read = value_from_text(kind, comparison, str(typed))
    rule = Rule.model_validate({"id": "r", "kind": kind, "comparison": comparison, **read, **zone})
    assert value_from_text(kind, comparison, value_text(rule)) == read
    assert {k: v for k, v in wanted_from_text(kind, wanted_text(rule)).items() if k != "comparison"} == read


@pytest.mark.parametrize(
    ("kind", "text", "comparison", "value"),
    [
        ("frame-count", "120", "exactly", 120),
        ("frame-count", "at least 100 frames", "at least", 100),
        ("frame-count", "max 100", "at most", 100),
        ("duration", "between 3 and 15", "between", [3, 15]),
        ("duration", "from 3 to 15", "between", [3, 15]),
        ("duration", "under 30 s", "less than", "30 s"),
        ("fps", "24, 25 or 30", "one of", [24, 25, 30]),
        ("fps", "24 ± 0.5", "within", 24),
        ("image-format", "PNG or EXR", "one of", ["PNG", "EXR"]),
        ("video-codec", "H.264", "exactly", "H.264"),
        ("file-size", "≤ 100 MB", "at most", "100 MB"),
        ("tick", "is fit for the theme", "exactly", "fit for the theme"),
        ("tick", "between us", "exactly", "between us"),
        ("alpha", "no", "exactly", False),
        ("tree", "at least readme.txt", "at least", ["readme.txt"]),
        ("name", "maximum_####.png", "exactly", "maximum_####.png"),
    ],
)
def test_a_rule_typed_in_one_line(kind: str, text: str, comparison: str, value: Any) -> None:
    read = wanted_from_text(kind, text)
    assert (read["comparison"], read["value"]) == (comparison, value)
    rule = Rule.model_validate({"id": "r", "kind": kind, **read})
    assert wanted_from_text(kind, wanted_text(rule)) == read


def test_a_comparison_that_a_kind_does_not_have() -> None:
    with pytest.raises(BadInput, match="'at most' is not known here"):
        wanted_from_text("name", "at most 3")


@pytest.mark.parametrize("kind", KINDS)
def test_a_rule_begins_with_its_example_or_keeps_its_value(kind: str) -> None:
    start = start_of(kind)
    rule = Rule.model_validate({"id": "r", "kind": kind, **start})
    assert start_of(kind, rule) == start
    count = Rule.model_validate({"id": "r", "kind": "frame-count", "comparison": "at most", "value": 7})
    assert (start_of(kind, count)["value"] == 7) == (KINDS[kind].form == "count" and kind != "progress-post")
