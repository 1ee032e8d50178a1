# SPDX-License-Identifier: GPL-3.0-or-later
"""The Look back page in words and rows of text."""

from __future__ import annotations

import math

from nightplan.exports.words import clean, in_100
from nightplan.model.results_lookback import Band, EveningLook, Facts, LookBack, Scores, StageLook

STAGE_HEADINGS = ("Stage", "Items", "Planned", "Took", "Ratio", "Times likely, 8 in 10 sure", "Spread", "Assumed")
EVENING_HEADINGS = (
    "Evening",
    "Kept",
    "Promised",
    "Never ticked off",
    "Chance promised",
    "Chance learned, 8 in 10 sure",
)
BIN_HEADINGS = ("Odds said", "Forecasts", "Gates", "Made it", "In 100, 8 in 10 sure")
PRIOR = (
    "Starting assumption, before anything is finished: items take so many times their likely hours, and that counts "
    "like so many finished items; so far do they scatter (0.4 is 3 h likely, 5 h nine times in ten); the chance that "
    "you promise an evening counts like so many evenings."
)
OVER = "This project is over. Three questions, while you still know; the answers are kept in its file."
NOT_OVER = "For the day this project is over. What you write is kept in its file."
NOT_READ = "The library is being read."
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
#: skipped files that are named; the rest are counted
_NAMED = 3


def library(facts: Facts, folders: list[str]) -> str:
    """What the library is, and what in it could not be read."""
    if not folders:
        return "No folder of past projects is chosen yet. Nothing leaves this machine."
    where = ", ".join(clean(f, 60) for f in folders)
    done = sum(p.items_done > 0 for p in facts.projects)
    count = len(facts.projects)
    text = f"{where}: {count} project{'' if count == 1 else 's'}, {done} with finished items."
    for skipped in facts.skipped[:_NAMED]:
        text += f"\nSkipped: {clean(skipped.why)}"
    if len(facts.skipped) > _NAMED:
        text += f"\n… and {len(facts.skipped) - _NAMED} more."
    return text


def band(b: Band, digits: int = 2) -> str:
    """``1.32 (1.10 to 1.60)``"""
    return f"{b.value:.{digits}f} ({b.low:.{digits}f} to {b.high:.{digits}f})"


def stages(facts: Facts, looks: LookBack) -> str:
    """The whole in two or three sentences."""
    if not facts.items:
        return "Nothing is finished yet, so there is nothing to hold against the plan."
    o = looks.overall
    text = (
        f"{o.n} finished item{'' if o.n == 1 else 's'} took {o.actual_hours:.1f} h where {o.planned_hours:.1f} h were "
        f"planned. Going by that, the next item takes {o.factor.value:.2f} times your likely hours "
        f"(8 in 10 sure: {o.factor.low:.2f} to {o.factor.high:.2f})."
    )
    if o.prior_share > 0.25:
        text += f" Few data: {o.prior_share * 100:.0f} % of this is the starting assumption."
    for d in looks.drift:
        where = "At their start" if d.share == 0 else f"After {d.share * 100:.0f} % of the work"
        text += f" {where} projects were forecast at {d.ratio.value:.2f} times what they took ({d.projects})."
    if looks.left is not None:
        text += f" What you said was left took {looks.left.value:.2f} times as long ({looks.left_count})."
    return f"{text} Switching: {looks.switching.words}."


def stage_rows(looks: LookBack) -> list[tuple[str, ...]]:
    return [_stage(s) for s in (*looks.stages, looks.overall)]


def _stage(s: StageLook) -> tuple[str, ...]:
    ratio = f"{s.ratio:.2f}" if math.isfinite(s.ratio) else ""
    return (
        clean(s.stage, 60),
        str(s.n),
        f"{s.planned_hours:.1f} h",
        f"{s.actual_hours:.1f} h",
        ratio,
        band(s.factor),
        band(s.spread),
        f"{s.prior_share * 100:.0f} %",
    )


def evenings(looks: LookBack) -> str:
    if not looks.evenings:
        return "No evening is ticked off yet."
    said = []
    for e in looks.evenings:
        silent = f" ({e.unlogged} never ticked off, which counts as not happened)" if e.unlogged else ""
        said.append(
            f"{e.kept} of {e.promised} {'sure' if e.sure else 'maybe'} evenings happened{silent}; "
            f"you promised {in_100(e.said)}, {in_100(e.chance.value)} is the best guess."
        )
    return " ".join(said)


def evening_rows(looks: LookBack) -> list[tuple[str, ...]]:
    rows = sorted((*looks.weekdays, *looks.evenings), key=lambda e: (not e.sure, e.weekday is None, e.weekday or 0))
    return [_evening(e) for e in rows]


def _evening(e: EveningLook) -> tuple[str, ...]:
    kind = "sure" if e.sure else "maybe"
    name = f"all {kind}" if e.weekday is None else f"{_DAYS[e.weekday]}, {kind}"
    chance = f"{e.chance.value * 100:.0f} ({e.chance.low * 100:.0f} to {e.chance.high * 100:.0f}) in 100"
    return name, str(e.kept), str(e.promised), str(e.unlogged), in_100(e.said), chance


def bin_rows(scores: Scores) -> list[tuple[str, ...]]:
    return [
        (
            f"about {b.said * 100:.0f} in 100",
            str(b.forecasts),
            str(b.gates),
            f"{b.met} of {b.forecasts}",
            f"{b.made.value * 100:.0f} ({b.made.low * 100:.0f} to {b.made.high * 100:.0f})",
        )
        for b in scores.bins
    ]


def proposals(count: int, learned: bool) -> str:
    if not learned:
        return "Nothing is finished yet that this project could learn from."
    if not count:
        return "History would change nothing in this project."
    return "History would change this. Nothing is changed unless you accept it, one by one; Undo takes each one back."
