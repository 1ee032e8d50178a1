# SPDX-License-Identifier: GPL-3.0-or-later
"""A project on a given day, as the walk sees it: evenings to come, open items in order, jobs, gates."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from nightplan.engine import learning, order
from nightplan.engine.nights_clock import WorkClock, clock_of
from nightplan.engine.nights_hands import hands_of, hands_states, with_hands
from nightplan.engine.nights_hours import JobHours as JobHours
from nightplan.engine.nights_hours import job_hours as job_hours
from nightplan.engine.nights_running import runs_since, what_is_left
from nightplan.engine.queue import WalkJob
from nightplan.engine.state import ItemState, item_states, job_states, log_until, open_predecessors
from nightplan.engine.walk import Walked, WalkItem
from nightplan.evenings.dated import TAIL_WEEKS, USUAL_START, Calendar, Evening, calendar, hours_before
from nightplan.evenings.gates import GateMoment
from nightplan.evenings.zones import UTC
from nightplan.model.project import Job, Project, State
from nightplan.model.results import Learned

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class GateWork:
    """A gate and all that must be done by it: its own items and jobs and those of every earlier gate."""

    moment: GateMoment
    #: hours on the problem's time axis
    time: float
    #: positions of open items and indices of open jobs
    items: tuple[int, ...]
    jobs: tuple[int, ...]
    #: (E,) hours of each evening to come that lie before the gate
    hours: Floats
    #: something that is finished by now was finished after the gate
    missed: bool
    #: evening on which the last of its work was finished; None: some is left, or the log does not know
    finished_on: dt.date | None

    @property
    def work_left(self) -> bool:
        """Whether some of its work is still open."""
        return bool(self.items or self.jobs)

    def completion(self, walked: Walked) -> Floats:
        """(N,) times at which all its open work is done; inf beyond the horizon, −inf where none is left."""
        done = walked.last_time(self.items)
        latest = np.full(walked.job_end.shape[1], -np.inf) if done is None else done
        for j in self.jobs:
            latest = np.maximum(latest, walked.job_end[j])
        return latest


@dataclass(frozen=True)
class Problem:
    """Everything a walk needs; times are hours since ``zero``."""

    project: Project
    as_of: dt.date
    calendar: Calendar
    zero: dt.datetime
    #: every item, and the minutes that open jobs take of evenings (``engine.nights_hands``)
    states: dict[str, ItemState]
    #: a job that runs is given as what is left of it
    job_states: dict[str, tuple[Job, State, dt.date | None]]
    learned: Learned
    #: evenings still to come, E of them
    evenings: tuple[Evening, ...]
    #: names of the evenings' random streams
    evening_keys: tuple[str, ...]
    #: (E,) each
    starts: Floats
    hours: Floats
    chances: Floats
    #: open items in priority order, I of them
    items: tuple[str, ...]
    walk_items: tuple[WalkItem, ...]
    #: open jobs, predecessors first, J of them
    jobs: tuple[str, ...]
    walk_jobs: tuple[WalkJob, ...]
    gates: tuple[GateWork, ...]

    @property
    def switching_hours(self) -> float:
        """Hours lost each time work moves to another item within an evening."""
        return self.project.switching_minutes / 60.0

    def time(self, instant: dt.datetime) -> float:
        """An instant on the problem's axis: hours since ``zero``."""
        return (instant - self.zero).total_seconds() / 3600.0

    @cached_property
    def at_announcement(self) -> Problem:
        """The same project on the announcement day, nothing logged and nothing finished."""
        stages = tuple(
            s.but(items=tuple(i.but(state="open") if i.state == "done" else i for i in s.items))
            for s in self.project.stages
        )
        return problem(self.project.but(log=(), stages=stages), self.project.announced, self.calendar)

    def instant(self, time: float) -> dt.datetime:
        """A point of the axis as an instant, to the second."""
        return self.zero + dt.timedelta(seconds=round(time * 3600.0))


def problem(project: Project, as_of: dt.date, dated: Calendar | None = None) -> Problem:
    """Set up the walk for ``as_of``.

    The evening of ``as_of`` is still to come unless it is logged; an earlier one without an entry
    counts as not happened.

    Raises:
        BadInput: the project has no usable evening or an unknown zone.
    """
    dated = dated or calendar(project)
    logged = {entry.evening for entry in log_until(project, as_of)}
    evenings = tuple(e for e in dated.evenings if e.date >= as_of and e.date not in logged)
    zero = dt.datetime.combine(as_of, dt.time(), tzinfo=UTC)

    def axis(instant: dt.datetime) -> float:
        return (instant - zero).total_seconds() / 3600.0

    states = item_states(project, as_of)
    jobs = job_states(project, as_of)
    closed: dict[str, State] = {k: s.state for k, s in states.items()} | {k: s for k, (_, s, _) in jobs.items()}
    clocks = _clocks(project, dated, zero)
    running = {k: axis(since) for k, (job, state, _) in jobs.items() if state == "open" and (since := runs_since(job))}
    hands = hands_states({k: job for k, (job, state, _) in jobs.items() if state == "open"})
    # nothing holds up what runs already
    before = {k: frozenset() if k in running else p for k, p in open_predecessors(project, closed).items()}
    before = with_hands(before, hands) if hands else before
    states |= hands
    jobs |= {k: (what_is_left(jobs[k][0], clocks.get(jobs[k][0].machines), zero), *jobs[k][1:]) for k in running}
    moments = {g.id: g for g in dated.gates}
    tails = {k: _tail_hours(job, clocks) for k, (job, _, _) in jobs.items()}
    gate_of = {k: project.stage_of[k].gate for k in project.items} | {j.id: j.gate for j in project.jobs}
    gate_of |= {k: gate_of[told[0]] for k in hands if (told := hands_of(k))}
    # looking a job over comes before other work that is due at the same moment
    due = {k: axis(moments[gate_of[k]].instant) for k in [*hands, *project.items, *project.jobs_by_id] if k in before}
    in_order = order.priority(due, before, tails)
    open_items = tuple(k for k in in_order if k in states)
    open_jobs = tuple(k for k in in_order if k in jobs)
    place = {k: n for n, k in enumerate(open_items)}
    number = {k: n for n, k in enumerate(open_jobs)}
    # also through items: jobs that follow each other in any way never wait for one machine together
    earlier_jobs: dict[str, frozenset[str]] = {}
    for k in in_order:
        earlier_jobs[k] = frozenset(p for p in before[k] if p in number).union(*(earlier_jobs[p] for p in before[k]))
    machines: dict[str, int] = {}
    finished = _finished_days(states, jobs)
    last_happened = {k: axis(_end_of(day, project, dated)) for k, day in finished.items()}

    walk_items = tuple(
        WalkItem(
            tuple(sorted(place[p] for p in before[k] if p in place)),
            tuple(sorted(number[p] for p in before[k] if p in number)),
            _release(states[k].item.not_before, evenings),
        )
        for k in open_items
    )
    first_evening = axis(dated.evenings[0].start_at) if dated.evenings else 0.0
    walk_jobs = tuple(
        WalkJob(
            tuple(sorted(place[p] for p in before[k] if p in place)),
            tuple(sorted(number[p] for p in earlier_jobs[k])),
            machines.setdefault(jobs[k][0].machine, len(machines)),
            _ready(
                k,
                jobs,
                running,
                [last_happened.get(p, first_evening) for p in project.predecessors[k]] or [first_evening],
            ),
            tuple(machines.setdefault(m, len(machines)) for m in jobs[k][0].also_on or ()),
            clocks.get(jobs[k][0].machines),
        )
        for k in open_jobs
    )
    gates = []
    for moment in dated.gates:
        due_by = {g.id for g in dated.gates if g.instant <= moment.instant}
        mine = {k for k, gate in gate_of.items() if gate in due_by}
        open_ = any(k in place or k in number for k in mine)
        days = [day for k, day in finished.items() if k in mine]
        gates.append(
            GateWork(
                moment,
                axis(moment.instant),
                tuple(sorted(place[k] for k in mine if k in place)),
                tuple(sorted(number[k] for k in mine if k in number)),
                np.array([hours_before(e, moment) for e in evenings], dtype=np.float64),
                any(_after(moment, day, dated) for day in days),
                None if open_ else max(days, default=None),
            )
        )
    return Problem(
        project,
        as_of,
        dated,
        zero,
        states,
        jobs,
        learning.posterior(learning.finished_scores(states.values()), project.correlation),
        evenings,
        _evening_keys(evenings),
        np.array([axis(e.start_at) for e in evenings], dtype=np.float64),
        np.array([e.hours for e in evenings], dtype=np.float64),
        np.array([e.chance for e in evenings], dtype=np.float64),
        open_items,
        walk_items,
        open_jobs,
        walk_jobs,
        tuple(gates),
    )


def _clocks(project: Project, dated: Calendar, zero: dt.datetime) -> dict[tuple[str, ...], WorkClock]:
    """The clock of every set of machines that some job runs on, where it differs from the one on the wall."""
    if not project.machines and not any(job.also_on for job in project.jobs):
        return {}
    start = dt.datetime.combine(project.announced, dt.time(), tzinfo=dated.zone).astimezone(UTC)
    # what was announced today may run since last week
    first = min([start, zero, *(s for job in project.jobs if (s := runs_since(job)))]) - dt.timedelta(weeks=1)
    last = max([zero, *(g.instant for g in dated.gates)]) + dt.timedelta(weeks=TAIL_WEEKS + 1)
    clocks = {
        names: clock_of(project, names, dated.zone, zero, first, last) for names in {j.machines for j in project.jobs}
    }
    return {names: clock for names, clock in clocks.items() if clock is not None}


def _tail_hours(job: Job, clocks: dict[tuple[str, ...], WorkClock]) -> float:
    """Likely hours between start and end, by the clock on the wall."""
    hours, clock = job_hours(job).median, clocks.get(job.machines)
    return hours if clock is None or clock.rate <= 0 else hours / clock.rate


#: so much later than a job that runs (hours): enough to stand behind it
_BEHIND = 1e-6


def _ready(
    key: str, jobs: dict[str, tuple[Job, State, dt.date | None]], running: dict[str, float], after: list[float]
) -> float:
    """Not before this time: what is finished, and a job that runs on one of its machines already."""
    if key in running:
        return running[key]
    mine = {*jobs[key][0].machines}
    return max([*after, *(since + _BEHIND for k, since in running.items() if mine & {*jobs[k][0].machines})])


def _evening_keys(evenings: tuple[Evening, ...]) -> tuple[str, ...]:
    """One name for each evening: its date, and a number where a date has several.

    The weekly pattern's evening comes first, so that one more on its date leaves it its name.
    """
    seen: dict[dt.date, int] = {}
    keys = [""] * len(evenings)
    for n in sorted(range(len(evenings)), key=lambda n: (evenings[n].origin != "week", n)):
        date = evenings[n].date
        seen[date] = seen.get(date, 0) + 1
        keys[n] = f"{date}" if seen[date] == 1 else f"{date}#{seen[date]}"
    return tuple(keys)


def _release(not_before: dt.date | None, evenings: tuple[Evening, ...]) -> int:
    if not_before is None:
        return 0
    return next((n for n, e in enumerate(evenings) if e.date >= not_before), len(evenings))


def _finished_days(
    states: dict[str, ItemState], jobs: dict[str, tuple[Job, State, dt.date | None]]
) -> dict[str, dt.date]:
    """Evening on which each finished item and job was ticked off, where the log knows it."""
    days = {k: s.done_on for k, s in states.items() if s.state == "done"}
    days |= {k: day for k, (_, state, day) in jobs.items() if state == "done"}
    return {k: day for k, day in days.items() if day is not None}


def _start_of(day: dt.date, dated: Calendar) -> dt.datetime:
    """Start of the evening of a date, in UTC; the usual one where the log has an evening that the calendar has not."""
    slots = dated.on(day)
    return slots[0].start_at if slots else dt.datetime.combine(day, USUAL_START, tzinfo=dated.zone).astimezone(UTC)


def _end_of(day: dt.date, project: Project, dated: Calendar) -> dt.datetime:
    """When the work of a logged evening ended."""
    entry = project.log_by_date.get(day)
    return _start_of(day, dated) + dt.timedelta(hours=entry.hours if entry else 0.0)


def _after(gate: GateMoment, day: dt.date, dated: Calendar) -> bool:
    """Whether the evening of a date came after the gate."""
    return day > gate.date if gate.whole_evening else _start_of(day, dated) >= gate.instant
