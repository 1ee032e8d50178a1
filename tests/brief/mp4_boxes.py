# SPDX-License-Identifier: GPL-3.0-or-later
"""Puts another edit list into a small MP4 whose index stands at the end (ISO/IEC 14496-12, 8.6.6)."""

from __future__ import annotations

import struct


def _find(data: bytes, path: list[bytes], start: int = 0, end: int | None = None) -> tuple[int, int]:
    at = start
    end = len(data) if end is None else end
    while at + 8 <= end:
        size, name = struct.unpack_from(">I4s", data, at)
        if name == path[0]:
            return (at, size) if len(path) == 1 else _find(data, path[1:], at + 8, at + size)
        at += size
    raise LookupError(path)


def hide_first(data: bytes, hidden: int, shown: int) -> bytes:
    """Play ``shown`` frames after the first ``hidden`` ones, at 24 frames per second."""
    raw = bytearray(data)
    at, size = _find(data, [b"moov", b"trak", b"edts", b"elst"])
    movie, _ = _find(data, [b"moov", b"mvhd"])
    media, _ = _find(data, [b"moov", b"trak", b"mdia", b"mdhd"])
    track, _ = _find(data, [b"moov", b"trak", b"tkhd"])
    movie_clock = struct.unpack_from(">I", data, movie + 20)[0]
    media_clock = struct.unpack_from(">I", data, media + 20)[0]
    assert size == 28
    length = shown * movie_clock // 24
    struct.pack_into(">II", raw, at + 16, length, hidden * media_clock // 24)
    struct.pack_into(">I", raw, movie + 24, length)
    struct.pack_into(">I", raw, track + 28, length)
    return bytes(raw)
