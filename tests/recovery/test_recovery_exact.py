# SPDX-License-Identifier: GPL-3.0-or-later
"""The combination is the cheapest there is: against trying everything, and against OR-Tools."""

from __future__ import annotations

import random
import warnings

import pytest
from recovery_cases import ANNOUNCED, any_project, piece

from nightplan.engine import recovery_search as search
from nightplan.engine.forecast import forecast
from nightplan.engine.recovery import Ways
from nightplan.engine.recovery_moves import apply_moves
from nightplan.model.results_recovery import ItemCut, Move

FUTURES = 300


@pytest.mark.parametrize("seed", range(40))
def test_the_combination_is_what_trying_everything_finds(seed: int) -> None:
    """Outside check: fresh forecasts of every combination in the declared order, on random small projects."""
    project = any_project(seed)
    if project is None:
        pytest.skip("the dice made a circle")
    ways = Ways(project, ANNOUNCED, futures=FUTURES)
    offered = ways.moves()
    found = ways.recover(moves=random.Random(seed).sample(offered, min(6, len(offered))))
    moves = [v.move for v in found.moves if v.move.id in found.considered]
    assert tuple(m.id for m in moves) == found.considered
    for mask in search.order(moves):
        chosen = [m for n, m in enumerate(moves) if mask >> n & 1]
        fresh = forecast(apply_moves(project, chosen), ANNOUNCED, futures=FUTURES)
        odds = {g.id: g.odds for g in fresh.gates}
        if ways.enough(odds):
            assert found.reached
            assert [m.id for m in found.combination.moves] == [m.id for m in chosen]
            assert found.combination.odds == odds
            break
    else:
        assert not found.reached


@pytest.mark.parametrize("seed", range(8))
def test_where_none_reaches_it_the_nearest_is_named(seed: int) -> None:
    project = any_project(100 + seed)
    if project is None:
        pytest.skip("the dice made a circle")
    ways = Ways(project, ANNOUNCED, futures=FUTURES, target=0.9999)
    found = ways.recover(moves=[m for m in ways.moves() if m.kind in ("maybe", "add", "leave-out")][:5])
    if found.reached:
        pytest.skip("even this was reached")
    moves = [v.move for v in found.moves if v.move.id in found.considered]
    best = 0.0
    for mask in search.maximal(search.order(moves)):
        chosen = [m for n, m in enumerate(moves) if mask >> n & 1]
        fresh = forecast(apply_moves(project, chosen), ANNOUNCED, futures=FUTURES)
        best = max(best, min(g.odds for g in fresh.gates if g.id in found.gates))
    assert min(found.combination.odds[g] for g in found.gates) == best


class _Table:
    """An oracle that knows a value for every set; ``monotone`` tables may carry what fails."""

    def __init__(self, values: list[float], target: float, monotone: bool) -> None:
        self.values, self.target, self.monotone, self.asked = values, target, monotone, 0

    def reaches(self, mask: int) -> bool:
        self.asked += 1
        return self.values[mask] >= self.target

    def hopeless(self, mask: int) -> bool:
        return False

    def carries(self, small: int, big: int) -> bool:
        return self.monotone

    def guess(self, mask: int) -> float:
        # deliberately poor: the answer must not hang on it
        return self.values[mask ^ 1] - self.target


def _random_moves(r: random.Random, count: int) -> list[Move]:
    pairs = [(a, b) for a in range(count) for b in range(a) if r.random() < 0.15]
    moves = []
    for n in range(count):
        forbids = frozenset(f"m{a if b == n else b}" for a, b in pairs if n in (a, b))
        cut = (ItemCut(f"i{n}"),) if r.random() < 0.4 else ()
        needs = frozenset({f"i{r.randrange(count)}"}) if r.random() < 0.15 else frozenset()
        moves.append(Move(f"m{n}", "leave-out", f"m{n}", "", r.randint(1, 300), cut, forbids, needs - {f"i{n}"}))
    return moves


@pytest.mark.parametrize("monotone", [True, False])
@pytest.mark.parametrize("seed", range(12))
def test_same_cost_as_or_tools(seed: int, monotone: bool) -> None:
    """Outside check: CP-SAT (OR-Tools) picks the cheapest allowed set of a random table, same cost each time."""
    with warnings.catch_warnings():
        # its protocol buffers warn about themselves
        warnings.simplefilter("ignore")
        from ortools.sat.python import cp_model
    r = random.Random(seed)
    count = r.randint(3, 8)
    moves = _random_moves(r, count)
    if monotone:
        weights = [r.random() for _ in range(count)]
        values = [sum(w for n, w in enumerate(weights) if mask >> n & 1) for mask in range(1 << count)]
    else:
        values = [r.random() for _ in range(1 << count)]
    target = sorted(values)[int(len(values) * r.choice([0.5, 0.8, 0.97]))]

    found = search.cheapest(search.order(moves), _Table(values, target, monotone))

    model = cp_model.CpModel()
    take = [model.new_bool_var(m.id) for m in moves]
    for n, move in enumerate(moves):
        for other in move.forbids:
            model.add_at_most_one([take[n], take[int(other[1:])]])
        for needed in move.only_with:
            givers = [take[k] for k, m in enumerate(moves) if needed in m.cut_items]
            model.add_bool_or([*givers, ~take[n]])
    enough = [[mask >> n & 1 for n in range(count)] for mask in range(1 << count) if values[mask] >= target]
    model.add_allowed_assignments(take, enough)
    model.minimize(sum(m.cost_minutes * t for m, t in zip(moves, take, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if found is None:
        assert status == cp_model.INFEASIBLE
    else:
        assert status == cp_model.OPTIMAL
        assert sum(m.cost_minutes for n, m in enumerate(moves) if found >> n & 1) == solver.objective_value


def test_the_real_piece_against_or_tools() -> None:
    """Outside check: the odds of every combination of eight real moves as a table, CP-SAT picks the cheapest."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from ortools.sat.python import cp_model
    ways = Ways(piece(1.1), ANNOUNCED, futures=2_000)
    wanted = ("maybe:all", "lengthen:30", "lengthen:60", "leave-out:all:tertiary", "leave-out:plants")
    offered = {m.id: m for m in ways.moves()}
    more = [m for m in offered.values() if m.kind == "add"][:2]
    more += [m for m in offered.values() if m.kind == "lock-later"][-1:]
    found = ways.recover(moves=[*(offered[k] for k in wanted), *more])
    assert found.reached
    assert found.combination.moves
    moves = [v.move for v in found.moves]
    assert len(moves) == 8
    allowed = search.order(moves)
    enough = []
    for mask in allowed:
        chosen = [m for n, m in enumerate(moves) if mask >> n & 1]
        if ways.enough(ways.together(chosen).odds):
            enough.append([mask >> n & 1 for n in range(len(moves))])
    model = cp_model.CpModel()
    take = [model.new_bool_var(m.id) for m in moves]
    model.add_allowed_assignments(take, enough)
    model.minimize(sum(m.cost_minutes * t for m, t in zip(moves, take, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    assert found.combination.cost_minutes == solver.objective_value


def test_order_is_cost_then_count_then_place() -> None:
    moves = [Move(k, "add", k, "", cost, ()) for k, cost in (("a", 30), ("b", 30), ("c", 60), ("d", 60))]
    names = ["".join(m.id for n, m in enumerate(moves) if mask >> n & 1) for mask in search.order(moves)]
    assert names[:7] == ["", "a", "b", "c", "d", "ab", "ac"]


def test_more_than_twelve_moves_are_refused() -> None:
    moves = [Move(f"m{n}", "add", "", "", 1, ()) for n in range(13)]
    with pytest.raises(ValueError, match="13 moves"):
        search.order(moves)
