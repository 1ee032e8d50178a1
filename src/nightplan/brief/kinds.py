# SPDX-License-Identifier: GPL-3.0-or-later
"""The kinds of rule that a brief can hold: what each says, the form of its value, and who decides it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Final, Literal

from nightplan.speech import tr

Comparison = Literal[
    "exactly", "at least", "at most", "less than", "between", "within", "one of"
]  # untranslated: values
AT_LEAST: Final = "at least"  # untranslated: value of the file
AT_MOST: Final = "at most"  # untranslated: value of the file
LESS_THAN: Final = "less than"  # untranslated: value of the file
ONE_OF: Final = "one of"  # untranslated: value of the file
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

_NUMBERS: tuple[Comparison, ...] = ("exactly", AT_LEAST, AT_MOST, LESS_THAN, "between", "within", ONE_OF)
_CHOICE: tuple[Comparison, ...] = ("exactly", ONE_OF)
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
    #: the words within a sentence, of a rule that has no number
    within: str = ""


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


_PICTURES = ("sequence", "movie", "image", "zip", "folder")
_FRAMES = ("sequence", "movie", "zip", "folder")
_STILLS = ("sequence", "image", "zip", "folder")
_TREES = ("zip", "folder")

_LICENCE = '"CC BY 4.0"'  # untranslated: a licence

_ALL = (
    Kind("frame-count", tr("Frame count"), "count", "file", _NUMBERS, "frames", "120", _FRAMES),
    Kind("frame-range", tr("Frame range"), "range", "file", _ONLY, "", '"1-120"', ("sequence", "zip", "folder")),
    Kind("numbering", tr("First frame number"), "count", "file", _NUMBERS, "", "1", ("sequence", "zip", "folder")),
    Kind(
        "padding",
        tr("Digits of the frame number"),
        "count",
        "file",
        _NUMBERS,
        "digits",
        "4",
        ("sequence", "zip", "folder"),
    ),
    Kind("fps", tr("Frames per second"), "fps", "file", _NUMBERS, "fps", '"23.976"', ("movie",)),
    Kind("duration", tr("Duration"), "seconds", "file", _NUMBERS, "s", "5", _FRAMES),
    Kind(
        "picture-size",
        tr("Picture size"),
        "picture",
        "file",
        ("exactly", AT_LEAST, AT_MOST, "between", ONE_OF),
        "px",
        '"1920x1080"',
        _PICTURES,
    ),
    Kind("long-side", tr("Longer side of the picture"), "count", "file", _NUMBERS, "px", "4096", _PICTURES),
    Kind("aspect", tr("Shape of the picture"), "ratio", "file", _NUMBERS, ": 1", '"16:9"', _PICTURES),
    Kind("pixel-aspect", tr("Shape of a pixel"), "ratio", "file", _NUMBERS, ": 1", "1", _PICTURES),
    Kind("bit-depth", tr("Bits per channel"), "count", "file", _NUMBERS, "bits", "8", _PICTURES),
    Kind("alpha", tr("Alpha channel"), "yes-no", "file", _ONLY, "", "true", _PICTURES, within=tr("alpha channel")),
    Kind("image-format", tr("Image format"), "word", "file", _CHOICE, "", '"PNG"', _STILLS),
    Kind("container", tr("Container"), "word", "file", _CHOICE, "", '"MP4"', ("movie",)),
    Kind("video-codec", tr("Picture codec"), "word", "file", _CHOICE, "", '"H.264"', ("movie",)),
    Kind("scan", tr("Scan"), "word", "file", _ONLY, "", '"progressive"', ("movie",)),
    Kind("colour", tr("Colour tags"), "word", "file", _CHOICE, "", '"Rec.709"', _PICTURES),
    Kind("audio", tr("Sound"), "yes-no", "file", _ONLY, "", "false", ("movie",), within=tr("sound")),
    Kind("audio-codec", tr("Sound codec"), "word", "file", _CHOICE, "", '"AAC"', ("movie",)),
    Kind("audio-rate", tr("Sound sample rate"), "number", "file", _NUMBERS, "Hz", "48000", ("movie",)),
    Kind("audio-channels", tr("Sound channels"), "count", "file", _NUMBERS, "channels", "2", ("movie",)),
    Kind("loudness", tr("Loudness"), "number", "file", _NUMBERS, "LUFS", "-14", ("movie",)),
    Kind(
        "file-size",
        tr("File size"),
        "bytes",
        "file",
        ("exactly", AT_LEAST, AT_MOST, LESS_THAN, "between"),
        "",
        '"100 MB"',
    ),
    Kind("name", tr("File name"), "pattern", "file", _CHOICE, "", '"lastname_####.png"'),
    Kind(
        "tree",
        tr("Folders and files inside"),
        "patterns",
        "file",
        ("exactly", AT_LEAST),
        "",
        '["frames/####.png", "readme.txt"]',
        _TREES,
    ),
    Kind("text-length", tr("Words of text"), "count", "file", _NUMBERS, "words", "200", ("text",)),
    Kind("entry-count", tr("Number of entries"), "count", "half", _NUMBERS, "entries", "1"),
    Kind(
        "slate",
        tr("Required slate"),
        "frames-or-seconds",
        "half",
        ("exactly", AT_LEAST, AT_MOST),
        "",
        '"24 frames"',
        _FRAMES,
    ),
    Kind("progress-post", tr("Progress posts"), "count", "work", ("exactly", AT_LEAST), "posts", "2"),
    Kind(
        "kept-stage",
        tr("Stages or sources to keep"),
        "text",
        "work",
        ("exactly", AT_LEAST),
        "",
        _quoted(tr("source files")),
        within=tr("stages or sources to keep"),
    ),
    Kind(
        "working-time",
        tr("Working-time limit"),
        "text",
        "tick",
        ("exactly", AT_MOST, LESS_THAN),
        "",
        _quoted(tr("40 hours")),
        within=tr("working-time limit"),
    ),
    Kind(
        "declaration",
        tr("Declaration"),
        "text",
        "tick",
        _ONLY,
        "",
        _quoted(tr("all work is new")),
        within=tr("declaration"),
    ),
    Kind("publish-not-before", tr("Publish not before"), "moment", "half", _ONLY, "", '"2027-11-14T12:00"'),
    Kind("third-party", tr("Things made by others"), "word", "half", _ONLY, "", '"credited"'),
    Kind("result-licence", tr("Licence of the entry"), "word", "half", _ONLY, "", _LICENCE),
    Kind("prize", tr("There is a prize"), "yes-no", "half", _ONLY, "", "true", within=tr("there is a prize")),
    Kind(
        "paid-channel",
        tr("Shown where it earns money"),
        "yes-no",
        "half",
        _ONLY,
        "",
        "true",
        within=tr("shown where it earns money"),
    ),
    Kind(
        "promotion",
        tr("The organiser may advertise with it"),
        "yes-no",
        "half",
        _ONLY,
        "",
        "true",
        within=tr("the organiser may advertise with it"),
    ),
    Kind(
        "scene-files",
        tr("Scene files are handed in"),
        "yes-no",
        "half",
        _ONLY,
        "",
        "false",
        within=tr("scene files are handed in"),
    ),
    Kind(
        "tick",
        tr("A person's tick"),
        "text",
        "tick",
        _ONLY,
        "",
        _quoted(tr("fits the theme")),
        within=tr("a person's tick"),
    ),
)

KINDS: dict[str, Kind] = {kind.id: kind for kind in _ALL}
