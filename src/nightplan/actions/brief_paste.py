# SPDX-License-Identifier: GPL-3.0-or-later
"""From pasted text to rules: what the reader proposes, and what the artist says to each proposal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Literal

from nightplan.actions.brief import (
    add_deliverable,
    deliverable_of,
    deliverables_of,
    notes_of,
    with_deliverables,
    with_notes,
)
from nightplan.actions.edit import set_gate
from nightplan.actions.values import free_id
from nightplan.brief.kinds import KINDS
from nightplan.brief.paste import Proposal, accepted, read_text
from nightplan.brief.rules import Deliverable, Rule
from nightplan.evenings.gates import gate_moment
from nightplan.evenings.wording import apply_reading
from nightplan.model.brief import MAX_BRIEF_TEXT, MAX_REFUSED, Refused
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trc

Standing = Literal["open", "accepted", "refused"]
_WHAT_WORDS = {
    "sequence": tr("a sequence of frames"),
    "movie": tr("a movie"),
    "image": tr("a still"),
    "zip": tr("a ZIP"),
    "folder": tr("a folder"),
    "text": tr("a text"),
}
#: what a new deliverable of a kind is called
_NAMES = {
    "sequence": trc("deliverable", "Sequence"),
    "movie": trc("deliverable", "Movie"),
    "image": trc("deliverable", "Still"),
    "zip": "ZIP",
    "folder": trc("deliverable", "Folder"),
    "text": trc("deliverable", "Text"),
}


def set_brief_text(project: Project, text: str) -> Project:
    """Keep the organiser's text as it was pasted; what was refused stays refused. Raises BadInput for a whole site."""
    if len(text) > MAX_BRIEF_TEXT:
        raise BadInput(
            tr(
                "{key}: the text has {n} letters; at most {most} are accepted",
                key="brief.text",
                n=len(text),
                most=MAX_BRIEF_TEXT,
            )
        )
    return with_notes(project, notes_of(project).but(text=text))


def brief_text(project: Project) -> str:
    """The text as it was pasted; empty where there is none."""
    return notes_of(project).text


def proposals_of(project: Project) -> tuple[Proposal, ...]:
    """What the kept text proposes, in its order. Raises BadInput for a zone that is not known."""
    text = brief_text(project)
    return read_text(text, home_zone=project.zone, not_before=project.announced) if text.strip() else ()


def standings(project: Project, proposals: Iterable[Proposal]) -> tuple[Standing, ...]:
    """What became of each proposal; a rule that was changed after it was accepted is still the accepted one."""
    proposals = tuple(proposals)
    rules = [r for d in deliverables_of(project) for r in d.rules]
    by_sentence = {(r.kind, r.wording) for r in rules}
    exact = {_key(r) for r in rules}
    refused = {(r.kind, r.comparison, repr(r.value), r.sentence) for r in notes_of(project).refused}
    alike = Counter((p.rule.kind, p.sentence) for p in proposals if p.rule is not None)
    told: list[Standing] = []
    for p in proposals:
        if _refusal_key(p) in refused:
            told.append("refused")
        elif p.rule is None:
            known = {(g.wording, g.at) for g in project.gates}
            assert p.deadline is not None
            told.append("accepted" if (p.deadline.wording, p.deadline.at) in known else "open")
        elif alike[p.rule.kind, p.sentence] == 1:
            told.append("accepted" if (p.rule.kind, p.sentence) in by_sentence else "open")
        else:
            told.append("accepted" if _key(p.rule) in exact else "open")
    return tuple(told)


def _key(rule: Rule) -> tuple[str, str, str, str]:
    return rule.kind, rule.comparison, repr(rule.value), rule.wording


def _refusal_key(p: Proposal) -> tuple[str, str, str, str]:
    if p.rule is None:
        return "deadline", "", repr(p.part), p.sentence
    return _key(p.rule)


def fits(proposal: Proposal, home: Deliverable) -> bool:
    """Whether a proposed rule can be measured on a deliverable; a rate also says how frames are shown."""
    rate = proposal.rule is not None and proposal.rule.kind == "fps" and home.what in ("sequence", "zip", "folder")
    return rate or not proposal.fits or home.what in proposal.fits


def home_of(there: Iterable[Deliverable], proposal: Proposal, preferred: str | None = None) -> Deliverable | None:
    """Where a proposal would go to: the preferred deliverable, else the first that it can be measured on."""
    row = sorted(there, key=lambda d: d.id != preferred)
    return next((d for d in row if fits(proposal, d)), None)


def guess_what(proposals: Iterable[Proposal]) -> str:
    """The kind of deliverable that most of the proposals speak of: movie, sequence, image, zip or text."""
    kinds = {p.rule.kind for p in proposals if p.rule is not None}
    if kinds & {"container", "video-codec", "audio", "audio-codec", "loudness", "scan"}:
        return "movie"
    if kinds & {"padding", "frame-range", "numbering"} or ("frame-count" in kinds and "image-format" in kinds):
        return "sequence"
    if kinds & {"fps", "duration", "frame-count"}:
        return "movie"
    if "tree" in kinds and not kinds & {"image-format", "picture-size", "long-side"}:
        return "zip"
    return "text" if "text-length" in kinds and len(kinds) == 1 else "image"


def accept_proposal(project: Project, proposal: Proposal, deliverable: str | None, *, what: str = "movie") -> Project:
    """One proposed rule taken over, its sentence kept verbatim.

    Args:
        deliverable: None makes a new one, of the kind ``what``.

    Raises:
        BadInput: the rule cannot be measured on that deliverable, or stands there already with a sentence of its own;
            a deadline (:func:`accept_deadline`).
    """
    if proposal.rule is None:
        raise BadInput(tr("a deadline belongs to a gate, not to a deliverable"))
    if deliverable is None:
        project = add_deliverable(project, _NAMES.get(what, what), what)
        deliverable = deliverables_of(project)[-1].id
    home = deliverable_of(project, deliverable)
    if not fits(proposal, home):
        raise BadInput(
            # translators: "Loudness is measured on a movie or a ZIP, and 'Poster' is a still"
            tr(
                "{rule} is measured on {where}, and {deliverable!r} is {what}",
                rule=KINDS[proposal.rule.kind].words,
                where=trc("between the last of several that may be", " or ").join(
                    _WHAT_WORDS[w] for w in proposal.fits
                ),
                deliverable=home.name,
                what=_WHAT_WORDS[home.what],
            )
        )
    new = _joined(home, proposal) or accepted(home, [proposal])
    project = with_deliverables(project, [new if d.id == home.id else d for d in deliverables_of(project)])
    return _without_refusal(project, proposal)


def _joined(home: Deliverable, proposal: Proposal) -> Deliverable | None:
    """The deliverable whose own rule gains the sentence, where it has the very rule without one."""
    rule = proposal.rule
    assert rule is not None
    for n, mine in enumerate(home.rules):
        if (mine.kind, mine.comparison, mine.value) != (rule.kind, rule.comparison, rule.value):
            continue
        if mine.wording:
            raise BadInput(
                tr(
                    "{rule}: {deliverable!r} has this rule already, from “{sentence}”; refuse this one",
                    rule=KINDS[rule.kind].words,
                    deliverable=home.name,
                    sentence=mine.wording[:80],
                )
            )
        kept = mine.but(wording=rule.wording, breach=mine.breach or rule.breach)
        return home.but(rules=(*home.rules[:n], kept, *home.rules[n + 1 :]))
    return None


def accept_deadline(project: Project, proposal: Proposal, gate: str | None = "deadline", name: str = "") -> Project:
    """A proposed deadline as the moment of a gate, its wording kept; None makes a further gate.

    Raises:
        BadInput: the lock would come after the deadline, or the date cannot be a gate of this project.
    """
    if proposal.deadline is None:
        raise BadInput(tr("this proposal is a rule, not a deadline"))
    name = name or tr("Date of the brief")
    reading = apply_reading(proposal.deadline, gate or free_id(set(project.gates_by_id), name, "gate"), name)
    there = project.gates_by_id.get(reading.id)
    if there is not None:
        keys = ("at", "zone", "wording", "uncertain")
        reading = there.but(on=None, **{key: getattr(reading, key) for key in keys})
    changed = set_gate(project, reading)
    lock, deadline = (gate_moment(changed, changed.gates_by_id[g]) for g in ("lock", "deadline"))
    if lock.date > deadline.date:
        raise BadInput(
            tr(
                "gates: the lock ({lock}) would come after the deadline ({deadline}); move the lock first, or take the "
                "date as a further gate",
                lock=lock.date,
                deadline=deadline.date,
            )
        )
    return _without_refusal(changed, proposal)


def refuse_proposal(project: Project, proposal: Proposal) -> Project:
    """Not wanted: it stays out, also when the text is read again."""
    kind, comparison, _value, sentence = _refusal_key(proposal)
    value = proposal.part if proposal.rule is None else proposal.rule.value
    one = Refused(kind=kind, comparison=comparison, value=value, sentence=sentence)
    notes = notes_of(project)
    if one in notes.refused:
        return project
    return with_notes(project, notes.but(refused=(*notes.refused, one)[-MAX_REFUSED:]))


def ask_again(project: Project, proposal: Proposal) -> Project:
    """A refused proposal is open again."""
    return _without_refusal(project, proposal)


def _without_refusal(project: Project, proposal: Proposal) -> Project:
    notes, key = notes_of(project), _refusal_key(proposal)
    left = tuple(r for r in notes.refused if (r.kind, r.comparison, repr(r.value), r.sentence) != key)
    return project if len(left) == len(notes.refused) else with_notes(project, notes.but(refused=left))


__all__ = [
    "Proposal",
    "Standing",
    "accept_deadline",
    "accept_proposal",
    "ask_again",
    "brief_text",
    "fits",
    "guess_what",
    "home_of",
    "proposals_of",
    "refuse_proposal",
    "set_brief_text",
    "standings",
]
