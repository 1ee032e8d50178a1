# SPDX-License-Identifier: GPL-3.0-or-later
"""The first directory of a TIFF or BigTIFF file, within bounds (TIFF 6.0, Adobe 1992)."""

from __future__ import annotations

import struct
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from nightplan.brief.facts import ImageFacts
from nightplan.brief.names_of_formats import profile_words
from nightplan.speech import tr

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
_CODES = {1: "B", 3: "H", 4: "I", 6: "b", 8: "h", 9: "i", 13: "I", 16: "Q", 17: "q", 18: "Q"}
_MOST_VALUES = 2_000_000
_NEEDED = frozenset((256, 257, 258, 262, 274, 277, 282, 283, 338, 34675))
#: places and sizes of strips and tiles
_PIECES = frozenset((273, 279, 324, 325))


class Directory(NamedTuple):
    """Tags of one picture: numbers, or bytes for what is no number."""

    numbers: dict[int, tuple[int, ...]]
    #: numerator and denominator
    ratios: dict[int, tuple[int, int]]
    blobs: dict[int, bytes]
    following: int


def read_directory(data: bytes, more: Callable[[int, int], bytes], *, pieces: bool = False) -> Directory:
    """The first directory. ``pieces``: with the places of strips and tiles, which may be many.

    Raises:
        ValueError, struct.error: it is damaged or cut off.
    """
    order = "<" if data[:2] == b"II" else ">"
    big = data[2:4] in (b"+\0", b"\0+")

    def piece(at: int, size: int) -> bytes:
        got = data[at : at + size] if at + size <= len(data) else more(at, size)
        if len(got) < size:
            raise ValueError("cut off")  # untranslated: caught, never shown
        return got

    start = struct.unpack(order + ("Q" if big else "I"), piece(8 if big else 4, 8 if big else 4))[0]
    width = 20 if big else 12
    count = struct.unpack(order + ("Q" if big else "H"), piece(start, 8 if big else 2))[0]
    if not 1 <= count <= 4096:
        raise ValueError("no directory")  # untranslated: caught, never shown
    table_at = start + (8 if big else 2)
    table = piece(table_at, count * width + (8 if big else 4))
    following = struct.unpack_from(order + ("Q" if big else "I"), table, count * width)[0]
    numbers: dict[int, tuple[int, ...]] = {}
    ratios: dict[int, tuple[int, int]] = {}
    blobs: dict[int, bytes] = {}
    inline = 8 if big else 4
    wanted = _NEEDED | _PIECES if pieces else _NEEDED
    short, place = struct.Struct(order + "H"), struct.Struct(order + ("Q" if big else "I"))
    records = struct.iter_unpack(order + ("HHQ8s" if big else "HHI4s"), table[: count * width])
    for tag, kind, many, value in records:
        if tag not in wanted:
            continue
        if kind == 3 and many == 1:
            # most tags
            numbers[tag] = short.unpack_from(value)
            continue
        size = _SIZES.get(kind, 0) * many
        if not size or many > _MOST_VALUES or (size > 65_536 and tag not in _PIECES):
            continue
        raw = value[:size] if size <= inline else piece(place.unpack(value)[0], size)
        if kind in _CODES:
            numbers[tag] = struct.unpack(f"{order}{many}{_CODES[kind]}", raw)
        elif kind in (5, 10):
            over, under = struct.unpack_from(order + "II", raw)
            if under:
                ratios[tag] = (over, under)
        if tag == 34675:
            blobs[tag] = raw
    return Directory(numbers, ratios, blobs, following)


def read_tiff(data: bytes, more: Callable[[int, int], bytes]) -> ImageFacts:
    """Facts of the first picture of a TIFF file."""
    try:
        directory = read_directory(data, more)
    except (ValueError, struct.error):
        return ImageFacts("TIFF", fault=tr("the file is cut off: its directory is missing"))
    n = directory.numbers
    return _facts(
        n.get(256, (0,))[0],
        n.get(257, (0,))[0],
        n.get(258, (1,)),
        n.get(277, (1,))[0],
        n.get(338, ()),
        n.get(262, (2,))[0],
        n.get(274, (1,))[0],
        directory.ratios.get(282),
        directory.ratios.get(283),
        directory.blobs.get(34675, b""),
        directory.following != 0,
    )


@lru_cache(maxsize=256)
def _facts(
    width: int,
    height: int,
    depths: tuple[int, ...],
    channels: int,
    extra: tuple[int, ...],
    photometric: int,
    orientation: int,
    x: tuple[int, int] | None,
    y: tuple[int, int] | None,
    profile: bytes,
    more_pages: bool,
) -> ImageFacts:
    """From the values of tags; frames of one sequence share the answer."""
    if width < 1 or height < 1:
        return ImageFacts("TIFF", fault=tr("the header gives a picture without width or height"))
    aspect = None
    if x and y and x[0] and y[0]:
        aspect = Fraction(y[0] * x[1], y[1] * x[0])
    colour = ""
    if profile:
        from nightplan.brief.probe_image import profile_name

        colour = profile_words(profile_name(profile))
    odd = ""
    if len(set(depths)) > 1:
        odd = "depths"
    elif photometric == 5:
        odd = "CMYK"
    elif photometric == 3:
        odd = "palette"
    bits = 8 if odd == "palette" else max(depths)
    alpha = any(e in (1, 2) for e in extra)
    turned = orientation in (5, 6, 7, 8)
    return ImageFacts("TIFF", width, height, channels, bits, alpha, aspect, colour, turned, more_pages, odd)
