# SPDX-License-Identifier: GPL-3.0-or-later
"""Random numbers that belong to things, not to positions.

Each item, job and evening has a stream of its own, seeded by the seed and its name. Leaving one out
or adding one therefore changes no other's numbers, and a difference between two forecasts is the
change's alone (common random numbers; e.g. A. M. Law, Simulation Modeling and Analysis, ch. 11,
from memory). The first n of N futures are the same for every N.
"""

from __future__ import annotations

import hashlib

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def stream(seed: int, *name: str) -> np.random.Generator:
    """The generator of one named thing; ``seed``, 0 or more, is the forecast's."""
    digest = hashlib.blake2b("\x1f".join(name).encode(), digest_size=16).digest()
    # as words at once: a list of whole numbers takes twice as long to be read
    words = seed.to_bytes(4 * max(1, -(-seed.bit_length() // 32)), "little") + digest
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence(np.frombuffer(words, dtype="<u4"))))


class Streams:
    """The streams of one forecast, drawn chunk by chunk: n futures at a time of I items, J jobs, E evenings."""

    def __init__(self, seed: int, items: list[str], jobs: list[str], evenings: list[str]) -> None:
        self._factor = stream(seed, "factor")
        self._items = [stream(seed, "item", key) for key in items]
        self._jobs = [stream(seed, "job", key) for key in jobs]
        self._repeats = [stream(seed, "repeat", key) for key in jobs]
        self._evenings = [stream(seed, "evening", key) for key in evenings]

    def factor(self, n: int) -> Floats:
        """(n,) standard normal: the common factor."""
        return self._factor.standard_normal(n)

    def items(self, n: int) -> Floats:
        """(I, n) standard normal: what is each item's own."""
        return _rows(self._items, n, normal=True)

    def jobs(self, n: int) -> Floats:
        """(J, 2, n) standard normal: amount and speed of each job."""
        return _rows(self._jobs, 2 * n, normal=True).reshape(len(self._jobs), n, 2).transpose(0, 2, 1)

    def repeats(self, n: int) -> Floats:
        """(J, n) uniform: how often a job fails."""
        return _rows(self._repeats, n, normal=False)

    def evenings(self, n: int) -> Floats:
        """(E, n) uniform: an evening happens where this is below its chance."""
        return _rows(self._evenings, n, normal=False)


def _rows(streams: list[np.random.Generator], n: int, *, normal: bool) -> Floats:
    out = np.empty((len(streams), n))
    for row, generator in zip(out, streams, strict=True):
        if normal:
            generator.standard_normal(out=row)
        else:
            generator.random(out=row)
    return out
