# SPDX-License-Identifier: GPL-3.0-or-later
"""A look back for people."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from nightplan.cli.words import in_100, marked
from nightplan.model.results_lookback import Band, EveningLook, Facts, LookBack, Proposal, Scores
from nightplan.speech import tr, trc, trn
from nightplan.speech.dates import decimal, weekday
from nightplan.speech.words import hours, percent

if TYPE_CHECKING:
    from rich.console import Console


def tell_lookback(
    console: Console, facts: Facts, looks: LookBack, scores: Scores, proposals: Sequence[Proposal] | None
) -> None:
    """Stages, evenings, switching, drift, honesty, then what could be changed in the new project."""
    from rich.table import Table

    done = sum(p.items_done > 0 for p in facts.projects)
    console.print(
        trn(
            "{n} project, {done} of them with finished items.",
            "{n} projects, {done} of them with finished items.",
            len(facts.projects),
            done=done,
        )
    )
    if facts.items:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column(tr("stage"))
        # translators: what is above the columns of a table of hours that were planned and hours that it took
        for heading in (tr("items"), tr("planned"), tr("took"), tr("ratio"), tr("times likely"), tr("spread")):
            table.add_column(heading, justify="right")
        for s in (*looks.stages, looks.overall):
            table.add_row(
                marked(s.stage),
                str(s.n),
                hours(s.planned_hours),
                hours(s.actual_hours),
                decimal(s.ratio, 2),
                _with_range(s.factor),
                _with_range(s.spread),
                style="bold" if s is looks.overall else None,
            )
        console.print(table)
        console.print(tr("Ranges hold the truth 8 times in 10."), _prior_words(looks.overall.prior_share))
    else:
        console.print(tr("Nothing is finished yet, so there is nothing to hold against the plan."))
    for e in looks.evenings:
        console.print(_evening(e))
    told = [
        # translators: of so many promised evenings so many happened, for example "Tue 3 of 5"
        tr("{weekday} {kept} of {promised}", weekday=weekday(w.weekday), kept=w.kept, promised=w.promised)
        if w.sure
        # translators: the same of evenings that may or may not happen, "Sat (maybe) 3 of 5"
        else tr("{weekday} (maybe) {kept} of {promised}", weekday=weekday(w.weekday), kept=w.kept, promised=w.promised)
        for w in looks.weekdays
        if w.weekday is not None
    ]
    if told:
        console.print(tr("By day: {days}.", days=trc("between the parts of a list", ", ").join(told)))
    console.print(tr("Switching: {words}.", words=looks.switching.words))
    for d in looks.drift:
        told_of = {**_numbers(d.ratio), "share": decimal(d.share * 100, 0), "projects": d.projects}
        if d.share == 0 and math.isfinite(d.ratio.high):
            text = tr(
                "At the start the forecast hours were {ratio} times what it took, {low} to {high} ({projects}).",
                **told_of,
            )
        elif d.share == 0:
            text = tr("At the start the forecast hours were {ratio} times what it took ({projects}).", **told_of)
        elif math.isfinite(d.ratio.high):
            text = tr(
                "After {share} in 100 of the work the forecast hours were {ratio} times what it took, "
                "{low} to {high} ({projects}).",
                **told_of,
            )
        else:
            text = tr(
                "After {share} in 100 of the work the forecast hours were {ratio} times what it took ({projects}).",
                **told_of,
            )
        console.print(text)
    if looks.left is not None:
        numbers = {**_numbers(looks.left), "times": looks.left_count}
        if math.isfinite(looks.left.high):
            text = tr("What you said was left took {ratio} times as long, {low} to {high} ({times}).", **numbers)
        else:
            text = tr("What you said was left took {ratio} times as long ({times}).", **numbers)
        console.print(text)
    for sentence in scores.words:
        console.print(marked(sentence))
    if proposals is not None:
        _tell_proposals(console, proposals)
    for skipped in facts.skipped:
        console.print(tr("Skipped: {why}", why=marked(skipped.why)))


def _prior_words(share: float) -> str:
    if share <= 0.05:
        return tr("The starting assumption hardly counts any more.")
    return tr("Over all, {share} of the estimate is still the starting assumption.", share=percent(share))


def _numbers(band: Band) -> dict[str, Any]:
    return {"ratio": decimal(band.value, 2), "low": decimal(band.low, 2), "high": decimal(band.high, 2)}


def _with_range(band: Band) -> str:
    return tr(
        # translators: a number and the range that it lies in
        "{ratio} ({low} to {high})",
        **_numbers(band),
    )


def _evening(e: EveningLook) -> str:
    kind = tr("Sure evenings") if e.sure else tr("Maybe evenings")
    happened = tr("{kept} of {promised} happened", kept=e.kept, promised=e.promised)
    if e.unlogged:
        happened = tr("{happened}, {n} never ticked off", happened=happened, n=e.unlogged)
    return tr(
        "{kind}: {happened}; promised {said}, learned {learned} ({low} to {high}).",
        kind=kind,
        happened=happened,
        said=in_100(e.said),
        learned=in_100(e.chance.value),
        low=decimal(e.chance.low * 100, 0),
        high=decimal(e.chance.high * 100, 0),
    )


def _tell_proposals(console: Console, proposals: Sequence[Proposal]) -> None:
    if not proposals:
        console.print(tr("History would change nothing in this project."))
        return
    console.print(tr("History would change (each only if you accept it, with --accept and its name):"))
    for p in proposals:
        few = "  " + tr("(few data)") if p.weak else ""
        console.print(f"[bold]{marked(p.id)}[/]  {marked(p.what)}{few}")
        # translators: a value before and after a change; in English the two stand one below the other, same width
        console.print("  " + tr("before {value}", value=marked(p.before)))
        console.print("  " + tr("after  {value}", value=marked(p.after)))
        console.print(f"  {marked(p.reason)}")
