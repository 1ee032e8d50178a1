# SPDX-License-Identifier: GPL-3.0-or-later
"""The one walk that gives both the plan and every future.

Evening by evening, each evening that happens gives its hours to the open items in priority order.
An item is open once its predecessors and the machine jobs before it are done; work is preemptive
and several items may share an evening. Futures are columns: every step handles all of them at
once. The plan is the walk with one column.

There are two ways to the same numbers. ``by_evening`` goes through the evenings as they come; it is
the definition. ``by_sums`` goes through the items in priority order and finds each finish where the
running sum of the free hours passes the running sum of the work; it is several times faster and
serves where no minutes are lost by switching and no two jobs wait for one machine. Tests hold one
against the other.

Times are float hours on one axis; the caller chooses its zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from nightplan.engine.queue import JobQueue, WalkJob
from nightplan.engine.walk_sums import find_evening, finish_times, take_hours

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Columns = npt.NDArray[np.intp]

#: less work than this is rounding, not work (a few microseconds)
EPSILON_HOURS = 1e-9


@dataclass(frozen=True)
class WalkItem:
    """What the walk must know of one item; items are given in priority order."""

    #: positions of open predecessor items, each smaller than the item's own
    after: tuple[int, ...] = ()
    #: indices of the open jobs that it waits for
    after_jobs: tuple[int, ...] = ()
    #: first evening index at which it may be worked
    release: int = 0


@dataclass
class Walked:
    """Outcome of a walk over E evenings, I items, J jobs, N futures."""

    #: (E, I) in how many futures the item is still unfinished after the evening
    unfinished: npt.NDArray[np.int64]
    #: (J, N) each, inf where they never come
    job_start: Floats
    job_end: Floats
    #: position of an item -> (N,) times of its finish, inf where it never comes; the items asked for
    times: dict[int, Floats] = field(default_factory=dict)
    #: (E, I) hours given; only with ``record``
    given: Floats | None = None
    #: (E, N) hours of work left after each evening; only with ``record_left``
    left: Floats | None = None
    #: position of an item -> the first position of the run of items that finish one after the other
    runs: list[int] = field(default_factory=list)
    #: futures in which jobs meet on a machine; only with ``sums_first``
    clashes: Columns = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def last_time(self, items: tuple[int, ...]) -> Floats | None:
        """(N,) times at which all of the items are finished; None for no items."""
        latest: Floats | None = None
        for i in last_of_runs(items, self.runs):
            latest = self.times[i] if latest is None else np.maximum(latest, self.times[i])
        return latest


def last_of_runs(items: tuple[int, ...], runs: list[int]) -> list[int]:
    """The last of the items in each run: it finishes after the others."""
    last: dict[int, int] = {}
    for i in sorted(items):
        last[runs[i]] = i
    return list(last.values())


def walk(
    hours: Floats,
    starts: Floats,
    efforts: Floats,
    items: tuple[WalkItem, ...],
    jobs: tuple[WalkJob, ...] = (),
    durations: Floats | None = None,
    *,
    groups: tuple[tuple[int, ...], ...] = (),
    switching_hours: float = 0.0,
    record: bool = False,
    record_left: bool = False,
    use_sums: bool = True,
    sums_first: bool = False,
    leave_clashes: bool = False,
) -> Walked:
    """Serve the items with the evenings.

    Args:
        hours: (E, N) hours that each evening gives in each future, 0 where it does not happen.
        starts: (E,) start times in hours, increasing; evenings do not overlap.
        efforts: (I, N) hours of work of each item, in priority order.
        items: I items in priority order; a predecessor has a smaller position.
        jobs: J machine jobs, predecessors first.
        durations: (J, N) hours by the wall clock, repeats included.
        groups: sets of items whose common finish will be asked for.
        switching_hours: lost each time work moves to another item within an evening.
        record: keep the hours given; N must be 1.
        record_left: keep the hours of work left after every evening.
        use_sums: False goes by evening in any case.
        sums_first: where jobs can meet on a machine, only the futures in which they do go by evening;
            of all others times can differ from those by evening in their last digits.
        leave_clashes: with ``sums_first``: leave also these as they are and name them in ``clashes``.

    Returns:
        The finish of every item and job in every future.
    """
    count_e, n = hours.shape
    out = Walked(
        np.full((count_e, len(items)), n, dtype=np.int64),
        np.full((len(jobs), n), np.inf),
        np.full((len(jobs), n), np.inf),
        given=np.zeros((count_e, len(items))) if record else None,
        left=np.zeros((count_e, n)) if record_left else None,
    )
    durations = np.zeros((0, n)) if durations is None else durations
    queue = JobQueue(jobs, durations, out.job_start, out.job_end)
    if not use_sums or not count_e or record or switching_hours:
        _by_evening(hours, starts, efforts, items, queue, out, switching_hours)
    elif not queue.meet:
        _by_sums(hours, starts, efforts, items, queue, groups, out)
    elif sums_first and not record_left:
        evening = _by_sums(hours, starts, efforts, items, queue, groups, out, all_asked=not leave_clashes)
        out.clashes = queue.clashes()
        if out.clashes.size and not leave_clashes:
            _again(hours, starts, efforts, items, queue, evening, out)
    else:
        _by_evening(hours, starts, efforts, items, queue, out, switching_hours)
    return out


def _again(
    hours: Floats,
    starts: Floats,
    efforts: Floats,
    items: tuple[WalkItem, ...],
    queue: JobQueue,
    evening: Columns,
    out: Walked,
) -> None:
    """The futures in which jobs meet on a machine, by evening; ``evening`` says when each item was finished without."""
    columns = out.clashes
    part = walk(
        hours[:, columns],
        starts,
        efforts[:, columns],
        items,
        queue.jobs,
        queue.durations[:, columns],
        use_sums=False,
    )
    for e in range(len(starts)):
        out.unfinished[e] += part.unfinished[e] - np.count_nonzero(evening[:, columns] > e, axis=1)
    out.job_start[:, columns] = part.job_start
    out.job_end[:, columns] = part.job_end
    for i, times in out.times.items():
        times[columns] = part.times[i]


# --- evening by evening ---------------------------------------------------------------------------


def _by_evening(
    hours: Floats,
    starts: Floats,
    efforts: Floats,
    items: tuple[WalkItem, ...],
    queue: JobQueue,
    out: Walked,
    switching_hours: float,
) -> None:
    count_e, n = hours.shape
    left = np.array(efforts, dtype=np.float64, copy=True)
    open_ = np.ones(left.shape, dtype=bool)
    still = [n] * len(items)
    out.runs = list(range(len(items)))
    out.times = {i: np.full(n, np.inf) for i in out.runs}
    held = _held(items, efforts)
    # nowhere are all predecessors finished
    waits = [bool(item.after) for item in items]
    queue.open(out.times)
    # work without any effort is done when its turn comes, hours or not
    nothings = bool((left <= EPSILON_HOURS).any())
    still_open = list(out.runs)
    h, take, worked = np.empty(n), np.empty(n), np.zeros(n)
    done = np.empty(n, dtype=bool)
    for e in range(count_e):
        if not still_open:
            queue.advance(starts[e])
            if not queue.waiting:
                break
        np.copyto(h, hours[e])
        worked[:] = 0.0
        finished = []
        for i in still_open:
            if waits[i] and any(still[p] == n for p in items[i].after):
                continue
            waits[i] = False
            r = left[i]
            usable = r
            ready: Bools | None = None
            if held[i]:
                ready = _ready(items[i], e, starts[e], open_, queue)
                if ready is None:
                    continue
                usable = np.multiply(r, ready, out=take)
                # open everywhere: it stays so
                held[i] = not ready.all()
            if switching_hours:
                moves = (worked > 0) & (usable > EPSILON_HOURS)
                h -= switching_hours * moves
                np.maximum(h, 0.0, out=h)
            np.minimum(usable, h, out=take)
            r -= take
            h -= take
            if switching_hours:
                worked += take
            if out.given is not None:
                out.given[e, i] = take[0]
            np.less_equal(r, EPSILON_HOURS, out=done)
            done &= open_[i]
            if ready is not None:
                done &= ready
            where = done.nonzero()[0]
            if where.size:
                out.times[i][where] = starts[e] + hours[e][where] - h[where]
                open_[i][where] = False
                still[i] -= where.size
                queue.finished(i, where)
            if not still[i]:
                finished.append(i)
            elif not nothings and not h.any():
                break
        for i in still_open:
            out.unfinished[e, i] = still[i]
        for i in finished:
            out.unfinished[e:, i] = 0
            still_open.remove(i)
        if out.left is not None:
            np.sum(left, axis=0, out=out.left[e])
    queue.advance(np.inf)


def _held(items: tuple[WalkItem, ...], efforts: Floats) -> list[bool]:
    """Items that may have to wait while hours go by.

    Every other item's predecessors have taken what they want by the time its turn comes. An item
    without any work is looked at too: no hours tell when it is done.
    """
    held: list[bool] = []
    for i, item in enumerate(items):
        waits = bool(item.after_jobs or item.release) or any(held[p] for p in item.after)
        held.append(waits or bool(efforts[i].min(initial=1.0) <= EPSILON_HOURS))
    return held


def _ready(item: WalkItem, e: int, start: float, open_: Bools, queue: JobQueue) -> Bools | None:
    """(N,) whether the item may be worked on evening ``e``; None where in no future."""
    if e < item.release:
        return None
    ready = np.ones(open_.shape[1], dtype=bool)
    if item.after_jobs:
        # jobs are started when somebody asks for them: every finish before this evening is known by now
        queue.advance(start)
    for job in item.after_jobs:
        ready &= queue.end[job] <= start
    for p in item.after:
        ready &= ~open_[p]
    return ready if ready.any() else None


# --- item by item, by running sums ----------------------------------------------------------------


def _by_sums(
    hours: Floats,
    starts: Floats,
    efforts: Floats,
    items: tuple[WalkItem, ...],
    queue: JobQueue,
    groups: tuple[tuple[int, ...], ...],
    out: Walked,
    *,
    all_asked: bool = False,
) -> Columns:
    """Runs of items that are set free together take the free hours one after the other.

    With C the running sum of free hours before the run, b its value when the run is set free and W
    the work of the run, the free hours after it have the running sum min(C, max(b, C − W)).

    Returns:
        (I, N) evening on which each item is finished, E for never; right for all with ``all_asked``,
        else for some of them.
    """
    count_e, n = hours.shape
    bonds = _bonds(items)
    nothing = [bool(row.min(initial=1.0) <= EPSILON_HOURS) for row in efforts]
    out.runs = _runs(bonds, nothing)
    wanted_times = {i for group in groups for i in last_of_runs(group, out.runs)}
    wanted_times |= {i for job in queue.jobs for i in last_of_runs(job.after, out.runs)}
    begins = sorted(set(out.runs))
    # of most items only the count per evening is asked for, not which future finishes when
    asked = wanted_times.union(*(items[i].after for i in range(len(items)) if nothing[i] or i in begins))
    asked |= {i for i in range(len(items)) if nothing[i] or all_asked}
    evening = np.zeros((len(items), n), dtype=np.intp)
    # row by row, here and below: a row stays in the processor's nearest cache from step to step
    free = np.empty_like(hours)
    free[0] = hours[0]
    for e in range(1, count_e):
        np.add(free[e - 1], hours[e], out=free[e])
    total = free.copy() if out.left is not None else free
    columns = np.arange(n)
    for begin, end in zip(begins, [*begins, len(items)][1:], strict=True):
        release = _release(items[begin], bonds[begin], starts, evening, queue, out)
        base = np.zeros(n)
        if release is not None:
            before = np.take(free, np.maximum(release - 1, 0) * n + columns)
            np.copyto(base, before, where=release > 0)
        target = base.copy()
        first = opened = 0 if release is None else int(release.min())
        for i in range(begin, end):
            target += efforts[i]
            where = evening[i] if i in asked else None
            first = find_evening(free, target - EPSILON_HOURS, first, where, out.unfinished[:, i])
            if nothing[i]:
                _done_without_hours(items[i], efforts[i], release, evening[i], evening)
                finished = np.cumsum(np.bincount(evening[i], minlength=count_e + 1)[:count_e])
                out.unfinished[:, i] = n - finished
            if i in wanted_times:
                out.times[i] = finish_times(evening[i], target, free, hours, starts, columns, within=nothing[i])
        if end < len(items) or out.left is not None:
            take_hours(free, target - base, base, opened, 0 if release is None else int(release.max()), first)
    queue.fill_in(out.last_time)
    if out.left is not None:
        wanted = efforts.sum(axis=0)
        for row, before, after in zip(out.left, total, free, strict=True):
            np.subtract(before, after, out=row)
            np.subtract(wanted, row, out=row)
            np.maximum(row, 0.0, out=row)
    return evening


@dataclass(frozen=True)
class _Bond:
    """What may keep an item waiting while hours go by."""

    release: int = 0
    jobs: frozenset[int] = frozenset()


def _bonds(items: tuple[WalkItem, ...]) -> list[_Bond]:
    bonds: list[_Bond] = []
    for item in items:
        before = [bonds[p] for p in item.after]
        bonds.append(
            _Bond(
                max([item.release, *(b.release for b in before)]),
                frozenset(item.after_jobs).union(*(b.jobs for b in before)),
            )
        )
    return bonds


def _runs(bonds: list[_Bond], nothing: list[bool]) -> list[int]:
    """For each item the first of its run: neighbours with the same bonds are set free together.

    An item that may have nothing left to do does not wait for its neighbours: it is a run of its own.
    """
    runs: list[int] = []
    for i, bond in enumerate(bonds):
        joins = i > 0 and bond == bonds[i - 1] and not nothing[i] and not nothing[i - 1]
        runs.append(runs[-1] if joins else i)
    return runs


def _done_without_hours(
    item: WalkItem,
    efforts: Floats,
    release: npt.NDArray[np.intp] | None,
    own: npt.NDArray[np.intp],
    evening: npt.NDArray[np.intp],
) -> None:
    """Where no work is left, an item is done on the evening on which it is open, whether hours are free or not."""
    free = np.flatnonzero(efforts <= EPSILON_HOURS)
    own[free] = 0 if release is None else release[free]
    for p in item.after:
        own[free] = np.maximum(own[free], evening[p][free])


def _release(
    item: WalkItem, bond: _Bond, starts: Floats, evening: npt.NDArray[np.intp], queue: JobQueue, out: Walked
) -> npt.NDArray[np.intp] | None:
    """(N,) first evening index at which a run may be worked, E for never; None where nothing holds it.

    The first item of a run knows all that its run waits for: what the others wait for comes before
    it or belongs to the run itself.
    """
    if not bond.jobs and not bond.release:
        return None
    count_e = len(starts)
    release = np.full(evening.shape[1], bond.release, dtype=np.intp)
    if bond.jobs:
        queue.fill_in(out.last_time)
        ends = queue.end[sorted(bond.jobs)].max(axis=0)
        np.maximum(release, np.searchsorted(starts, ends, side="left"), out=release)
    for p in item.after:
        np.maximum(release, evening[p], out=release)
    return np.minimum(release, count_e)
