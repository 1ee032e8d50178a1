# SPDX-License-Identifier: GPL-3.0-or-later
"""A second witness: what ffprobe says of the same movies. Skipped where it is not installed."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from media_files import movie

from nightplan.brief.names_of_formats import codec_words
from nightplan.brief.probe_movie import movie_facts
from nightplan.brief.worker import Workers

PROBE = shutil.which("ffprobe")
pytestmark = pytest.mark.skipif(PROBE is None, reason="ffprobe is not installed")


@pytest.fixture(scope="module")
def crew() -> Iterator[Workers]:
    with Workers(1) as workers:
        yield workers


MOVIES: list[tuple[str, dict[str, Any]]] = [
    ("a.mp4", {}),
    ("b.mp4", {"rate": Fraction(24000, 1001), "count": 50, "sound": {}}),
    ("c.mkv", {"rate": Fraction(30000, 1001), "count": 31}),
    ("d.mov", {"codec": "prores_ks", "pixels": "yuv422p10le", "options": {"profile": "3"}}),
    ("e.mov", {"codec": "prores_ks", "pixels": "yuva444p10le", "options": {"profile": "4"}}),
    ("f.avi", {"codec": "mjpeg", "pixels": "yuvj420p", "rate": 25}),
    ("g.webm", {"codec": "libvpx-vp9", "options": {"cpu-used": "8", "deadline": "realtime"}}),
    ("h.gif", {"codec": "gif", "pixels": "rgb8", "rate": 20}),
    ("i.ts", {"codec": "mpeg2video", "rate": 25, "form": "mpegts"}),
    ("j.mkv", {"codec": "ffv1", "pixels": "yuv444p"}),
]


@pytest.mark.parametrize(("name", "made"), MOVIES, ids=[m[0] for m in MOVIES])
def test_the_same_movie(name: str, made: dict[str, Any], tmp_path: Path, crew: Workers) -> None:
    path = movie(tmp_path / name, **made)
    asked = [PROBE, "-v", "error", "-count_frames", "-count_packets", "-show_streams", "-of", "json", str(path)]
    told = json.loads(subprocess.run(asked, check=True, capture_output=True, text=True).stdout)  # type: ignore[arg-type]
    streams = told["streams"]
    picture = next(s for s in streams if s["codec_type"] == "video")
    ((_, facts),) = crew.run(movie_facts, [(str(path), "integrity", True)], seconds=60)
    assert facts.fault == ""
    assert facts.decoded == int(picture["nb_read_frames"])
    assert facts.packets == int(picture["nb_read_packets"])
    assert (facts.width, facts.height) == (picture["width"], picture["height"])
    assert facts.codec == codec_words(picture["codec_name"], picture["codec_tag_string"])
    if name.endswith((".mp4", ".mov", ".mkv", ".avi")):
        assert facts.rate == Fraction(made.get("rate", 24))
        assert abs(facts.rate - Fraction(picture["r_frame_rate"])) < Fraction(1, 1000)
    assert len(facts.sound) == sum(1 for s in streams if s["codec_type"] == "audio")
    for heard, said in zip(facts.sound, (s for s in streams if s["codec_type"] == "audio"), strict=True):
        assert (heard.rate, heard.channels) == (int(said["sample_rate"]), said["channels"])
