# SPDX-License-Identifier: GPL-3.0-or-later
"""Frame numbers in names, and the patterns of names."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nightplan.brief.names import frames_words, gaps, runs, spans, usual_padding
from nightplan.brief.patterns import check_pattern, matches, matches_but_for_case


@pytest.mark.parametrize(
    ("names", "pattern", "numbers"),
    [
        (["a_0001.png", "a_0002.png"], "a_####.png", (1, 2)),
        (["a1.png", "a2.png", "a10.png"], "a#.png", (1, 2, 10)),
        (["v02_0001.png", "v02_0002.png"], "v02_####.png", (1, 2)),
        (["a_0001_1080p.png", "a_0002_1080p.png"], "a_####_1080p.png", (1, 2)),
        (["0001.exr", "0002.exr"], "####.exr", (1, 2)),
        (["a.0998.exr", "a.1002.exr"], "a.####.exr", (998, 1002)),
        (["only_0007.png"], "only_####.png", (7,)),
        (["noční_0001.png", "noční_0002.png"], "noční_####.png", (1, 2)),
    ],
)
def test_the_frame_number_is_the_one_that_changes(names: list[str], pattern: str, numbers: tuple[int, ...]) -> None:
    found = runs(names)[0]
    assert (found.pattern, found.numbers) == (pattern, numbers)
    assert found.names == tuple(sorted(names, key=lambda n: found.numbers[found.names.index(n)]))


def test_sequences_are_told_apart() -> None:
    names = (
        [f"beauty_{n:04d}.png" for n in range(5)] + [f"matte_{n:04d}.png" for n in range(3)] + ["notes.txt", "x.png"]
    )
    assert [(r.pattern, len(r.names)) for r in runs(names)] == [("beauty_####.png", 5), ("matte_####.png", 3)]
    # two numbers change: the last one is the frame
    grid = [f"cam{c}_{n:03d}.png" for c in (1, 2) for n in range(3)]
    assert [(r.pattern, len(r.names)) for r in runs(grid)] == [("cam1_###.png", 3), ("cam2_###.png", 3)]


def test_padding_and_doubles() -> None:
    run = runs([f"a_{n:02d}.png" for n in range(98, 103)])[0]
    assert usual_padding(run) == 2
    assert run.unevenly_padded() == []
    run = runs(["a_0001.png", "a_0002.png", "a_003.png"])[0]
    assert run.unevenly_padded() == ["a_003.png"]
    assert runs(["a_1.png", "a_01.png", "a_02.png"])[0].twice() == [1]


def test_a_hash_is_no_frame_number() -> None:
    assert runs(["a_12345678901234567890.png"]) == []


@given(st.sets(st.integers(0, 300), min_size=1))
def test_gaps_are_the_complement(numbers: set[int]) -> None:
    first, last = min(numbers), max(numbers)
    missing = gaps(sorted(numbers), first, last)
    assert set(missing) | numbers == set(range(first, last + 1))
    assert not set(missing) & numbers


@given(st.sets(st.integers(0, 60), min_size=1, max_size=12))
def test_spans_can_be_read_back(numbers: set[int]) -> None:
    back: set[int] = set()
    for part in spans(numbers, most=100).split(", "):
        first, _, last = part.partition("-")
        back |= set(range(int(first), int(last or first) + 1))
    assert back == numbers


def test_words() -> None:
    assert frames_words([87, 41]) == "frames 41, 87"
    assert frames_words([5]) == "frame 5"
    assert spans(range(0, 60, 2)) == "0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22 and 18 more"


@pytest.mark.parametrize(
    ("pattern", "good", "bad"),
    [
        ("a_####.png", ["a_0001.png", "a_12345.png"], ["a_001.png", "a_00001.png", "A_0001.png", "a_0001.png.png"]),
        ("{last}_{title}.mp4", ["muster_moth.mp4", "a_b_c.mp4"], ["moth.mp4", "_moth.mp4", "a_.mp4"]),
        ("*.zip", ["x.zip", ".zip"], ["x.zip.txt", "a/x.zip"]),
        ("<name>_final.png", ["x_final.png"], ["_final.png"]),
        ("shot?.png", ["shot1.png"], ["shot.png", "shot12.png"]),
        ("a+b(1).png", ["a+b(1).png"], ["aab1.png"]),
        ("*_v##_*.png", ["a_v02_b.png", "a_v1_v02_b.png"], ["a_v2_b.png"]),
    ],
)
def test_patterns(pattern: str, good: list[str], bad: list[str]) -> None:
    check_pattern(pattern)
    assert [n for n in good if not matches(pattern, n)] == []
    assert [n for n in bad if matches(pattern, n)] == []


def test_case_is_told_apart() -> None:
    assert matches_but_for_case("shot_##.png", "Shot_01.PNG")
    assert not matches_but_for_case("shot_##.png", "scene_01.png")


def test_a_hostile_name_costs_its_length_only() -> None:
    # twelve parts that stand for anything would try every way to share the letters out
    pattern = check_pattern("*a" * 12 + ".png")
    assert not matches(pattern, "a" * 1000)
    assert not matches("*", "x" * 5000)
