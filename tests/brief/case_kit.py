# SPDX-License-Identifier: GPL-3.0-or-later
"""What the lists of files are made of: one case, its rules, and the usual ways to make its files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from media_files import (
    HEIGHT,
    WIDTH,
    encoded,
    frames,
    movie,
    picture,
    png,
)
from PIL import Image

Rules = list[dict[str, Any]]


@dataclass(frozen=True)
class Case:
    """``said``: kind of rule or own check, and its verdict; empty for a good file."""

    what: str
    name: str
    make: Callable[[Path], Path]
    rules: Rules
    said: tuple[str, str] = ("", "")
    depth: str = "integrity"
    more: dict[str, Any] | None = None

    def deliverable(self) -> dict[str, Any]:
        rules = [{"id": f"r{n}", **rule} for n, rule in enumerate(self.rules)]
        return {"id": "piece", "name": "Piece", "what": self.what, "rules": rules, **(self.more or {})}


def rule(kind: str, value: Any = None, comparison: str = "exactly", **more: Any) -> dict[str, Any]:
    return {"kind": kind, "value": value, "comparison": comparison, **more}


N = 12
SIZE = f"{WIDTH}x{HEIGHT}"
SEQUENCE = [
    rule("frame-count", N),
    rule("padding", 4),
    rule("picture-size", SIZE),
    rule("image-format", "PNG"),
    rule("bit-depth", 8),
    rule("name", "shot_####.png"),
]
MOVIE = [
    rule("frame-count", 24),
    rule("fps", 24),
    rule("duration", 1),
    rule("picture-size", SIZE),
    rule("container", "MP4"),
    rule("video-codec", "H.264"),
    rule("scan", "progressive"),
    rule("audio", False),
]
LOOSE = [rule("frame-count", 24), rule("duration", 1), rule("picture-size", SIZE)]
STILL = [rule("picture-size", SIZE)]
NUMBERS = list(range(1, N + 1))


def sequence_case(
    name: str,
    said: tuple[str, str],
    make: Callable[[Path], Any],
    rules: Rules | None = None,
    depth: str = "integrity",
    **more: Any,
) -> Case:
    def made(folder: Path) -> Path:
        make(folder / "shot")
        return folder / "shot"

    return Case("sequence", name, made, SEQUENCE if rules is None else rules, said, depth, more)


def then(change: Callable[[Path], Any], numbers: list[int] = NUMBERS, **keys: Any) -> Callable[[Path], None]:
    def make(folder: Path) -> None:
        frames(folder, numbers, **keys)
        change(folder)

    return make


def one_frame(n: int, data: bytes | Callable[[bytes], bytes]) -> Callable[[Path], None]:
    def change(folder: Path) -> None:
        path = folder / f"shot_{n:04d}.png"
        path.write_bytes(data(path.read_bytes()) if callable(data) else data)

    return then(change)


def barred(n: int) -> bytes:
    array = picture(n)
    array[:14] = 0
    array[-14:] = 0
    return png(array)


def tagged(n: int, extra: bytes) -> bytes:
    data = png(picture(n))
    return data[:33] + extra + data[33:]


def jpeg(n: int) -> bytes:
    return encoded(Image.fromarray(picture(n)), "JPEG", quality=90)


def movie_case(
    name: str,
    said: tuple[str, str],
    make: Callable[[Path], Path],
    rules: Rules | None = None,
    depth: str = "integrity",
    **more: Any,
) -> Case:
    return Case("movie", name, make, MOVIE if rules is None else rules, said, depth, more)


def at(name: str = "shot.mp4", after: Callable[[Path], Any] | None = None, **keys: Any) -> Callable[[Path], Path]:
    def make(folder: Path) -> Path:
        path = movie(folder / name, **keys)
        if after:
            after(path)
        return path

    return make


def written(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


TREE = ["frames/####.png", "readme.txt"]


def inside(count: int = 3) -> dict[str, bytes]:
    return {f"frames/{n:04d}.png": png(picture(n)) for n in range(1, count + 1)} | {"readme.txt": b"made by hand"}


def still_case(
    name: str,
    said: tuple[str, str],
    file: str,
    data: Callable[[], bytes],
    rules: Rules | None = None,
    depth: str = "deep",
) -> Case:
    return Case("image", name, lambda f: written(f / file, data()), STILL if rules is None else rules, said, depth)
