# SPDX-License-Identifier: GPL-3.0-or-later
"""Machine jobs in the walk: each starts the moment its last predecessor is done and its machines work.

Jobs on one machine queue, first come first served, ties in the given order; different machines run
side by side. With two or more jobs less work can end later: on one machine a job that is ready sooner
can overtake another (Graham's anomaly), and work that a job sets free sooner can go ahead of work that
another job still waits for. Without jobs, or with one, less work never meets fewer gates.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nightplan.engine.nights_clock import WorkClock

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class WalkJob:
    """What the walk must know of one machine job; jobs are given so that predecessors come first."""

    #: positions of open predecessor items
    after: tuple[int, ...] = ()
    #: indices of open predecessor jobs, each smaller than the job's own
    after_jobs: tuple[int, ...] = ()
    machine: int = 0
    #: not before this time (predecessors finished in the past); finite
    ready: float = 0.0
    #: further machines that it takes together with the first
    also: tuple[int, ...] = ()
    #: of its machines together; None ticks like the clock on the wall
    clock: WorkClock | None = None

    @property
    def machines(self) -> tuple[int, ...]:
        """Every machine that it takes."""
        return (self.machine, *self.also)


class JobQueue:
    """The jobs of one walk.

    Args:
        jobs: J jobs, predecessors first.
        durations: (J, N) hours by the job's clock.
        start, end: (J, N) filled in as the walk goes on, inf before.
    """

    def __init__(self, jobs: tuple[WalkJob, ...], durations: Floats, start: Floats, end: Floats) -> None:
        self.jobs = jobs
        self.durations = durations
        self.start = start
        self.end = end
        self.clocks = any(job.clock is not None for job in jobs)
        ancestors: list[set[int]] = []
        for job in jobs:
            ancestors.append(set(job.after_jobs).union(*(ancestors[j] for j in job.after_jobs)))
        #: whether two jobs can ever wait for the same machine
        self.meet = any(
            bool({*one.machines} & {*two.machines}) and i not in ancestors[j]
            for j, two in enumerate(jobs)
            for i, one in enumerate(jobs[:j])
        )

    @property
    def waiting(self) -> bool:
        """Whether some job has not started in some future."""
        return bool(self.jobs) and bool(np.isinf(self.start).any())

    def advance(self, last_of: Callable[[tuple[int, ...]], Floats | None], until: float) -> None:
        """Start every job whose turn comes before ``until``.

        Args:
            last_of: gives the (N,) times at which all of some items are finished, inf where they are
                not yet, None for no items. Items that it does not know yet raise KeyError.
            until: with jobs that never meet on a machine, later starts may be filled in as well.
        """
        if not self.jobs or not self.waiting:
            return
        ready: list[Floats | None] = []
        for job in self.jobs:
            try:
                ready.append(last_of(job.after))
            except KeyError:
                ready.append(np.full(self.start.shape[1], np.inf))
        if not self.meet:
            for j in range(len(self.jobs)):
                self.start[j], self.end[j] = self._run(j, self._ready(j, ready[j]), self.durations[j])
            return
        while self._start_next(ready, until):
            pass

    def _run(self, j: int, start: Floats, hours: Floats) -> tuple[Floats, Floats]:
        clock = self.jobs[j].clock
        if clock is None:
            return start, start + hours
        begin, end = clock.run(start, hours)
        # a machine that never works again within the clock has still taken the job
        return np.where(np.isinf(begin), start, begin), end

    def _ready(self, j: int, items_done: Floats | None) -> Floats:
        job = self.jobs[j]
        ready = np.full(self.start.shape[1], job.ready)
        if items_done is not None:
            np.maximum(ready, items_done, out=ready)
        for k in job.after_jobs:
            np.maximum(ready, self.end[k], out=ready)
        return ready

    def _start_next(self, items_done: list[Floats | None], until: float) -> bool:
        """Start, in every future, the job with the least start time; False where none is left.

        Start times never decrease from call to call, so nothing that becomes ready later can have
        had a claim on a machine that is given away here.
        """
        waiting = np.isinf(self.start)
        ready = np.stack([self._ready(j, items_done[j]) for j in range(len(self.jobs))])
        begin = np.where(waiting, ready, np.inf)
        for machine in sorted({m for job in self.jobs for m in job.machines}):
            rows = [j for j, job in enumerate(self.jobs) if machine in job.machines]
            free = np.where(waiting[rows], -np.inf, self.end[rows]).max(axis=0)
            begin[rows] = np.maximum(begin[rows], free)
        first = begin.min(axis=0)
        columns = np.flatnonzero((first < until) & np.isfinite(first))
        if not columns.size:
            return False
        # of those that could start first, the one that was ready first, then the one given first
        chosen = np.where(begin == first, ready, np.inf).argmin(axis=0)[columns]
        if not self.clocks:
            self.start[chosen, columns] = first[columns]
            self.end[chosen, columns] = first[columns] + self.durations[chosen, columns]
            return True
        for j in np.unique(chosen):
            mine = columns[chosen == j]
            self.start[j, mine], self.end[j, mine] = self._run(int(j), first[mine], self.durations[j, mine])
        return True
