# SPDX-License-Identifier: GPL-3.0-or-later
"""The first directory of a TIFF or BigTIFF file, within bounds (TIFF 6.0, Adobe 1992)."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from nightplan.brief.facts import ImageFacts
from nightplan.brief.names_of_formats import profile_words

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 16: 8, 17: 8, 18: 8}
_CODES = {1: "B", 3: "H", 4: "I", 6: "b", 8: "h", 9: "i", 13: "I", 16: "Q", 17: "q", 18: "Q"}
_MOST_VALUES = 2_000_000
_SQUARE = Fraction(1)
_NEEDED = frozenset((256, 257, 258, 262, 274, 277, 282, 283, 338, 339, 34675))
#: places and sizes of strips and tiles
_PIECES = frozenset((273, 279, 324, 325))


@dataclass(frozen=True, slots=True)
class Directory:
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
            raise ValueError("cut off")
        return got

    start = struct.unpack(order + ("Q" if big else "I"), piece(8 if big else 4, 8 if big else 4))[0]
    width = 20 if big else 12
    count = struct.unpack(order + ("Q" if big else "H"), piece(start, 8 if big else 2))[0]
    if not 1 <= count <= 4096:
        raise ValueError("no directory")
    table_at = start + (8 if big else 2)
    table = piece(table_at, count * width + (8 if big else 4))
    following = struct.unpack_from(order + ("Q" if big else "I"), table, count * width)[0]
    numbers: dict[int, tuple[int, ...]] = {}
    ratios: dict[int, tuple[int, int]] = {}
    blobs: dict[int, bytes] = {}
    record = struct.Struct(order + ("HHQ" if big else "HHI")).unpack_from
    for n in range(count):
        tag, kind, many = record(table, n * width)
        if tag not in _NEEDED and not (pieces and tag in _PIECES):
            continue
        size = _SIZES.get(kind, 0) * many
        if not size or many > _MOST_VALUES:
            continue
        inline = 8 if big else 4
        value_at = n * width + (12 if big else 8)
        if size <= inline:
            raw = table[value_at : value_at + size]
        elif size > 65_536 and not (pieces and tag in _PIECES):
            continue
        else:
            raw = piece(struct.unpack_from(order + ("Q" if big else "I"), table, value_at)[0], size)
        if kind in _CODES:
            numbers[tag] = struct.unpack(f"{order}{many}{_CODES[kind]}", raw)
        elif kind in (5, 10) and size >= 8:
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
        return ImageFacts("TIFF", fault="the file is cut off: its directory is missing")
    n = directory.numbers
    width, height = n.get(256, (0,))[0], n.get(257, (0,))[0]
    if width < 1 or height < 1:
        return ImageFacts("TIFF", fault="the header gives a picture without width or height")
    depths = n.get(258, (1,))
    channels = n.get(277, (1,))[0]
    extra = n.get(338, ())
    floats = n.get(339, (1,))[0] == 3
    x, y = directory.ratios.get(282), directory.ratios.get(283)
    aspect = None
    if x and y and x[0] and y[0]:
        aspect = _SQUARE if x == y else Fraction(y[0] * x[1], y[1] * x[0])
    colour = ""
    if 34675 in directory.blobs:
        from nightplan.brief.probe_image import profile_name

        colour = profile_words(profile_name(directory.blobs[34675]))
    odd = ""
    if len(set(depths)) > 1:
        odd = "channels of different depth"
    elif n.get(262, (2,))[0] == 5:
        odd = "four inks (CMYK)"
    elif n.get(262, (2,))[0] == 3:
        odd = "palette"
    bits = 8 if odd == "palette" else max(depths)
    return ImageFacts(
        "TIFF", width, height, channels, bits, floats, any(e in (1, 2) for e in extra), aspect, colour,
        turned=n.get(274, (1,))[0] in (5, 6, 7, 8), more_pictures=directory.following != 0, odd=odd,
    )  # fmt: skip
