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
Columns = npt.NDArray[np.intp]


@dataclass(frozen=True)
class WalkJob:
    """What the walk must know of one machine job; jobs are given so that predecessors come first."""

    #: positions of open predecessor items
    after: tuple[int, ...] = ()
    #: indices of open predecessor jobs, each smaller than the job's own
    after_jobs: tuple[int, ...] = ()
    machine: int = 0
    #: not before this time, hours on the walk's axis (predecessors finished in the past); finite
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
        #: pairs of jobs that can ever wait for the same machine
        self._pairs = [
            (i, j)
            for j, two in enumerate(jobs)
            for i, one in enumerate(jobs[:j])
            if {*one.machines} & {*two.machines} and i not in ancestors[j]
        ]
        #: (J, N) when each job is ready, inf where that is not known yet
        self._ready = np.full(start.shape, np.inf)

    @property
    def meet(self) -> bool:
        """Whether two jobs can ever wait for the same machine."""
        return bool(self._pairs)

    @property
    def waiting(self) -> bool:
        """Whether some job has not started in some future."""
        return bool(self.jobs) and bool(np.isinf(self.start).any())

    # --- each job as if its machines were its own -------------------------------------------------

    def fill_in(self, last_of: Callable[[tuple[int, ...]], Floats | None]) -> None:
        """Start every job as soon as it is ready; right in all futures but those of :meth:`clashes`.

        Args:
            last_of: gives the (N,) times at which all of some items are finished, inf where they are
                not yet, None for no items. Items that it does not know yet raise KeyError.
        """
        if not self.waiting:
            return
        for j, job in enumerate(self.jobs):
            try:
                items_done = last_of(job.after)
            except KeyError:
                continue
            ready = np.full(self.start.shape[1], job.ready)
            if items_done is not None:
                np.maximum(ready, items_done, out=ready)
            for k in job.after_jobs:
                np.maximum(ready, self.end[k], out=ready)
            self._ready[j] = ready
            self.start[j], self.end[j] = self._run(j, ready, self.durations[j])

    def clashes(self) -> Columns:
        """Futures in which two of the jobs that :meth:`fill_in` started want one machine at one time.

        A job has its machines from the moment it is ready, also while they stand still. Before the first
        such moment nothing waits for a machine, so that without one the whole walk is right.
        """
        found = np.zeros(self.start.shape[1], dtype=bool)
        for i, j in self._pairs:
            both = np.isfinite(self._ready[i]) & np.isfinite(self._ready[j])
            found |= both & (self._ready[i] <= self.end[j]) & (self._ready[j] <= self.end[i])
        return np.flatnonzero(found)

    def _run(self, j: int, start: Floats, hours: Floats) -> tuple[Floats, Floats]:
        clock = self.jobs[j].clock
        if clock is None:
            return start, start + hours
        begin, end = clock.run(start, hours)
        # a machine that never works again within the clock has still taken the job
        return np.where(np.isinf(begin), start, begin), end

    # --- as the evenings go by --------------------------------------------------------------------

    def open(self, times: dict[int, Floats]) -> None:
        """Before the first evening.

        Args:
            times: position of an item -> (N,) times of its finish, inf where it is not finished; read
                again at each :meth:`finished`.
        """
        self._times = times
        for j, job in enumerate(self.jobs):
            if not job.after and not job.after_jobs:
                self._ready[j] = job.ready
        #: (N,) nothing starts before this unless something else is finished
        self._due = self._ready.min(axis=0, initial=np.inf)
        count = len(self.jobs)
        self._after_item = {i: [j for j in range(count) if i in self.jobs[j].after] for i in times}
        self._after_job = [[j for j in range(count) if k in self.jobs[j].after_jobs] for k in range(count)]
        machines = sorted({m for job in self.jobs for m in job.machines})
        shared = ([j for j, job in enumerate(self.jobs) if m in job.machines] for m in machines)
        self._shared = [rows for rows in shared if len(rows) > 1]

    def finished(self, item: int, columns: Columns) -> None:
        """An item is finished in some futures."""
        for j in self._after_item[item]:
            self._set_ready(j, columns)

    def advance(self, until: float) -> None:
        """Start every job whose turn comes before ``until``, the earliest in each future first."""
        columns = (self._due < until).nonzero()[0]
        while columns.size:
            columns = self._start_next(columns, until)

    def _set_ready(self, j: int, columns: Columns) -> None:
        job = self.jobs[j]
        ready = np.full(columns.size, job.ready)
        for i in job.after:
            np.maximum(ready, self._times[i][columns], out=ready)
        for k in job.after_jobs:
            np.maximum(ready, self.end[k, columns], out=ready)
        self._ready[j, columns] = ready
        self._due[columns] = np.minimum(self._due[columns], ready)

    def _start_next(self, columns: Columns, until: float) -> Columns:
        """Start, in each of some futures, the job with the least start time; the futures in which one started.

        Start times never decrease from call to call, so nothing that becomes ready later can have
        had a claim on a machine that is given away here.
        """
        ready, end = self._ready.take(columns, axis=1), self.end.take(columns, axis=1)
        waiting = np.isinf(self.start.take(columns, axis=1))
        begin = np.where(waiting, ready, np.inf)
        for rows in self._shared:
            free = np.where(waiting[rows], -np.inf, end[rows]).max(axis=0)
            begin[rows] = np.maximum(begin[rows], free)
        first = begin.min(axis=0)
        self._due[columns] = first
        now = (first < until).nonzero()[0]
        # of those that could start first, the one that was ready first, then the one given first
        chosen = np.where(begin == first, ready, np.inf).argmin(axis=0)[now]
        columns, first = columns[now], first[now]
        for j, followers in enumerate(self._after_job):
            here = (chosen == j).nonzero()[0]
            if not here.size:
                continue
            mine = columns[here]
            self.start[j, mine], self.end[j, mine] = self._run(j, first[here], self.durations[j, mine])
            for k in followers:
                self._set_ready(k, mine)
        return columns
