# SPDX-License-Identifier: GPL-3.0-or-later
"""Who goes first: earliest due date, made consistent with precedence.

For one person this order, preemptive, has the least largest lateness: 1|r_j, prec, pmtn|Lmax
(K. R. Baker, E. L. Lawler, J. K. Lenstra, A. H. G. Rinnooy Kan, Preemptive scheduling of a single
machine to minimize maximum cost subject to release dates and precedence constraints, Operations
Research 31, 1983).
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping


def modified_due(
    due: Mapping[str, float], before: Mapping[str, frozenset[str]], tail_hours: Mapping[str, float]
) -> dict[str, float]:
    """Due moments (hours) such that nothing is due later than what waits for it.

    Args:
        due: own due moment of every item and job.
        before: direct predecessors of every item and job.
        tail_hours: hours between the start and the end of a machine job. What a job waits for is due
            before the job must start.
    """
    result = dict(due)
    for key in reversed(topological(due, before)):
        latest = result[key] - tail_hours.get(key, 0.0)
        for earlier in before.get(key, ()):
            result[earlier] = min(result[earlier], latest)
    return result


def topological(due: Mapping[str, float], before: Mapping[str, frozenset[str]]) -> list[str]:
    """All keys, predecessors first, otherwise by due moment (hours on any one axis), then in the given order."""
    rank = {key: n for n, key in enumerate(due)}
    waits = {key: len(before.get(key, ())) for key in due}
    after: dict[str, list[str]] = {key: [] for key in due}
    for key in due:
        for earlier in before.get(key, ()):
            after[earlier].append(key)
    ready = [(due[key], rank[key], key) for key in due if waits[key] == 0]
    heapq.heapify(ready)
    order = []
    while ready:
        _, _, key = heapq.heappop(ready)
        order.append(key)
        for later in after[key]:
            waits[later] -= 1
            if waits[later] == 0:
                heapq.heappush(ready, (due[later], rank[later], later))
    return order


def priority(
    due: Mapping[str, float], before: Mapping[str, frozenset[str]], tail_hours: Mapping[str, float]
) -> list[str]:
    """Items and jobs in the order in which an evening serves them.

    Jobs (the keys of ``tail_hours``) take no evening hours: each stands right behind what it waits for,
    so that it never pushes what waits for it behind items that come later in the artist's order.
    """
    modified = modified_due(due, before, tail_hours)
    return topological({k: -math.inf if k in tail_hours else d for k, d in modified.items()}, before)
