# SPDX-License-Identifier: GPL-3.0-or-later
"""The brief: deliverables and their rules, a person's ticks, hand-in sheets. Pasted text is in ``actions.brief_paste``,
work for the plan in ``actions.brief_work``, values as they are typed in ``actions.brief_values``."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from nightplan.actions.values import changed, free_id, made
from nightplan.brief.findings import Report
from nightplan.brief.handin import KEEP, FileState, Sheet, handins_of, make_sheet, store, verify
from nightplan.brief.kinds import KINDS
from nightplan.brief.presets import PRESET_WORDS, PRESETS, preset
from nightplan.brief.rules import (
    MAX_DELIVERABLES,
    MAX_RULES,
    Deliverable,
    Rule,
    deliverables_from_raw,
    deliverables_of,
    deliverables_to_raw,
)
from nightplan.brief.worker import Progress
from nightplan.model.brief import BriefNotes
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trn


# ---- deliverables --------------------------------------------------------------------------------
def add_deliverable(project: Project, name: str, what: str, *, position: int | None = None, **keys: Any) -> Project:
    """A further thing to hand in; ``what``: sequence, movie, image, zip, folder or text.

    Raises:
        BadInput: naming the key and what is accepted.
    """
    there = deliverables_of(project)
    raw = {"id": free_id({d.id for d in there}, name, "deliverable"), "name": name, "what": what, **keys}
    return _added(project, made(Deliverable, f"deliverables[{len(there)}]", raw), position)


def add_preset(project: Project, name: str) -> Project:
    """A deliverable of a usual kind, one of :data:`PRESETS`; its numbers are there to be changed. Raises BadInput."""
    there = {d.id for d in deliverables_of(project)}
    return _added(project, preset(name, id=free_id(there, name, "deliverable")), None)


def _added(project: Project, new: Deliverable, position: int | None) -> Project:
    there = list(deliverables_of(project))
    if len(there) >= MAX_DELIVERABLES:
        raise BadInput(tr("deliverables: at most {most} are accepted", most=MAX_DELIVERABLES))
    there.insert(len(there) if position is None else position, new)
    return with_deliverables(project, there)


def change_deliverable(project: Project, deliverable: str, **changes: Any) -> Project:
    """Change keys of a deliverable: name, what, condition, selected, fps. Raises BadInput."""
    there, place = _found(project, deliverable)
    new = changed(there[place], f"deliverables[{place}]", **changes)
    return with_deliverables(project, (*there[:place], new, *there[place + 1 :]))


def remove_deliverable(project: Project, deliverable: str) -> Project:
    """Take a deliverable and its rules out; its hand-in sheets stay."""
    there, place = _found(project, deliverable)
    return with_deliverables(project, (*there[:place], *there[place + 1 :]))


def move_deliverable(project: Project, deliverable: str, steps: int) -> Project:
    """Earlier (negative) or later in the order; stops at the ends."""
    there, place = _found(project, deliverable)
    return with_deliverables(project, _moved(there, place, steps))


def _found(project: Project, deliverable: str) -> tuple[tuple[Deliverable, ...], int]:
    there = deliverables_of(project)
    for n, one in enumerate(there):
        if one.id == deliverable:
            return there, n
    raise BadInput(tr("{id!r} is no deliverable of this project", id=deliverable))


def deliverable_of(project: Project, deliverable: str) -> Deliverable:
    """Raises BadInput where there is none of that id."""
    there, place = _found(project, deliverable)
    return there[place]


def with_deliverables(project: Project, deliverables: Iterable[Deliverable]) -> Project:
    """The project with these deliverables, all rules checked. Raises BadInput."""
    raw = deliverables_to_raw(tuple(deliverables))
    deliverables_from_raw(list(raw))
    return project.but(deliverables=raw)


# ---- rules ---------------------------------------------------------------------------------------
def add_rule(
    project: Project,
    deliverable: str,
    kind: str,
    value: Any = None,
    comparison: str | None = None,
    *,
    position: int | None = None,
    **keys: Any,
) -> Project:
    """A further rule of a deliverable; the comparison is the first that its kind has unless given.

    ``keys``: strength, wording, breach, evidence, tolerance and the others of :class:`Rule`. Raises BadInput.
    """
    if comparison is None:
        comparison = KINDS[kind].comparisons[0] if kind in KINDS else "exactly"
    raw = {"kind": kind, "value": value, "comparison": comparison, **keys}
    there, place = _found(project, deliverable)
    raw = {"id": free_id({r.id for r in there[place].rules}, kind, "rule"), **raw}
    rules = list(there[place].rules)
    at = f"deliverables[{place}].rules[{len(rules)}]"
    if len(rules) >= MAX_RULES:
        raise BadInput(tr("{place}: at most {most} rules are accepted", place=at, most=MAX_RULES))
    rules.insert(len(rules) if position is None else position, made(Rule, at, raw))
    return _with_rules(project, deliverable, rules)


def change_rule(project: Project, deliverable: str, rule: str, **changes: Any) -> Project:
    """Change keys of a rule; several that need each other (kind, comparison, value) at once. Raises BadInput."""
    owner, place, at = _rule(project, deliverable, rule)
    new = changed(owner.rules[place], at, **changes)
    return _with_rules(project, deliverable, (*owner.rules[:place], new, *owner.rules[place + 1 :]))


def remove_rule(project: Project, deliverable: str, rule: str) -> Project:
    """Take a rule out for good. Raises BadInput where it is not there."""
    owner, place, _ = _rule(project, deliverable, rule)
    return _with_rules(project, deliverable, (*owner.rules[:place], *owner.rules[place + 1 :]))


def move_rule(project: Project, deliverable: str, rule: str, steps: int) -> Project:
    """Earlier (negative) or later among the rules of its deliverable; stops at the ends."""
    owner, place, _ = _rule(project, deliverable, rule)
    return _with_rules(project, deliverable, _moved(owner.rules, place, steps))


def move_rule_to(project: Project, deliverable: str, rule: str, target: str) -> Project:
    """A rule to another deliverable, as its last one."""
    owner, place, _ = _rule(project, deliverable, rule)
    if target == deliverable:
        return project
    there = deliverable_of(project, target)
    new = owner.rules[place].but(id=free_id({r.id for r in there.rules}, owner.rules[place].id, "rule"))
    return _with_rules(remove_rule(project, deliverable, rule), target, (*there.rules, new))


def answer_tick(project: Project, deliverable: str, rule: str, ticked: bool = True, note: str = "") -> Project:
    """A person's own answer to a rule, with a note such as why it is so, or where it was posted."""
    return change_rule(project, deliverable, rule, ticked=ticked, tick_note=note.strip())


def rule_of(project: Project, deliverable: str, rule: str) -> Rule:
    """Raises BadInput where there is none of these ids."""
    owner, place, _ = _rule(project, deliverable, rule)
    return owner.rules[place]


def _rule(project: Project, deliverable: str, rule: str) -> tuple[Deliverable, int, str]:
    there, place = _found(project, deliverable)
    for n, one in enumerate(there[place].rules):
        if one.id == rule:
            return there[place], n, f"deliverables[{place}].rules[{n}]"
    raise BadInput(tr("{id!r} is no rule of {deliverable!r}", id=rule, deliverable=there[place].name))


def _with_rules(project: Project, deliverable: str, rules: Iterable[Rule]) -> Project:
    return change_deliverable(project, deliverable, rules=tuple(rules))


def _moved(row: tuple[Any, ...], here: int, steps: int) -> tuple[Any, ...]:
    new = list(row)
    there = min(len(new) - 1, max(0, here + steps))
    new.insert(there, new.pop(here))
    return tuple(new)


def notes_of(project: Project) -> BriefNotes:
    """The pasted text and what was refused."""
    return project.brief or BriefNotes()


def with_notes(project: Project, notes: BriefNotes) -> Project:
    """The project with other notes on its brief; empty ones take the key away."""
    empty = not notes.text and not notes.refused and not notes.unknown
    return project.but(brief=None if empty else notes)


# ---- hand-in sheets ------------------------------------------------------------------------------
def keep_handin(project: Project, sheet: Sheet) -> Project:
    """The project with a hand-in sheet (:func:`make_sheet`); the newest :data:`KEEP` of each deliverable stay."""
    return store(project, sheet)


def remove_handin(project: Project, place: int) -> Project:
    """Take the sheet at a place of :func:`handins_of` out. Raises BadInput where there is none."""
    sheets = handins_of(project)
    if not 0 <= place < len(sheets):
        raise BadInput.at(
            "handins", place, trn("there is {n} hand-in sheet", "there are {n} hand-in sheets", len(sheets))
        )
    left = (*sheets[:place], *sheets[place + 1 :])
    return project.but(handins=left or None)


__all__ = [
    "KEEP",
    "KINDS",
    "PRESETS",
    "PRESET_WORDS",
    "Deliverable",
    "FileState",
    "Progress",
    "Report",
    "Rule",
    "Sheet",
    "add_deliverable",
    "add_preset",
    "add_rule",
    "answer_tick",
    "change_deliverable",
    "change_rule",
    "deliverable_of",
    "deliverables_of",
    "handins_of",
    "keep_handin",
    "make_sheet",
    "move_deliverable",
    "move_rule",
    "move_rule_to",
    "notes_of",
    "remove_deliverable",
    "remove_handin",
    "remove_rule",
    "rule_of",
    "verify",
    "with_deliverables",
    "with_notes",
]
