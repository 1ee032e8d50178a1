# SPDX-License-Identifier: GPL-3.0-or-later
"""One set of random numbers for the project as it stands and for every change of it.

Streams belong to things (``engine.draws``), so a changed project is walked with numbers that are
drawn once and kept. What comes out is the same, to the last future, as a fresh forecast of the
changed project.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from nightplan.engine.draws import stream
from nightplan.engine.effort import hours_left
from nightplan.engine.forecast import CHUNK
from nightplan.engine.nights_hours import HOURS_KEYS
from nightplan.engine.problem import GateWork, Problem, job_hours, problem
from nightplan.engine.queue import JobQueue, WalkJob
from nightplan.engine.recovery_moves import apply_moves
from nightplan.engine.walk import Walked, walk
from nightplan.model.project import Project
from nightplan.model.results_recovery import EveningAdded, EveningSet, GateMoved, Move

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

#: hours won are measured over the first so many futures; odds over all of them
HOURS_FUTURES = 2_500
#: a finish in the very second of the gate is in time (hours), as in the forecast
_GRACE = 1e-6


@dataclass(frozen=True)
class Outcome:
    """N futures of one project, G gates."""

    #: (G, N) whether the gate is met
    meets: Bools
    #: (n,) evening hours to spare at one gate, negative where it is missed; the first n futures
    spare: Floats


class Draws:
    """Numbers drawn once for a project and every change of it."""

    def __init__(self, project: Project, as_of: dt.date, futures: int, seed: int) -> None:
        self.project, self.as_of, self.futures, self.seed = project, as_of, futures, seed
        self.setup = problem(project, as_of)
        learned = self.setup.learned
        self._factor = learned.mean + learned.sd * stream(seed, "factor").standard_normal(futures)
        self._effort: dict[str, Floats] = {}
        self._evening: dict[str, Floats] = {}
        self._scores: dict[str, tuple[Floats, Floats]] = {}
        self._hours: dict[tuple[object, ...], Floats] = {}
        self._happens: dict[tuple[str, float], Bools] = {}

    def changed(self, moves: tuple[Move, ...]) -> Problem:
        """The walk of the project with moves made."""
        if not moves:
            return self.setup
        dated = any(isinstance(c, EveningSet | EveningAdded | GateMoved) for m in moves for c in m.changes)
        return problem(apply_moves(self.project, moves), self.as_of, None if dated else self.setup.calendar)

    def effort(self, setup: Problem, key: str) -> Floats:
        """(N,) hours left of an item."""
        if key not in self._effort:
            own = stream(self.seed, "item", key).standard_normal(self.futures)
            self._effort[key] = hours_left(setup.states[key], self._factor, own, setup.project.correlation)
        return self._effort[key]

    def happens(self, key: str, chance: float) -> Bools:
        """(N,) whether an evening happens; ``chance`` 0 to 1, the same draws for every chance."""
        if (key, chance) not in self._happens:
            if key not in self._evening:
                self._evening[key] = stream(self.seed, "evening", key).random(self.futures)
            self._happens[key, chance] = self._evening[key] < chance
        return self._happens[key, chance]

    def duration(self, setup: Problem, key: str) -> Floats:
        """(N,) hours of a job by its machine's clock."""
        job = setup.job_states[key][0]
        name = (key, *(str(getattr(job, k)) for k in HOURS_KEYS))
        if name not in self._hours:
            if key not in self._scores:
                z = stream(self.seed, "job", key).standard_normal(2 * self.futures).reshape(self.futures, 2).T
                self._scores[key] = np.ascontiguousarray(z), stream(self.seed, "repeat", key).random(self.futures)
            self._hours[name] = job_hours(job).hours(*self._scores[key])
        return self._hours[name]

    # --- walks ------------------------------------------------------------------------------------

    def outcome(self, setup: Problem, spare_gate: str, sure: Bools | None = None, lost: Bools | None = None) -> Outcome:
        """All futures, with hours to spare for the first :data:`HOURS_FUTURES` of them.

        Args:
            sure: (G, N) futures that are certain to meet the gates, so that they need no walk.
            lost: (G, N) futures that are certain to miss them.
        """
        count = len(setup.gates)
        gate = next(g for g in setup.gates if g.moment.id == spare_gate)
        n = min(HOURS_FUTURES, self.futures)
        meets = np.zeros((count, self.futures), dtype=bool) if sure is None else sure.copy()
        walked, hours = self._walk(setup, slice(0, n), len(setup.evenings), False)
        done = _done(setup, walked)
        meets[:, :n] = _met(setup, done)
        spare = _spare(setup, gate, done[setup.gates.index(gate)], hours)
        known = meets if lost is None else meets | lost
        columns = n + np.flatnonzero(~known[:, n:].all(axis=0))
        if columns.size:
            meets[:, columns] = self.meets(setup, columns, relaxed=False)
        return Outcome(meets, spare)

    def meets(self, setup: Problem, columns: npt.NDArray[np.intp], *, relaxed: bool) -> Bools:
        """(G, n) whether the gates are met in some of the futures.

        Args:
            columns: (n,) which futures.
            relaxed: no queue at the machines and no minutes lost by switching.
        """
        out = np.empty((len(setup.gates), columns.size), dtype=bool)
        # evenings after the last gate give dates to late finishes; here only "in time" is asked
        last = max((g.time for g in setup.gates), default=0.0)
        evenings = int(np.searchsorted(setup.starts, last, side="right"))
        clashes = [np.zeros(0, dtype=np.intp)]
        for begin in range(0, columns.size, CHUNK):
            part = columns[begin : begin + CHUNK]
            whole = part[-1] - part[0] + 1 == part.size
            chosen = slice(int(part[0]), int(part[-1]) + 1) if whole else part
            walked, _ = self._walk(setup, chosen, evenings, relaxed, sums_first=True)
            out[:, begin : begin + part.size] = _met(setup, _done(setup, walked))
            clashes.append(begin + walked.clashes)
        # few in each chunk: by evening they are walked together
        left = np.concatenate(clashes)
        for begin in range(0, left.size, CHUNK):
            part = left[begin : begin + CHUNK]
            walked, _ = self._walk(setup, columns[part], evenings, relaxed)
            out[:, part] = _met(setup, _done(setup, walked))
        return out

    def _walk(
        self,
        setup: Problem,
        chosen: slice | npt.NDArray[np.intp],
        evenings: int,
        relaxed: bool,
        *,
        sums_first: bool = False,
    ) -> tuple[Walked, Floats]:
        """The walk of some futures and (E, n) hours that the evenings give; ``sums_first`` leaves its clashes."""
        efforts = _rows([self.effort(setup, k)[chosen] for k in setup.items], chosen, self.futures)
        durations = _rows([self.duration(setup, k)[chosen] for k in setup.jobs], chosen, self.futures)
        hours = np.empty((evenings, efforts.shape[1]))
        for e in range(evenings):
            there = self.happens(setup.evening_keys[e], float(setup.chances[e]))
            np.multiply(there[chosen], setup.hours[e], out=hours[e])
        walked = walk(
            hours,
            setup.starts[:evenings],
            efforts,
            setup.walk_items,
            alone(setup.walk_jobs) if relaxed else setup.walk_jobs,
            durations,
            groups=tuple(g.items for g in setup.gates),
            switching_hours=0.0 if relaxed else setup.switching_hours,
            sums_first=sums_first,
            leave_clashes=True,
        )
        return walked, hours

    def wanted(self, setup: Problem) -> Floats:
        """(G, N) hours that the open items of each gate want."""
        total = np.zeros((len(setup.gates), self.futures))
        for g, gate in enumerate(setup.gates):
            for i in gate.items:
                total[g] += self.effort(setup, setup.items[i])
        return total


def alone(jobs: tuple[WalkJob, ...]) -> tuple[WalkJob, ...]:
    """The jobs, each on a machine of its own."""
    return tuple(replace(job, machine=n, also=()) for n, job in enumerate(jobs))


def queues(setup: Problem) -> bool:
    """Whether two jobs can wait for the same machine."""
    count = len(setup.walk_jobs)
    return JobQueue(setup.walk_jobs, *(np.full((count, 1), np.inf) for _ in range(3))).meet


def _rows(rows: list[Floats], chosen: slice | npt.NDArray[np.intp], futures: int) -> Floats:
    n = len(range(*chosen.indices(futures))) if isinstance(chosen, slice) else chosen.size
    return np.array(rows).reshape(len(rows), n)


def _done(setup: Problem, walked: Walked) -> Floats:
    """(G, n) completion times."""
    done = np.empty((len(setup.gates), walked.job_start.shape[1]))
    for g, gate in enumerate(setup.gates):
        done[g] = np.inf if gate.missed else gate.completion(walked)
    return done


def _met(setup: Problem, done: Floats) -> Bools:
    times = np.array([g.time for g in setup.gates])
    met: Bools = done <= times[:, None] + _GRACE
    return met


def _spare(setup: Problem, gate: GateWork, done: Floats, hours: Floats) -> Floats:
    """(n,) evening hours between the finish and the gate; negative: hours that lie between the gate and the finish.

    A finish beyond the eight weeks after the last gate counts as their end.
    """
    if not hours.shape[0]:
        return np.zeros(hours.shape[1])
    # row by row: numpy's own running sum down the columns is several times slower
    given = np.zeros((hours.shape[0] + 1, hours.shape[1]))
    for e, row in enumerate(hours):
        np.add(given[e], row, out=given[e + 1])
    share = np.divide(gate.hours, setup.hours, out=np.zeros_like(setup.hours), where=setup.hours > 0)
    before_gate: Floats = share @ hours
    # evenings that began before the finish, the last of them as far as it had gone
    begun = np.searchsorted(setup.starts, done, side="left")
    columns = np.arange(done.size)
    last = np.maximum(begun - 1, 0)
    gone = np.where(begun > 0, np.minimum(done - setup.starts[last], hours[last, columns]), 0.0)
    spare: Floats = before_gate - (given[last, columns] + gone)
    return spare
