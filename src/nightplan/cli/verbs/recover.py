# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan recover``: the ways back."""

from __future__ import annotations

import argparse
import math
from typing import Any

from nightplan.actions.recover import apply
from nightplan.cli import options, values
from nightplan.cli.context import ANSWER_IS_NO, GOOD, Context
from nightplan.cli.writing import change_file
from nightplan.engine.recovery import recover
from nightplan.engine.watch import offers, warnings
from nightplan.files.store import load
from nightplan.model.errors import shorten
from nightplan.model.project import Project
from nightplan.model.results_recovery import Move, Recovery
from nightplan.speech import tr

HELP = tr("Show what would raise the odds, what each way costs, and the cheapest ways together that are enough.")


def target(text: str) -> float:
    """0.8, or 80 for 80 in 100."""
    try:
        value = float(text.removesuffix("%"))
    except ValueError:
        value = math.nan
    value = value / 100 if text.endswith("%") or value > 1 else value
    if not 0 < value < 1:
        raise argparse.ArgumentTypeError(tr("{text} are no odds; write 0.8 or 80 for 80 in 100", text=shorten(text)))
    return value


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    parser.add_argument(
        "--target", type=target, metavar="P", help=tr("the odds to reach; the project's own unless given")
    )
    options.add_as_of(parser)
    parser.add_argument(
        "--gate",
        action="append",
        metavar="ID",
        help=tr("a gate that must reach them; all unless given; may be repeated"),
    )
    parser.add_argument("--primary", action="store_true", help=tr("offer to leave out primary items as well"))
    parser.add_argument("--apply", action="store_true", help=tr("take the cheapest ways together, as a re-plan"))
    options.add_futures(parser)


def run(given: Any, context: Context) -> int:
    if given.apply:
        project, found = change_file(given.file, lambda p: _replanned(p, _found(p, given, context)), context, "recover")
    else:
        project = load(given.file)
        found = _found(project, given, context)
    taken = given.apply and found.reached and bool(found.combination.moves)
    if given.json:
        context.print_json({**recovery_values(project, found), "applied": taken})
    else:
        from nightplan.cli.tell_recovery import tell_recovery

        tell_recovery(context.console(), project, found)
        if taken:
            context.out.write(tr("Re-planned with these moves, and a new baseline.") + "\n")
        elif given.apply:
            context.out.write(tr("Nothing was changed.") + "\n")
        elif found.reached and found.combination.moves:
            context.out.write(tr("To take them: the same with --apply, or the page Ways back.") + "\n")
    return GOOD if found.reached else ANSWER_IS_NO


def _found(project: Project, given: Any, context: Context) -> Recovery:
    return recover(
        project,
        options.as_of(given.as_of, project, context),
        target=given.target,
        gates=given.gate,
        include_primary=given.primary,
        futures=given.futures,
        seed=given.seed,
    )


def _replanned(project: Project, found: Recovery) -> tuple[Project, tuple[Project, Recovery]]:
    """The combination taken where it is enough; the project that it was found for, and what was found."""
    if not (found.reached and found.combination.moves):
        return project, (project, found)
    reasons = [o.reason for o in offers(project, found.as_of, found.before)]
    reason = "; ".join(reasons) or found.words
    after = apply(project, found.combination.moves, reason, found.as_of, futures=found.futures, seed=found.seed)
    return after, (project, found)


def recovery_values(project: Project, found: Recovery) -> dict[str, Any]:
    def odds(by_gate: dict[str, float]) -> dict[str, float]:
        return {gate: round(p, 6) for gate, p in by_gate.items()}

    def plain(move: Move) -> dict[str, Any]:
        return {
            "id": move.id,
            "kind": move.kind,
            "what": move.what,
            "cost": move.cost,
            "cost_hours": values.hours(move.cost_hours),
            "touches": list(move.touches),
        }

    return {
        "title": project.title,
        "as_of": values.date(found.as_of),
        "futures": found.futures,
        "seed": found.seed,
        "target": found.target,
        "gates": list(found.gates),
        "before": odds(found.before),
        "moves": [
            {
                **plain(v.move),
                "odds": odds(v.odds),
                "odds_error": odds(v.odds_error),
                "hours_won": values.hours(v.hours_won),
                "hours_error": values.hours(v.hours_error),
                "forbids": sorted(v.move.forbids),
            }
            for v in found.moves
        ],
        "combination": [plain(m) for m in found.combination.moves],
        "combination_odds": odds(found.combination.odds),
        "combination_cost_hours": values.hours(found.combination.cost_hours),
        "considered": list(found.considered),
        "reached": found.reached,
        "reasons": [
            {"kind": o.kind, "reason": o.reason, "ids": list(o.ids)} for o in offers(project, found.as_of, found.before)
        ],
        "warnings": [
            {"kind": w.kind, "level": w.level, "reason": w.reason, "remedy": w.remedy, "ids": list(w.ids)}
            for w in warnings(project, found.as_of)
        ],
        "words": found.words,
    }
