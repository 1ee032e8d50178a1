# SPDX-License-Identifier: GPL-3.0-or-later
"""ZIPs, stills, folders and texts with one defect each."""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

from case_kit import (
    MOVIE,
    TREE,
    Case,
    Rules,
    inside,
    rule,
    still_case,
    written,
)
from media_files import (
    HEIGHT,
    WIDTH,
    cut,
    encoded,
    frames,
    picture,
    png,
    raw_png,
    scratch,
    zipped,
)
from PIL import Image


def _zip(name: str, said: tuple[str, str], make: Callable[[Path], Path], rules: Rules | None = None) -> Case:
    return Case("zip", name, make, [rule("tree", TREE)] if rules is None else rules, said)


def _zip_link(folder: Path) -> Path:
    path = folder / "piece.zip"
    with zipfile.ZipFile(path, "w") as archive:
        info = zipfile.ZipInfo("readme.txt")
        info.create_system, info.external_attr = 3, 0o120777 << 16
        archive.writestr(info, "/etc/hostname")
    return path


def _locked(folder: Path) -> Path:
    path = zipped(folder / "piece.zip", inside())
    data = bytearray(path.read_bytes())
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = data.find(mark)
        while place >= 0:
            data[place + at] |= 1
            place = data.find(mark, place + 4)
    path.write_bytes(bytes(data))
    return path


def _overlapping(folder: Path) -> Path:
    """Two entries of the table that share one body."""
    path = zipped(
        folder / "piece.zip", {"a.bin": bytes(range(256)) * 40, "b.bin": bytes(range(256)) * 40}, zipfile.ZIP_STORED
    )
    data = bytearray(path.read_bytes())
    first = data.find(b"PK\x01\x02")
    second = data.find(b"PK\x01\x02", first + 4)
    data[second + 42 : second + 46] = data[first + 42 : first + 46]
    data[second + 46 : second + 51] = data[first + 46 : first + 51]
    size = struct.unpack_from("<I", data, first + 20)[0] * 3
    for entry in (first, second):
        struct.pack_into("<II", data, entry + 20, size, size)
    path.write_bytes(bytes(data))
    return path


ZIP_DEFECTS = [
    _zip("a file missing", ("tree", "fail"), lambda f: zipped(f / "piece.zip", {"readme.txt": b"x"})),
    _zip(
        "a file too much",
        ("tree", "fail"),
        lambda f: zipped(f / "piece.zip", inside() | {"old/test.png": png(picture())}),
    ),
    _zip(
        "everything one folder too deep",
        ("tree", "fail"),
        lambda f: zipped(f / "piece.zip", {f"piece/{k}": v for k, v in inside().items()}),
    ),
    _zip(
        "a frame missing in the ZIP",
        ("frame-count", "fail"),
        lambda f: zipped(f / "piece.zip", inside(2)),
        [rule("frame-count", 3)],
    ),
    _zip("cut off", ("readable", "fail"), lambda f: cut(zipped(f / "piece.zip", inside()))),
    _zip(
        "damaged inside",
        ("whole", "fail"),
        lambda f: scratch(zipped(f / "piece.zip", inside(), zipfile.ZIP_STORED), 0.3),
    ),
    _zip(
        "a damaged picture, packed as it was",
        ("whole", "fail"),
        lambda f: zipped(f / "piece.zip", inside() | {"frames/0002.png": png(picture())[:-20]}),
    ),
    _zip(
        "an entry that leads out of the folder",
        ("safe-zip", "fail"),
        lambda f: zipped(f / "piece.zip", {"../evil.txt": b"x"}),
    ),
    _zip("an absolute place", ("safe-zip", "fail"), lambda f: zipped(f / "piece.zip", {"/etc/evil.txt": b"x"})),
    _zip("a symbolic link inside", ("safe-zip", "fail"), _zip_link),
    _zip(
        "a decompression bomb",
        ("safe-zip", "fail"),
        lambda f: zipped(f / "piece.zip", {"zeros.bin": bytes(210_000_000)}),
        [],
    ),
    _zip("entries that overlap", ("safe-zip", "fail"), _overlapping, []),
    _zip("locked with a password", ("open-zip", "fail"), _locked),
    _zip(
        "litter of a file manager",
        ("tidy", "warn"),
        lambda f: zipped(f / "piece.zip", inside() | {"__MACOSX/._readme.txt": b"x"}),
    ),
    _zip("no ZIP at all", ("readable", "fail"), lambda f: written(f / "piece.zip", b"7z\xbc\xaf\x27\x1c" + bytes(100))),
    _zip("an empty ZIP", ("whole", "fail"), lambda f: zipped(f / "piece.zip", {}), []),
]


def _header_bomb() -> bytes:
    """30,000 × 30,000 pixels that are 900 MB of zeros in a file of a few kilobytes; here only the claim."""
    return raw_png(60_000, 60_000, 8, 2, bytes(60_000))


STILL_DEFECTS = [
    still_case("another size", ("picture-size", "fail"), "still.png", lambda: png(picture(0, 100, 100))),
    still_case(
        "smaller than at least 4K",
        ("long-side", "fail"),
        "still.png",
        lambda: png(picture()),
        [rule("long-side", 3840, "at least")],
    ),
    still_case("a decompression bomb", ("whole", "cannot tell"), "still.png", _header_bomb, []),
    still_case(
        "turned by an Exif flag",
        ("picture-size", "warn"),
        "still.jpg",
        lambda: _exif(6),
        [rule("picture-size", f"{HEIGHT}x{WIDTH}")],
    ),
    still_case(
        "CMYK and cut off",
        ("whole", "fail"),
        "still.jpg",
        lambda: encoded(Image.fromarray(picture()).convert("CMYK"), "JPEG")[:4000],
        [],
    ),
    still_case("an animation where a still is asked", ("one-picture", "warn"), "still.webp", lambda: _animated(), []),
    Case(
        "folder",
        "a file missing in the folder",
        lambda f: frames(f / "piece/frames", [1, 2], name="{:04d}.png").parent,
        [rule("tree", TREE)],
        ("tree", "fail"),
    ),
    Case(
        "text",
        "a text too long",
        lambda f: written(f / "words.txt", b"night " * 201),
        [rule("text-length", 200, "at most")],
        ("text-length", "fail"),
    ),
    Case(
        "text",
        "a text that is no text",
        lambda f: written(f / "words.txt", b"\xff\xfe\x00\xd8"),
        [rule("text-length", 200, "at most")],
        ("readable", "fail"),
    ),
    Case("movie", "a folder where a movie is asked", lambda f: frames(f / "shot", [1, 2]), MOVIE, ("readable", "fail")),
]


def _exif(orientation: int) -> bytes:
    image = Image.fromarray(picture())
    exif = image.getexif()
    exif[0x0112] = orientation
    return encoded(image, "JPEG", exif=exif)


def _animated() -> bytes:
    images = [Image.fromarray(picture(n)) for n in range(3)]
    return encoded(images[0], "WEBP", save_all=True, append_images=images[1:])
