# SPDX-License-Identifier: GPL-3.0-or-later
"""How much a check may read, hold and wait for; files come from anywhere."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds of one check (D: defaults chosen here, no published source)."""

    #: files of a folder or entries of a ZIP
    files: int = 200_000
    #: folders below the one that is given
    folder_depth: int = 12
    #: pixels of one picture; 16384 × 16384 passes, it exceeds Pillow's own default
    pixels: int = 300_000_000
    #: bytes of one picture once decoded
    picture_bytes: int = 3_000_000_000
    #: bytes of one picture file that is read whole
    picture_file_bytes: int = 2_000_000_000
    #: seconds for one picture, and for one movie
    picture_seconds: float = 60.0
    movie_seconds: float = 3_600.0
    #: frames of one movie, and seconds of its sound, that are decoded
    movie_frames: int = 2_000_000
    sound_seconds: float = 3_600.0
    #: bytes that a ZIP may unpack to, and times its own size that it may
    unpacked_bytes: int = 200_000_000_000
    unpacked_ratio: float = 200.0
    #: a small file may be packed better than the ratio without harm
    unpacked_free_bytes: int = 200_000_000
    #: memory of a worker process beyond what it starts with
    memory_bytes: int = 6_000_000_000


LIMITS = Limits()
