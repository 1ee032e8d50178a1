# SPDX-License-Identifier: GPL-3.0-or-later
"""Which of many stretches of time one meets, in the logarithm of their number."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable


class Spans:
    """Half-open stretches [start, end) on any axis of numbers, each with a reason; empty ones are left out."""

    __slots__ = ("_ends", "_reasons", "_starts")

    def __init__(self, spans: Iterable[tuple[float, float, str]]) -> None:
        # sorted as a whole: the answer must not hang on the order of the list
        ordered = sorted(span for span in spans if span[0] < span[1])
        self._starts = [start for start, _, _ in ordered]
        #: the largest end so far, and whose it is
        self._ends: list[float] = []
        self._reasons: list[str] = []
        for _, end, reason in ordered:
            if self._ends and self._ends[-1] >= end:
                end, reason = self._ends[-1], self._reasons[-1]
            self._ends.append(end)
            self._reasons.append(reason)

    def meeting(self, start: float, end: float) -> str | None:
        """The reason of a stretch that overlaps [start, end), or None."""
        n = bisect_left(self._starts, end)
        return self._reasons[n - 1] if n and self._ends[n - 1] > start else None
