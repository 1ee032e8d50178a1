# SPDX-License-Identifier: GPL-3.0-or-later
"""Deliverables of usual kinds to start a brief from. Numbers are common practice, no source, and can be changed."""

from __future__ import annotations

from typing import Any

from nightplan.brief.kinds import AT_LEAST, AT_MOST, ONE_OF
from nightplan.brief.rules import Deliverable
from nightplan.model.errors import BadInput
from nightplan.speech import tr


def _rule(kind: str, value: Any, comparison: str = "exactly", **more: Any) -> dict[str, Any]:
    return {"kind": kind, "value": value, "comparison": comparison, **more}


_STEADY = [_rule("scan", "progressive"), _rule("pixel-aspect", 1, strength="should")]

_PRESETS: dict[str, dict[str, Any]] = {  # untranslated: keys
    "animated shot, 1080p, 24 fps": {
        "name": tr("Animated shot, 1080p, 24 fps"),
        "what": "movie",
        "rules": [
            _rule("container", "MP4"),
            _rule("video-codec", "H.264"),
            _rule("picture-size", "1920x1080"),
            _rule("fps", 24),
            _rule("colour", "Rec.709", strength="should"),
            *_STEADY,
        ],
    },
    "animated shot as frames, 1080p, 24 fps": {
        "name": tr("Animated shot as frames, 1080p, 24 fps"),
        "what": "sequence",
        "fps": 24,
        "rules": [
            _rule("image-format", "PNG"),
            _rule("picture-size", "1920x1080"),
            _rule("padding", 4),
            _rule("bit-depth", 8, AT_LEAST),
        ],
    },
    "still, 4K": {
        "name": tr("Still, 4K"),
        "what": "image",
        "rules": [_rule("image-format", ["PNG", "JPEG"], ONE_OF), _rule("long-side", 3840, AT_LEAST)],
    },
    "still, large, for print": {
        "name": tr("Still, large, for print"),
        "what": "image",
        "rules": [_rule("image-format", ["TIFF", "PNG"], ONE_OF), _rule("long-side", 6000, AT_LEAST)],
    },
    "square loop": {
        "name": tr("Square loop"),
        "what": "movie",
        "rules": [
            _rule("container", "MP4"),
            _rule("aspect", "1:1"),
            _rule("picture-size", "1080x1080", AT_LEAST),
            _rule("duration", [3, 15], "between"),
            _rule("audio", False, strength="should"),
            *_STEADY,
            _rule("tick", tr("the last frame leads into the first")),
        ],
    },
    "upright clip, 9:16": {
        "name": tr("Upright clip, 9:16"),
        "what": "movie",
        "rules": [
            _rule("container", "MP4"),
            _rule("picture-size", "1080x1920"),
            _rule("duration", 60, AT_MOST),
            *_STEADY,
        ],
    },
    "turntable": {
        "name": tr("Turntable"),
        "what": "movie",
        "rules": [
            _rule("container", "MP4"),
            _rule("picture-size", "1920x1080"),
            _rule("duration", [5, 20], "between"),
            *_STEADY,
            _rule("tick", tr("one whole turn, at an even speed")),
        ],
    },
    "making-of film": {
        "name": tr("Making-of film"),
        "what": "movie",
        "rules": [
            _rule("container", "MP4"),
            _rule("video-codec", "H.264"),
            _rule("picture-size", "1280x720", AT_LEAST),
            _rule("duration", 120, AT_MOST),
            _rule("tick", tr("shows the steps, not only the result")),
        ],
    },
    "source ZIP": {
        "name": tr("Source ZIP"),
        "what": "zip",
        "rules": [
            _rule("file-size", "2 GB", AT_MOST),
            _rule("tick", tr("no file that may not be given away is inside")),
        ],
    },
    "clay and wire stills": {
        "name": tr("Clay and wire stills"),
        "what": "folder",
        "rules": [_rule("tree", ["*clay*", "*wire*"], AT_LEAST), _rule("image-format", ["PNG", "JPEG"], ONE_OF)],
    },
    "short text": {
        "name": tr("Short text"),
        "what": "text",
        "rules": [_rule("text-length", 200, AT_MOST)],
    },
}

#: their keys
PRESETS: tuple[str, ...] = tuple(_PRESETS)
#: what people read for each
PRESET_WORDS: dict[str, str] = {key: raw["name"] for key, raw in _PRESETS.items()}


def preset(name: str, *, id: str = "piece") -> Deliverable:
    """A deliverable of a usual kind.

    Raises:
        BadInput: no preset has that name.
    """
    raw = _PRESETS.get(name)
    if raw is None:
        raise BadInput.at("preset", name, tr("must be one of: {values}", values="; ".join(PRESETS)))
    seen: dict[str, int] = {}
    rules = []
    for rule in raw["rules"]:
        seen[rule["kind"]] = seen.get(rule["kind"], 0) + 1
        number = f"-{seen[rule['kind']]}" if seen[rule["kind"]] > 1 else ""
        rules.append({"id": rule["kind"] + number, **rule})
    return Deliverable.model_validate({"id": id, **raw, "rules": rules})
