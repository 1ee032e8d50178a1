# SPDX-License-Identifier: GPL-3.0-or-later
"""A look back for people."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from nightplan.cli.words import in_100, marked
from nightplan.model.results_lookback import Band, EveningLook, Facts, LookBack, Proposal, Scores

if TYPE_CHECKING:
    from rich.console import Console

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def tell_lookback(
    console: Console, facts: Facts, looks: LookBack, scores: Scores, proposals: Sequence[Proposal] | None
) -> None:
    """Stages, evenings, switching, drift, honesty, then what could be changed in the new project."""
    from rich.table import Table

    done = sum(p.items_done > 0 for p in facts.projects)
    console.print(f"{len(facts.projects)} projects, {done} of them with finished items.")
    if facts.items:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        for heading in ("stage", "items", "planned", "took", "ratio", "times likely", "spread"):
            table.add_column(heading, justify="left" if heading == "stage" else "right")
        for s in (*looks.stages, looks.overall):
            table.add_row(
                marked(s.stage),
                str(s.n),
                f"{s.planned_hours:.1f} h",
                f"{s.actual_hours:.1f} h",
                f"{s.ratio:.2f}",
                f"{s.factor.value:.2f} ({s.factor.low:.2f} to {s.factor.high:.2f})",
                f"{s.spread.value:.2f} ({s.spread.low:.2f} to {s.spread.high:.2f})",
                style="bold" if s is looks.overall else None,
            )
        console.print(table)
        console.print(f"Ranges hold the truth 8 times in 10. {_prior_words(looks.overall.prior_share)}")
    else:
        console.print("Nothing is finished yet, so there is nothing to hold against the plan.")
    for e in looks.evenings:
        console.print(_evening(e))
    told = [f"{_DAYS[w.weekday]} {w.kept} of {w.promised}" for w in looks.weekdays if w.weekday is not None]
    if told:
        console.print(f"By day: {', '.join(told)}.")
    console.print(f"Switching: {looks.switching.words}.")
    for d in looks.drift:
        where = "At the start" if d.share == 0 else f"After {d.share * 100:.0f} in 100 of the work"
        console.print(
            f"{where} the forecast hours were {d.ratio.value:.2f} times what it took{_range(d.ratio)} ({d.projects})."
        )
    if looks.left is not None:
        band = looks.left
        console.print(f"What you said was left took {band.value:.2f} times as long{_range(band)} ({looks.left_count}).")
    for sentence in scores.words:
        console.print(marked(sentence))
    if proposals is not None:
        _tell_proposals(console, proposals)
    for skipped in facts.skipped:
        console.print(f"Skipped: {marked(skipped.why)}")


def _prior_words(share: float) -> str:
    if share <= 0.05:
        return "The starting assumption hardly counts any more."
    return f"Over all, {share * 100:.0f} % of the estimate is still the starting assumption."


def _range(band: Band) -> str:
    return f", {band.low:.2f} to {band.high:.2f}" if math.isfinite(band.high) else ""


def _evening(e: EveningLook) -> str:
    silent = f", {e.unlogged} never ticked off" if e.unlogged else ""
    return (
        f"{'Sure' if e.sure else 'Maybe'} evenings: {e.kept} of {e.promised} happened{silent}; "
        f"promised {in_100(e.said)}, learned {in_100(e.chance.value)} "
        f"({e.chance.low * 100:.0f} to {e.chance.high * 100:.0f})."
    )


def _tell_proposals(console: Console, proposals: Sequence[Proposal]) -> None:
    if not proposals:
        console.print("History would change nothing in this project.")
        return
    console.print("History would change (each only if you accept it, with --accept and its name):")
    for p in proposals:
        console.print(f"[bold]{marked(p.id)}[/]  {marked(p.what)}{'  (few data)' if p.weak else ''}")
        console.print(f"  before {marked(p.before)}")
        console.print(f"  after  {marked(p.after)}")
        console.print(f"  {marked(p.reason)}")
