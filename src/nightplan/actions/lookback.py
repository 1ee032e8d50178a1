# SPDX-License-Identifier: GPL-3.0-or-later
"""From history to a new project: proposals, accepted one by one, and the three questions at the end.

What was accepted is kept in the project under the key ``lookback``, so that nothing is applied twice and
later look-backs still know the artist's own estimate. The same key holds the answers.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from typing import Any

from nightplan.actions.edit import change_item
from nightplan.actions.settings import change_settings
from nightplan.engine.lookback import Prior, evening_look, stage_looks, switch_look
from nightplan.engine.state import item_states
from nightplan.evenings.dated import calendar
from nightplan.exports.words import exact_hours, in_100, percent
from nightplan.model.errors import BadInput
from nightplan.model.project import DAYS, PLANNED_CHANCE, Item, Project, Stage, WeekSlot
from nightplan.model.results_lookback import EveningLook, Facts, Proposal, StageLook
from nightplan.speech import dates, mark, tr, trn

KEY = "lookback"
#: asked once the work is done: key in the file, question
QUESTIONS = (
    ("overran", tr("What overran?")),
    ("cut_earlier", tr("What would you cut earlier?")),
    ("again", tr("What would you do again?")),
)
MAX_ANSWER = 5_000
#: smaller changes are not worth a decision
_LEAST_SHARE, _LEAST_CHANCE, _LEAST_MINUTES = 0.03, 0.03, 2.0


def notes(project: Project) -> dict[str, Any]:
    """What the project keeps under ``lookback``; empty where there is nothing usable."""
    kept = project.unknown.get(KEY)
    return dict(kept) if isinstance(kept, dict) else {}


# ---- the end of a project ------------------------------------------------------------------------
def is_over(project: Project, as_of: dt.date) -> bool:
    """All work done or left out, or the last gate past."""
    states = item_states(project, as_of).values()
    if states and all(s.state != "open" for s in states):
        return any(s.state == "done" for s in states)
    try:
        return as_of > max(g.date for g in calendar(project).gates)
    except BadInput:
        return False


def answers(project: Project) -> dict[str, str]:
    """Answers by question; a question without an answer is left out."""
    kept = notes(project).get("answers")
    kept = kept if isinstance(kept, dict) else {}
    return {key: kept[key] for key, _ in QUESTIONS if isinstance(kept.get(key), str) and kept[key]}


def file_answers(project: Project, on: dt.date, said: dict[str, str]) -> Project:
    """Keep the answers to the three questions in the project; an empty one takes an earlier one back.

    Raises:
        BadInput: an unknown question, an answer of more than 5,000 characters.
    """
    known = [key for key, _ in QUESTIONS]
    for key, text in said.items():
        if key not in known:
            raise BadInput.at("answer", key, tr("the questions are {keys}", keys=", ".join(known)))
        if len(text) > MAX_ANSWER:
            size = tr("{n} characters", n=len(text))
            raise BadInput.at(f"answer {key}", size, tr("at most {n} are accepted", n=MAX_ANSWER))
    merged = {**answers(project), **{key: text.strip() for key, text in said.items()}}
    merged = {key: text for key, text in merged.items() if text}
    if merged == answers(project):
        return project
    kept = notes(project)
    if merged:
        kept["answers"] = {"on": on.isoformat(), **merged}
    else:
        kept.pop("answers", None)
    return project.but(**{KEY: kept or None}) if kept else _without(project)


def _without(project: Project) -> Project:
    fields = {name: getattr(project, name) for name in type(project).model_fields}
    rest = {key: value for key, value in project.unknown.items() if key != KEY}
    return Project.model_validate({**fields, **rest})


# ---- proposals -----------------------------------------------------------------------------------
def proposals(project: Project, facts: Facts, prior: Prior | None = None) -> tuple[Proposal, ...]:
    """What history would change in this project; nothing is changed.

    Estimates and spreads for stages of items that nobody has begun, chances for the evenings of the week, minutes
    lost by switching. None without a finished item (or evening) to learn from. What was accepted
    before, pinned items and differences that do not matter are left out.
    """
    prior = prior or Prior()
    found: list[Proposal] = []
    if facts.items:
        looks = stage_looks(facts, [stage.name for stage in project.stages], prior)
        for stage in project.stages:
            look = looks[stage.name]
            found += _estimate(project, stage, look)
            found += _spread(project, stage, look)
    found += _evenings(project, facts, prior)
    found += _switching(project, facts)
    return tuple(found)


def _applied(project: Project) -> list[dict[str, Any]]:
    rows = notes(project).get("applied")
    return [r for r in rows if isinstance(r, dict)] if isinstance(rows, list) else []


def _fresh(project: Project, stage: Stage, kind: str) -> list[Item]:
    """Items that may be changed: open, not begun, not pinned, not changed so before."""
    worked = {w.item for e in project.log for w in e.work}
    before = {key for row in _applied(project) if row.get("kind") == kind for key in row.get("items", ())}
    return [
        i
        for i in stage.items
        if i.state == "open" and not i.pinned and i.likely > 0 and i.id not in worked and i.id not in before
    ]


def _estimate(project: Project, stage: Stage, look: StageLook) -> Iterator[Proposal]:
    items = _fresh(project, stage, "estimate")
    factor = look.factor.value
    if not items or abs(math.log(factor)) < _LEAST_SHARE:
        return
    after = {i.id: _scaled(i, factor) for i in items}
    yield Proposal(
        f"estimate:{stage.id}",
        "estimate",
        stage.name,
        _spans([(i.name, i.likely, i.high) for i in items]),
        _spans([(i.name, after[i.id]["likely"], after[i.id]["high"]) for i in items]),
        _estimate_reason(look),
        look.prior_share > 0.5,
        stage.id,
        {"factor": round(factor, 4), "items": after},
    )


def _scaled(item: Item, factor: float) -> dict[str, float | None]:
    likely = round(item.likely * factor, 2)
    low = None if item.low is None else min(likely, round(item.low * factor, 2))
    return {"likely": likely, "high": max(likely, round(item.high * factor, 2)), "low": low}


def _estimate_reason(look: StageLook) -> str:
    factor, low, high = (dates.decimal(x, 2) for x in (look.factor.value, look.factor.low, look.factor.high))
    if not look.n:
        return tr(
            "No finished item in this stage yet; going by your other stages {factor} times the likely "
            "hours is the best guess (8 in 10 sure: {low} to {high}).",
            factor=factor,
            low=low,
            high=high,
        )
    # translators: {items} is "3 items", {projects} "2 projects", the numbers are like 1.25
    told = tr(
        "{items} in {projects} took {ratio} times the planned hours; from this and from your other stages "
        "{factor} times is the best guess (8 in 10 sure: {low} to {high}).",
        items=trn("{n} item", "{n} items", look.n),
        projects=trn("{n} project", "{n} projects", look.projects),
        ratio=dates.decimal(look.ratio, 2),
        factor=factor,
        low=low,
        high=high,
    )
    return _sentences(told, _shrunk(look.prior_share))


def _shrunk(share: float) -> str:
    return tr("Few data: {share} of this is the starting assumption.", share=percent(share)) if share > 0.25 else ""


def _sentences(*said: str) -> str:
    return " ".join(s for s in said if s)


def _spread(project: Project, stage: Stage, look: StageLook) -> Iterator[Proposal]:
    """The second number: from the spread of what happened. Certain items and three-point ones stay."""
    items = [i for i in _fresh(project, stage, "spread") if i.low is None and i.high > i.likely]
    ratio = look.high_factor / look.factor.value
    items = [i for i in items if abs(math.log(ratio * i.likely / i.high)) >= _LEAST_SHARE]
    if not items:
        return
    after = {i.id: max(i.likely, round(i.likely * ratio, 2)) for i in items}
    yield Proposal(
        f"spread:{stage.id}",
        "spread",
        stage.name,
        _spans([(i.name, i.likely, i.high) for i in items]),
        _spans([(i.name, i.likely, after[i.id]) for i in items]),
        _sentences(
            trn(
                "Nine of ten items should stay below {ratio} times the likely hours, going by "
                "{n} item of this stage and by the others.",
                "Nine of ten items should stay below {ratio} times the likely hours, going by "
                "{n} items of this stage and by the others.",
                look.n,
                ratio=dates.decimal(ratio, 2),
            ),
            _shrunk(look.prior_share),
        ),
        look.prior_share > 0.5,
        stage.id,
        {"ratio": round(ratio, 4), "items": dict.fromkeys(after)},
    )


def _evenings(project: Project, facts: Facts, prior: Prior) -> Iterator[Proposal]:
    done = {(r.get("day"), r.get("start"), r.get("to")) for r in _applied(project) if r.get("kind") == "evening"}
    for n, slot in enumerate(project.week):
        sure = slot.chance >= PLANNED_CHANCE
        if not any(e.sure == sure for e in facts.evenings) or (slot.day, _clock(slot), slot.chance) in done:
            continue
        look = evening_look(facts.evenings, sure, DAYS.index(slot.day), prior, slot.chance)
        chance = round(look.chance.value, 2)
        if abs(chance - slot.chance) < _LEAST_CHANCE:
            continue
        reason = _sentences(
            _evening_reason(look, sure, DAYS.index(slot.day)),
            tr("Never ticked off, and so counted as not happened: {n}.", n=look.unlogged) if look.unlogged else "",
            tr("Below 75 in 100 the plan no longer leans on it.") if sure and chance < PLANNED_CHANCE else "",
            _shrunk(look.prior_share),
        )
        yield Proposal(
            f"evening:{slot.day}:{_clock(slot)}",
            "evening",
            tr("{weekday} {time}", weekday=dates.long_weekday(DAYS.index(slot.day)), time=_clock(slot)),
            # translators: {odds} is "80 in 100"
            tr("happens {odds}", odds=in_100(slot.chance)),
            tr("happens {odds}", odds=in_100(chance)),
            reason,
            look.prior_share > 0.5,
            slot.day,
            {"slot": n, "day": slot.day, "start": _clock(slot), "from": slot.chance, "to": chance},
        )


def _evening_reason(look: EveningLook, sure: bool, weekday: int) -> str:
    name = dates.long_weekday(weekday)
    low, high = in_100(look.chance.low), in_100(look.chance.high)
    if not look.promised:
        said = (
            mark("No sure {weekday} yet; this is from your other sure evenings (8 in 10 sure: {low} to {high}).")
            if sure
            else mark("No maybe {weekday} yet; this is from your other maybe evenings (8 in 10 sure: {low} to {high}).")
        )
        return tr(said, weekday=name, low=low, high=high)
    if sure:
        return trn(
            "{kept} of {n} sure {weekday} evening happened (8 in 10 sure: {low} to {high}).",
            "{kept} of {n} sure {weekday} evenings happened (8 in 10 sure: {low} to {high}).",
            look.promised,
            kept=look.kept,
            weekday=name,
            low=low,
            high=high,
        )
    return trn(
        "{kept} of {n} maybe {weekday} evening happened (8 in 10 sure: {low} to {high}).",
        "{kept} of {n} maybe {weekday} evenings happened (8 in 10 sure: {low} to {high}).",
        look.promised,
        kept=look.kept,
        weekday=name,
        low=low,
        high=high,
    )


def _clock(slot: WeekSlot) -> str:
    return slot.start.isoformat(timespec="minutes")


def _switching(project: Project, facts: Facts) -> Iterator[Proposal]:
    look = switch_look(facts.switching)
    if look.minutes is None:
        return
    minutes = float(min(240, round(look.minutes.value)))
    if abs(minutes - project.switching_minutes) < _LEAST_MINUTES:
        return
    yield Proposal(
        "switching",
        "switching",
        tr("Switching between items"),
        tr("{minutes} min", minutes=dates.decimal(project.switching_minutes, 4, least=0)),
        tr("{minutes} min", minutes=dates.decimal(minutes, 4, least=0)),
        # translators: {what} is "each switch to another item costs about 9 min (7 to 11)"
        trn("In {n} evening {what}.", "In {n} evenings {what}.", look.evenings, what=look.words),
        False,
        "",
        {"minutes": minutes},
    )


def _spans(rows: list[tuple[str, Any, Any]]) -> str:
    return "; ".join(
        tr("{item} {likely} (high {high})", item=name, likely=exact_hours(likely), high=exact_hours(high))
        for name, likely, high in rows
    )


# ---- accepting -----------------------------------------------------------------------------------
def accept(project: Project, proposal: Proposal, on: dt.date) -> Project:
    """The project with one proposal in it, and a note that it was accepted.

    Raises:
        BadInput: the project has changed so that there is nothing left to change.
    """
    values = proposal.values
    row: dict[str, Any] = {"kind": proposal.kind, "on": on.isoformat()}
    if proposal.kind in ("estimate", "spread"):
        stage = project.stages_by_id.get(proposal.target)
        items = [] if stage is None else [i for i in _fresh(project, stage, proposal.kind) if i.id in values["items"]]
        if stage is None or not items:
            raise BadInput(
                tr("{what}: there is no item left that this could change; look back again", what=proposal.what)
            )
        for item in items:
            if proposal.kind == "estimate":
                project = change_item(project, item.id, **_scaled(item, values["factor"]))
            else:
                high = max(item.likely, round(item.likely * values["ratio"], 2))
                project = change_item(project, item.id, high=high)
        part = "factor" if proposal.kind == "estimate" else "ratio"
        row |= {"stage": stage.name, part: values[part], "items": [i.id for i in items]}
    elif proposal.kind == "evening":
        week = list(project.week)
        here = [
            n
            for n, slot in enumerate(week)
            if (slot.day, _clock(slot), slot.chance) == (values["day"], values["start"], values["from"])
        ]
        if not here:
            raise BadInput(tr("{what}: the week has changed since; look back again", what=proposal.what))
        week[here[0]] = week[here[0]].but(chance=values["to"])
        project = project.but(week=tuple(week))
        row |= {key: values[key] for key in ("day", "start", "from", "to")}
    else:
        row |= {"from": project.switching_minutes, "to": values["minutes"]}
        project = change_settings(project, switching_minutes=values["minutes"])
    kept = notes(project)
    kept["applied"] = [*_applied(project), row]
    return project.but(**{KEY: kept})
