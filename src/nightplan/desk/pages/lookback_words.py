# SPDX-License-Identifier: GPL-3.0-or-later
"""The Look back page in words and rows of text."""

from __future__ import annotations

import math
from typing import Any

from nightplan.exports.words import clean, in_100
from nightplan.model.results_lookback import Band, EveningLook, Facts, LookBack, Scores, StageLook
from nightplan.speech import tr, trc, trn
from nightplan.speech.dates import decimal, long_weekday
from nightplan.speech.words import hours, percent

STAGE_HEADINGS = (
    # translators: the columns of a table of past projects by stage, down to "Assumed"
    tr("Stage"),
    tr("Items"),
    # translators: hours that were planned, hours that it took, the one over the other
    tr("Planned"),
    tr("Took"),
    tr("Ratio"),
    tr("Times likely, 8 in 10 sure"),
    tr("Spread"),
    # translators: share of the starting assumption
    tr("Assumed"),
)
EVENING_HEADINGS = (
    tr("Evening"),
    # translators: evenings that happened, and that were promised
    tr("Kept"),
    tr("Promised"),
    tr("Never ticked off"),
    tr("Chance promised"),
    tr("Chance learned, 8 in 10 sure"),
)
BIN_HEADINGS = (tr("Odds said"), tr("Forecasts"), tr("Gates"), tr("Made it"), tr("In 100, 8 in 10 sure"))
PRIOR = tr(
    "Starting assumption, before anything is finished: items take so many times their likely hours, and that counts "
    "like so many finished items; so far do they scatter (0.4 is 3 h likely, 5 h nine times in ten); the chance that "
    "you promise an evening counts like so many evenings."
)
OVER = tr("This project is over. Three questions, while you still know; the answers are kept in its file.")
NOT_OVER = tr("For the day this project is over. What you write is kept in its file.")
NOT_READ = tr("The library is being read.")
#: skipped files that are named; the rest are counted
_NAMED = 3


def library(facts: Facts, folders: list[str]) -> str:
    """What the library is, and what in it could not be read."""
    if not folders:
        return tr("No folder of past projects is chosen yet. Nothing leaves this machine.")
    lines = [
        trn(
            "{folders}: {n} project, {done} with finished items.",
            "{folders}: {n} projects, {done} with finished items.",
            len(facts.projects),
            folders=trc("between the parts of a list", ", ").join(clean(f, 60) for f in folders),
            done=sum(p.items_done > 0 for p in facts.projects),
        )
    ]
    lines += [tr("Skipped: {why}", why=clean(skipped.why)) for skipped in facts.skipped[:_NAMED]]
    rest = len(facts.skipped) - _NAMED
    if rest > 0:
        # translators: of files that were skipped
        lines.append(trn("… and {n} more.", "… and {n} more.", rest))
    return "\n".join(lines)


def band(b: Band, digits: int = 2) -> str:
    """``1.32 (1.10 to 1.60)``"""
    return tr(
        # translators: a number and the range that it lies in
        "{ratio} ({low} to {high})",
        ratio=decimal(b.value, digits),
        low=decimal(b.low, digits),
        high=decimal(b.high, digits),
    )


def stages(facts: Facts, looks: LookBack) -> str:
    """The whole in two or three sentences."""
    if not facts.items:
        return tr("Nothing is finished yet, so there is nothing to hold against the plan.")
    o = looks.overall
    said = [
        trn(
            "{n} finished item took {took} where {planned} were planned. Going by that, the next item takes {times} "
            "times your likely hours (8 in 10 sure: {low} to {high}).",
            "{n} finished items took {took} where {planned} were planned. Going by that, the next item takes {times} "
            "times your likely hours (8 in 10 sure: {low} to {high}).",
            o.n,
            took=hours(o.actual_hours),
            planned=hours(o.planned_hours),
            times=decimal(o.factor.value, 2),
            low=decimal(o.factor.low, 2),
            high=decimal(o.factor.high, 2),
        )
    ]
    if o.prior_share > 0.25:
        said.append(tr("Few data: {share} of this is the starting assumption.", share=percent(o.prior_share)))
    for d in looks.drift:
        of: dict[str, Any] = {"times": decimal(d.ratio.value, 2), "projects": d.projects}
        if d.share == 0:
            # translators: {projects} is how many projects that is known of
            said.append(tr("At their start projects were forecast at {times} times what they took ({projects}).", **of))
        else:
            said.append(
                tr(
                    "After {share} of the work projects were forecast at {times} times what they took ({projects}).",
                    share=percent(d.share),
                    **of,
                )
            )
    if looks.left is not None:
        said.append(
            tr(
                "What you said was left took {ratio} times as long ({times}).",
                ratio=decimal(looks.left.value, 2),
                times=looks.left_count,
            )
        )
    said.append(tr("Switching: {words}.", words=looks.switching.words))
    return " ".join(said)


def stage_rows(looks: LookBack) -> list[tuple[str, ...]]:
    return [_stage(s) for s in (*looks.stages, looks.overall)]


def _stage(s: StageLook) -> tuple[str, ...]:
    ratio = decimal(s.ratio, 2) if math.isfinite(s.ratio) else ""
    return (
        clean(s.stage, 60),
        str(s.n),
        hours(s.planned_hours),
        hours(s.actual_hours),
        ratio,
        band(s.factor),
        band(s.spread),
        percent(s.prior_share),
    )


def evenings(looks: LookBack) -> str:
    if not looks.evenings:
        return tr("No evening is ticked off yet.")
    return " ".join(map(_evenings, looks.evenings))


def _evenings(e: EveningLook) -> str:
    of = {"kept": e.kept, "promised": e.promised}
    happened = (
        tr("{kept} of {promised} sure evenings happened", **of)
        if e.sure
        else tr("{kept} of {promised} maybe evenings happened", **of)
    )
    if e.unlogged:
        happened = tr(
            "{happened} ({n} never ticked off, which counts as not happened)", happened=happened, n=e.unlogged
        )
    return tr(
        "{happened}; you promised {said}, {learned} is the best guess.",
        happened=happened,
        said=in_100(e.said),
        learned=in_100(e.chance.value),
    )


def evening_rows(looks: LookBack) -> list[tuple[str, ...]]:
    rows = sorted((*looks.weekdays, *looks.evenings), key=lambda e: (not e.sure, e.weekday is None, e.weekday or 0))
    return [_evening(e) for e in rows]


def _evening(e: EveningLook) -> tuple[str, ...]:
    if e.weekday is None:
        # translators: of evenings
        name = tr("all sure") if e.sure else tr("all maybe")
    else:
        day = long_weekday(e.weekday)
        # translators: of evenings, for example "Tuesday, sure"
        name = tr("{weekday}, sure", weekday=day) if e.sure else tr("{weekday}, maybe", weekday=day)
    chance = tr("{chance} in 100", chance=_of_100(e.chance))
    return name, str(e.kept), str(e.promised), str(e.unlogged), in_100(e.said), chance


def _of_100(b: Band) -> str:
    return band(Band(b.value * 100, b.low * 100, b.high * 100), 0)


def bin_rows(scores: Scores) -> list[tuple[str, ...]]:
    return [
        (
            tr("about {n} in 100", n=decimal(b.said * 100, 0)),
            str(b.forecasts),
            str(b.gates),
            # translators: of so many forecasts so many came true
            tr("{met} of {forecasts}", met=b.met, forecasts=b.forecasts),
            _of_100(b.made),
        )
        for b in scores.bins
    ]


def proposals(count: int, learned: bool) -> str:
    if not learned:
        return tr("Nothing is finished yet that this project could learn from.")
    if not count:
        return tr("History would change nothing in this project.")
    return tr(
        "History would change this. Nothing is changed unless you accept it, one by one; Undo takes each one back."
    )
