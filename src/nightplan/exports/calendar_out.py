# SPDX-License-Identifier: GPL-3.0-or-later
"""Evenings, gates and job ends as iCalendar (RFC 5545), so that importing again updates and does not double.

Every entry has a UID that stays the same for the life of the project. What was told last is kept in
the project under ``calendar_told``; an entry that says something else gets the next SEQUENCE and a new
DTSTAMP, an entry that says the same is written byte for byte as before, and one that is gone is told
once more as cancelled, so that the other calendar lets go of it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from nightplan.evenings.dated import Calendar as Dates
from nightplan.evenings.dated import calendar
from nightplan.evenings.zones import repeated, to_local, to_utc
from nightplan.exports import words
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import COMING, Plan, PlannedEvening
from nightplan.speech import tr, trc

#: the key of the project that remembers what was told
TOLD = "calendar_told"
UTC = dt.timezone.utc  # noqa: UP017
PRODID = "-//nightplan//evenings//EN"
EVENING_ALARM_MINUTES, GATE_ALARM_MINUTES = 30, 24 * 60
#: cancelled entries are told for so long after their day
_KEEP_CANCELLED = dt.timedelta(days=400)
_WITHOUT_WORK = {"buffer": tr("buffer"), "unlogged": tr("not ticked off"), "late": tr("after the last gate")}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the calendar. ``end`` None: a moment; ``start`` a date: the whole day."""

    key: str
    start: dt.datetime | dt.date
    end: dt.datetime | None
    summary: str
    status: str = "CONFIRMED"
    description: str = ""
    #: takes the artist's time, so that other calendars show it as busy
    busy: bool = False
    alarm_minutes: int | None = None
    categories: tuple[str, ...] = field(default=())

    def told(self) -> dict[str, Any]:
        """What the entry says, as JSON values."""
        return {
            "start": self.start.isoformat(),
            "end": None if self.end is None else self.end.isoformat(),
            "summary": self.summary,
            "status": self.status,
            "description": self.description,
            "busy": self.busy,
            "alarm": self.alarm_minutes,
            "categories": list(self.categories),
        }


def calendar_base(project: Project) -> str:
    """The part of every UID that is this project's own; it outlives a change of title once it was told."""
    told = _told(project)
    base = told.get("base")
    if isinstance(base, str) and base.isalnum() and len(base) <= 64:
        return base
    seed = json.dumps([project.title, project.piece, project.announced.isoformat(), project.zone], ensure_ascii=True)
    return hashlib.sha256(seed.encode()).hexdigest()[:20]


def entries(
    project: Project,
    plan: Plan,
    *,
    evening_alarm: int | None = EVENING_ALARM_MINUTES,
    gate_alarm: int | None = GATE_ALARM_MINUTES,
) -> tuple[Entry, ...]:
    """Evenings of the plan that are to come or were worked, all gates, and the ends of jobs to come.

    Args:
        evening_alarm: minutes before an evening at which the calendar reminds; None for no alarm.
        gate_alarm: the same for a gate.
    """
    dates = calendar(project)
    rows = [*_evenings(project, plan, dates, evening_alarm), *_gates(project, dates, gate_alarm)]
    rows += _jobs(project, plan)
    return tuple(rows)


def calendar_text(
    project: Project,
    plan: Plan,
    *,
    stamp: dt.datetime,
    evening_alarm: int | None = EVENING_ALARM_MINUTES,
    gate_alarm: int | None = GATE_ALARM_MINUTES,
) -> tuple[bytes, dict[str, Any]]:
    """The calendar as the bytes of an .ics file, and what to remember under :data:`TOLD`.

    Args:
        stamp: aware; DTSTAMP of entries that are new or say something else than before.
    """
    import icalendar

    base, before = calendar_base(project), _told(project).get("entries")
    known: dict[str, Any] = before if isinstance(before, dict) else {}
    now = stamp.astimezone(UTC).replace(microsecond=0)
    zone = calendar(project).zone
    told: dict[str, Any] = {}
    out = icalendar.Calendar()
    out.add("prodid", PRODID)
    out.add("version", "2.0")
    out.add("calscale", "GREGORIAN")
    out.add("x-wr-calname", words.clean(project.title))
    first_last: list[dt.date] = []
    rows = list(entries(project, plan, evening_alarm=evening_alarm, gate_alarm=gate_alarm))
    have = {row.key for row in rows}
    rows += _gone(known, have, now)
    for row in rows:
        says = row.told()
        sequence, when = _revision(known.get(row.key), says, now)
        told[row.key] = {"sequence": sequence, "stamp": when.isoformat(), **says}
        out.add_component(_event(row, f"{row.key}@{base}.nightplan", sequence, when, zone))
        start = row.start
        first_last.append(start.date() if isinstance(start, dt.datetime) else start)
    if first_last:
        week = dt.timedelta(days=7)
        out.add_missing_timezones(first_date=min(first_last) - week, last_date=max(first_last) + week)
    return out.to_ical(), {"base": base, "entries": told}


def _told(project: Project) -> dict[str, Any]:
    told = project.unknown.get(TOLD)
    return told if isinstance(told, dict) else {}


def _revision(before: Any, says: dict[str, Any], now: dt.datetime) -> tuple[int, dt.datetime]:
    """SEQUENCE and DTSTAMP of an entry; a memory that cannot be read counts as none."""
    if not isinstance(before, dict):
        return 0, now
    sequence = before.get("sequence")
    sequence = sequence if type(sequence) is int and 0 <= sequence < 2**31 - 1 else 0
    if all(before.get(key) == value for key, value in says.items()):
        try:
            when = dt.datetime.fromisoformat(str(before.get("stamp")))
            return sequence, when if when.tzinfo is not None else now
        except ValueError:
            return sequence, now
    return sequence + 1, now


def _gone(known: dict[str, Any], have: set[str], now: dt.datetime) -> Iterator[Entry]:
    """Entries that were told and are no more, as cancelled."""
    for key, before in known.items():
        if key in have or not isinstance(before, dict):
            continue
        start = _read(before.get("start"))
        end = _read(before.get("end"))
        if start is None:
            continue
        day = start.date() if isinstance(start, dt.datetime) else start
        if now.date() - day > _KEEP_CANCELLED:
            continue
        yield Entry(
            key,
            start,
            end if isinstance(end, dt.datetime) else None,
            str(before.get("summary", "")),
            "CANCELLED",
            str(before.get("description", "")),
        )


def _read(text: Any) -> dt.datetime | dt.date | None:
    if not isinstance(text, str):
        return None
    try:
        if "T" not in text:
            return dt.date.fromisoformat(text)
        value = dt.datetime.fromisoformat(text)
    except ValueError:
        return None
    return value if value.tzinfo is not None else None


# ---- what there is to tell -----------------------------------------------------------------------
def _evenings(project: Project, plan: Plan, dates: Dates, alarm: int | None) -> Iterator[Entry]:
    seen: dict[dt.date, int] = {}
    for e in plan.evenings:
        if e.status == "lost" or (e.status == "late" and not e.work):
            continue
        number = seen[e.date] = seen.get(e.date, 0) + 1
        start = to_utc(dt.datetime.combine(e.date, e.start), dates.zone)
        sure = e.chance >= PLANNED_CHANCE or e.status == "worked"
        yield Entry(
            f"evening-{e.date.isoformat()}" + ("" if number == 1 else f"-{number}"),
            start,
            _second(start + dt.timedelta(hours=e.hours)),
            _evening_title(project, e),
            "CONFIRMED" if sure else "TENTATIVE",
            _evening_text(project, e),
            True,
            None if e.status in ("worked", "unlogged") else alarm,
            (tr("Evening"),),
        )


def _second(at: dt.datetime) -> dt.datetime:
    # hours are floats: 22:59:59.999998 means 23:00
    return (at + dt.timedelta(microseconds=500_000)).replace(microsecond=0)


def _evening_title(project: Project, e: PlannedEvening) -> str:
    names = list(dict.fromkeys(words.clean(project.stage_of[w.item].name, 40) for w in e.work))
    what = trc("between the parts of a list", ", ").join(names) or _WITHOUT_WORK.get(e.status) or tr("free")
    return f"{words.clean(project.title, 60)}: {what}"


def _evening_text(project: Project, e: PlannedEvening) -> str:
    lines = [f"{words.clean(project.items[w.item].name)}: {words.exact_hours(w.hours)}" for w in e.work]
    for h in e.hands:
        job = words.clean(project.jobs_by_id[h.job].name)
        lines.append(tr("Start {job}", job=job) if h.kind == "start" else tr("Check {job}", job=job))
    if e.status in COMING:
        lines.append(tr("Happens {times} times in 100.", times=round(e.chance * 100)))
    if e.status == "relied":
        lines.append(tr("The plan leans on this evening."))
    return "\n".join(lines)


def _gates(project: Project, dates: Dates, alarm: int | None) -> Iterator[Entry]:
    for moment in dates.gates:
        gate = project.gates_by_id[moment.id]
        lines = []
        if gate.wording:
            lines.append(tr("In the organiser's words: {wording}", wording=words.clean(gate.wording, 400)))
        if moment.uncertain:
            lines.append(tr("Uncertain: the earliest sensible reading is shown here."))
        if moment.reading:
            lines.append(tr("How it is read: {reading}.", reading=moment.reading))
        yield Entry(
            f"gate-{moment.id}",
            moment.date if moment.whole_evening else moment.instant,
            None,
            f"{words.clean(project.title, 60)}: {words.clean(moment.name, 80)}",
            "TENTATIVE" if moment.uncertain else "CONFIRMED",
            "\n".join(lines),
            False,
            alarm,
            (tr("Gate"),),
        )


def _jobs(project: Project, plan: Plan) -> Iterator[Entry]:
    for job in plan.jobs:
        if job.end is None or job.id not in project.jobs_by_id:
            continue
        name = words.clean(project.jobs_by_id[job.id].name, 80)
        yield Entry(
            f"job-{job.id}",
            _second(job.end.astimezone(UTC)),
            None,
            tr("{piece}: {job} ends", piece=words.clean(project.title, 60), job=name),
            "TENTATIVE",
            tr("By the plan with likely hours; machines have their own mind."),
            False,
            None,
            (tr("Machine"),),
        )


# ---- as components -------------------------------------------------------------------------------
def _event(row: Entry, uid: str, sequence: int, stamp: dt.datetime, zone: dt.tzinfo) -> Any:
    import icalendar

    event = icalendar.Event()
    event.add("uid", uid)
    event.add("dtstamp", stamp)
    event.add("sequence", sequence)
    event.add("summary", row.summary)
    if isinstance(row.start, dt.datetime):
        local = _in_zone((row.start, row.end), zone)
        event.add("dtstart", local[0])
        if local[1] is not None:
            event.add("dtend", local[1])
    else:
        event.add("dtstart", row.start)
        event.add("dtend", row.start + dt.timedelta(days=1))
    event.add("status", row.status)
    event.add("transp", "OPAQUE" if row.busy and row.status != "CANCELLED" else "TRANSPARENT")
    if row.description:
        event.add("description", row.description)
    if row.categories:
        event.add("categories", list(row.categories))
    if row.alarm_minutes is not None and row.status != "CANCELLED":
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", row.summary)
        alarm.add("trigger", -dt.timedelta(minutes=row.alarm_minutes))
        event.add_component(alarm)
    return event


def _in_zone(
    moments: tuple[dt.datetime, dt.datetime | None], zone: dt.tzinfo
) -> tuple[dt.datetime, dt.datetime | None]:
    """Instants as times of the zone where the calendar can say so without doubt, else in UTC.

    A fixed offset has no name that other calendars know; the second of two equal local times cannot be
    written (RFC 5545, 3.3.5, reads the first).
    """
    plain = [m.astimezone(UTC) if m is not None else None for m in moments]
    named = hasattr(zone, "key")
    if not named or any(m is not None and repeated(to_local(m, zone), zone) for m in plain):
        return plain[0], plain[1]  # type: ignore[return-value]
    start, end = (m.astimezone(zone) if m is not None else None for m in plain)
    return start, end  # type: ignore[return-value]
