# SPDX-License-Identifier: GPL-3.0-or-later
"""Proposes rules from the pasted text of a brief, each beside the sentence that it came from.

English only. Nothing is accepted here: a proposal becomes a rule when the artist says so (:func:`accepted`).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import ValidationError

from nightplan.brief import paste_words as words
from nightplan.brief.paste_dates import DATED, dated_parts, without_dates
from nightplan.brief.paste_words import Found
from nightplan.brief.rules import Deliverable, Rule, What
from nightplan.evenings.wording import DeadlineReading, read_deadline
from nightplan.model.errors import BadInput
from nightplan.model.parse import sentence as said
from nightplan.speech import tr

#: a rule sheet has a few pages; more is a whole site
MAX_TEXT = 200_000
_MAX_SENTENCE = 2_000
_MAX_PROPOSALS = 300


@dataclass(frozen=True, slots=True)
class Proposal:
    """One rule, or one deadline, that a sentence may state."""

    sentence: str
    #: the part of the sentence that was read
    part: str
    #: None for a deadline
    rule: Rule | None
    deadline: DeadlineReading | None = None
    #: what is open about it, in plain words; empty where it is clear
    doubts: tuple[str, ...] = ()
    #: kinds of deliverable that it can belong to; empty: any
    fits: tuple[What, ...] = field(default=())


def read_text(text: str, *, home_zone: str, not_before: dt.date) -> tuple[Proposal, ...]:
    """Every rule and deadline that is recognised, in the order of the text.

    Args:
        home_zone: the artist's own zone, for the local meaning of deadlines.
        not_before: a date without a year is the first such date on or after this one.

    Raises:
        BadInput: the text is too long, or the zone is unknown.
    """
    if len(text) > MAX_TEXT:
        raise BadInput(tr("the text has {n} letters; at most {most} are read at once", n=len(text), most=MAX_TEXT))
    found: list[Proposal] = []
    for sentence in sentences(text):
        found += _from_sentence(sentence, home_zone, not_before)
        if len(found) >= _MAX_PROPOSALS:
            break
    return tuple(_numbered(_contradictions(found[:_MAX_PROPOSALS])))


def sentences(text: str) -> list[str]:
    """The text in sentences and list entries, blank ones left out, each as it stood."""
    parts: list[str] = []
    for entry in re.split(r"[\r\n]+|(?<=[a-z\d)])\s*[;•·]\s+", text):
        line = _LISTED.sub("", entry)
        # a full stop ends a sentence before a capital or the end; "24 fps." does, "H.264" and "2.39:1" do not
        parts += re.split(r"(?<=[.!?])\s+(?=[A-Z\"'(])", line)
    cleaned = (" ".join(p.split()) for p in parts)
    return [c[:_MAX_SENTENCE] for c in cleaned if c and re.search(r"\w", c)]


_LISTED = re.compile(r"^\s*(?:[-*•·–]|\d{1,2}[.)])\s+")


def _from_sentence(sentence: str, home_zone: str, not_before: dt.date) -> list[Proposal]:
    strength, doubt = words.strength_of(sentence)
    breach = sentence if words.BREACH.search(sentence) else ""
    found: list[Proposal] = []
    deadline = _deadline(sentence, home_zone, not_before)
    rest = sentence
    if deadline is not None:
        doubts = tuple(d for d in (deadline.reading,) if d and deadline.uncertain)
        found.append(Proposal(sentence, deadline.wording, None, deadline, doubts))
        # times and dates are no shapes, sizes or counts
        rest = without_dates(sentence)
    for one in words.find(rest):
        raw: dict[str, Any] = {
            "id": "new",
            "kind": one.kind,
            "value": one.value,
            "comparison": one.comparison,
            "strength": one.strength or strength,
            "wording": sentence,
            "breach": breach,
            **one.more,
        }
        try:
            rule = Rule.model_validate(raw)
        except ValidationError:
            # the pattern took a number that no rule of this kind can have
            continue
        doubts = tuple(d for d in (*one.doubts, doubt if not one.strength else "") if d)
        found.append(Proposal(sentence, one.part, rule, None, doubts, _fits(one)))
    return found


def _fits(one: Found) -> tuple[What, ...]:
    from nightplan.brief.kinds import KINDS

    return KINDS[one.kind].fits  # type: ignore[return-value]


def _deadline(sentence: str, home_zone: str, not_before: dt.date) -> DeadlineReading | None:
    if not DATED.search(sentence):
        return None
    for part in [sentence, *dated_parts(sentence)]:
        try:
            return read_deadline(part, home_zone=home_zone, not_before=not_before)
        except BadInput as error:
            if "zone" in error.sentence.split("=")[0]:
                raise
    return None


def _contradictions(found: list[Proposal]) -> list[Proposal]:
    """Mark proposals of one kind that cannot both hold; the same rule twice is kept once."""
    kept: list[Proposal] = []
    seen: dict[tuple[str, str, str], int] = {}
    for proposal in found:
        if proposal.rule is None:
            kept.append(proposal)
            continue
        key = (proposal.rule.kind, proposal.rule.comparison, repr(proposal.rule.value))
        if key in seen:
            continue
        seen[key] = len(kept)
        kept.append(proposal)
    alike: dict[str, list[int]] = {}
    for n, proposal in enumerate(kept):
        if proposal.rule is not None and proposal.rule.kind not in _MANY:
            alike.setdefault(proposal.rule.kind, []).append(n)
    for places in alike.values():
        # two bounds can hold together; a number and something else of its kind cannot
        if len(places) > 1 and any(_exact(kept[n]) for n in places):
            for n in places:
                note = tr("the text has several of this kind: they may belong to different deliverables")
                kept[n] = replace(kept[n], doubts=(*kept[n].doubts, note))
    return kept


def _exact(proposal: Proposal) -> bool:
    return proposal.rule is not None and proposal.rule.comparison == "exactly"


_MANY = {"tick", "declaration", "kept-stage", "name", "progress-post", "working-time"}


def _numbered(found: Iterable[Proposal]) -> list[Proposal]:
    counts: dict[str, int] = {}
    numbered = []
    for proposal in found:
        if proposal.rule is None:
            numbered.append(proposal)
            continue
        kind = proposal.rule.kind
        counts[kind] = counts.get(kind, 0) + 1
        name = kind if counts[kind] == 1 else f"{kind}-{counts[kind]}"
        numbered.append(replace(proposal, rule=proposal.rule.but(id=name)))
    return numbered


def accepted(deliverable: Deliverable, proposals: Iterable[Proposal]) -> Deliverable:
    """The deliverable with the rules of the proposals that the artist took; ids are made unique. Raises BadInput."""
    taken = {rule.id for rule in deliverable.rules}
    rules = list(deliverable.rules)
    for proposal in proposals:
        if proposal.rule is None:
            continue
        base = proposal.rule.id
        name, n = base, 2
        while name in taken:
            name, n = f"{base}-{n}", n + 1
        taken.add(name)
        rules.append(proposal.rule.but(id=name))
    try:
        return deliverable.but(rules=tuple(rules))
    except ValidationError as error:
        raise BadInput(said(error.errors(include_url=False)[0])) from None
