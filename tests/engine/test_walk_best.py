# SPDX-License-Identifier: GPL-3.0-or-later
"""The walk has the least largest lateness: against OR-Tools and published examples.

Evenings of one hour follow each other without a pause, so that hours of work are hours of time.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import pytest
from engine_cases import table
from ortools.sat.python import cp_model

from nightplan.engine import order
from nightplan.engine.walk import WalkItem, walk

INSTANCES = 500


@dataclass(frozen=True)
class Instance:
    """1|r_j, prec, pmtn|L_max in whole hours."""

    work: tuple[int, ...]
    release: tuple[int, ...]
    due: tuple[int, ...]
    before: tuple[tuple[int, ...], ...]

    @property
    def horizon(self) -> int:
        return max(self.release) + sum(self.work)


def walked(case: Instance, in_order: list[int] | None = None) -> np.ndarray:
    """(n,) finish times by the walk, in the engine's own priority order unless one is given."""
    keys = [str(n) for n in range(len(case.work))]
    if in_order is None:
        due = {k: float(case.due[n]) for n, k in enumerate(keys)}
        before = {k: frozenset(keys[p] for p in case.before[n]) for n, k in enumerate(keys)}
        in_order = [int(k) for k in order.priority(due, before, {})]
    place = {n: at for at, n in enumerate(in_order)}
    items = tuple(WalkItem(tuple(sorted(place[p] for p in case.before[n])), (), case.release[n]) for n in in_order)
    efforts = np.array([[float(case.work[n])] for n in in_order])
    hours = np.ones((case.horizon, 1))
    every = tuple((at,) for at in range(len(items)))
    found = walk(hours, np.arange(case.horizon, dtype=float), efforts, items, groups=every)
    slow = walk(hours, np.arange(case.horizon, dtype=float), efforts, items, use_sums=False)
    times = np.array([found.times[place[n]][0] for n in range(len(keys))])
    np.testing.assert_allclose(times, [slow.times[place[n]][0] for n in range(len(keys))], rtol=0, atol=1e-9)
    return times


def best_lateness(case: Instance) -> int:
    """Least L_max of the preemptive problem in hours, by CP-SAT: every hour of work has a slot of its own."""
    model = cp_model.CpModel()
    slots = [
        [model.new_int_var(case.release[n], case.horizon - 1, "") for _ in range(p)] for n, p in enumerate(case.work)
    ]
    model.add_all_different(itertools.chain.from_iterable(slots))
    late = model.new_int_var(-1000, 1000, "")
    for n, mine in enumerate(slots):
        for one, two in itertools.pairwise(mine):
            model.add(two > one)
        for p in case.before[n]:
            model.add(mine[0] > slots[p][-1])
        model.add(late >= mine[-1] + 1 - case.due[n])
    model.minimize(late)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def _random(rng: np.random.Generator) -> Instance:
    n = int(rng.integers(3, 7))
    work = rng.integers(1, 4, n)
    release = rng.integers(0, 8, n) * (rng.random(n) < 0.6)
    due = rng.integers(1, int(work.sum()) + 4, n)
    # an order that is neither the artist's nor that of the due dates
    hidden = rng.permutation(n)
    before: list[list[int]] = [[] for _ in range(n)]
    for i, j in itertools.combinations(range(n), 2):
        if rng.random() < 0.25:
            before[hidden[j]].append(int(hidden[i]))
    return Instance(
        tuple(map(int, work)), tuple(map(int, release)), tuple(map(int, due)), tuple(tuple(sorted(b)) for b in before)
    )


@pytest.mark.parametrize("block", range(10))
def test_no_gap_to_or_tools(block: int) -> None:
    # source: OR-Tools CP-SAT, proven optimum of 1|r_j, prec, pmtn|L_max; 500 random instances, no gap
    # (theory: Baker, Lawler, Lenstra, Rinnooy Kan, Operations Research 31, 1983)
    rng = np.random.default_rng([20, block])
    interesting = 0
    for _ in range(INSTANCES // 10):
        case = _random(rng)
        times = walked(case)
        assert times.max() <= case.horizon
        late = int(np.round(times - case.due).max())
        assert late == best_lateness(case), case
        # how often the artist's order would have been worse: the check must be able to fail
        naive = walked(case, _by_hand(case))
        interesting += int(np.round(naive - case.due).max()) > late
    assert interesting >= 5


def _by_hand(case: Instance) -> list[int]:
    """The given order, made possible: predecessors first."""
    keys = [str(n) for n in range(len(case.work))]
    before = {k: frozenset(keys[p] for p in case.before[n]) for n, k in enumerate(keys)}
    return [int(k) for k in order.topological(dict.fromkeys(keys, 0.0), before)]


def _published(name: str) -> tuple[Instance, list[str]]:
    rows = [r for r in table("single_machine_instances") if r["instance"] == name]
    names = [r["job"] for r in rows]
    # the predecessors of ldf_eight are not in the table; its printed order is that of the due dates
    before = tuple(tuple(names.index(p) for p in r["predecessors"].split() if p in names) for r in rows)
    shift = -min(0, *(int(r["d"]) for r in rows))
    due = tuple(int(r["d"]) + shift for r in rows)
    case = Instance(tuple(int(r["p"]) for r in rows), tuple(int(r["r"]) for r in rows), due, before)
    return case, [str(shift), *names]


EXPECTED = [
    # Non-preemptive rows only where earliest due date is optimal without preemption (no release dates).
    ("pinedo_bnb", "1|r_j,pmtn|Lmax"),
    ("edd_six", "1||Lmax"),
    ("buttazzo_edd1", "1||Lmax"),
    ("buttazzo_edd2", "1||Lmax"),
    ("buttazzo_ldf", "1|prec|Lmax"),
    ("ldf_eight", "1|prec|Lmax"),
    ("edf_star_seven", "1|r_j,prec,pmtn|Lmax"),
    ("carlier_seven_d_is_minus_q", "1|r_j,pmtn|Lmax"),
]


@pytest.mark.parametrize(("name", "kind"), EXPECTED)
def test_published_instances(name: str, kind: str) -> None:
    # sources: M. Pinedo, Scheduling; G. Buttazzo, Hard Real-Time Computing Systems (tables from memory);
    # J. Carlier's seven jobs with due date −tail (from memory); see tests/data/single_machine_expected.csv
    want = next(
        r["expected_Lmax"] for r in table("single_machine_expected") if r["instance"] == name and r["problem"] == kind
    )
    case, (shift, *_) = _published(name)
    late = walked(case) - case.due + int(shift)
    assert late.max() == pytest.approx(float(want), abs=1e-9)


def test_bottleneck_seven() -> None:
    # source: tests/data/single_machine_expected.csv: the preemptive optimum is 9 as well
    case, _ = _published("bottleneck_seven")
    assert (walked(case) - case.due).max() == pytest.approx(9)


def test_pinedo_segments() -> None:
    # source: M. Pinedo, Scheduling, preemptive earliest due date: 1[0-4] 3[4-5] 4[5-10] 3[10-15] 2[15-17]
    case, _ = _published("pinedo_bnb")
    np.testing.assert_allclose(walked(case), [4, 17, 15, 10])


def test_given_order_edd_six() -> None:
    # source: printed lateness −8 −5 −4 1 7 4 of the order 3,2,5,4,1,6
    case, _ = _published("edd_six")
    given = [2, 1, 4, 3, 0, 5]
    late = walked(case, given) - case.due
    np.testing.assert_allclose(late[given], [-8, -5, -4, 1, 7, 4])


def test_ldf_beats_due_dates_without_successors() -> None:
    # source: Buttazzo's precedence example (from memory): ignoring what waits gives 1, the best is 0
    case, _ = _published("buttazzo_ldf")
    assert (walked(case, [0, 2, 1, 3, 4, 5]) - case.due).max() == pytest.approx(1)
    assert (walked(case) - case.due).max() == pytest.approx(0)


def test_ties_keep_the_artists_order() -> None:
    # source: design.md, The walk: ties in the artist's order
    due = dict.fromkeys("dbca", 5.0)
    assert order.priority(due, {}, {}) == ["d", "b", "c", "a"]
    assert order.priority(due, {"d": frozenset("a")}, {}) == ["b", "c", "a", "d"]


def test_what_a_job_waits_for_is_due_before_the_job_starts() -> None:
    # source: design.md, The walk: no later than what waits for it
    due = {"other": 9.0, "rig": 30.0, "render": 12.0}
    before = {"render": frozenset({"rig"})}
    assert order.modified_due(due, before, {"render": 4.0})["rig"] == 8.0
    assert [k for k in order.priority(due, before, {"render": 4.0}) if k != "render"] == ["rig", "other"]
