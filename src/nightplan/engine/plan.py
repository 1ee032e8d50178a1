# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan: the walk with likely hours over the evenings that are planned on."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nightplan.engine.effort import likely_left
from nightplan.engine.nights_hands import hands_of
from nightplan.engine.problem import GateWork, Problem, job_hours, problem
from nightplan.engine.state import log_until
from nightplan.engine.walk import Walked, walk
from nightplan.evenings.dated import USUAL_START, Evening
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import (
    EveningStatus,
    Plan,
    PlannedEvening,
    PlannedGate,
    PlannedHands,
    PlannedItem,
    PlannedJob,
    PlannedWork,
)

Floats = npt.NDArray[np.float64]

#: a finish in the very second of the gate is in time (hours)
_GRACE = 1e-6


@dataclass(frozen=True)
class _Walker:
    """The plan's walk over a chosen set of evenings."""

    setup: Problem
    efforts: Floats
    durations: Floats

    def over(self, used: npt.NDArray[np.bool_]) -> Walked:
        return walk(
            (used * self.setup.hours)[:, None],
            self.setup.starts,
            self.efforts,
            self.setup.walk_items,
            self.setup.walk_jobs,
            self.durations,
            switching_hours=self.setup.switching_hours,
            record=True,
        )

    def finish(self, walked: Walked, gate: GateWork) -> float:
        """When all work of the gate is done; −inf where it is done already."""
        times = [float(walked.times[i][0]) for i in gate.items] + [float(walked.job_end[j, 0]) for j in gate.jobs]
        return max(times, default=-np.inf)

    def meets(self, walked: Walked, gate: GateWork) -> bool:
        return not gate.missed and self.finish(walked, gate) <= gate.time + _GRACE


def plan(project: Project, as_of: dt.date) -> Plan:
    """Which evening does what.

    Sure evenings (chance ≥ 0.75) are planned on; the others stay as buffer. Where that misses a
    gate, maybe evenings are drawn in, earliest first, until it is met. Where even all of them miss
    it, the plan runs on and says by how much.

    Raises:
        BadInput: no usable evening, an unknown zone.
    """
    setup = problem(project, as_of)
    walker = _Walker(
        setup,
        # the artist's own numbers, not shifted by what was learned: the plan is theirs
        np.array([[likely_left(setup.states[k], 0.0, project.correlation)] for k in setup.items]).reshape(-1, 1),
        np.array([[job_hours(setup.job_states[k][0]).median] for k in setup.jobs]).reshape(-1, 1),
    )
    used, relied = _choose(walker)
    walked = walker.over(used)
    return Plan(
        as_of,
        (*_past(setup), *_coming(setup, walked, relied)),
        _items(setup, walked, walker.efforts),
        _jobs(setup, walked),
        tuple(_gate(setup, walker, walked, gate) for gate in setup.gates),
        tuple(setup.evenings[e].date for e in np.flatnonzero(relied)),
    )


def _choose(walker: _Walker) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """(E,) evenings that the plan uses, and those among them that it had to draw in."""
    setup = walker.setup
    used = setup.chances >= PLANNED_CHANCE
    relied = np.zeros(len(used), dtype=bool)
    for gate in setup.gates:
        if walker.meets(walker.over(used | relied), gate):
            continue
        maybe = np.flatnonzero(~used & ~relied & (gate.hours > 0) & (setup.chances > 0))

        # one evening more never makes a gate later, so the least count is found by halving
        low, high = 1, len(maybe)
        while low < high:
            middle = (low + high) // 2
            if walker.meets(walker.over(used | _with_first(relied, maybe, middle)), gate):
                high = middle
            else:
                low = middle + 1
        if len(maybe):
            relied = _with_first(relied, maybe, low)
    return used | relied, relied


def _with_first(relied: npt.NDArray[np.bool_], maybe: npt.NDArray[np.intp], count: int) -> npt.NDArray[np.bool_]:
    drawn = relied.copy()
    drawn[maybe[:count]] = True
    return drawn


def _past(setup: Problem) -> list[PlannedEvening]:
    """Evenings before the day, and the logged one of the day itself."""
    entries = {e.evening: e for e in log_until(setup.project, setup.as_of)}
    rows = []
    seen: set[dt.date] = set()
    for e in setup.calendar.evenings:
        if e.date in seen or (e.date >= setup.as_of and e.date not in entries):
            continue
        seen.add(e.date)
        rows.append(_logged(setup, e.date, e.start, e.hours, e.chance))
    for t in setup.calendar.taken:
        if t.date not in seen and t.date in entries:
            seen.add(t.date)
            rows.append(_logged(setup, t.date, t.start, t.hours, 0.0))
        elif t.cause == "lost" and t.date not in seen:
            seen.add(t.date)
            rows.append(PlannedEvening(t.date, t.start, t.hours, 0.0, "lost", (), t.why))
    for day in sorted(set(entries) - seen):
        rows.append(_logged(setup, day, USUAL_START, entries[day].hours, 1.0))
    return sorted(rows, key=lambda row: (row.date, row.start))


def _logged(setup: Problem, day: dt.date, start: dt.time, hours: float, chance: float) -> PlannedEvening:
    entry = setup.project.log_by_date.get(day)
    if entry is None or entry.evening > setup.as_of:
        return PlannedEvening(day, start, hours, chance, "unlogged", ())
    if not entry.happened:
        return PlannedEvening(day, start, hours, chance, "lost", (), entry.note)
    work = tuple(PlannedWork(w.item, w.hours) for w in entry.work if w.hours > 0)
    return PlannedEvening(day, start, entry.hours, chance, "worked", work)


def _coming(setup: Problem, walked: Walked, relied: npt.NDArray[np.bool_]) -> list[PlannedEvening]:
    assert walked.given is not None
    rows = []
    for e, evening in enumerate(setup.evenings):
        given = walked.given[e]
        work, hands = [], []
        for i in np.flatnonzero(given > 0):
            told = hands_of(setup.items[i])
            if told is None:
                work.append(PlannedWork(setup.items[i], float(given[i])))
            else:
                hands.append(PlannedHands(*told, float(given[i])))
        status = _status(evening, bool(work or hands), bool(relied[e]))
        if status == "late" and not work and not hands:
            continue
        rows.append(
            PlannedEvening(
                evening.date, evening.start, evening.hours, evening.chance, status, tuple(work), hands=tuple(hands)
            )
        )
    return rows


def _status(evening: Evening, work: bool, relied: bool) -> EveningStatus:
    if evening.tail:
        return "late"
    if relied and work:
        return "relied"
    return "planned" if work else "buffer"


def _items(setup: Problem, walked: Walked, efforts: Floats) -> tuple[PlannedItem, ...]:
    place = {k: n for n, k in enumerate(setup.items)}
    rows = []
    for key, state in setup.states.items():
        if state.state == "cut" or hands_of(key):
            continue
        stage = setup.project.stage_of[key].id
        if state.state == "done":
            rows.append(PlannedItem(key, stage, state.done_on, 0.0, state.spent))
            continue
        i = place[key]
        done = np.flatnonzero(walked.unfinished[:, i] == 0)
        finish = setup.evenings[done[0]].date if done.size else None
        rows.append(PlannedItem(key, stage, finish, float(efforts[i, 0]), state.spent))
    return tuple(rows)


def _jobs(setup: Problem, walked: Walked) -> tuple[PlannedJob, ...]:
    def instant(time: float) -> dt.datetime | None:
        return setup.instant(time) if np.isfinite(time) else None

    return tuple(
        PlannedJob(key, instant(walked.job_start[j, 0]), instant(walked.job_end[j, 0]))
        for j, key in enumerate(setup.jobs)
    )


def _gate(setup: Problem, walker: _Walker, walked: Walked, gate: GateWork) -> PlannedGate:
    assert walked.given is not None
    finish = walker.finish(walked, gate)
    mine = list(gate.items)
    short = 0.0
    met = walker.meets(walked, gate)
    if not met and mine:
        # what was given in an evening that the gate cuts counts as far as the evening went before it
        share = np.divide(gate.hours, setup.hours, out=np.zeros_like(setup.hours), where=setup.hours > 0)
        in_time = float((walked.given[:, mine].sum(axis=1) * np.minimum(share, 1.0)).sum())
        short = max(0.0, float(walker.efforts[mine].sum()) - in_time)
    date = setup.calendar.evening_date(setup.instant(finish)) if np.isfinite(finish) else gate.finished_on
    return PlannedGate(gate.moment.id, gate.moment.instant, met, short, date)
