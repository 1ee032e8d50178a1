# SPDX-License-Identifier: GPL-3.0-or-later
"""Movies with one defect each."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from case_kit import (
    LOOSE,
    at,
    movie_case,
    rule,
    written,
)
from media_files import (
    HEIGHT,
    WIDTH,
    cut,
    movie,
    picture,
    png,
    scratch,
)


def _black_movie(n: int) -> np.ndarray:
    return np.zeros((HEIGHT, WIDTH, 3), np.uint8) if n in (10, 11) else picture(n)


def _aspect(stream: Any) -> None:
    stream.codec_context.sample_aspect_ratio = Fraction(4, 3)


def _interlaced(stream: Any) -> None:
    stream.options = {"x264-params": "interlaced=1"}


def _turned(stream: Any) -> None:
    stream.set_display_rotation(90)


def _joined(folder: Path) -> Path:
    """Two streams of different size in one file, as a careless join leaves them."""
    path = movie(folder / "shot.ts", codec="mpeg2video", rate=25, count=12)
    other = movie(folder / "other.ts", codec="mpeg2video", rate=25, count=12, size=(96, 54))
    path.write_bytes(path.read_bytes() + other.read_bytes())
    return path


def _playlist(folder: Path) -> Path:
    movie(folder / "inner.mp4")
    path = folder / "shot.mp4"
    path.write_text("#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\ninner.mp4\n#EXT-X-ENDLIST\n")
    return path


def _edit_list(folder: Path) -> Path:
    from mp4_boxes import hide_first

    path = movie(folder / "shot.mp4", codec="mpeg4", count=36, options={"g": "1"})
    path.write_bytes(hide_first(path.read_bytes(), 12, 24))
    return path


def _noisy_end(folder: Path) -> Path:
    path = movie(folder / "shot.mkv")
    return cut(path, 0.5)


MOVIE_DEFECTS = [
    movie_case("the picture changes its size on the way", ("alike", "fail"), _joined, []),
    movie_case("23 frames instead of 24", ("frame-count", "fail"), at(count=23)),
    movie_case("25 frames instead of 24", ("frame-count", "fail"), at(count=25)),
    movie_case("25 fps instead of 24", ("fps", "fail"), at(rate=25)),
    movie_case("23.976 fps instead of 24", ("fps", "fail"), at(rate=Fraction(24000, 1001))),
    movie_case("30 fps instead of 29.97", ("fps", "fail"), at(rate=30), [rule("fps", "29.97")]),
    movie_case(
        "variable rate",
        ("fps", "fail"),
        at(stamps=[0, 42, 83, 125, 300, 340, 383, 425, 467, 508, 550, 592], count=12),
        [rule("fps", 24)],
    ),
    movie_case(
        "variable rate, nothing asked",
        ("steady-rate", "warn"),
        at("shot.mkv", stamps=[0, 42, 83, 125, 300, 340, 383, 425, 467, 508, 550, 592], count=12),
        [],
    ),
    movie_case(
        "longer than at most 30 s",
        ("duration", "fail"),
        at(count=61, rate=2, size=(64, 36)),
        [rule("duration", 30, "at most")],
    ),
    movie_case(
        "30 s where less than 30 s is asked",
        ("duration", "fail"),
        at(count=60, rate=2, size=(64, 36)),
        [rule("duration", 30, "less than")],
    ),
    movie_case("another picture size", ("picture-size", "fail"), at(size=(192, 110))),
    movie_case("upright instead of lying", ("picture-size", "fail"), at(size=(HEIGHT, WIDTH))),
    movie_case("turned by a flag", ("picture-size", "fail"), at(prepare=_turned)),
    movie_case("size right only through a flag", ("picture-size", "warn"), at(size=(HEIGHT, WIDTH), prepare=_turned)),
    movie_case("pixels that are not square", ("picture-size", "warn"), at(prepare=_aspect)),
    movie_case("aspect wrong through its pixels", ("aspect", "fail"), at(prepare=_aspect), [rule("aspect", "16:9")]),
    movie_case("MOV instead of MP4", ("container", "fail"), at("shot.mov")),
    movie_case("MKV called .mp4", ("container", "fail"), at(form="matroska")),
    movie_case("MKV called .mp4, nothing asked", ("ending", "fail"), at(form="matroska"), []),
    movie_case("MPEG-4 Part 2 instead of H.264", ("video-codec", "fail"), at(codec="mpeg4")),
    movie_case(
        "ProRes 422 instead of ProRes 422 HQ",
        ("video-codec", "fail"),
        at("shot.mov", codec="prores_ks", pixels="yuv422p10le", options={"profile": "2"}),
        [rule("video-codec", "ProRes 422 HQ")],
    ),
    movie_case(
        "10 bits instead of 8",
        ("bit-depth", "fail"),
        at("shot.mov", codec="prores_ks", pixels="yuv422p10le"),
        [rule("bit-depth", 8)],
    ),
    movie_case("interlaced", ("scan", "fail"), at(prepare=_interlaced)),
    movie_case(
        "alpha missing",
        ("alpha", "fail"),
        at("shot.mov", codec="prores_ks", pixels="yuv422p10le"),
        [rule("alpha", True)],
    ),
    movie_case("untagged, Rec.709 is asked for", ("colour", "warn"), at(), [rule("colour", "Rec.709")]),
    movie_case("sound where none may be", ("audio", "fail"), at(sound={})),
    movie_case("no sound where it has to be", ("audio", "fail"), at(), [rule("audio", True)]),
    movie_case("silence", ("audio", "warn"), at(sound={"level": -120.0}), [rule("audio", True)]),
    movie_case(
        "mono instead of stereo", ("audio-channels", "fail"), at(sound={"layout": "mono"}), [rule("audio-channels", 2)]
    ),
    movie_case(
        "44.1 kHz instead of 48 kHz", ("audio-rate", "fail"), at(sound={"rate": 44100}), [rule("audio-rate", 48000)]
    ),
    movie_case(
        "MP3 instead of AAC", ("audio-codec", "fail"), at(sound={"codec": "libmp3lame"}), [rule("audio-codec", "AAC")]
    ),
    movie_case(
        "6 LU too loud", ("loudness", "fail"), at(sound={"level": -8.0}), [rule("loudness", -14, "within", tolerance=1)]
    ),
    movie_case("sound longer than the picture", ("sound-length", "warn"), at(sound={"seconds": 2.0}), []),
    movie_case("empty file", ("readable", "fail"), at(after=lambda p: p.write_bytes(b""))),
    movie_case("cut off, index at the end", ("readable", "fail"), at(after=cut)),
    movie_case(
        "cut off, index at the start",
        ("whole", "fail"),
        at(container={"movflags": "faststart"}, after=lambda p: cut(p, 0.7)),
    ),
    movie_case(
        "cut off, index at the start, header only",
        ("whole", "fail"),
        at(container={"movflags": "faststart"}, after=lambda p: cut(p, 0.7)),
        LOOSE,
        "headers",
    ),
    movie_case("MKV cut off", ("counts-agree", "fail"), _noisy_end, [rule("container", "MKV")]),
    movie_case(
        "WebM cut off",
        ("counts-agree", "fail"),
        at(
            "shot.webm",
            codec="libvpx-vp9",
            options={"cpu-used": "8", "deadline": "realtime"},
            after=lambda p: cut(p, 0.5),
        ),
        [],
    ),
    movie_case(
        "AVI cut off",
        ("whole", "fail"),
        at("shot.avi", codec="mjpeg", pixels="yuvj420p", after=lambda p: cut(p, 0.5)),
        [],
    ),
    movie_case(
        "GIF cut off", ("whole", "fail"), at("shot.gif", codec="gif", pixels="rgb8", after=lambda p: cut(p, 0.5)), []
    ),
    movie_case("H.264 damaged in the middle", ("whole", "fail"), at(after=lambda p: scratch(p, 0.4, 200))),
    movie_case(
        "ProRes damaged in the middle",
        ("whole", "fail"),
        at("shot.mov", codec="prores_ks", pixels="yuv422p10le", after=lambda p: scratch(p, 0.5, 2000)),
        [],
    ),
    movie_case(
        "Motion JPEG damaged in the middle",
        ("whole", "fail"),
        at("shot.avi", codec="mjpeg", pixels="yuvj420p", after=lambda p: scratch(p, 0.5, 200)),
        [],
    ),
    movie_case(
        "a frame left out by the muxer", ("fps", "fail"), at("shot.mkv", codec="mpeg4", drop={9}), [rule("fps", 24)]
    ),
    movie_case("an edit list hides frames", ("no-edit-list", "warn"), _edit_list, [rule("frame-count", 24)]),
    movie_case("two black frames", ("black", "warn"), at(make=_black_movie), depth="deep"),
    movie_case(
        "a frame repeated",
        ("repeated", "warn"),
        at("shot.mkv", codec="ffv1", make=lambda n: picture(9 if n == 10 else n)),
        [],
        "deep",
    ),
    movie_case("a playlist called .mp4", ("readable", "fail"), _playlist),
    movie_case("a picture called .mp4", ("readable", "fail"), lambda f: written(f / "shot.mp4", png(picture()))),
    movie_case("a space in the name", ("name", "fail"), at("my shot.mp4"), [rule("name", "my_shot.mp4")]),
    movie_case("over the size", ("file-size", "fail"), at(), [rule("file-size", "1 kB", "at most")]),
    movie_case(
        "MKV by its header only", ("frame-count", "cannot tell"), at("shot.mkv"), [rule("frame-count", 24)], "headers"
    ),
]
