# SPDX-License-Identifier: GPL-3.0-or-later
"""The values of a brief: what is read, what is refused and in which words, and how numbers are compared."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nightplan.brief import amounts
from nightplan.brief.hold import holds, wanted_words
from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import KindId, Rule, deliverables_from_raw, deliverables_of, deliverables_to_raw, wanted_of
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw

VALUES = json.loads((Path(__file__).parents[1] / "data" / "media_values.json").read_text(encoding="utf-8"))


def raw(rule: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"id": "shot", "name": "Shot", "what": "movie", "rules": [{"id": "r", **rule}]}]


def rule(kind: str, value: Any, comparison: str = "exactly", **more: Any) -> Rule:
    return Rule.model_validate({"id": "r", "kind": kind, "value": value, "comparison": comparison, **more})


def test_every_kind_reads_its_example_and_can_be_said() -> None:
    assert set(KINDS) == set(KindId.__args__)  # type: ignore[attr-defined]
    for kind in KINDS.values():
        try:
            value = json.loads(kind.example)
        except json.JSONDecodeError:
            value = kind.example
        made = rule(kind.id, value, kind.comparisons[0])
        assert wanted_words(made)


@pytest.mark.parametrize(
    ("broken", "said"),
    [
        ({"kind": "padding", "value": -1}, "deliverables[0].rules[0].value = -1: must be a whole number of 0 or more"),
        (
            {"kind": "frame-count", "value": -1},
            "deliverables[0].rules[0].value = -1: must be a whole number of 0 or more",
        ),
        (
            {"kind": "frame-count", "value": 1.5},
            "deliverables[0].rules[0].value = 1.5: must be a whole number of 0 or more",
        ),
        ({"kind": "frame-count", "value": True}, "deliverables[0].rules[0].value = True: must be a whole number"),
        ({"kind": "frame-count", "value": None}, "deliverables[0].rules[0].value = None: must be a whole number"),
        (
            {"kind": "fps", "value": "fast"},
            "deliverables[0].rules[0].value = 'fast': must be frames per second, for example "
            '24, "23.976" or "24000/1001"',
        ),
        (
            {"kind": "picture-size", "value": "1920"},
            "deliverables[0].rules[0].value = '1920': must be width and height, for example \"1920x1080\"",
        ),
        (
            {"kind": "frame-range", "value": "120-1"},
            "deliverables[0].rules[0].value = '120-1': the last frame must not be before the first",
        ),
        (
            {"kind": "file-size", "comparison": "at most", "value": "big"},
            "deliverables[0].rules[0].value = 'big': must be a size, for example "
            '"100 MB", "100 MiB" or a number of bytes',
        ),
        ({"kind": "alpha", "value": "yes"}, "deliverables[0].rules[0].value = 'yes': must be true or false"),
        (
            {"kind": "duration", "comparison": "between", "value": [30, 10]},
            "deliverables[0].rules[0].value = list of 2: must have the lower end first",
        ),
        (
            {"kind": "duration", "comparison": "within", "value": 5},
            "deliverables[0].rules[0].tolerance = None: is needed with the comparison within",
        ),
        (
            {"kind": "alpha", "comparison": "at most", "value": True},
            "deliverables[0].rules[0].comparison = 'at most': for alpha must be one of exactly",
        ),
        (
            {"kind": "name", "value": "../up.png"},
            "deliverables[0].rules[0].value = '../up.png': must be a name with / between folders, "
            "without \\, a leading / or ..",
        ),
        (
            {"kind": "publish-not-before", "value": "2027-13-01T12:00"},
            "deliverables[0].rules[0].value = '2027-13-01T12:00': must be a moment such as 2027-11-14T12:00, "
            "its zone under the key zone",
        ),
    ],
)
def test_a_broken_rule_names_its_place(broken: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput) as caught:
        deliverables_from_raw(raw(broken))
    assert caught.value.sentence == said


def test_other_places() -> None:
    with pytest.raises(BadInput, match=r"^deliverables\[0\]\.what = 'film': must be 'sequence', "):
        deliverables_from_raw([{"id": "a", "name": "A", "what": "film"}])
    with pytest.raises(
        BadInput, match=r"^deliverables\[1\]\.id = 'a': an id is used once, and deliverables\[0\] has it$"
    ):
        deliverables_from_raw([{"id": "a", "name": "A", "what": "movie"}] * 2)
    with pytest.raises(BadInput, match=r"^deliverables\[0\]\.rules = .*uses the id 'r' twice$"):
        deliverables_from_raw([{"id": "a", "name": "A", "what": "movie", "rules": [{"id": "r", "kind": "tick"}] * 2}])
    with pytest.raises(BadInput, match=r"^deliverables\[0\]\.fps = 'x': must be frames per second"):
        deliverables_from_raw([{"id": "a", "name": "A", "what": "sequence", "fps": "x"}])
    with pytest.raises(BadInput, match=r"^deliverables\[0\]\.rules\[0\]\.kind = 'mood': must be "):
        deliverables_from_raw(raw({"kind": "mood"}))


def test_unknown_keys_stay_in_the_project() -> None:
    sample = Path(__file__).parents[2] / "sample_projects" / "still-harbour.nightplan"
    project = project_from_raw(json.loads(sample.read_text(encoding="utf-8")))
    given = [
        {
            "id": "a",
            "name": "A",
            "what": "movie",
            "x-own": 1,
            "rules": [{"id": "r", "kind": "fps", "value": 24, "x-mine": [2]}],
        }
    ]
    held = project.but(deliverables=tuple(given))
    written = held.but(deliverables=deliverables_to_raw(deliverables_of(held)))
    assert project_to_raw(written)["deliverables"] == given


def test_rates_durations_and_sizes_of_the_published_table() -> None:
    """media_values.json: frame rates as fractions, 120 frames at each, sizes in both meanings."""
    for text, value in VALUES["fps"].items():
        assert amounts.rate(text) == Fraction(value)
    for text, seconds in VALUES["duration_of_120_frames_s"].items():
        assert Fraction(120) / amounts.rate(text) == Fraction(seconds)
    for text, count in VALUES["sizes_bytes"].items():
        decimal, binary = amounts.sizes(text)
        assert (binary if "i" in text else decimal) == count
    assert amounts.sizes("100 MB") == (100_000_000, 104_857_600)


@pytest.mark.parametrize(
    ("comparison", "value", "good", "bad"),
    [
        ("exactly", 120, [120], [119, 121]),
        ("at least", 120, [120, 500], [119]),
        ("at most", 120, [120, 0], [121]),
        ("less than", 120, [119], [120]),
        ("between", [100, 120], [100, 120], [99, 121]),
        ("one of", [100, 120], [100, 120], [110]),
    ],
)
def test_comparisons(comparison: str, value: Any, good: list[int], bad: list[int]) -> None:
    wanted = wanted_of(rule("frame-count", value, comparison))
    assert all(holds(wanted, Fraction(n)) for n in good)
    assert not any(holds(wanted, Fraction(n)) for n in bad)


def test_within() -> None:
    wanted = wanted_of(rule("loudness", -14, "within", tolerance=1.0))
    assert holds(wanted, Fraction(-15))
    assert not holds(wanted, Fraction("-15.01"))


@given(st.integers(1, 10**6), st.integers(-3, 3), st.sampled_from([24, 25, "23.976", "29.97", 60]))
def test_half_a_frame_of_slack_tells_whole_frames_apart(frames: int, off: int, rate: Any) -> None:
    fps = amounts.rate(rate)
    wanted = wanted_of(rule("duration", float(frames / fps)))
    assert holds(wanted, Fraction(frames + off) / fps, Fraction(1, 2) / fps) == (off == 0)


def test_an_empty_text_is_no_text() -> None:
    empty = deliverables_from_raw(raw({"kind": "tick", "value": "", "comparison": "exactly"}))[0].rules[0]
    none = deliverables_from_raw(raw({"kind": "tick", "value": None, "comparison": "exactly"}))[0].rules[0]
    assert wanted_words(empty) == wanted_words(none) != ""


JSON: Any = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@given(st.sampled_from(sorted(KINDS)), st.sampled_from(["exactly", "between", "within", "one of", "at most"]), JSON)
def test_any_value_is_read_or_refused_in_one_sentence(kind: str, comparison: str, value: Any) -> None:
    try:
        found = deliverables_from_raw(raw({"kind": kind, "value": value, "comparison": comparison, "tolerance": 1.0}))
    except BadInput as error:
        refused = error.sentence
    else:
        refused = ""
        assert wanted_words(found[0].rules[0])
    assert refused == "" or refused.startswith("deliverables[0].rules[0]")
    assert "\n" not in refused


@given(JSON)
def test_any_list_is_read_or_refused(value: Any) -> None:
    try:
        deliverables_from_raw(value)
    except BadInput as error:
        refused = error.sentence
    else:
        refused = ""
    assert refused == "" or refused.startswith("deliverables")
