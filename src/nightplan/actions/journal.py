# SPDX-License-Identifier: GPL-3.0-or-later
"""The journal: captures and notes of each ticked evening, the making-of out of them, kept stages and posts."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from nightplan.actions.brief import answer_tick
from nightplan.actions.values import changed, made
from nightplan.brief.hold import wanted_words
from nightplan.brief.rules import deliverables_of
from nightplan.exports.making_of import Chapter, Outline, Shown, lengths
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.parse import sentence
from nightplan.model.project import LogEntry, Project
from nightplan.model.values import Text, Value
from nightplan.speech import tr
from nightplan.speech.words import exact_hours

MAX_CAPTURES_AN_EVENING = 200
#: optional key of the project: stage id -> weight of its chapter
WEIGHTS = "making_of_weights"
_POSTS = ("progress-post", "kept-stage")


class Capture(Value):
    """A picture of an evening. ``path`` is relative to the project file where it lies below it."""

    path: Text
    note: Text = ""
    #: goes into the making-of
    show: bool = True
    #: the stage it belongs to; None: the one that got the most hours on the evening
    stage: str | None = None


@dataclass(frozen=True, slots=True)
class Day:
    """One evening of the journal."""

    date: dt.date
    happened: bool
    hours: float
    note: str
    captures: tuple[Capture, ...]
    #: (stage id, hours), most first
    stages: tuple[tuple[str, float], ...]
    done: tuple[str, ...]


def _place(date: dt.date) -> str:
    return tr("log of {day}", day=date)


def captures_of(entry: LogEntry) -> tuple[Capture, ...]:
    """The captures of a log entry. Raises BadInput naming the place."""
    found = []
    for n, raw in enumerate(entry.captures):
        # a bare path is what a person writes into the file by hand
        value = {"path": raw} if isinstance(raw, str) else raw
        try:
            found.append(Capture.model_validate(value))
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            place = f"{_place(entry.evening)}.captures[{n}]"
            raise BadInput(sentence({**first, "loc": (place, *first["loc"])})) from None
    return tuple(found)


def journal(project: Project) -> tuple[Day, ...]:
    """Every logged evening, oldest first. Raises BadInput for captures that cannot be read."""
    return tuple(_day(project, e) for e in sorted(project.log, key=lambda e: e.evening))


def _day(project: Project, entry: LogEntry) -> Day:
    hours: dict[str, float] = {}
    for work in entry.work:
        stage = project.stage_of[work.item].id
        hours[stage] = hours.get(stage, 0.0) + work.hours
    stages = tuple(sorted(hours.items(), key=lambda row: -row[1]))
    done = tuple(project.items[w.item].name for w in entry.work if w.done)
    return Day(entry.evening, entry.happened, entry.hours, entry.note, captures_of(entry), stages, done)


# ---- captures and notes --------------------------------------------------------------------------
def _entry(project: Project, date: dt.date) -> LogEntry:
    entry = project.log_by_date.get(date)
    if entry is None:
        raise BadInput(
            tr("{day}: this evening is not ticked off yet; captures and notes belong to ticked evenings", day=date)
        )
    return entry


def _put(project: Project, entry: LogEntry) -> Project:
    return check_project(project.but(log=tuple(entry if e.evening == entry.evening else e for e in project.log)))


def _set(project: Project, date: dt.date, captures: tuple[Capture, ...]) -> Project:
    if len(captures) > MAX_CAPTURES_AN_EVENING:
        raise BadInput(tr("{day}: an evening holds at most {n} captures", day=date, n=MAX_CAPTURES_AN_EVENING))
    raw = tuple(c.model_dump(mode="json") for c in captures)
    return _put(project, changed(_entry(project, date), _place(date), captures=raw))


def stored_path(path: Path, folder: Path | None) -> str:
    """How a path stands in the project: relative with / where it lies below the project's folder."""
    whole = Path(os.path.abspath(path))
    if folder is not None:
        try:
            return whole.relative_to(os.path.abspath(folder)).as_posix()
        except ValueError:
            pass
    return str(whole)


def add_capture(project: Project, date: dt.date, path: str, note: str = "", **keys: Any) -> Project:
    """A further capture of a ticked evening; the same path twice is kept once, its note renewed.

    Raises:
        BadInput: the evening is not ticked, or the path is empty.
    """
    there = captures_of(_entry(project, date))
    new = made(Capture, f"{_place(date)}.captures[{len(there)}]", {"path": path, "note": note, **keys})
    if not path.strip():
        raise BadInput.at(f"{_place(date)}.captures[{len(there)}].path", path, tr("a path is needed"))
    if any(c.path == path for c in there):
        return _set(project, date, tuple(new.but(**c.unknown) if c.path == path else c for c in there))
    return _set(project, date, (*there, new))


def change_capture(project: Project, date: dt.date, path: str, **changes: Any) -> Project:
    """Change note, show or stage of a capture. Raises BadInput for an unknown evening, capture or stage."""
    there = captures_of(_entry(project, date))
    if not any(c.path == path for c in there):
        raise BadInput(tr("{day}: {path!r} is no capture of this evening", day=date, path=path))
    if changes.get("stage") is not None and changes["stage"] not in project.stages_by_id:
        raise BadInput(tr("{id!r} is no stage of this project", id=changes["stage"]))
    place = f"{_place(date)}.captures"
    return _set(project, date, tuple(changed(c, place, **changes) if c.path == path else c for c in there))


def remove_capture(project: Project, date: dt.date, path: str) -> Project:
    """Take a capture out of the journal; the picture itself stays where it is. Raises BadInput for an unknown one."""
    there = captures_of(_entry(project, date))
    kept = tuple(c for c in there if c.path != path)
    if len(kept) == len(there):
        raise BadInput(tr("{day}: {path!r} is no capture of this evening", day=date, path=path))
    return _set(project, date, kept)


def set_note(project: Project, date: dt.date, note: str) -> Project:
    """The words about an evening."""
    return _put(project, changed(_entry(project, date), _place(date), note=note))


# ---- the making-of -------------------------------------------------------------------------------
def set_weights(project: Project, weights: Mapping[str, float]) -> Project:
    """Weights of the chapters by stage, in place of the hours; none goes back to the hours.

    Args:
        weights: stage id -> 0 to 1000; only their ratios count.

    Raises:
        BadInput: an unknown stage or another weight.
    """
    for key, weight in weights.items():
        if key not in project.stages_by_id:
            raise BadInput(tr("{id!r} is no stage of this project", id=key))
        if not 0 <= weight <= 1000:
            raise BadInput.at(f"{WEIGHTS}.{key}", weight, tr("a weight from 0 to 1000 is accepted"))
    return project.but(**{WEIGHTS: {key: float(weight) for key, weight in weights.items()} or None})


def weights_of(project: Project) -> dict[str, float]:
    """The artist's weights; what is no weight of a stage of this project is left out."""
    raw = project.unknown.get(WEIGHTS)
    if not isinstance(raw, dict):
        return {}
    return {
        key: float(value)
        for key, value in raw.items()
        if key in project.stages_by_id
        and isinstance(value, (int, float))
        and not isinstance(value, bool)
        and 0 <= value <= 1000
    }


def making_of(project: Project, minutes: float, *, credits: tuple[str, ...] = ()) -> Outline:
    """The outline of a making-of film: one chapter for each stage that was worked on or has captures.

    Args:
        minutes: length of the film, above 0.

    Raises:
        BadInput: nothing was logged yet, or a length that is none.
    """
    if not 0 < minutes <= 600:
        raise BadInput.at("minutes", minutes, tr("a length above 0 and up to 600 minutes is accepted"))
    days = journal(project)
    chapters = [c for c in (_chapter(project, days, s.id) for s in project.stages) if c.evenings or c.captures]
    weights = weights_of(project)
    share = {c.stage: weights.get(c.stage, 0.0) if weights else c.hours for c in chapters}
    seconds = round(minutes * 60)
    if not chapters:
        raise BadInput(tr("log: nothing was worked on yet, so there is nothing to tell"))
    told = lengths(seconds, share)
    return Outline(
        project.title,
        project.piece,
        seconds,
        tuple(replace(c, seconds=told[c.stage]) for c in chapters),
        credits,
    )


def _chapter(project: Project, days: tuple[Day, ...], stage_id: str) -> Chapter:
    stage = project.stages_by_id[stage_id]
    worked = [d for d in days if any(s == stage_id and h > 0 for s, h in d.stages)]
    hours = sum(h for d in worked for s, h in d.stages if s == stage_id)
    shown = tuple(
        Shown(d.date, c.path, c.note)
        for d in days
        for c in d.captures
        if c.show and (c.stage or (d.stages[0][0] if d.stages else None)) == stage_id
    )
    likely = sum(i.likely for i in stage.items if i.state != "cut")
    first, last = (worked[0].date, worked[-1].date) if worked else (None, None)
    turns = tuple(sorted(_turns(project, days, stage_id), key=lambda t: t[0] or dt.date.max))
    return Chapter(stage.id, stage.name, first, last, len(worked), hours, likely, shown, turns)


def _turns(project: Project, days: tuple[Day, ...], stage_id: str) -> Iterator[tuple[dt.date | None, str]]:
    """What the notes say, what took longer than was thought, what was looked at anew, what was left out."""
    for day in days:
        # a note is about what got the most hours that evening
        if day.note.strip() and day.stages and day.stages[0][0] == stage_id:
            yield day.date, day.note
    for item in project.stages_by_id[stage_id].items:
        work = [
            (e.evening, w) for e in sorted(project.log, key=lambda e: e.evening) for w in e.work if w.item == item.id
        ]
        spent = sum(w.hours for _, w in work)
        if item.state == "cut":
            yield None, tr("{item} was left out.", item=item.name)
        elif work and spent > item.high:
            told = tr(
                "{item} took {spent}; {likely} were likely and {high} high.",
                item=item.name,
                spent=exact_hours(spent),
                likely=exact_hours(item.likely),
                high=exact_hours(item.high),
            )
            yield work[-1][0], told
        for date, w in work:
            if w.left is not None and not w.done:
                told = tr(
                    "{item}: looked at anew, {left} still likely after {spent}.",
                    item=item.name,
                    left=exact_hours(w.left.likely),
                    spent=exact_hours(_until(work, date)),
                )
                yield date, told


def _until(work: list[tuple[dt.date, Any]], date: dt.date) -> float:
    return float(sum(w.hours for day, w in work if day <= date))


# ---- what the brief asks to be kept and posted ---------------------------------------------------
@dataclass(frozen=True, slots=True)
class Asked:
    """A progress post or a kept stage that the brief asks for."""

    deliverable: str
    rule: str
    kind: str
    wording: str
    ticked: bool
    note: str
    #: what proves it, in the brief's words
    evidence: str = ""
    #: days that a post is due
    due: tuple[dt.date, ...] = ()


def asked_by_brief(project: Project) -> tuple[Asked, ...]:
    """Progress posts and kept stages of the wanted deliverables, in the brief's order. Raises BadInput."""
    return tuple(
        Asked(
            d.id,
            r.id,
            r.kind,
            r.wording or wanted_words(r),
            r.ticked,
            r.tick_note,
            r.evidence,
            tuple(dt.date.fromisoformat(day) for day in r.due),
        )
        for d in deliverables_of(project)
        if d.wanted
        for r in d.rules
        if r.kind in _POSTS
    )


def tick_asked(project: Project, deliverable: str, rule: str, ticked: bool = True, note: str = "") -> Project:
    """Tick a progress post or a kept stage, with a note such as where it was posted; the check takes it as evidence.

    Raises:
        BadInput: the brief asks for no such thing.
    """
    if not any((a.deliverable, a.rule) == (deliverable, rule) for a in asked_by_brief(project)):
        raise BadInput(
            tr(
                "the brief asks for no progress post or kept stage {rule!r} in {deliverable!r}",
                rule=rule,
                deliverable=deliverable,
            )
        )
    return answer_tick(project, deliverable, rule, ticked, note)
