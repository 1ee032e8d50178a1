# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules that need work, as gates and items that the artist may take into the plan."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Literal

from nightplan.brief.rules import Deliverable, Rule, wanted_of
from nightplan.speech import tr, trn

#: hours that a piece of such work takes, likely and high (common practice, no source; the artist changes them)
_HOURS = {"slate": (0.5, 1.0), "kept-stage": (0.5, 1.0), "making-of": (4.0, 8.0), "progress-post": (0.5, 1.0)}
#: in English; the id of a deliverable stays English where its name is not
_MAKING_OF = re.compile(r"making[ -]?of|breakdown|behind the scenes|process (?:film|video|reel)", re.IGNORECASE)
_MOST_POSTS = 12


@dataclass(frozen=True, slots=True)
class Proposal:
    """A gate or an item that a rule asks for; nothing enters the plan without the artist."""

    make: Literal["gate", "item"]
    id: str
    name: str
    #: deliverable and rule that it comes from; the rule is empty where the deliverable itself is the work
    deliverable: str
    rule: str
    why: str
    #: of a gate: its day, where the rule names one
    on: dt.date | None = None
    #: of an item: effort in hours
    likely_hours: float | None = None
    high_hours: float | None = None
    #: of an item: the gate that it belongs to, where it is a proposed one
    gate: str = ""


def work_from_brief(deliverables: tuple[Deliverable, ...]) -> tuple[Proposal, ...]:
    """Gates and items for the deliverables that are wanted.

    A progress post is a gate with an item; a kept stage, a slate and a making-of are items.
    """
    found: list[Proposal] = []
    for d in deliverables:
        if not d.wanted:
            continue
        if _MAKING_OF.search(d.name) or _MAKING_OF.search(d.id):
            found.append(_item(d, None, f"{d.id}-make", tr("Make: {name}", name=d.name), "making-of", d.name))
        for rule in d.rules:
            if rule.kind == "progress-post":
                found += _posts(d, rule)
            elif rule.kind == "kept-stage":
                what = rule.value if isinstance(rule.value, str) else "stages"
                kind = "making-of" if _MAKING_OF.search(what) else "kept-stage"
                found.append(
                    _item(
                        d,
                        rule,
                        f"{d.id}-{rule.id}",
                        tr("Keep for the hand-in: {what}", what=what)[:200],
                        kind,
                        rule.wording or what,
                    )
                )
            elif rule.kind == "slate" and rule.look == "card":
                found.append(
                    _item(
                        d,
                        rule,
                        f"{d.id}-{rule.id}",
                        tr("Make the slate at the start") if rule.place == "start" else tr("Make the slate at the end"),
                        "slate",
                        rule.wording,
                    )
                )
    return tuple(found)


def _item(d: Deliverable, rule: Rule | None, id: str, name: str, kind: str, why: str, gate: str = "") -> Proposal:
    likely, high = _HOURS[kind]
    return Proposal("item", id[:80], name, d.id, rule.id if rule else "", why, None, likely, high, gate)


def _posts(d: Deliverable, rule: Rule) -> list[Proposal]:
    count = min(int(wanted_of(rule).numbers[0]), _MOST_POSTS)
    found = []
    for n in range(max(count, len(rule.due))):
        day = dt.date.fromisoformat(rule.due[n]) if n < len(rule.due) else None
        gate = f"{d.id}-{rule.id}-{n + 1}"[:80]
        name = tr("Progress post {n}", n=n + 1) if max(count, len(rule.due)) > 1 else tr("Progress post")
        why = rule.wording or trn("{n} progress post is asked for", "{n} progress posts are asked for", count)
        found.append(Proposal("gate", gate, name, d.id, rule.id, why, day))
        found.append(_item(d, rule, f"{gate[:70]}-make", tr("Make: {name}", name=name), "progress-post", why, gate))
    return found
