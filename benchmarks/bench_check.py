# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in check against the least that any check has to do, in one run.

    python benchmarks/bench_check.py [--quick]

Asked for: names and headers of 2,000 frames in at most 3 times a plain ``os.scandir`` that reads 64 bytes of each; the
pass over pixels in at most 1.3 times a bare decode of the same frames on both cores. Exit code 1 where it is more.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

import av
import numpy as np
from PIL import Image
from speed_rows import Row, command, medians

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "brief"))

from nightplan.brief.check import check
from nightplan.brief.gather import list_folder
from nightplan.brief.rules import deliverables_from_raw
from nightplan.brief.worker import Workers, cores, warm

HEADER_ASKED, DEEP_ASKED = 3.0, 1.3
FRAMES = 2_000
DEEP_FRAMES, DEEP_SIZE = 60, (1920, 1080)
MOVIE_FRAMES = 120


def plain_pass(folder: Path) -> int:
    """The floor of the header pass."""
    seen = 0
    with os.scandir(folder) as entries:
        for entry in entries:
            with open(entry.path, "rb") as file:
                seen += len(file.read(64))
    return seen


def bare_pillow(path: str) -> int:
    with Image.open(path) as image:
        image.load()
        return image.width


def bare_av(path: str) -> int:
    """One decoder for each file, as a reader of single pictures has it."""
    with open(path, "rb") as file:
        data = file.read()
    decoder: Any = av.CodecContext.create("png" if path.endswith("png") else "mjpeg", "r")
    decoder.thread_count = 1
    return len([*decoder.decode(av.Packet(data)), *decoder.decode(None)])


def bare_exr(path: str) -> int:
    import OpenEXR

    with OpenEXR.File(path, separate_channels=True) as file:
        return sum(channel.pixels.size for channel in file.channels().values())


def bare_movie(path: str) -> int:
    count = 0
    with av.open(path) as movie:
        stream = movie.streams.video[0]
        stream.thread_type = "AUTO"
        for _ in movie.decode(stream):
            count += 1
    return count


def shot(n: int, width: int, height: int) -> np.ndarray:
    """Something like a rendered frame: gradients, and grain on a third of it."""
    y, x = np.mgrid[0:height, 0:width]
    array = np.stack([(x * 0.11 + n) % 256, (y * 0.2) % 256, ((x + y) * 0.05) % 256], -1).astype(np.uint8)
    grain = np.random.default_rng(n).integers(0, 24, (height // 2, width // 2, 3), dtype=np.uint8)
    array[height // 4 : height // 4 + height // 2, width // 4 : width // 4 + width // 2] += grain
    return array


def header_row(folder: Path, kind: str, repeats: int) -> Row:
    small = folder / f"headers-{kind}"
    small.mkdir()
    if kind == "EXR":
        from media_files import exr

        data = exr(folder / "one.exr", shot(0, 160, 90) / np.float32(255)).read_bytes()
        ending = "exr"
    else:
        Image.fromarray(shot(0, 160, 90)).save(folder / f"one.{kind}", kind)
        data = (folder / f"one.{kind}").read_bytes()
        ending = {"PNG": "png", "JPEG": "jpg", "TIFF": "tif"}[kind]
    for n in range(FRAMES):
        (small / f"shot_{n:04d}.{ending}").write_bytes(data)
    deliverable = deliverables_from_raw([{"id": "d", "name": "D", "what": "sequence", "rules": [
        {"id": "n", "kind": "frame-count", "value": FRAMES}, {"id": "s", "kind": "picture-size", "value": "160x90"},
        {"id": "p", "kind": "padding", "value": 4}, {"id": "f", "kind": "image-format", "value": kind},
    ]}])[0]  # fmt: skip
    report = check(deliverable, [small], depth="headers")
    assert report.verdict == "pass", report.findings
    assert len(report.files) == FRAMES
    floor, listing, whole = medians(
        repeats,
        lambda: plain_pass(small),
        lambda: list_folder(str(small)),
        lambda: check(deliverable, [small], depth="headers"),
    )
    print(
        f"{kind:5} {FRAMES} headers: floor {floor * 1e3:6.1f} ms, names and headers {listing * 1e3:6.1f} ms "
        f"({listing / floor:.2f}), with every rule {whole * 1e3:6.1f} ms ({whole / floor:.2f})"
    )
    what = f"names and headers of {FRAMES:,} {kind} frames, with every rule"
    return Row("check", what, whole * 1e3, floor * 1e3, "64 bytes of each file read", "ms", HEADER_ASKED)


def deep_row(folder: Path, kind: str, pool: Any, crew: Workers, repeats: int) -> Row:
    place = folder / f"deep-{kind}"
    place.mkdir()
    ending = {"PNG": "png", "JPEG": "jpg"}[kind]
    for n in range(DEEP_FRAMES):
        save: dict[str, int] = {"compress_level": 3} if kind == "PNG" else {"quality": 92}
        Image.fromarray(shot(n, *DEEP_SIZE)).save(place / f"shot_{n:04d}.{ending}", kind, **save)
    paths = [str(p) for p in sorted(place.iterdir())]
    deliverable = deliverables_from_raw([{"id": "d", "name": "D", "what": "sequence"}])[0]
    assert check(deliverable, [place], depth="deep", workers=crew).verdict == "pass"
    pillow, decoder, deep = medians(
        repeats,
        lambda: pool.map(bare_pillow, paths, 1),
        lambda: pool.map(bare_av, paths, 1),
        lambda: check(deliverable, [place], depth="deep", workers=crew),
    )
    print(
        f"{kind:5} {DEEP_FRAMES} frames of 1920x1080: bare Pillow {pillow:5.2f} s, bare PyAV {decoder:5.2f} s, "
        f"deep check {deep:5.2f} s ({deep / pillow:.2f} and {deep / decoder:.2f})"
    )
    what = f"pixels of {DEEP_FRAMES} {kind} frames of 1920×1080"
    return Row("check", what, deep, decoder, "bare decode on all cores", "s", DEEP_ASKED)


def exr_row(folder: Path, pool: Any, crew: Workers, repeats: int) -> Row:
    from media_files import exr

    place = folder / "deep-EXR"
    place.mkdir()
    for n in range(DEEP_FRAMES):
        exr(place / f"shot_{n:04d}.exr", shot(n, *DEEP_SIZE) / np.float32(255))
    paths = [str(p) for p in sorted(place.iterdir())]
    deliverable = deliverables_from_raw([{"id": "d", "name": "D", "what": "sequence"}])[0]
    assert check(deliverable, [place], depth="deep", workers=crew).verdict == "pass"
    bare, deep = medians(
        repeats,
        lambda: pool.map(bare_exr, paths, 1),
        lambda: check(deliverable, [place], depth="deep", workers=crew),
    )
    print(
        f"EXR   {DEEP_FRAMES} frames of 1920x1080, half floats, ZIP: bare OpenEXR {bare:5.2f} s, "
        f"deep check {deep:5.2f} s ({deep / bare:.2f})"
    )
    what = f"pixels of {DEEP_FRAMES} EXR frames of 1920×1080"
    return Row("check", what, deep, bare, "bare OpenEXR read on all cores", "s", DEEP_ASKED)


def movie_row(folder: Path, crew: Workers, codec: str, ending: str, pixels: str, repeats: int) -> Row:
    path = folder / f"shot.{ending}"
    with av.open(str(path), "w") as out:
        stream: Any = out.add_stream(codec, rate=24)
        stream.width, stream.height, stream.pix_fmt = *DEEP_SIZE, pixels
        for n in range(MOVIE_FRAMES):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(shot(n % 30, *DEEP_SIZE), format="rgb24")))
        out.mux(stream.encode(None))
    deliverable = deliverables_from_raw([{"id": "d", "name": "D", "what": "movie"}])[0]
    assert check(deliverable, [path], depth="deep", workers=crew).verdict in ("pass", "warn")
    bare, deep = medians(
        repeats, lambda: bare_movie(str(path)), lambda: check(deliverable, [path], depth="deep", workers=crew)
    )
    print(
        f"{codec:9} {MOVIE_FRAMES} frames of 1920x1080: bare PyAV {bare:5.2f} s, deep check {deep:5.2f} s "
        f"({deep / bare:.2f})"
    )
    what = f"pixels of {MOVIE_FRAMES} frames of a movie ({codec})"
    return Row("check", what, deep, bare, "bare decode on all cores", "s", DEEP_ASKED)


def measure(quick: bool) -> list[Row]:
    headers, deeps, movies = (5, 3, 3) if quick else (15, 5, 7)
    av.logging.set_level(av.logging.PANIC)
    print(f"{cores()} cores; every number is a median of runs that take turns")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        rows = [header_row(folder, kind, headers) for kind in ("PNG", "JPEG", "TIFF", "EXR")]
        with multiprocessing.get_context("spawn").Pool(cores()) as pool, Workers() as crew:
            pool.map(bare_av, [])
            for _ in crew.run(warm, [()] * cores(), seconds=60):
                pass
            rows += [deep_row(folder, kind, pool, crew, deeps) for kind in ("PNG", "JPEG")]
            rows.append(exr_row(folder, pool, crew, deeps))
        with Workers() as crew:
            rows.append(movie_row(folder, crew, "libx264", "mp4", "yuv420p", movies))
            rows.append(movie_row(folder, crew, "prores_ks", "mov", "yuv422p10le", movies))
    for limit, what in ((HEADER_ASKED, "headers"), (DEEP_ASKED, "pixels")):
        worst = max(row.ratio for row in rows if row.limit == limit)
        print(f"{what} at most {limit:g} times: worst {worst:.2f}, {'yes' if worst <= limit else 'NO'}")
    return rows


if __name__ == "__main__":
    raise SystemExit(command(__doc__, measure))
