# SPDX-License-Identifier: GPL-3.0-or-later
"""What the paste-in reader proposes, from a rule sheet of our own invention."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nightplan.brief.paste import MAX_TEXT, Proposal, accepted, read_text, sentences
from nightplan.brief.rules import Deliverable
from nightplan.model.errors import BadInput

START = dt.date(2027, 9, 1)


def read(text: str) -> tuple[Proposal, ...]:
    return read_text(text, home_zone="Europe/Lisbon", not_before=START)


def rules(text: str) -> list[tuple[str, str, Any]]:
    return [(p.rule.kind, p.rule.comparison, p.rule.value) for p in read(text) if p.rule]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Exactly 120 frames.", [("frame-count", "exactly", 120)]),
        (
            "At least 120 frames, at most 300 frames.",
            [("frame-count", "at least", 120), ("frame-count", "at most", 300)],
        ),
        ("Render frames 1-120.", [("frame-range", "exactly", [1, 120])]),
        ("24 fps", [("fps", "exactly", 24)]),
        ("Use 23.976 frames per second.", [("fps", "exactly", "23.976")]),
        ("24 or 30 fps", [("fps", "one of", [24, 30])]),
        ("Between 10 and 30 seconds.", [("duration", "between", [10, 30])]),
        ("A loop of 3-5 seconds.", [("duration", "between", [3, 5])]),
        ("No longer than 2 minutes.", [("duration", "at most", 120)]),
        ("It must be under 30 seconds.", [("duration", "less than", 30)]),
        ("thirty seconds or less", [("duration", "at most", 30)]),
        ("10 seconds ± 1 seconds", [("duration", "within", 10)]),
        ("1920x1080 px", [("picture-size", "exactly", "1920x1080")]),
        ("1920 × 1080 or 3840 × 2160", [("picture-size", "one of", ["1920x1080", "3840x2160"])]),
        ("Minimum resolution: 1280x720", [("picture-size", "at least", "1280x720")]),
        ("The maximum length is 12 seconds.", [("duration", "at most", 12)]),
        ("Files over 100 MB will be rejected.", [("file-size", "at most", "100 MB")]),
        ("Make it longer than 5 seconds.", [("duration", "at least", 5)]),
        ("Not longer than 5 seconds.", [("duration", "at most", 5)]),
        ("All third-party assets must be credited.", [("third-party", "exactly", "credited")]),
        ("No third-party assets.", [("declaration", "exactly", "No third-party assets.")]),
        ("at least 1280x720", [("picture-size", "at least", "1280x720")]),
        ("1080p", [("picture-size", "exactly", "1920x1080")]),
        ("16:9 or 1:1", [("aspect", "one of", ["16:9", "1:1"])]),
        ("aspect ratio 2.39:1", [("aspect", "exactly", "2.39:1")]),
        (
            "H.264 MP4, max 100 MB",
            [("video-codec", "exactly", "H.264"), ("container", "exactly", "MP4"), ("file-size", "at most", "100 MB")],
        ),
        ("ProRes 422 HQ in a .mov", [("video-codec", "exactly", "ProRes 422 HQ"), ("container", "exactly", "mov")]),
        ("PNG or JPEG", [("image-format", "one of", ["PNG", "JPEG"])]),
        ("a ZIP of less than 2 GiB", [("file-size", "less than", "2 GiB")]),
        ("Name it {last}_{title}.mp4", [("name", "exactly", "{last}_{title}.mp4")]),
        ("[name]_####.png", [("name", "exactly", "{name}_####.png")]),
        ("One entry per artist.", [("entry-count", "at most", 1)]),
        ("Post at least three WIP posts.", [("progress-post", "at least", 3)]),
        ("16-bit EXR", [("bit-depth", "exactly", 16), ("image-format", "exactly", "EXR")]),
        ("No audio.", [("audio", "exactly", False)]),
        (
            "AAC, stereo, 48 kHz",
            [("audio-codec", "exactly", "AAC"), ("audio-channels", "exactly", 2), ("audio-rate", "exactly", 48000)],
        ),
        ("Loudness -14 LUFS ± 2", [("loudness", "within", -14.0)]),
        ("a transparent background", [("alpha", "exactly", True)]),
        ("Include the project files.", [("kept-stage", "exactly", "project files")]),
        ("4-digit padding", [("padding", "exactly", 4)]),
        ("We meet at 16:30 in room 9.", []),
        ("No GIFs.", []),
        ("Have fun!", []),
    ],
)
def test_readings(text: str, found: list[tuple[str, str, Any]]) -> None:
    assert rules(text) == found


def test_each_proposal_stands_beside_its_sentence() -> None:
    text = "The shot is 120 frames at 24 fps. Late entries will be disqualified.\n- You should use 16:9"
    found = read(text)
    assert [p.sentence for p in found] == ["The shot is 120 frames at 24 fps."] * 2 + ["You should use 16:9"]
    for proposal in found:
        assert proposal.part in proposal.sentence
        assert proposal.rule is not None
        assert proposal.rule.wording == proposal.sentence
    assert [p.rule.strength for p in found if p.rule] == ["must", "must", "should"]


def test_a_breach_is_kept() -> None:
    (one,) = read("Entries over 100 MB will be disqualified.")
    assert one.rule is not None
    assert one.rule.breach == "Entries over 100 MB will be disqualified."


def test_what_is_open_is_said() -> None:
    assert any("4096x2160" in d for d in read("Stills in 4K.")[0].doubts)
    assert any("1,048,576" in d for d in read("At most 50 MB.")[0].doubts)
    for text in ("The shot: 24 fps. The loop: 30 fps.", "A film of 5 to 12 seconds. A making-of of 2 minutes."):
        assert all(any("different deliverables" in d for d in p.doubts) for p in read(text))
    assert not any(p.doubts for p in read("At least 5 seconds, at most 12 seconds."))


def test_deadlines_with_their_zone() -> None:
    (one,) = read("Deadline: Nov 15, 11:59 pm PT.")
    assert one.rule is None
    assert one.deadline is not None
    assert one.deadline.instant == dt.datetime(2027, 11, 16, 7, 59, tzinfo=dt.UTC)
    # an ordinal behind the month
    (written_out,) = read("Deadline: Monday, November 15th 2027, 11:59 pm UTC. See you there.")
    assert written_out.deadline is not None
    assert written_out.deadline.instant == dt.datetime(2027, 11, 15, 23, 59, tzinfo=dt.UTC)
    (vague,) = read("Submissions close on 15 November 2027.")
    assert vague.deadline is not None
    assert vague.deadline.uncertain
    assert any("no zone" in d for d in vague.doubts)
    # a sentence with more than the date in it: what is no date is still read
    mixed = read("Upload your 5 second clip by 31 October 2027 23:59 UTC+2.")
    assert [p.rule.kind if p.rule else "deadline" for p in mixed] == ["deadline", "duration"]


def test_nothing_is_accepted_silently() -> None:
    found = read("120 frames at 24 fps, 1920x1080.")
    piece = Deliverable(id="shot", name="Shot", what="movie")
    assert accepted(piece, []).rules == ()
    taken = accepted(piece, found[:1])
    assert [r.kind for r in taken.rules] == ["frame-count"]
    twice = accepted(taken, found)
    assert [r.id for r in twice.rules] == ["frame-count", "frame-count-2", "fps", "picture-size"]


def test_sentences() -> None:
    text = "1. Use H.264. It is 2.39:1.\n\n• One entry; two posts\n   \n* Done."
    assert sentences(text) == ["Use H.264.", "It is 2.39:1.", "One entry", "two posts", "Done."]


def test_too_long_and_unknown_zone() -> None:
    with pytest.raises(BadInput, match="at most 200000"):
        read("x" * (MAX_TEXT + 1))
    with pytest.raises(BadInput, match="zone"):
        read_text("by 15 November 2027", home_zone="Moon/Base", not_before=START)


_WORDS = st.sampled_from(
    [
        *("24", "fps", "120", "frames", "16:9", "at", "least", "most", "under", "or", "and", "between", "-", "–", "x"),
        *("1920", "1080", "MB", "5", "seconds", ".", ",", "Nov", "15", "PT", "must"),
    ]
)


@settings(max_examples=100, deadline=None)
@given(st.one_of(st.text(max_size=200), st.lists(_WORDS, max_size=20).map(" ".join)))
def test_any_text_is_read(text: str) -> None:
    for proposal in read(text):
        assert proposal.rule is not None or proposal.deadline is not None
        assert proposal.sentence
