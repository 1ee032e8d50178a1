# SPDX-License-Identifier: GPL-3.0-or-later
"""What the walk by sums does to rows of futures: hours taken, evenings and times found.

Everything goes row by row: a row stays in the processor's nearest cache from step to step.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

#: once fewer than this share of the futures are open, only those are looked at
_FEW = 0.1
#: and so many evenings at once
_BLOCK = 16


def take_hours(free: Floats, work: Floats, base: Floats, opened: int, all_opened: int, first: int) -> None:
    """What a run leaves free: min(C, max(b, C − W)).

    Args:
        free: (E, N) running sums of free hours, changed in place.
        work, base: (N,) W and b of the run.
        opened: the run is set free in no column before this evening, so that C stays as it is.
        all_opened: and in every column by this one, so that b is no more than C.
        first: the run is done in no column before this evening, so that C − W is under b.
    """
    rest = np.empty_like(work)
    for row in free[opened:first]:
        np.minimum(row, base, out=row)
    begin = max(opened, first)
    for row in free[max(begin, all_opened) :]:
        np.subtract(row, work, out=row)
        np.maximum(row, base, out=row)
    for row in free[begin:all_opened]:
        np.subtract(row, work, out=rest)
        np.maximum(rest, base, out=rest)
        np.minimum(row, rest, out=row)


def find_evening(
    free: Floats, target: Floats, first: int, evening: npt.NDArray[np.intp] | None, unfinished: npt.NDArray[np.int64]
) -> int:
    """Fill in the first evening whose running sum reaches the target; the least one found is returned.

    Args:
        free: (E, N) running sums of free hours.
        target: (N,)
        first: no column reaches its target before this evening.
        evening: (N,) filled in, E where the target is never reached; None where nobody asks.
        unfinished: (E,) filled in: how many columns have not reached it by each evening.
    """
    count_e, n = free.shape
    least: int = count_e
    unfinished[:first] = n
    unfinished[first:] = 0
    open_ = np.empty(n, dtype=bool)
    # counted in bytes, which is several times faster, and written out before a byte is full
    steps, as_bytes = np.zeros(n, dtype=np.uint8), open_.view(np.uint8)
    if evening is not None:
        evening[:] = first
    for e in range(first, count_e):
        np.less(free[e], target, out=open_)
        unfinished[e] = count = int(np.count_nonzero(open_))
        if count < n:
            least = min(least, e)
        if evening is not None:
            steps += as_bytes
            if (e - first) % 255 == 254:
                evening += steps
                steps[:] = 0
        if count < _FEW * n:
            rest = np.flatnonzero(open_)
            goal = target[rest]
            for later in range(e + 1, count_e, _BLOCK):
                if not rest.size:
                    break
                missing = free[later : later + _BLOCK].take(rest, axis=1) < goal
                unfinished[later : later + _BLOCK] = missing.sum(axis=1)
                if evening is not None:
                    evening[rest] += missing.sum(axis=0)
                rest, goal = rest[missing[-1]], goal[missing[-1]]
            break
    if evening is not None:
        evening += steps
    return least


def finish_times(
    evening: npt.NDArray[np.intp],
    target: Floats,
    free: Floats,
    hours: Floats,
    starts: Floats,
    columns: npt.NDArray[np.intp],
    *,
    within: bool,
) -> Floats:
    """(N,) times of a finish: the start of its evening and all that was worked there by then.

    Args:
        within: the target may have been reached before that evening, whose own hours are then all still free.
    """
    count_e, n = hours.shape
    never = evening >= count_e
    k = np.where(never, 0, evening)
    place = k * n + columns
    still_free = np.maximum(np.take(free, place) - target, 0.0)
    if within:
        before = np.where(k > 0, np.take(free, np.maximum(k - 1, 0) * n + columns), 0.0)
        np.minimum(still_free, np.take(free, place) - before, out=still_free)
    times: Floats = starts[k] + np.take(hours, place) - still_free
    times[never] = np.inf
    return times
