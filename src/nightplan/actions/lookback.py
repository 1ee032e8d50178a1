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
from nightplan.model.results_lookback import Facts, Proposal, StageLook

KEY = "lookback"
#: asked once the work is done: key in the file, question
QUESTIONS = (
    ("overran", "What overran?"),
    ("cut_earlier", "What would you cut earlier?"),
    ("again", "What would you do again?"),
)
MAX_ANSWER = 5_000
#: smaller changes are not worth a decision
_LEAST_SHARE, _LEAST_CHANCE, _LEAST_MINUTES = 0.03, 0.03, 2.0
_DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


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
            raise BadInput.at("answer", key, f"the questions are {', '.join(known)}")
        if len(text) > MAX_ANSWER:
            raise BadInput.at(f"answer {key}", f"{len(text)} characters", f"at most {MAX_ANSWER} are accepted")
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
    band = f"8 in 10 sure: {look.factor.low:.2f} to {look.factor.high:.2f}"
    if not look.n:
        return (
            f"No finished item in this stage yet; going by your other stages {look.factor.value:.2f} times the likely "
            f"hours is the best guess ({band})."
        )
    told = (
        f"{_count(look.n, 'item')} in {_count(look.projects, 'project')} took {look.ratio:.2f} times the planned "
        f"hours; from this and from your other stages {look.factor.value:.2f} times is the best guess ({band})."
    )
    return told + _shrunk(look.prior_share)


def _shrunk(share: float) -> str:
    if share <= 0.25:
        return ""
    return f" Few data: {percent(share)} of this is the starting assumption."


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
        f"Nine of ten items should stay below {ratio:.2f} times the likely hours, going by "
        f"{_count(look.n, 'item')} of this stage and by the others." + _shrunk(look.prior_share),
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
        word, name = "sure" if sure else "maybe", _DAY_NAMES[DAYS.index(slot.day)]
        reason = (
            f"{look.kept} of {_count(look.promised, f'{word} {name} evening')} happened"
            if look.promised
            else f"No {word} {name} yet; this is from your other {word} evenings"
        )
        reason += f" (8 in 10 sure: {in_100(look.chance.low)} to {in_100(look.chance.high)})."
        if look.unlogged:
            reason += f" Never ticked off, and so counted as not happened: {look.unlogged}."
        if sure and chance < PLANNED_CHANCE:
            reason += " Below 75 in 100 the plan no longer leans on it."
        yield Proposal(
            f"evening:{slot.day}:{_clock(slot)}",
            "evening",
            f"{name} {_clock(slot)}",
            f"happens {in_100(slot.chance)}",
            f"happens {in_100(chance)}",
            reason + _shrunk(look.prior_share),
            look.prior_share > 0.5,
            slot.day,
            {"slot": n, "day": slot.day, "start": _clock(slot), "from": slot.chance, "to": chance},
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
        "Switching between items",
        f"{project.switching_minutes:g} min",
        f"{minutes:g} min",
        f"In {look.evenings} evenings {look.words}.",
        False,
        "",
        {"minutes": minutes},
    )


def _spans(rows: list[tuple[str, Any, Any]]) -> str:
    return "; ".join(f"{name} {exact_hours(likely)} (high {exact_hours(high)})" for name, likely, high in rows)


def _count(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


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
            raise BadInput(f"{proposal.what}: there is no item left that this could change; look back again")
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
            raise BadInput(f"{proposal.what}: the week has changed since; look back again")
        week[here[0]] = week[here[0]].but(chance=values["to"])
        project = project.but(week=tuple(week))
        row |= {key: values[key] for key in ("day", "start", "from", "to")}
    else:
        row |= {"from": project.switching_minutes, "to": values["minutes"]}
        project = change_settings(project, switching_minutes=values["minutes"])
    kept = notes(project)
    kept["applied"] = [*_applied(project), row]
    return project.but(**{KEY: kept})
