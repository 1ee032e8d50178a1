# SPDX-License-Identifier: GPL-3.0-or-later
"""Files without any defect."""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from case_kit import (
    MOVIE,
    NUMBERS,
    SEQUENCE,
    SIZE,
    STILL,
    TREE,
    Case,
    N,
    Rules,
    at,
    barred,
    inside,
    jpeg,
    movie_case,
    rule,
    sequence_case,
    still_case,
    tagged,
    written,
)
from media_files import (
    HEIGHT,
    WIDTH,
    chunk,
    encoded,
    exr,
    frames,
    picture,
    png,
    png16,
    zipped,
)
from PIL import Image


def _good_seq(name: str, make: Callable[[Path], Any], rules: Rules, depth: str = "deep", **more: Any) -> Case:
    return sequence_case(name, ("", ""), make, rules, depth, **more)


def _good_mov(name: str, make: Callable[[Path], Path], rules: Rules, depth: str = "deep", **more: Any) -> Case:
    return movie_case(name, ("", ""), make, rules, depth, **more)


def _fade(n: int) -> np.ndarray:
    return np.maximum(picture(n) // 3, 12).astype(np.uint8)


def _half_float(kind: str, **header: Any) -> Callable[[Path], None]:
    def make(folder: Path) -> None:
        import OpenEXR

        folder.mkdir(parents=True)
        for n in range(1, 5):
            array = picture(n).astype(np.float32) / 255
            exr(folder / f"shot_{n:04d}.exr", array, compression=getattr(OpenEXR, kind), **header)

    return make


def _tiffs(**save: Any) -> Callable[[Path], Any]:
    return lambda f: frames(
        f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)), "TIFF", **save), "shot_{:04d}.tif"
    )


def _slated(n: int) -> bytes:
    return png(np.zeros((HEIGHT, WIDTH, 3), np.uint8) if n <= 4 else picture(n))


def _clear(n: int) -> bytes:
    image = Image.fromarray(picture(n)).convert("RGBA")
    image.putalpha(Image.fromarray(picture(n)[:, :, 0]))
    return encoded(image, "PNG")


def _tag709(stream: Any) -> None:
    context = stream.codec_context
    context.color_primaries, context.color_trc, context.colorspace, context.color_range = 1, 1, 1, 1


GOOD = [
    _good_seq("PNG, 8 bits", lambda f: frames(f, NUMBERS), SEQUENCE),
    _good_seq(
        "PNG, 16 bits",
        lambda f: frames(f, NUMBERS, lambda n: png16(picture(n))),
        [rule("bit-depth", 16), rule("frame-count", N)],
    ),
    _good_seq(
        "PNG, grey",
        lambda f: frames(f, NUMBERS, lambda n: png(picture(n)[:, :, 0])),
        [rule("frame-count", N), rule("bit-depth", 8)],
    ),
    _good_seq("PNG with a transparent ground", lambda f: frames(f, NUMBERS, _clear), [rule("alpha", True)]),
    _good_seq(
        "PNG, sRGB tag",
        lambda f: frames(f, NUMBERS, lambda n: tagged(n, chunk(b"sRGB", b"\0"))),
        [rule("colour", "sRGB")],
    ),
    _good_seq(
        "PNG, dots per metre",
        lambda f: frames(f, NUMBERS, lambda n: tagged(n, chunk(b"pHYs", struct.pack(">IIB", 2835, 2835, 1)))),
        [rule("picture-size", SIZE)],
    ),
    _good_seq(
        "PNG with long notes before the pixels",
        lambda f: frames(f, NUMBERS, lambda n: tagged(n, chunk(b"tEXt", b"Scene\0" + b"moth " * 2000))),
        SEQUENCE,
    ),
    _good_seq("PNG with bars above and below", lambda f: frames(f, NUMBERS, barred), SEQUENCE),
    _good_seq("PNG, dark night", lambda f: frames(f, NUMBERS, lambda n: png(_fade(n))), SEQUENCE),
    _good_seq(
        "slate of four black frames", lambda f: frames(f, NUMBERS, _slated), [rule("slate", "4 frames", look="black")]
    ),
    _good_seq(
        "120 frames at 24 for 5 s",
        lambda f: frames(f, range(1, 121), lambda n: png(picture(n, 48, 27))),
        [rule("duration", 5), rule("frame-count", 120)],
        "integrity",
        fps=24,
    ),
    _good_seq(
        "120 frames at 23.976 for 5 s",
        lambda f: frames(f, range(1, 121), lambda n: png(picture(n, 48, 27))),
        [rule("duration", 5)],
        "integrity",
        fps="23.976",
    ),
    _good_seq("frames 0 to 11", lambda f: frames(f, range(N)), [rule("frame-range", "0-11"), rule("numbering", 0)]),
    _good_seq(
        "frames from 1001", lambda f: frames(f, range(1001, 1013)), [rule("numbering", 1001), rule("frame-count", N)]
    ),
    _good_seq(
        "numbers past their padding",
        lambda f: frames(f, range(95, 107), name="shot_{:02d}.png"),
        [rule("padding", 2), rule("name", "shot_##.png")],
    ),
    _good_seq(
        "a version in the name",
        lambda f: frames(f, NUMBERS, name="moth_v02_{:04d}.png"),
        [rule("name", "moth_v##_####.png"), rule("frame-count", N)],
    ),
    _good_seq(
        "a number behind the frame number",
        lambda f: frames(f, NUMBERS, name="moth_{:04d}_1080p.png"),
        [rule("frame-count", N)],
    ),
    _good_seq("capital ending", lambda f: frames(f, NUMBERS, name="shot_{:04d}.PNG"), [rule("frame-count", N)]),
    _good_seq(
        "2048 x 858 for 2.39 : 1",
        lambda f: frames(f, [1, 2], lambda n: png(picture(n, 2048, 858))),
        [rule("aspect", "2.39:1")],
    ),
    _good_seq(
        "1920 x 803 for 2.39 : 1",
        lambda f: frames(f, [1, 2], lambda n: png(picture(n, 1920, 803))),
        [rule("aspect", "2.39:1")],
        "integrity",
    ),
    _good_seq(
        "a name with blanks and letters of other scripts",
        lambda f: frames(f, NUMBERS, name="nocní můra {:04d}.png"),
        [rule("frame-count", N)],
    ),
    _good_seq(
        "JPEG",
        lambda f: frames(f, NUMBERS, jpeg, "shot_{:04d}.jpg"),
        [rule("image-format", "JPEG"), rule("frame-count", N)],
    ),
    _good_seq(
        "JPEG, progressive, called .jpeg",
        lambda f: frames(
            f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)), "JPEG", progressive=True), "shot_{:04d}.jpeg"
        ),
        [rule("image-format", "JPG")],
    ),
    _good_seq(
        "JPEG, grey",
        lambda f: frames(
            f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)[:, :, 0]), "JPEG"), "shot_{:04d}.jpg"
        ),
        [rule("frame-count", N)],
    ),
    _good_seq(
        "JPEG, CMYK",
        lambda f: frames(
            f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)).convert("CMYK"), "JPEG"), "shot_{:04d}.jpg"
        ),
        [rule("frame-count", N)],
    ),
    _good_seq(
        "JPEG with restarts",
        lambda f: frames(
            f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)), "JPEG", restart_marker_rows=1), "shot_{:04d}.jpg"
        ),
        [rule("frame-count", N)],
    ),
    _good_seq("TIFF, plain", _tiffs(), [rule("image-format", "TIFF"), rule("bit-depth", 8)]),
    _good_seq("TIFF, LZW", _tiffs(compression="tiff_lzw"), [rule("image-format", "TIFF"), rule("frame-count", N)]),
    _good_seq("TIFF, deflate", _tiffs(compression="tiff_adobe_deflate"), [rule("image-format", "TIFF")]),
    _good_seq(
        "EXR, ZIP, half",
        _half_float("ZIP_COMPRESSION"),
        [rule("image-format", "EXR"), rule("bit-depth", 16), rule("colour", "linear")],
    ),
    _good_seq("EXR, PIZ", _half_float("PIZ_COMPRESSION"), [rule("image-format", "EXR")]),
    _good_seq("EXR, DWAA", _half_float("DWAA_COMPRESSION"), [rule("image-format", "EXR")]),
    _good_seq(
        "EXR, uncompressed", _half_float("NO_COMPRESSION"), [rule("image-format", "EXR"), rule("picture-size", SIZE)]
    ),
    _good_mov("H.264 in MP4", at(), MOVIE),
    _good_mov(
        "H.264 in MP4, header only", at(), [rule("frame-count", 24), rule("duration", 1), rule("fps", 24)], "headers"
    ),
    _good_mov("H.264 with the index at the start", at(container={"movflags": "faststart"}), MOVIE),
    _good_mov(
        "23.976 fps",
        at(rate=Fraction(24000, 1001), count=120, size=(64, 36)),
        [rule("fps", "23.976"), rule("frame-count", 120), rule("duration", 5)],
    ),
    _good_mov(
        "29.97 fps in MKV",
        at("shot.mkv", rate=Fraction(30000, 1001), count=60, size=(64, 36)),
        [rule("fps", "29.97"), rule("frame-count", 60)],
    ),
    _good_mov(
        "24 fps in MKV with sound",
        at("shot.mkv", sound={}),
        [rule("fps", 24), rule("duration", 1), rule("frame-count", 24), rule("audio", True)],
    ),
    _good_mov("15 s of at most 15 s", at(count=30, rate=2, size=(64, 36)), [rule("duration", 15, "at most")]),
    _good_mov(
        "H.265, 10 bits",
        at(codec="libx265", pixels="yuv420p10le", options={"preset": "ultrafast", "x265-params": "log-level=none"}),
        [rule("video-codec", "HEVC"), rule("bit-depth", 10), rule("frame-count", 24)],
    ),
    _good_mov(
        "VP9 in WebM",
        at("shot.webm", codec="libvpx-vp9", options={"cpu-used": "8", "deadline": "realtime"}),
        [rule("container", "WebM"), rule("video-codec", "VP9"), rule("frame-count", 24)],
    ),
    _good_mov(
        "ProRes 422 HQ",
        at("shot.mov", codec="prores_ks", pixels="yuv422p10le", options={"profile": "3"}),
        [rule("video-codec", "ProRes 422 HQ"), rule("container", "MOV"), rule("frame-count", 24)],
    ),
    _good_mov("any ProRes", at("shot.mov", codec="prores_ks", pixels="yuv422p10le"), [rule("video-codec", "ProRes")]),
    _good_mov(
        "ProRes 4444 with alpha",
        at("shot.mov", codec="prores_ks", pixels="yuva444p10le", options={"profile": "4"}),
        [rule("alpha", True), rule("frame-count", 24)],
    ),
    _good_mov("FFV1 in MKV", at("shot.mkv", codec="ffv1"), [rule("frame-count", 24), rule("picture-size", SIZE)]),
    _good_mov(
        "Motion JPEG in AVI",
        at("shot.avi", codec="mjpeg", pixels="yuvj420p"),
        [rule("frame-count", 24), rule("fps", 24)],
    ),
    _good_mov("GIF", at("shot.gif", codec="gif", pixels="rgb8", rate=25), [rule("frame-count", 24), rule("fps", 25)]),
    _good_mov("Rec.709 tags", at(prepare=_tag709), [rule("colour", "Rec.709"), rule("scan", "progressive")]),
    _good_mov(
        "AAC, stereo, 48 kHz, -14 LUFS",
        at(count=48, sound={"level": -14.0}),
        [
            rule("audio-codec", "AAC"),
            rule("audio-channels", 2),
            rule("audio-rate", 48000),
            rule("loudness", -14, "within", tolerance=1),
        ],
    ),
    _good_mov("one of two codecs", at(), [rule("video-codec", ["H.264", "H.265"], "one of")]),
    _good_mov("between 10 and 30 s", at(count=40, rate=2, size=(64, 36)), [rule("duration", [10, 30], "between")]),
    _good_mov(
        "10 s with 2 s of titles left out",
        at(count=24, rate=2, size=(64, 36)),
        [rule("duration", 10, counts="without titles", titles_seconds=2.0)],
    ),
    _good_mov("under 1 MB", at(), [rule("file-size", "1 MB", "at most")]),
    Case(
        "zip",
        "ZIP with its tree",
        lambda f: zipped(f / "piece.zip", inside()),
        [rule("tree", TREE), rule("frame-count", 3), rule("picture-size", SIZE)],
    ),
    Case("zip", "ZIP, stored", lambda f: zipped(f / "piece.zip", inside(), zipfile.ZIP_STORED), [rule("tree", TREE)]),
    Case(
        "zip",
        "ZIP with more than is asked for",
        lambda f: zipped(f / "piece.zip", inside() | {"notes.txt": b"x"}),
        [rule("tree", TREE, "at least")],
    ),
    Case(
        "folder",
        "folder with its tree",
        lambda f: written(frames(f / "piece/frames", [1, 2], name="{:04d}.png").parent / "readme.txt", b"x").parent,
        [rule("tree", TREE), rule("frame-count", 2)],
    ),
    still_case("still, PNG", ("", ""), "still.png", lambda: png(picture())),
    still_case(
        "still, JPEG that is turned and asked so",
        ("", ""),
        "still.jpg",
        lambda: encoded(Image.fromarray(picture()), "JPEG"),
        [rule("long-side", WIDTH)],
    ),
    still_case("square still", ("", ""), "still.png", lambda: png(picture(0, 120, 120)), [rule("aspect", "square")]),
    still_case(
        "half of a still is night",
        ("", ""),
        "still.png",
        lambda: png(np.concatenate([picture()[:80], _fade(0)[80:]])),
        STILL,
    ),
    Case(
        "text",
        "text of 150 words",
        lambda f: written(f / "words.txt", b"night " * 150),
        [rule("text-length", 200, "at most")],
    ),
]

_COUNTED = [rule("frame-count", 24), rule("scan", "progressive")]

GOOD += [
    _good_mov(
        "H.264 in MPEG-TS", at("shot.ts", form="mpegts", rate=25), [*_COUNTED, rule("fps", 25), rule("duration", 0.96)]
    ),
    _good_mov("MPEG-2 in MXF", at("shot.mxf", codec="mpeg2video", rate=25), [*_COUNTED, rule("container", "MXF")]),
    _good_mov("MP4 in fragments", at(container={"movflags": "frag_keyframe+empty_moov"}), [*_COUNTED, rule("fps", 24)]),
    _good_mov("AV1 in MP4", at(codec="libsvtav1", options={"preset": "12"}), [*_COUNTED, rule("video-codec", "AV1")]),
    _good_mov("one frame", at(count=1), [rule("frame-count", 1)]),
    _good_mov("Animation in MOV", at("shot.mov", codec="qtrle", pixels="rgb24"), [*_COUNTED, rule("alpha", False)]),
    _good_mov("MOV with PCM", at("shot.mov", sound={"codec": "pcm_s16le"}), [*_COUNTED, rule("audio-codec", "PCM")]),
    _good_mov(
        "VP9 with Opus",
        at("shot.webm", codec="libvpx-vp9", options={"cpu-used": "8"}, sound={"codec": "libopus"}),
        [*_COUNTED, rule("duration", 1), rule("audio-codec", "Opus")],
    ),
    _good_mov(
        "five frames in MKV",
        at("shot.mkv", rate=Fraction(24000, 1001), count=5),
        [rule("fps", "23.976"), rule("frame-count", 5)],
    ),
]
