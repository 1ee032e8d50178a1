# SPDX-License-Identifier: GPL-3.0-or-later
"""The ways back: every move valued by the same futures, and the cheapest combination that is enough."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from nightplan.engine import recovery_search as search
from nightplan.engine.forecast import FUTURES, SEED, Progress, check_draws
from nightplan.engine.problem import Problem
from nightplan.engine.recovery_cuts import work_moves
from nightplan.engine.recovery_evenings import evening_moves
from nightplan.engine.recovery_futures import Draws, Outcome
from nightplan.engine.recovery_oracle import FuturesOracle
from nightplan.engine.recovery_words import in_100, join
from nightplan.evenings.zones import to_utc
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results_recovery import Move, MoveKind, Recovery, Together, ValuedMove
from nightplan.speech import tr

#: moves that give no evening hours are shown only where they can be seen in the odds
_QUIET: tuple[MoveKind, ...] = ("order", "overlap", "cheaper-job", "lock-later")
_SEEN = 0.005
_ROUNDING_HOURS = 1e-9
#: the strongest of each of these kinds is always among the twelve
_FAMILIES: tuple[MoveKind, ...] = ("maybe", "lengthen", "leave-out", "lock-later")


class Ways:
    """The ways back of one project on one day; keeps the futures for what the artist tries next.

    Args:
        gates: ids of the gates that must reach the target; None: all that have work to do and can
            still be met.
        target: asked odds; None: the project's own.
        include_primary: offer to leave out primary items as well.
    """

    def __init__(
        self,
        project: Project,
        as_of: dt.date,
        *,
        target: float | None = None,
        gates: Sequence[str] | None = None,
        include_primary: bool = False,
        futures: int = FUTURES,
        seed: int = SEED,
    ) -> None:
        check_draws(futures, seed)
        self.target = project.target_odds if target is None else target
        if not 0.0 < self.target < 1.0:
            raise BadInput.at("target", self.target, tr("odds above 0 and below 1 are accepted, for example 0.8"))
        self.project, self.as_of, self.include_primary = project, as_of, include_primary
        self.draws = Draws(project, as_of, futures, seed)
        self.gates = _gates(self.draws.setup, gates)
        #: the gate whose hours to spare are compared: the lock where it is asked about
        self.main_gate = "lock" if "lock" in self.gates or not self.gates else self.gates[0]
        #: how many walks the last search for a combination took
        self.walks = 0
        self._base: Outcome | None = None
        self._open = bool(self.draws.setup.items or self.draws.setup.jobs)

    @property
    def base(self) -> Outcome:
        """The futures of the project as it stands."""
        if self._base is None:
            self._base = self.draws.outcome(self.draws.setup, self.main_gate)
        return self._base

    @property
    def before(self) -> dict[str, float]:
        """Gate id -> odds as the project stands."""
        return _odds(self.draws.setup, self.base.meets)

    def moves(self) -> tuple[Move, ...]:
        """Every move that may be offered, not yet valued."""
        setup = self.draws.setup
        if not self._open:
            return ()
        found = evening_moves(self.project, self.as_of, self.main_gate)
        return (*found, *work_moves(setup, self.include_primary, made_before(self.project)))

    def value(self, move: Move) -> tuple[ValuedMove, Outcome]:
        """Odds and hours with one move made; its odds are those of a fresh forecast of the changed project."""
        return self._value(self.oracle((move,)), 0)

    def oracle(self, moves: tuple[Move, ...]) -> FuturesOracle:
        """What is certain about sets of the moves, beginning with the project as it stands."""
        found = FuturesOracle(self.draws, moves, self.gates, self.target)
        found.learn(0, self.base.meets)
        return found

    def _value(self, oracle: FuturesOracle, place: int) -> tuple[ValuedMove, Outcome]:
        mask = 1 << place
        setup = oracle.setup(mask)
        sure, lost = oracle.certain(mask)
        outcome = self.draws.outcome(setup, self.main_gate, sure, lost)
        oracle.learn(mask, outcome.meets)
        was = {g.moment.id: self.base.meets[n] for n, g in enumerate(self.draws.setup.gates)}
        error = {g.moment.id: _error(outcome.meets[n] * 1.0 - was[g.moment.id]) for n, g in enumerate(setup.gates)}
        won = outcome.spare - self.base.spare
        won[np.abs(won) < _ROUNDING_HOURS] = 0.0
        odds = _odds(setup, outcome.meets)
        move = oracle.moves[place]
        valued = ValuedMove(move, self.before, odds, error, self.main_gate, float(won.mean()), _error(won))
        return valued, outcome

    def together(self, moves: Sequence[Move]) -> Together:
        """Odds with several moves made at once.

        Raises:
            BadInput: two of them exclude each other.
        """
        chosen = tuple(moves)
        setup = self.draws.changed(chosen)
        every = np.arange(self.draws.futures)
        meets = self.draws.meets(setup, every, relaxed=False)
        return Together(chosen, _odds(setup, meets), sum(m.cost_minutes for m in chosen))

    def enough(self, odds: dict[str, float]) -> bool:
        """Whether odds by gate reach what is asked, counted in futures."""
        need = math.ceil(self.target * self.draws.futures - 1e-9)
        return all(round(odds[g] * self.draws.futures) >= need for g in self.gates)

    def recover(self, progress: Progress | None = None, moves: Sequence[Move] | None = None) -> Recovery:
        """Value every move and find the cheapest combination.

        Args:
            progress: called with the share done; may raise to cancel.
            moves: None: all that may be offered.
        """
        say = progress or (lambda share: None)
        offered = self.moves() if moves is None else tuple(moves)
        say(0.0)
        before = self.before
        valued: list[ValuedMove] = []
        oracle = self.oracle(offered)
        for n, _move in enumerate(offered):
            value, _ = self._value(oracle, n)
            if moves is not None or _does_something(value):
                valued.append(value)
            say(0.7 * (n + 1) / len(offered))
        valued = sorted(valued, key=lambda v: (-v.odds[self.main_gate], -v.hours_won, v.move.cost_minutes, v.move.id))
        chosen = choose(valued, self.gates)
        combination, reached = self._combination(chosen, oracle, before, say)
        say(1.0)
        return Recovery(
            self.as_of,
            self.draws.futures,
            self.draws.seed,
            self.target,
            self.gates,
            before,
            tuple(valued),
            combination,
            reached,
            self._words(before, combination, reached),
            tuple(m.id for m in chosen),
        )

    def _combination(
        self, chosen: tuple[Move, ...], oracle: FuturesOracle, before: dict[str, float], say: Progress
    ) -> tuple[Together, bool]:
        if self.enough(before):
            return Together((), before, 0), bool(self.gates) or not self._open
        place = {m.id: n for n, m in enumerate(oracle.moves)}
        masks = [sum(1 << place[m.id] for n, m in enumerate(chosen) if mask >> n & 1) for mask in search.order(chosen)]
        steps = 0

        def step() -> None:
            nonlocal steps
            steps += 1
            say(0.7 + 0.29 * (1.0 - 1.0 / (1.0 + steps / 40.0)))

        best = search.cheapest(masks, oracle, step)
        self.walks = oracle.walks
        if best is not None:
            return self.together(_in_order(chosen, oracle.chosen(best))), True
        return self._nearest(chosen, masks, oracle, step), False

    def _nearest(
        self, chosen: tuple[Move, ...], masks: list[int], oracle: FuturesOracle, step: Callable[[], None]
    ) -> Together:
        """Of the largest sets the one whose worst gate has the best odds; the cheapest of equals."""
        rank = {mask: n for n, mask in enumerate(masks)}
        best: tuple[tuple[float, float, int], Together] | None = None
        for mask in search.maximal(masks):
            step()
            if best is not None and oracle.guess_most(mask) < best[0][0]:
                continue
            found = self.together(_in_order(chosen, oracle.chosen(mask)))
            odds = [found.odds[g] for g in self.gates]
            key = (min(odds, default=0.0), sum(odds), -rank[mask])
            if best is None or key > best[0]:
                best = key, found
        assert best is not None
        return best[1]

    def _words(self, before: dict[str, float], found: Together, reached: bool) -> str:
        names = {g.moment.id: g.moment.name for g in self.draws.setup.gates}
        asked = in_100(self.target)
        if not self._open:
            return tr("All work is done; nothing has to change.")
        if not self.gates:
            return tr("Every gate has gone by with work left to do; give the project a later gate.")

        def stands(odds: float) -> str:
            near = odds < self.target and in_100(odds) == asked
            # translators: {odds} is "80 in 100"
            return tr("just under {odds}", odds=asked) if near else in_100(odds)

        now = join([tr("{gate} stands at {odds}", gate=names[g], odds=stands(before[g])) for g in self.gates])
        if reached and not found.moves:
            # translators: {now} is "The lock stands at 60 in 100", {asked} is "80 in 100"
            return tr("{now}; {asked} were asked, so nothing has to change.", now=now, asked=asked)
        then = join([f"{names[g]} {stands(before[g])} → {stands(found.odds[g])}" for g in self.gates])
        chosen = " + ".join(m.what for m in found.moves)
        if reached:
            return tr(
                "{now}; {asked} were asked. The cheapest way there ({then}): {moves}.",
                now=now,
                asked=asked,
                then=then,
                moves=chosen,
            )
        if not found.moves:
            return tr("{now}; {asked} were asked, and no move is left that would help.", now=now, asked=asked)
        worst = min(found.odds[g] for g in self.gates)
        short = math.ceil((self.target - worst) * 100 - 1e-9)
        if self.target - worst < 0.01:
            return tr(
                "{now}; {asked} were asked, and no combination of these moves reaches that. "
                "The nearest is less than 1 in 100 short ({then}): {moves}.",
                now=now,
                asked=asked,
                then=then,
                moves=chosen,
            )
        return tr(
            "{now}; {asked} were asked, and no combination of these moves reaches that. "
            "The nearest is {short} in 100 short ({then}): {moves}.",
            now=now,
            asked=asked,
            short=short,
            then=then,
            moves=chosen,
        )


def recover(
    project: Project,
    as_of: dt.date,
    *,
    target: float | None = None,
    gates: Sequence[str] | None = None,
    include_primary: bool = False,
    futures: int = FUTURES,
    seed: int = SEED,
    progress: Progress | None = None,
) -> Recovery:
    """The ways back of a project; see :class:`Ways` for the arguments.

    Raises:
        BadInput: no usable evening, an unknown zone or gate, target, futures or seed out of range.
    """
    ways = Ways(
        project,
        as_of,
        target=target,
        gates=gates,
        include_primary=include_primary,
        futures=futures,
        seed=seed,
    )
    return ways.recover(progress)


def made_before(project: Project) -> frozenset[str]:
    """Ids of the moves that re-plans in the file have made."""
    found: set[str] = set()
    for entry in project.replans:
        moves = entry.get("moves") if isinstance(entry, dict) else None
        for move in moves if isinstance(moves, list) else ():
            if isinstance(move, dict) and isinstance(move.get("id"), str):
                found.add(move["id"])  # type: ignore[arg-type]
    return frozenset(found)


def choose(valued: Sequence[ValuedMove], gates: Sequence[str]) -> tuple[Move, ...]:
    """The at most twelve moves that the search goes through.

    First the strongest move of each kind that comes in degrees, then the most odds won (summed over
    the asked gates) for an hour of cost, hours won deciding between equals.
    """
    useful = [v for v in valued if _does_something(v)]

    def gain(v: ValuedMove) -> tuple[float, float]:
        return sum(v.odds[g] - v.before[g] for g in gates), v.hours_won

    if len(useful) > search.MOST_MOVES:
        kept: list[ValuedMove] = []
        for kind in _FAMILIES:
            mine = [v for v in useful if v.move.kind == kind]
            kept += [max(mine, key=gain)] if mine else []
        rest = [v for v in useful if v not in kept]
        rest.sort(key=lambda v: tuple(g / v.move.cost_minutes for g in gain(v)), reverse=True)
        useful = (kept + rest)[: search.MOST_MOVES]
    # as they are listed, which decides between combinations of equal cost and size
    return tuple(v.move for v in valued if v in useful)


def _does_something(value: ValuedMove) -> bool:
    gain = max((value.odds[g] - value.before[g] for g in value.odds), default=0.0)
    if value.move.kind in _QUIET:
        return gain >= _SEEN
    return gain > 0 or value.hours_won > 0


def _in_order(chosen: tuple[Move, ...], some: tuple[Move, ...]) -> tuple[Move, ...]:
    ids = {m.id for m in some}
    return tuple(m for m in chosen if m.id in ids)


def _gates(setup: Problem, asked: Sequence[str] | None) -> tuple[str, ...]:
    ids = [g.moment.id for g in setup.gates]
    if asked is not None:
        for g in asked:
            if g not in ids:
                raise BadInput.at("gate", g, tr("names no gate; there are {gates}", gates=", ".join(ids)))
        return tuple(g for g in ids if g in asked)
    start = to_utc(dt.datetime.combine(setup.as_of, dt.time()), setup.calendar.zone)
    return tuple(g.moment.id for g in setup.gates if (g.items or g.jobs) and not g.missed and g.moment.instant > start)


def _odds(setup: Problem, meets: npt.NDArray[np.bool_]) -> dict[str, float]:
    return {g.moment.id: float(np.count_nonzero(meets[n]) / meets.shape[1]) for n, g in enumerate(setup.gates)}


def _error(differences: npt.NDArray[np.float64]) -> float:
    """Standard error of the mean of paired differences."""
    n = differences.size
    return float(differences.std(ddof=1) / math.sqrt(n)) if n > 1 else math.nan
