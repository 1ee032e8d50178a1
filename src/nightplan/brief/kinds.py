# SPDX-License-Identifier: GPL-3.0-or-later
"""The kinds of rule that a brief can hold: what each says, the form of its value, and who decides it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Comparison = Literal["exactly", "at least", "at most", "less than", "between", "within", "one of"]
#: file: measured · half: measured, but a person has the last word · tick: a person's · work: something to do
How = Literal["file", "half", "tick", "work"]
Form = Literal[
    "count",
    "fps",
    "seconds",
    "picture",
    "ratio",
    "yes-no",
    "word",
    "bytes",
    "pattern",
    "patterns",
    "range",
    "number",
    "moment",
    "text",
    "frames-or-seconds",
]

_NUMBERS: tuple[Comparison, ...] = ("exactly", "at least", "at most", "less than", "between", "within", "one of")
_CHOICE: tuple[Comparison, ...] = ("exactly", "one of")
_ONLY: tuple[Comparison, ...] = ("exactly",)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of rule."""

    id: str
    words: str
    form: Form
    how: How
    comparisons: tuple[Comparison, ...]
    unit: str
    example: str
    #: kinds of deliverable that it can be measured on; empty: any
    fits: tuple[str, ...] = ()


_PICTURES = ("sequence", "movie", "image", "zip", "folder")
_FRAMES = ("sequence", "movie", "zip", "folder")
_STILLS = ("sequence", "image", "zip", "folder")
_TREES = ("zip", "folder")

_ALL = (
    Kind("frame-count", "Frame count", "count", "file", _NUMBERS, "frames", "120", _FRAMES),
    Kind("frame-range", "Frame range", "range", "file", _ONLY, "", '"1-120"', ("sequence", "zip", "folder")),
    Kind("numbering", "First frame number", "count", "file", _NUMBERS, "", "1", ("sequence", "zip", "folder")),
    Kind(
        "padding", "Digits of the frame number", "count", "file", _NUMBERS, "digits", "4", ("sequence", "zip", "folder")
    ),
    Kind("fps", "Frames per second", "fps", "file", _NUMBERS, "fps", '"23.976"', ("movie",)),
    Kind("duration", "Duration", "seconds", "file", _NUMBERS, "s", "5", _FRAMES),
    Kind(
        "picture-size",
        "Picture size",
        "picture",
        "file",
        ("exactly", "at least", "at most", "between", "one of"),
        "px",
        '"1920x1080"',
        _PICTURES,
    ),
    Kind("long-side", "Longer side of the picture", "count", "file", _NUMBERS, "px", "4096", _PICTURES),
    Kind("aspect", "Shape of the picture", "ratio", "file", _NUMBERS, ": 1", '"16:9"', _PICTURES),
    Kind("pixel-aspect", "Shape of a pixel", "ratio", "file", _NUMBERS, ": 1", "1", _PICTURES),
    Kind("bit-depth", "Bits per channel", "count", "file", _NUMBERS, "bits", "8", _PICTURES),
    Kind("alpha", "Alpha channel", "yes-no", "file", _ONLY, "", "true", _PICTURES),
    Kind("image-format", "Image format", "word", "file", _CHOICE, "", '"PNG"', _STILLS),
    Kind("container", "Container", "word", "file", _CHOICE, "", '"MP4"', ("movie",)),
    Kind("video-codec", "Picture codec", "word", "file", _CHOICE, "", '"H.264"', ("movie",)),
    Kind("scan", "Scan", "word", "file", _ONLY, "", '"progressive"', ("movie",)),
    Kind("colour", "Colour tags", "word", "file", _CHOICE, "", '"Rec.709"', _PICTURES),
    Kind("audio", "Sound", "yes-no", "file", _ONLY, "", "false", ("movie",)),
    Kind("audio-codec", "Sound codec", "word", "file", _CHOICE, "", '"AAC"', ("movie",)),
    Kind("audio-rate", "Sound sample rate", "number", "file", _NUMBERS, "Hz", "48000", ("movie",)),
    Kind("audio-channels", "Sound channels", "count", "file", _NUMBERS, "channels", "2", ("movie",)),
    Kind("loudness", "Loudness", "number", "file", _NUMBERS, "LUFS", "-14", ("movie",)),
    Kind(
        "file-size",
        "File size",
        "bytes",
        "file",
        ("exactly", "at least", "at most", "less than", "between"),
        "",
        '"100 MB"',
    ),
    Kind("name", "File name", "pattern", "file", _CHOICE, "", '"lastname_####.png"'),
    Kind(
        "tree",
        "Folders and files inside",
        "patterns",
        "file",
        ("exactly", "at least"),
        "",
        '["frames/####.png", "readme.txt"]',
        _TREES,
    ),
    Kind("text-length", "Words of text", "count", "file", _NUMBERS, "words", "200", ("text",)),
    Kind("entry-count", "Number of entries", "count", "half", _NUMBERS, "entries", "1"),
    Kind(
        "slate",
        "Required slate",
        "frames-or-seconds",
        "half",
        ("exactly", "at least", "at most"),
        "",
        '"24 frames"',
        _FRAMES,
    ),
    Kind("progress-post", "Progress posts", "count", "work", ("exactly", "at least"), "posts", "2"),
    Kind("kept-stage", "Stages or sources to keep", "text", "work", ("exactly", "at least"), "", '"source files"'),
    Kind("working-time", "Working-time limit", "text", "tick", ("exactly", "at most", "less than"), "", '"40 hours"'),
    Kind("declaration", "Declaration", "text", "tick", _ONLY, "", '"all work is new"'),
    Kind("publish-not-before", "Publish not before", "moment", "half", _ONLY, "", '"2027-11-14T12:00"'),
    Kind("third-party", "Things made by others", "word", "half", _ONLY, "", '"credited"'),
    Kind("result-licence", "Licence of the entry", "word", "half", _ONLY, "", '"CC BY 4.0"'),
    Kind("prize", "There is a prize", "yes-no", "half", _ONLY, "", "true"),
    Kind("paid-channel", "Shown where it earns money", "yes-no", "half", _ONLY, "", "true"),
    Kind("promotion", "The organiser may advertise with it", "yes-no", "half", _ONLY, "", "true"),
    Kind("scene-files", "Scene files are handed in", "yes-no", "half", _ONLY, "", "false"),
    Kind("tick", "A person's tick", "text", "tick", _ONLY, "", '"fits the theme"'),
)

KINDS: dict[str, Kind] = {kind.id: kind for kind in _ALL}
