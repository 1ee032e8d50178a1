# SPDX-License-Identifier: GPL-3.0-or-later
"""What the stage table shows, as plain values and words. No Qt here."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Literal

from nightplan.desk.widgets import strip_words as words
from nightplan.engine.state import ItemState, item_states
from nightplan.evenings.gates import gate_moment
from nightplan.model.errors import BadInput
from nightplan.model.project import Item, Project, Stage
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr, trc, trn

RowState = Literal["open", "started", "done", "cut", "empty"]
STATE_WORDS: dict[RowState, str] = {
    "open": trc("of an item", "open"),
    "started": trc("of an item", "started"),
    "done": trc("of an item", "done"),
    "cut": trc("of an item", "left out"),
    "empty": "",
}
#: as in the file -> as it is shown
TIER_WORDS = {
    "primary": trc("tier", "primary"),
    "secondary": trc("tier", "secondary"),
    "tertiary": trc("tier", "tertiary"),
}
#: less than three minutes is not worth a word
_TRIFLE = 0.05
_BETWEEN = trc("between the parts of a sentence", "; ")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: an item, or a stage with the sums of its items."""

    id: str
    #: the stage itself for a stage's own line
    stage: str
    is_stage: bool
    name: str
    tier: str
    likely: float | None
    high: float | None
    low: float | None
    spent: float
    left: float
    state: RowState
    #: 9 in 10 futures have finished it by this evening
    by: dt.date | None
    #: why there is no date: done, left out, not known yet, later than can be seen
    by_words: str
    pinned: bool
    waits_for: str
    gate: str
    #: in plain words under the line; empty for most
    note: str
    tip: str
    #: it takes longer than the likely time
    over: bool = False


@dataclass(frozen=True, slots=True)
class StageRows:
    row: Row
    items: tuple[Row, ...]


def stage_rows(project: Project, as_of: dt.date, plan: Plan | None, forecast: Forecast | None) -> tuple[StageRows, ...]:
    """All lines of the table, in the artist's order."""
    states = item_states(project, as_of)
    left = {i.id: i.hours for i in plan.items} if plan is not None else {}
    finish = {i.id: i.finish for i in plan.items} if plan is not None else {}
    by = {i.id: i.finish.p90 for i in forecast.items} if forecast is not None else {}
    ran_over = _ran_over(states)
    result = []
    for stage in project.stages:
        rows = []
        for item in stage.items:
            state = states[item.id]
            hours = left.get(item.id, 0.0 if state.state != "open" else max(0.0, item.likely - state.spent))
            shown: RowState = "started" if state.state == "open" and state.spent > 0 else state.state
            notes = _notes(project, stage, item, state, hours, finish.get(item.id), ran_over)
            rows.append(
                Row(
                    item.id,
                    stage.id,
                    False,
                    item.name,
                    item.tier,
                    item.likely,
                    item.high,
                    item.low,
                    state.spent,
                    hours,
                    shown,
                    by.get(item.id),
                    _by_words(shown, item.id in by, by.get(item.id)),
                    item.pinned,
                    _waits_for(project, item.after),
                    "",
                    _BETWEEN.join(within for _, within in notes),
                    _tip(item, state, notes),
                    _is_over(item, state, hours),
                )
            )
        result.append(StageRows(_stage_row(project, stage, rows, bool(forecast)), tuple(rows)))
    return tuple(result)


def _stage_row(project: Project, stage: Stage, rows: list[Row], known: bool) -> Row:
    kept = [r for r in rows if r.state != "cut"]
    going = [r for r in kept if r.state != "done"]
    state: RowState = "empty"
    if rows:
        state = "cut" if not kept else "done" if not going else "open"
        if state == "open" and any(r.spent > 0 for r in kept):
            state = "started"
    dates = [r.by for r in going]
    latest = max((d for d in dates if d is not None), default=None)
    by = latest if going and None not in dates else None
    gate = project.gates_by_id[stage.gate].name if stage.gate in project.gates_by_id else stage.gate
    return Row(
        stage.id,
        stage.id,
        True,
        stage.name,
        "",
        sum(r.likely or 0.0 for r in kept) if rows else None,
        # the 9-in-10 number of a sum is not the sum of the 9-in-10 numbers, so none is claimed
        kept[0].high if len(kept) == 1 else None,
        None,
        sum(r.spent for r in rows),
        sum(r.left for r in kept),
        state,
        by,
        _by_words(state, known and bool(going), by),
        False,
        _waits_for(project, stage.after),
        gate,
        "",
        tr("{stage}: belongs to {gate}. Its 9-in-10 evening is the latest of its items.", stage=stage.name, gate=gate),
    )


def _by_words(state: RowState, known: bool, date: dt.date | None) -> str:
    if state in ("done", "cut", "empty") or not known:
        return "—" if state in ("done", "cut", "empty") else "…"
    return words.day(date) if date is not None else tr("beyond the plan")


def _waits_for(project: Project, after: tuple[str, ...]) -> str:
    return ", ".join(name_of(project, key) for key in after)


def name_of(project: Project, key: str) -> str:
    """The name of a stage, an item or a job."""
    found = project.stages_by_id.get(key) or project.items.get(key) or project.jobs_by_id.get(key)
    return found.name if found is not None else key


def _ran_over(states: dict[str, ItemState]) -> tuple[int, int]:
    """How many finished items took longer than likely, and how many are finished with hours logged."""
    done = [s for s in states.values() if s.state == "done" and s.spent > 0]
    return sum(s.spent > s.item.likely + _TRIFLE for s in done), len(done)


def _is_over(item: Item, state: ItemState, left: float) -> bool:
    return state.state == "open" and state.spent > 0 and state.spent + left - item.likely > _TRIFLE


def _notes(
    project: Project,
    stage: Stage,
    item: Item,
    state: ItemState,
    left: float,
    finish: dt.date | None,
    ran_over: tuple[int, int],
) -> list[tuple[str, str]]:
    """Each as it begins a sentence and as it goes on within one."""
    if state.state != "open":
        return []
    notes = []
    if _is_over(item, state, left):
        over = words.known_hours(state.spent + left - item.likely)
        if state.spent + left > item.high + _TRIFLE:
            text = tr(
                "{hours} over the likely time, past the {high} that are enough 9 times in 10",
                hours=over,
                high=words.known_hours(item.high),
            )
        elif ran_over[1]:
            text = trn(
                "{hours} over the likely time; {over} of {n} finished item ran over",
                "{hours} over the likely time; {over} of {n} finished items ran over",
                ran_over[1],
                hours=over,
                over=ran_over[0],
            )
        else:
            text = tr("{hours} over the likely time", hours=over)
        notes.append((text, text))
    gate = project.gates_by_id.get(stage.gate)
    if gate is not None and finish is not None:
        last = gate_moment(project, gate).date
        if finish > last:
            days = {"day": words.day(finish), "gate": gate.name, "last": words.day(last)}
            notes.append(
                (
                    tr("Planned for {day}, after {gate} ({last})", **days),
                    tr("planned for {day}, after {gate} ({last})", **days),
                )
            )
    if item.not_before is not None and (finish is None or item.not_before <= finish):
        day = words.day(item.not_before)
        notes.append((tr("Not before {day}", day=day), tr("not before {day}", day=day)))
    return notes


def _tip(item: Item, state: ItemState, notes: list[tuple[str, str]]) -> str:
    lines = [item.name]
    if state.state == "done" and state.spent > 0:
        over = state.spent - item.likely
        if abs(over) <= _TRIFLE:
            lines.append(tr("Took {hours}, the likely time.", hours=words.known_hours(state.spent)))
        else:
            hours = {"hours": words.known_hours(state.spent), "difference": words.known_hours(abs(over))}
            lines.append(
                tr("Took {hours}, {difference} more than likely.", **hours)
                if over > 0
                else tr("Took {hours}, {difference} less than likely.", **hours)
            )
    if notes:
        # translators: the full stop of a sentence
        lines.append(tr("{sentence}.", sentence=_BETWEEN.join([notes[0][0], *(within for _, within in notes[1:])])))
    if item.pinned:
        lines.append(tr("Pinned: no recovery may change it."))
    if item.note:
        lines.append(item.note)
    return "\n".join(lines)


_PLACE = re.compile(
    r"^(?:stages\[\d+\](?:\.items\[\d+\])?\.?)?(?P<field>\w*)(?: = (?P<value>.*?))?: (?P<rule>.*)$", re.S
)
_FIELDS = {
    "likely": tr("Likely"),
    "high": tr("If it fights back"),
    "low": tr("At best"),
    "name": tr("Name"),
    "after": tr("Waits for"),
}


def at_the_cell(error: BadInput) -> str:
    """The sentence of an error without the place in the file, which the cell itself shows.

    >>> at_the_cell(BadInput("stages[2].items[0].high = 1.0: must be at least likely (8.0)"))
    'If it fights back = 1.0: must be at least likely (8.0)'
    """
    found = _PLACE.match(error.sentence)
    if found is None:
        return error.sentence
    field = _FIELDS.get(found["field"], found["field"])
    value = f" = {found['value']}" if found["value"] else ""
    return f"{field}{value}: {found['rule']}" if field else found["rule"]
