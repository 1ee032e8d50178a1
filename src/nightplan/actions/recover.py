# SPDX-License-Identifier: GPL-3.0-or-later
"""Taking a way back: one step that changes the project and records the re-plan in it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from nightplan.actions.baseline import baseline_of
from nightplan.actions.tick import stored
from nightplan.engine.forecast import FUTURES, SEED, Progress, forecast
from nightplan.engine.plan import plan
from nightplan.engine.recovery_moves import apply_moves
from nightplan.engine.watch import WARNING_KINDS
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results_recovery import Move
from nightplan.speech import tr


def apply(
    project: Project,
    moves: Sequence[Move],
    reason: str,
    as_of: dt.date,
    *,
    futures: int = FUTURES,
    seed: int = SEED,
    progress: Progress | None = None,
) -> Project:
    """The project with the moves made, a new baseline, and the re-plan recorded under ``replans``.

    Args:
        reason: the artist's own words or those of the offer.
        progress: called with the share done; may raise to cancel.

    Raises:
        BadInput: no move, two that exclude each other, or one that names what the project has not.
    """
    if not moves:
        raise BadInput(tr("moves: none is chosen; a re-plan needs at least one"))
    say = progress or (lambda share: None)
    changed = apply_moves(project, moves)
    before = forecast(project, as_of, futures=futures, seed=seed, progress=lambda share: say(share / 2))
    after = forecast(changed, as_of, futures=futures, seed=seed, progress=lambda share: say(0.5 + share / 2))
    accepted = [b for b in project.baselines if b.on <= as_of]
    old = accepted[-1] if accepted else baseline_of(project, before, plan(project, as_of), tr("as it stood"))
    new = baseline_of(changed, after, plan(changed, as_of), reason)
    entry: dict[str, Any] = {
        "date": as_of.isoformat(),
        "reason": reason,
        "moves": [
            {"id": m.id, "kind": m.kind, "what": m.what, "cost": m.cost, "cost_hours": round(m.cost_hours, 4)}
            for m in moves
        ],
        "odds_before": {g.id: g.odds for g in before.gates},
        "odds_after": {g.id: g.odds for g in after.gates},
        "old_baseline": old.model_dump(mode="json"),
        "new_baseline": new.model_dump(mode="json"),
    }
    return changed.but(
        baselines=(*changed.baselines, new),
        forecasts=(*changed.forecasts, stored(after, "accepted")),
        replans=(*changed.replans, entry),
    )


@dataclass(frozen=True, slots=True)
class Replan:
    """One re-plan of the file."""

    date: dt.date
    reason: str
    #: in plain words
    moves: tuple[str, ...]
    odds_before: dict[str, float]
    odds_after: dict[str, float]
    old_baseline: dict[str, Any]
    new_baseline: dict[str, Any]


def replans(project: Project) -> tuple[Replan, ...]:
    """The re-plans of a project, oldest first; entries that are not ours are passed over."""
    found = []
    for entry in project.replans:
        if not isinstance(entry, dict):
            continue
        try:
            date = dt.date.fromisoformat(str(entry.get("date")))
        except ValueError:
            continue
        moves = entry.get("moves")
        words = [str(m.get("what", "")) for m in moves if isinstance(m, dict)] if isinstance(moves, list) else []
        found.append(
            Replan(
                date,
                str(entry.get("reason", "")),
                tuple(words),
                _numbers(entry.get("odds_before")),
                _numbers(entry.get("odds_after")),
                _object(entry.get("old_baseline")),
                _object(entry.get("new_baseline")),
            )
        )
    return tuple(sorted(found, key=lambda r: r.date))


def _numbers(raw: Any) -> dict[str, float]:
    return {str(k): float(v) for k, v in raw.items() if isinstance(v, int | float)} if isinstance(raw, dict) else {}


def _object(raw: Any) -> dict[str, Any]:
    return dict(raw) if isinstance(raw, dict) else {}


def pin(project: Project, ids: Iterable[str], pinned: bool = True) -> Project:
    """Items and jobs that no recovery may touch, or may touch again.

    Raises:
        BadInput: an id names no item or job.
    """
    chosen = set(ids)
    for name in sorted(chosen - set(project.items) - set(project.jobs_by_id)):
        raise BadInput.at("id", name, tr("names no item or job of this project"))
    stages = tuple(
        s.but(items=tuple(i.but(pinned=pinned) if i.id in chosen else i for i in s.items)) for s in project.stages
    )
    jobs = tuple(j.but(pinned=pinned) if j.id in chosen else j for j in project.jobs)
    return project.but(stages=stages, jobs=jobs)


def silence(project: Project, kind: str, silent: bool = True) -> Project:
    """A kind of watch warning switched off, or on again, for this project.

    Raises:
        BadInput: there is no such kind.
    """
    if kind not in WARNING_KINDS:
        raise BadInput.at("kind", kind, tr("one of {kinds} is accepted", kinds=", ".join(WARNING_KINDS)))
    kinds = [k for k in project.silenced if k != kind] + ([kind] if silent else [])
    return project.but(silenced=tuple(kinds))
