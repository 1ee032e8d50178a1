# SPDX-License-Identifier: GPL-3.0-or-later
"""The header of an OpenEXR file and its table of chunks, within bounds ("OpenEXR File Layout", openexr.com)."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from nightplan.brief.facts import ImageFacts
from nightplan.speech import tr

#: before the size of a data window that is not the picture's
WINDOW = "data window "  # untranslated: compared, not shown
#: bits of each kind of channel
_TYPES = {0: 32, 1: 16, 2: 32}
_LINES = {0: 1, 1: 1, 2: 1, 3: 16, 4: 32, 5: 16, 6: 32, 7: 32, 8: 32, 9: 256}
_MOST = 2_000_000
_REC709 = (0.64, 0.33, 0.30, 0.60, 0.15, 0.06, 0.3127, 0.3290)
_AP1 = (0.713, 0.293, 0.165, 0.830, 0.128, 0.044, 0.32168, 0.33767)
_AP0 = (0.7347, 0.2653, 0.0, 1.0, 0.0001, -0.077, 0.32168, 0.33767)


@dataclass(frozen=True, slots=True)
class Header:
    """The first part of a file: raw attributes by name, and where its table of chunks begins."""

    attributes: dict[str, tuple[str, bytes]]
    parts: int
    end: int
    tiled: bool
    multipart: bool
    deep: bool


def read_attributes(data: bytes, more: Callable[[int, int], bytes]) -> Header:
    """All attributes of the first part. Raises ValueError or struct.error where they are damaged or cut off."""
    buffer = bytearray(data)
    flags = struct.unpack_from("<I", data, 4)[0]
    multipart, deep, tiled = bool(flags & 0x1000), bool(flags & 0x800), bool(flags & 0x200)
    at, parts = 8, 0
    first: dict[str, tuple[str, bytes]] = {}

    def need(end: int) -> None:
        if end > len(buffer):
            if end > _MOST:
                raise ValueError("too long")  # untranslated: caught, never shown
            buffer.extend(more(len(buffer), max(end - len(buffer), 4096)))
        if end > len(buffer):
            raise ValueError("cut off")  # untranslated: caught, never shown

    def text() -> str:
        nonlocal at
        end = buffer.find(b"\0", at, at + 257)
        if end < 0:
            # the last header of a short file may end before 257 bytes are there
            buffer.extend(more(len(buffer), 4096))
            end = buffer.find(b"\0", at, at + 257)
            if end < 0:
                raise ValueError("no end of a name")  # untranslated: caught, never shown
        value = buffer[at:end].decode("latin-1")
        at = end + 1
        return value

    while parts < 1000:
        attributes: dict[str, tuple[str, bytes]] = {}
        while True:
            need(at + 1)
            if buffer[at] == 0:
                at += 1
                break
            name = text()
            kind = text()
            need(at + 4)
            size = struct.unpack_from("<i", buffer, at)[0]
            at += 4
            if not 0 <= size <= _MOST:
                raise ValueError("size")
            need(at + size)
            attributes[name] = (kind, bytes(buffer[at : at + size]))
            at += size
        if not attributes:
            break
        parts += 1
        first = first or attributes
        if not multipart:
            break
    return Header(first, parts, at, tiled, multipart, deep)


def _channels(raw: bytes) -> list[tuple[str, int]]:
    found: list[tuple[str, int]] = []
    at = 0
    while at < len(raw) and raw[at]:
        end = raw.index(b"\0", at)
        found.append((raw[at:end].decode("latin-1"), struct.unpack_from("<i", raw, end + 1)[0]))
        at = end + 17
    return found


def read_exr(data: bytes, more: Callable[[int, int], bytes]) -> ImageFacts:
    """Facts of an EXR file: size of the display window, channels, depth, alpha, pixel shape, chromaticities."""
    try:
        header = read_attributes(data, more)
        attributes = {name: raw for name, (_, raw) in header.attributes.items()}
        channels = _channels(attributes["channels"])
        x0, y0, x1, y1 = struct.unpack("<4i", attributes["displayWindow"])
        window = struct.unpack("<4i", attributes["dataWindow"])
    except (ValueError, KeyError, struct.error):
        return ImageFacts("EXR", fault=tr("the header is damaged or cut off"))
    width, height = x1 - x0 + 1, y1 - y0 + 1
    if width < 1 or height < 1 or not channels:
        return ImageFacts("EXR", fault=tr("the header gives a picture without width, height or channels"))
    aspect = None
    if len(attributes.get("pixelAspectRatio", b"")) == 4:
        aspect = Fraction(struct.unpack("<f", attributes["pixelAspectRatio"])[0]).limit_denominator(10_000)
    bits = max(_TYPES.get(kind, 0) for _, kind in channels)
    odd = ""
    if window != (x0, y0, x1, y1):
        odd = f"{WINDOW}{window[2] - window[0] + 1}x{window[3] - window[1] + 1}"
    elif header.deep:
        odd = "deep"
    elif header.parts > 1:
        odd = f"{header.parts} parts"
    colour = "linear"
    raw = attributes.get("chromaticities", b"")
    if len(raw) == 32:
        given = struct.unpack("<8f", raw)
        for name, known in (("linear", _REC709), ("ACEScg", _AP1), ("ACES", _AP0)):
            if all(abs(a - b) < 0.002 for a, b in zip(given, known, strict=True)):
                colour = name
                break
        else:
            colour = tr("other primaries")
    alpha = any(name == "A" or name.endswith(".A") for name, _ in channels)
    return ImageFacts("EXR", width, height, len(channels), bits, alpha, aspect, colour, odd=odd)


def table_fault(data: bytes) -> str:
    """What is wrong with the table of chunks of a whole file; empty where every chunk lies in the file.

    A render that was stopped leaves zeros in the table.
    """
    try:
        header = read_attributes(data, lambda at, size: b"")
    except (ValueError, struct.error):
        return tr("the header is damaged or cut off")
    attributes = {name: raw for name, (_, raw) in header.attributes.items()}
    try:
        if "chunkCount" in attributes:
            count = struct.unpack("<i", attributes["chunkCount"])[0]
        elif header.tiled:
            # levels make the count intricate; the table ends where the first chunk begins
            first = struct.unpack_from("<Q", data, header.end)[0]
            count = (first - header.end) // 8 if first else 1
        else:
            _, top, _, bottom = struct.unpack("<4i", attributes["dataWindow"])
            lines = _LINES.get(attributes["compression"][0], 1)
            count = -(-(bottom - top + 1) // lines)
        if not 1 <= count <= 10_000_000 or header.end + 8 * count > len(data):
            return tr("the file is cut off inside its table of chunks")
        places = struct.unpack_from(f"<{count}Q", data, header.end)
    except (KeyError, IndexError, struct.error):
        return tr("the header is damaged or cut off")
    if 0 in places:
        lost = places.count(0)
        return tr("{lost} of {count} chunks were never written: the render was stopped", lost=lost, count=count)
    if header.multipart or header.deep:
        return "" if max(places) < len(data) else tr("the file is cut off")
    for place in places:
        skip = 16 if header.tiled else 4
        if place + skip + 4 > len(data):
            return tr("the file is cut off")
        size = struct.unpack_from("<i", data, place + skip)[0]
        if size < 0 or place + skip + 4 + size > len(data):
            return tr("the file is cut off")
    return ""
