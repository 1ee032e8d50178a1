# SPDX-License-Identifier: GPL-3.0-or-later
"""What the search asks: does a set of moves reach the asked odds, counted over every future.

Most futures need no walk. Three facts spare it, each certain:

* serial: a future in which more hours are wanted than happen before a gate misses it;
* a future that misses a gate with more moves made misses it with fewer;
* a future that meets it with fewer moves made meets it with more.

The last two hold where nothing that is freed earlier can push back what a gate or a machine job
waits for (``steady``), and between sets that serve the rest in the same order. Where machines queue
or switching does harm (``plain``) the walk without queue and loss is used for them, which is never
later than the true one; the true walk then has the last word. Where nothing is certain every set that the
serial fact leaves over is walked.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from nightplan.engine.problem import Problem
from nightplan.engine.recovery_futures import Draws, queues
from nightplan.engine.recovery_hours import EveningHours
from nightplan.model.results_recovery import EveningAdded, EveningSet, Move

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Bits = npt.NDArray[np.uint8]

#: hours by which the wanted must exceed what happens before the serial fact is believed: far more
#: than the walk's own tolerances (1e-6) and rounding
_MARGIN = 1e-4


@dataclass
class _Known:
    """A set whose futures are known, in the relaxed walk. Bits, (G, N/8) each."""

    mask: int
    fails: Bits
    meets: Bits


class FuturesOracle:
    """Sets of moves under the same futures.

    Args:
        moves: any number of them; sets are bit masks over them.
        gates: ids of the gates that must all reach ``target``. Facts are kept for all G gates of the project.
    """

    def __init__(self, draws: Draws, moves: tuple[Move, ...], gates: tuple[str, ...], target: float) -> None:
        self.draws, self.moves = draws, moves
        self.ids = tuple(g.moment.id for g in draws.setup.gates)
        self._asked = [n for n, g in enumerate(self.ids) if g in gates]
        self.need = max(0, int(np.ceil(target * draws.futures - 1e-9)))
        evenings = [all(isinstance(c, EveningSet | EveningAdded) for c in m.changes) for m in moves]
        self._evening_part = sum(1 << n for n, is_evening in enumerate(evenings) if is_evening)
        #: evenings and gates say what happens, all but the evenings say what is wanted
        self._gate_part = sum(1 << n for n, m in enumerate(moves) if m.kind == "lock-later")
        self._setups: dict[int, Problem] = {}
        self._wanted: dict[int, Floats] = {}
        self._alike: dict[tuple[int, int], bool] = {}
        self._steady: dict[int, bool] = {}
        self._true_already: dict[int, bool] = {}
        self._happen = EveningHours(draws, moves, self.setup, self._gate_part, self.ids)
        self._known: list[_Known] = []
        #: mask -> certain misses, and how many of the known sets they take in
        self._fails: dict[int, tuple[Bits, int]] = {}
        self._gap = self._loss = 0.0
        #: how often a walk was needed
        self.walks = 0

    # --- the search's questions -------------------------------------------------------------------

    def reaches(self, mask: int) -> bool:
        """As in the protocol; walks the futures that are not certain yet."""
        if self._is_steady(mask):
            if not self._relaxed(mask):
                return False
            if self._relaxed_is_true(mask):
                return True
        return self._true(mask)

    def hopeless(self, mask: int) -> bool:
        """As in the protocol; from what is known, without a walk."""
        return self._too_many(self._certain_fails(mask))

    def carries(self, small: int, big: int) -> bool:
        """As in the protocol."""
        return self._comparable(small, big)

    def guess(self, mask: int) -> float:
        """As in the protocol, in shares of the futures."""
        most = self._most(self._certain_fails(mask))
        return (self.draws.futures - most - self.need) / self.draws.futures - self._gap - self._loss

    def guess_most(self, mask: int) -> float:
        """The odds of the worst gate are at most this."""
        return 1.0 - self._most(self._certain_fails(mask)) / self.draws.futures

    # --- facts ------------------------------------------------------------------------------------

    def chosen(self, mask: int) -> tuple[Move, ...]:
        """The moves of a set."""
        return tuple(m for n, m in enumerate(self.moves) if mask >> n & 1)

    def setup(self, mask: int) -> Problem:
        """The walk of the project with a set of moves made; kept."""
        if mask not in self._setups:
            self._setups[mask] = self.draws.changed(self.chosen(mask))
        return self._setups[mask]

    def certain(self, mask: int) -> tuple[Bools | None, Bools]:
        """Futures that are certain to meet and miss the gates of a set; (G, N) each, in its own order of gates."""
        setup = self.setup(mask)
        back = np.argsort(self._places(setup))
        meets = self._certain_meets(mask) if self._relaxed_is_true(mask) else None
        count = self.draws.futures

        def unpacked(bits: Bits) -> Bools:
            return np.unpackbits(bits, axis=1, count=count).astype(bool)[back]

        return None if meets is None else unpacked(meets), unpacked(self._certain_fails(mask))

    def learn(self, mask: int, meets: Bools) -> None:
        """Take over a set whose futures are known already; ``meets`` is (G, N), in the order of its own gates."""
        if self._relaxed_is_true(mask):
            mine = meets[self._places(self.setup(mask))]
            self._keep(mask, np.packbits(~mine, axis=1), np.packbits(mine, axis=1))

    def _places(self, setup: Problem) -> list[int]:
        ids = [g.moment.id for g in setup.gates]
        return [ids.index(g) for g in self.ids]

    def _too_many(self, fails: Bits) -> bool:
        return self._most(fails) > self.draws.futures - self.need

    def _most(self, fails: Bits) -> int:
        """Misses of the asked gate that has most of them."""
        return int(self._count(fails)[self._asked].max(initial=0))

    @staticmethod
    def _count(bits: Bits) -> npt.NDArray[np.int64]:
        count: npt.NDArray[np.int64] = np.bitwise_count(bits).sum(axis=1, dtype=np.int64)
        return count

    def _serial_fails(self, mask: int) -> Bits:
        """Futures in which more hours are wanted than happen before the gate."""
        there, rest = mask & (self._evening_part | self._gate_part), mask & ~self._evening_part
        if rest not in self._wanted:
            setup = self.setup(rest)
            self._wanted[rest] = self.draws.wanted(setup)[self._places(setup)] - _MARGIN
        return np.packbits(self._wanted[rest] > self._happen.of(there), axis=1)

    def _certain_fails(self, mask: int) -> Bits:
        fails, seen = self._fails[mask] if mask in self._fails else (self._serial_fails(mask), 0)
        if seen < len(self._known):
            more = [k.fails for k in self._known[seen:] if mask & k.mask == mask and self._comparable(mask, k.mask)]
            fails = np.bitwise_or.reduce([fails, *more]) if more else fails
        self._fails[mask] = fails, len(self._known)
        return fails

    def _certain_meets(self, mask: int) -> Bits | None:
        below = [k.meets for k in self._known if mask & k.mask == k.mask and self._comparable(k.mask, mask)]
        return np.bitwise_or.reduce(below) if below else None

    def _relaxed(self, mask: int) -> bool:
        """Whether the walk without queue and loss reaches it; what comes out is kept."""
        fails, meets = self._certain_fails(mask), self._certain_meets(mask)
        before = self._count(fails)
        if self._too_many(fails):
            return False
        known = fails if meets is None else fails | meets
        open_ = ~np.unpackbits(np.bitwise_and.reduce(known, axis=0), count=self.draws.futures).astype(bool)
        columns = np.flatnonzero(open_)
        met = np.unpackbits(~fails, axis=1, count=self.draws.futures).astype(bool)
        if columns.size:
            setup = self.setup(mask)
            self.walks += 1
            true = self._relaxed_is_true(mask)
            met[:, columns] = self.draws.meets(setup, columns, relaxed=not true)[self._places(setup)]
        fails = np.packbits(~met, axis=1)
        self._keep(mask, fails, np.packbits(met, axis=1))
        found = self._count(fails)
        # a running idea of how many more futures miss than the certain facts say
        self._gap = 0.5 * self._gap + 0.5 * float((found - before)[self._asked].max(initial=0)) / self.draws.futures
        return not self._too_many(fails)

    def _keep(self, mask: int, fails: Bits, meets: Bits) -> None:
        self._known.append(_Known(mask, fails, meets))

    def _true(self, mask: int) -> bool:
        """The walk itself, over the futures that may meet every gate."""
        setup = self.setup(mask)
        fails = self._certain_fails(mask)
        met = np.unpackbits(~fails, axis=1, count=self.draws.futures).astype(bool)
        columns = np.flatnonzero(met.any(axis=0))
        self.walks += 1
        met[:, columns] &= self.draws.meets(setup, columns, relaxed=False)[self._places(setup)]
        found = met.sum(axis=1)
        if columns.size:
            lost = (self.draws.futures - self._count(fails)) - found
            self._loss = 0.5 * self._loss + 0.5 * float(lost[self._asked].max(initial=0)) / self.draws.futures
        return bool((found[self._asked] >= self.need).all())

    # --- where the facts hold ---------------------------------------------------------------------

    def _is_steady(self, mask: int) -> bool:
        """Whether both facts about fewer and more moves hold for this set."""
        # evenings change no order, so only the other moves are looked at
        rest = mask & ~self._evening_part
        if rest not in self._steady:
            setup = self.setup(rest)
            self._steady[rest] = steady(setup)
            self._true_already[rest] = plain(setup)
        return self._steady[rest]

    def _relaxed_is_true(self, mask: int) -> bool:
        return self._is_steady(mask) and self._true_already[mask & ~self._evening_part]

    def _comparable(self, small: int, big: int) -> bool:
        a, b = small & ~self._evening_part, big & ~self._evening_part
        if (a, b) not in self._alike:
            self._alike[a, b] = (
                self._is_steady(a)
                and self._is_steady(b)
                # one kind of walk on both sides
                and self._true_already[a] == self._true_already[b]
                and (a == b or same_order(self.setup(a), self.setup(b)))
            )
        return self._alike[a, b]


def same_order(more: Problem, fewer: Problem) -> bool:
    """Whether the items that are left come in the same order; only items may have gone."""
    left = set(fewer.items)
    return left <= set(more.items) and tuple(k for k in more.items if k in left) == fewer.items


def plain(setup: Problem) -> bool:
    """Whether the three facts hold for the walk itself, without leaving out a queue or a loss.

    Minutes lost by switching do no harm where the items come strictly one after the other: whoever is
    further along stays further along.
    """
    return not queues(setup) and (not setup.switching_hours or serial(setup))


def serial(setup: Problem) -> bool:
    """Whether nothing can be worked while an item before it in the order is held back."""
    jobs: list[frozenset[int]] = []
    dates: list[int] = []
    for item in setup.walk_items:
        jobs.append(frozenset(item.after_jobs).union(*(jobs[p] for p in item.after)))
        dates.append(max([item.release, *(dates[p] for p in item.after)]))
    return all(a <= b for a, b in pairwise(jobs)) and all(a <= b for a, b in pairwise(dates))


def steady(setup: Problem) -> bool:
    """Whether finishing anything earlier can make no gate later.

    What a gate or a job waits for is served before everything that comes after it in the order. What
    comes before it in the order is there from the start, so that it is done before in any case, or
    belongs to what is waited for. The one thing that could push it back is work that comes before it
    in the order, does not belong to it and is held back by a job or a date: set free earlier, it takes
    that were used otherwise. There is none if this is true.
    """
    held: list[bool] = []
    needs: list[int] = []
    job_needs: list[int] = [0] * len(setup.walk_jobs)
    job_done = [False] * len(setup.walk_jobs)

    def of_job(j: int) -> int:
        if not job_done[j]:
            job = setup.walk_jobs[j]
            for i in job.after:
                job_needs[j] |= 1 << i | of_item(i)
            for k in job.after_jobs:
                job_needs[j] |= of_job(k)
            job_done[j] = True
        return job_needs[j]

    memo: dict[int, int] = {}

    def of_item(i: int) -> int:
        if i not in memo:
            found = 0
            for p in setup.walk_items[i].after:
                found |= 1 << p | of_item(p)
            for j in setup.walk_items[i].after_jobs:
                found |= of_job(j)
            memo[i] = found
        return memo[i]

    for i, item in enumerate(setup.walk_items):
        needs.append(of_item(i))
        held.append(bool(item.after_jobs or item.release) or any(held[p] for p in item.after))
    targets = [of_job(j) for j in range(len(setup.walk_jobs))]
    for gate in setup.gates:
        wanted = 0
        for i in gate.items:
            wanted |= 1 << i | needs[i]
        for j in gate.jobs:
            wanted |= of_job(j)
        targets.append(wanted)
    return not any(held[i] and not wanted >> i & 1 for wanted in targets for i in range(wanted.bit_length()))
