# SPDX-License-Identifier: GPL-3.0-or-later
"""Sequences with one defect each."""

from __future__ import annotations

import os
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from case_kit import (
    NUMBERS,
    SIZE,
    N,
    barred,
    jpeg,
    one_frame,
    rule,
    sequence_case,
    tagged,
    then,
)
from media_files import (
    HEIGHT,
    WIDTH,
    chunk,
    cut,
    encoded,
    exr,
    frames,
    picture,
    png,
    png16,
    raw_png,
    scratch,
)
from PIL import Image


def _short_pixels() -> bytes:
    """Checksums fit, half of the lines are missing."""
    array = picture(5)
    lines = b"".join(b"\0" + row.tobytes() for row in array[: HEIGHT // 2])
    return raw_png(WIDTH, HEIGHT, 8, 2, lines)


def _bottom_black(n: int) -> bytes:
    array = picture(n)
    if n == 6:
        array[HEIGHT * 5 // 8 :] = 0
    return png(array)


def _black_at_6(n: int) -> bytes:
    return png(np.zeros((HEIGHT, WIDTH, 3), np.uint8) if n == 6 else picture(n))


def _hurt_jpeg(n: int) -> bytes:
    """Other bytes in the pixels, none of them a marker: the file's structure stays whole."""
    data = bytearray(encoded(Image.fromarray(picture(n)), "JPEG", quality=90, progressive=True))
    start = len(data) // 3
    for k in range(start, start + 400):
        if 0xFF not in (data[k - 1], data[k]):
            data[k] = 0x11 + (k * 73) % 200
    return bytes(data)


def _exrs(folder: Path, change: Callable[[Path], Any]) -> None:
    folder.mkdir(parents=True)
    for n in range(1, 5):
        exr(folder / f"shot_{n:04d}.exr", picture(n).astype(np.float32) / 255)
    change(folder / "shot_0003.exr")


def _stopped_exr(path: Path) -> None:
    from nightplan.brief.probe_exr import read_attributes

    data = bytearray(path.read_bytes())
    end = read_attributes(bytes(data), lambda at, size: b"").end
    data[end + 16 : end + 32] = bytes(16)
    path.write_bytes(bytes(data))


def _nan_exr(path: Path) -> None:
    array = picture(3).astype(np.float32) / 255
    array[40, 40, 1] = np.nan
    exr(path, array)


SEQUENCE_DEFECTS = [
    sequence_case(
        "EXR: rendered with a border",
        ("whole-window", "warn"),
        lambda f: _exrs(
            f,
            lambda p: exr(
                p, picture(3, 96, 54).astype(np.float32) / 255, displayWindow=((0, 0), (WIDTH - 1, HEIGHT - 1))
            ),
        ),
        [rule("picture-size", SIZE)],
    ),
    sequence_case(
        "frames missing inside", ("frame-count", "fail"), lambda f: frames(f, [n for n in NUMBERS if n not in (4, 9)])
    ),
    sequence_case(
        "last frame missing: 119 of 120",
        ("frame-count", "fail"),
        lambda f: frames(f, range(1, 120), lambda n: png(picture(n, 48, 27))),
        [rule("frame-count", 120)],
    ),
    sequence_case(
        "0-120 handed in for 120 frames",
        ("frame-count", "fail"),
        lambda f: frames(f, range(121), lambda n: png(picture(n, 48, 27))),
        [rule("frame-count", 120)],
    ),
    sequence_case("gap, though nothing asks for a count", ("no-gaps", "fail"), lambda f: frames(f, [1, 2, 3, 6]), []),
    sequence_case(
        "range starts at 0 instead of 1",
        ("frame-range", "fail"),
        lambda f: frames(f, range(N)),
        [rule("frame-range", "1-12")],
    ),
    sequence_case(
        "starts at 1001 instead of 1",
        ("numbering", "fail"),
        lambda f: frames(f, range(1001, 1005)),
        [rule("numbering", 1)],
    ),
    sequence_case(
        "three digits instead of four",
        ("padding", "fail"),
        lambda f: frames(f, NUMBERS, name="shot_{:03d}.png"),
        [rule("padding", 4)],
    ),
    sequence_case(
        "padding changes from frame 10 on",
        ("padding", "fail"),
        lambda f: frames(f, NUMBERS, name="shot_{}.png"),
        [rule("padding", 4)],
    ),
    sequence_case(
        "a frame twice, with other padding",
        ("no-doubles", "fail"),
        then(lambda f: (f / "shot_05.png").write_bytes(png(picture(5)))),
        [rule("frame-count", N)],
    ),
    sequence_case("one frame empty (0 bytes)", ("whole", "fail"), one_frame(7, b"")),
    sequence_case("one frame cut off", ("whole", "fail"), one_frame(7, lambda d: d[: len(d) // 2])),
    sequence_case("one frame without its last bytes", ("whole", "fail"), one_frame(7, lambda d: d[:-8])),
    sequence_case(
        "one frame damaged in its pixels",
        ("whole", "fail"),
        one_frame(7, lambda d: d[:400] + bytes(b ^ 0x5A for b in d[400:440]) + d[440:]),
    ),
    sequence_case("one frame has zeros only", ("whole", "fail"), one_frame(7, bytes(5000))),
    sequence_case("one frame is a web page", ("whole", "fail"), one_frame(7, b"<!doctype html><title>404</title>")),
    sequence_case(
        "half of the lines, checksums right", ("whole", "fail"), one_frame(7, lambda _: _short_pixels()), depth="deep"
    ),
    sequence_case("one frame of another size", ("picture-size", "fail"), one_frame(7, png(picture(7, 96, 54)))),
    sequence_case(
        "one frame of another size, nothing asked", ("alike", "fail"), one_frame(7, png(picture(7, 96, 54))), []
    ),
    sequence_case("one frame of 16 bits", ("bit-depth", "fail"), one_frame(7, png16(picture(7)))),
    sequence_case(
        "one frame is a JPEG by another name",
        ("image-format", "fail"),
        one_frame(7, encoded(Image.fromarray(picture(7)), "JPEG")),
    ),
    sequence_case(
        "all frames JPEG called .png, nothing asked",
        ("ending", "fail"),
        lambda f: frames(f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)), "JPEG")),
        [],
    ),
    sequence_case(
        "alpha in one frame",
        ("alpha", "fail"),
        one_frame(7, encoded(Image.fromarray(picture(7)).convert("RGBA"), "PNG")),
        [rule("alpha", False)],
    ),
    sequence_case("alpha missing", ("alpha", "fail"), lambda f: frames(f, NUMBERS), [rule("alpha", True)]),
    sequence_case(
        "alpha opaque everywhere",
        ("alpha", "warn"),
        lambda f: frames(f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)).convert("RGBA"), "PNG")),
        [rule("alpha", True)],
        "deep",
    ),
    sequence_case(
        "a palette instead of full colour",
        ("bit-depth", "warn"),
        lambda f: frames(f, NUMBERS, lambda n: encoded(Image.fromarray(picture(n)).quantize(16), "PNG")),
    ),
    sequence_case("a black frame", ("black", "warn"), lambda f: frames(f, NUMBERS, _black_at_6), depth="deep"),
    sequence_case(
        "a frame half black", ("half-black", "warn"), lambda f: frames(f, NUMBERS, _bottom_black), depth="deep"
    ),
    sequence_case(
        "a frame half black between bars",
        ("half-black", "warn"),
        lambda f: frames(f, NUMBERS, lambda n: barred(n) if n != 6 else _bottom_black(6)),
        depth="deep",
    ),
    sequence_case(
        "a frame repeated",
        ("repeated", "warn"),
        lambda f: frames(f, NUMBERS, lambda n: png(picture(6 if n == 7 else n))),
        depth="deep",
    ),
    sequence_case(
        "a frame repeated, saved with another date inside",
        ("repeated", "warn"),
        lambda f: frames(
            f,
            NUMBERS,
            lambda n: (
                png(picture(6 if n == 7 else n))[:33]
                + chunk(b"tEXt", b"Date\0%d" % n)
                + png(picture(6 if n == 7 else n))[33:]
            ),
        ),
        depth="deep",
    ),
    sequence_case("a name with capitals", ("name", "fail"), lambda f: frames(f, NUMBERS, name="Shot_{:04d}.png")),
    sequence_case(
        "a second sequence in the folder",
        ("one-sequence", "cannot tell"),
        then(lambda f: frames(f, NUMBERS, name="test_{:04d}.png")),
        [rule("frame-count", N)],
    ),
    sequence_case("litter beside the frames", ("tidy", "warn"), then(lambda f: (f / "Thumbs.db").write_bytes(b"x"))),
    sequence_case(
        "a frame is a link",
        ("no-links", "fail"),
        then(lambda f: (os.remove(f / "shot_0012.png"), os.symlink(f / "shot_0011.png", f / "shot_0012.png"))),
    ),
    sequence_case(
        "too large in both meanings of MB",
        ("file-size", "fail"),
        then(lambda f: (f / "shot_0001.png").write_bytes(png(picture(1)) + bytes(1_100_000))),
        [rule("file-size", "1 MB", "at most")],
    ),
    sequence_case(
        "between the two meanings of MB",
        ("file-size", "warn"),
        then(lambda f: (f / "shot_0001.png").write_bytes(png(picture(1)) + bytes(980_000))),
        [rule("file-size", "1 MB", "at most")],
    ),
    sequence_case(
        "untagged, sRGB is asked for", ("colour", "warn"), lambda f: frames(f, NUMBERS), [rule("colour", "sRGB")]
    ),
    sequence_case(
        "another profile than asked for",
        ("colour", "fail"),
        lambda f: frames(f, NUMBERS, lambda n: tagged(n, chunk(b"cICP", bytes((12, 13, 0, 1))))),
        [rule("colour", "sRGB")],
    ),
    sequence_case(
        "pixels that are not square",
        ("picture-size", "warn"),
        lambda f: frames(f, NUMBERS, lambda n: tagged(n, chunk(b"pHYs", struct.pack(">IIB", 3, 4, 0)))),
    ),
    sequence_case(
        "1.85 handed in for 16:9",
        ("aspect", "fail"),
        lambda f: frames(f, NUMBERS, lambda n: png(picture(n, 185, 100))),
        [rule("aspect", "16:9")],
    ),
    sequence_case(
        "120 frames at 25 for 5 s",
        ("duration", "fail"),
        lambda f: frames(f, range(120), lambda n: png(picture(n, 48, 27))),
        [rule("duration", 5)],
        fps=25,
    ),
    sequence_case(
        "no slate of black",
        ("slate", "fail"),
        lambda f: frames(f, NUMBERS),
        [rule("slate", "4 frames", look="black")],
        "deep",
    ),
    sequence_case(
        "EXR: chunks never written", ("whole", "fail"), lambda f: _exrs(f, _stopped_exr), [rule("image-format", "EXR")]
    ),
    sequence_case("EXR: cut off", ("whole", "fail"), lambda f: _exrs(f, cut), [rule("image-format", "EXR")]),
    sequence_case(
        "EXR: pixels damaged",
        ("whole", "fail"),
        lambda f: _exrs(f, lambda p: scratch(p, 0.7, 200)),
        [rule("image-format", "EXR")],
        "deep",
    ),
    sequence_case("EXR: values that are no numbers", ("numbers", "warn"), lambda f: _exrs(f, _nan_exr), [], "deep"),
    sequence_case(
        "EXR: 32 bits instead of 16",
        ("bit-depth", "fail"),
        lambda f: _exrs(f, lambda p: exr(p, full=True)),
        [rule("bit-depth", 16)],
    ),
    sequence_case(
        "TIFF: cut off",
        ("whole", "fail"),
        lambda f: frames(
            f,
            NUMBERS,
            lambda n: encoded(Image.fromarray(picture(n)), "TIFF")[: None if n != 7 else 30_000],
            "shot_{:04d}.tif",
        ),
        [],
    ),
    sequence_case(
        "JPEG: cut off",
        ("whole", "fail"),
        lambda f: frames(f, NUMBERS, lambda n: jpeg(n)[: None if n != 7 else 3000], "shot_{:04d}.jpg"),
        [],
    ),
    sequence_case(
        "JPEG, progressive: damaged in its pixels",
        ("whole", "fail"),
        lambda f: frames(f, NUMBERS, lambda n: _hurt_jpeg(n) if n == 7 else jpeg(n), "shot_{:04d}.jpg"),
        [],
        "deep",
    ),
]
