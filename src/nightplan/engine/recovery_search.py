# SPDX-License-Identifier: GPL-3.0-or-later
"""The cheapest combination that reaches what is asked: exact, over up to twelve moves.

The declared order: least summed cost in minutes; then fewest moves; then the moves that come first
in the list. Sets are bit masks over the list.

The search asks an oracle. It is exact whatever the oracle guesses, as long as ``reaches`` is right
and ``hopeless`` and ``carries`` claim only what holds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol

from nightplan.model.results_recovery import Move

MOST_MOVES = 12


class Oracle(Protocol):
    """Answers about sets of moves; a set is a mask: bit n stands for the n-th move."""

    def reaches(self, mask: int) -> bool:
        """Whether the set reaches what is asked, at the full number of futures."""

    def hopeless(self, mask: int) -> bool:
        """True only where it is certain, without walking, that the set does not reach it."""

    def carries(self, small: int, big: int) -> bool:
        """Whether "big does not reach it" proves the same of ``small``, a subset of it."""

    def guess(self, mask: int) -> float:
        """How far above (positive) or below what is asked the set is likely to be, as odds."""


def order(moves: Sequence[Move]) -> list[int]:
    """Every set of moves that may be made together, in the declared order; the empty set first.

    Raises:
        ValueError: more than twelve moves.
    """
    count = len(moves)
    if count > MOST_MOVES:
        raise ValueError(f"{count} moves, at most {MOST_MOVES} are searched")  # untranslated: of a call
    place = {m.id: n for n, m in enumerate(moves)}
    clash = [0] * count
    for n, move in enumerate(moves):
        for other in move.forbids:
            if other in place:
                clash[n] |= 1 << place[other]
                clash[place[other]] |= 1 << n
    allowed = []
    for mask in range(1 << count):
        members = [n for n in range(count) if mask >> n & 1]
        if any(clash[n] & mask for n in members):
            continue
        needed = frozenset[str]().union(*(moves[n].only_with for n in members))
        if needed and not needed <= frozenset[str]().union(*(moves[n].cut_items for n in members)):
            continue
        allowed.append((sum(moves[n].cost_minutes for n in members), len(members), members, mask))
    allowed.sort()
    return [mask for *_, mask in allowed]


def maximal(masks: Sequence[int]) -> list[int]:
    """The sets that are part of no other set."""
    kept: list[int] = []
    for mask in sorted(masks, key=int.bit_count, reverse=True):
        if not any(mask & big == mask for big in kept):
            kept.append(mask)
    return kept


def cheapest(masks: Sequence[int], oracle: Oracle, step: Callable[[], None] = lambda: None) -> int | None:
    """The first of the sets that reaches what is asked; None where none does.

    Args:
        masks: in the declared order.
        step: called before every answer that costs time; may raise to cancel.
    """
    unknown = list(masks)
    best: int | None = None

    def fails(mask: int) -> None:
        unknown[:] = [m for m in unknown if m != mask and not (m & mask == m and oracle.carries(m, mask))]

    # the largest sets first: what fails even there fails in every part of them
    for mask in sorted(maximal(masks), key=oracle.guess, reverse=True):
        if mask not in unknown:
            continue
        step()
        if oracle.hopeless(mask) or not oracle.reaches(mask):
            fails(mask)
        else:
            best = mask
            unknown = unknown[: unknown.index(mask)]
            break
    while unknown:
        step()
        chosen = _likely(unknown, oracle)
        if not unknown:
            break
        if chosen is None:
            # none is likely: the most dangerous first, it takes the most others with it
            chosen = max(unknown, key=lambda m: (oracle.guess(m), m.bit_count()))
        if oracle.reaches(chosen):
            best = chosen
            unknown = unknown[: unknown.index(chosen)]
        else:
            fails(chosen)
    return best


def _likely(unknown: list[int], oracle: Oracle) -> int | None:
    """The cheapest set that is likely to reach it; hopeless ones are dropped on the way."""
    found: int | None = None
    kept = []
    for n, mask in enumerate(unknown):
        if oracle.hopeless(mask):
            continue
        kept.append(mask)
        if oracle.guess(mask) >= 0:
            found = mask
            kept += unknown[n + 1 :]
            break
    unknown[:] = kept
    return found
