# SPDX-License-Identifier: GPL-3.0-or-later
"""Calendars that leave: RFC 5545 read by icalendar, expanded by recurring-ical-events, told again after a change."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import icalendar
import pytest
import recurring_ical_events

from nightplan.actions import evening
from nightplan.actions.today import as_it_stands
from nightplan.engine.plan import plan
from nightplan.evenings.dated import calendar
from nightplan.exports.calendar_out import TOLD, calendar_base, calendar_text
from nightplan.files.store import load
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import LogEntry, Project

SAMPLES = Path(__file__).parents[2] / "sample_projects"
NAMES = ("moth-and-lantern", "still-harbour", "clockwork-heron", "tin-parade-loop")
UTC = dt.timezone.utc  # noqa: UP017
STAMP = dt.datetime(2027, 10, 3, 12, tzinfo=UTC)


def told(project: Project, stamp: dt.datetime = STAMP, **keys: Any) -> tuple[bytes, Project]:
    data, memory = calendar_text(project, plan(project, as_it_stands(project)), stamp=stamp, **keys)
    return data, project.but(**{TOLD: memory})


def events(data: bytes) -> dict[str, Any]:
    found = icalendar.Calendar.from_ical(data).walk("VEVENT")
    assert len({str(e["uid"]) for e in found}) == len(found)
    return {str(e["uid"]).partition("@")[0]: e for e in found}


@pytest.mark.parametrize("name", NAMES)
def test_another_library_sees_the_same_evenings_gates_and_job_ends(name: str) -> None:
    # source: RFC 5545, by two libraries that are not ours (icalendar, recurring-ical-events)
    project = load(SAMPLES / f"{name}.nightplan")
    planned = plan(project, as_it_stands(project))
    data, _ = told(project)
    read = icalendar.Calendar.from_ical(data)
    assert read.errors == []
    seen = recurring_ical_events.of(read).between(dt.date(2026, 1, 1), dt.date(2030, 1, 1))
    evenings = {(e.start.astimezone(UTC), e.end.astimezone(UTC)) for e in seen if str(e["uid"]).startswith("evening-")}
    ours = {e.date: e for e in calendar(project).evenings}
    wanted = set()
    for e in planned.evenings:
        if e.status == "lost" or (e.status == "late" and not e.work):
            continue
        start = ours[e.date].start_at
        wanted.add((start, (start + dt.timedelta(hours=e.hours)).replace(microsecond=0)))
    assert evenings == wanted
    by = events(data)
    for gate in calendar(project).gates:
        start = by[f"gate-{gate.id}"]["dtstart"].dt
        assert start == gate.date if gate.whole_evening else start.astimezone(UTC) == gate.instant
    assert {k for k in by if k.startswith("job-")} == {f"job-{j.id}" for j in planned.jobs if j.end is not None}


def test_the_text_keeps_the_rules_of_the_standard() -> None:
    # source: RFC 5545, 3.1 (lines of at most 75 octets that end in CRLF), 3.6 (PRODID and VERSION), 3.6.1 (UID and
    # DTSTAMP in each event), 3.6.5 (a VTIMEZONE for each TZID)
    data, _ = told(load(SAMPLES / "moth-and-lantern.nightplan"))
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert not any(b"\n" in line or len(line) > 75 for line in lines)
    read = icalendar.Calendar.from_ical(data)
    assert read["version"] == "2.0"
    assert read["prodid"]
    assert {str(z["tzid"]) for z in read.walk("VTIMEZONE")} == {"Europe/Lisbon"}
    for event in read.walk("VEVENT"):
        assert event["dtstamp"].dt == STAMP
        assert event["sequence"] == 0
    # RFC 5545, 3.6.6: a DISPLAY alarm has ACTION, DESCRIPTION and TRIGGER
    alarms = read.walk("VALARM")
    assert alarms
    assert all({"ACTION", "DESCRIPTION", "TRIGGER"} <= set(a) for a in alarms)


def test_told_again_unchanged_it_is_byte_for_byte_the_same() -> None:
    first, project = told(load(SAMPLES / "moth-and-lantern.nightplan"))
    # through the file
    again, _ = told(project_from_raw(project_to_raw(project)), STAMP + dt.timedelta(days=3))
    assert again == first


def test_what_changed_gets_the_next_sequence_and_what_is_gone_is_cancelled() -> None:
    # source: RFC 5545, 3.8.7.4 (SEQUENCE) and 3.8.1.11 (STATUS:CANCELLED)
    start = load(SAMPLES / "moth-and-lantern.nightplan")
    first, project = told(start)
    coming = [e.date for e in plan(project, as_it_stands(project)).evenings if e.status in ("planned", "buffer")]
    lost = coming[-1]
    later = STAMP + dt.timedelta(hours=1)
    changed = evening.mark_lost(project, lost, "ill")
    second, memory = told(changed, later)
    before, after = events(first), events(second)
    assert set(before) == set(after)
    gone = after[f"evening-{lost}"]
    assert (gone["status"], gone["sequence"], gone["dtstamp"].dt) == ("CANCELLED", 1, later)
    assert gone["dtstart"].dt == before[f"evening-{lost}"]["dtstart"].dt
    assert not gone.walk("VALARM")
    same = [k for k in before if before[k].to_ical() == after[k].to_ical()]
    assert len(same) >= len(before) - 3
    assert all(after[k]["sequence"] == 0 for k in same)
    # a third time, nothing new: the cancelled one is not counted up again
    third, _ = told(memory, later + dt.timedelta(hours=1))
    assert third == second
    # and back again: it lives, with a higher number
    back, _ = told(memory.but(changes=start.changes), later + dt.timedelta(hours=2))
    alive = events(back)[f"evening-{lost}"]
    assert alive["sequence"] == 2
    assert alive["status"] != "CANCELLED"


def test_a_new_title_keeps_the_names_of_the_entries() -> None:
    first, project = told(load(SAMPLES / "moth-and-lantern.nightplan"))
    base = calendar_base(project)
    renamed = project.but(title="Moth and Lamp")
    assert calendar_base(renamed) == base
    again, _ = told(renamed, STAMP + dt.timedelta(hours=1))
    uids = [{str(e["uid"]) for e in icalendar.Calendar.from_ical(x).walk("VEVENT")} for x in (first, again)]
    assert uids[0] == uids[1]
    assert all(e["sequence"] == 1 for e in events(again).values())


def test_a_ticked_evening_stays_without_an_alarm() -> None:
    _, project = told(load(SAMPLES / "moth-and-lantern.nightplan"))
    day = next(e.date for e in plan(project, as_it_stands(project)).evenings if e.status == "planned")
    ticked = project.but(log=(*project.log, LogEntry(evening=day, hours=2.0)))
    data, _ = told(ticked, STAMP + dt.timedelta(hours=1))
    event = events(data)[f"evening-{day}"]
    assert event["status"] == "CONFIRMED"
    assert not event.walk("VALARM")


def _project(zone: str, day: str, start: str, hours: float) -> Project:
    return project_from_raw(
        {
            "format": "nightplan",
            "version": 1,
            "title": "Night; a, test\\ with “marks”",
            "zone": zone,
            "announced": "2027-10-25",
            "gates": [
                {"id": "lock", "name": "Personal lock", "on": "2027-11-06"},
                {"id": "deadline", "name": "Hand-in", "on": "2027-11-07", "wording": "7 November"},
            ],
            "extra": [{"on": day, "start": start, "hours": hours}],
            "stages": [{"id": "s", "name": "Stage", "items": [{"id": "i", "name": "Item", "likely": 1, "high": 1}]}],
        }
    )


@pytest.mark.parametrize(
    ("zone", "start", "hours"),
    [
        # Europe/Berlin turns the clock back on 31 October 2027 from 03:00 to 02:00 (tz database)
        ("Europe/Berlin", "23:00", 4.5),
        ("Europe/Berlin", "23:30", 6.0),
        ("Europe/Berlin", "20:00", 2.0),
        ("+05:45", "20:00", 2.5),
        ("UTC", "20:00", 2.5),
    ],
)
def test_elapsed_hours_survive_the_change_of_the_clock(zone: str, start: str, hours: float) -> None:
    data, _ = told(_project(zone, "2027-10-30", start, hours))
    (event,) = (e for k, e in events(data).items() if k.startswith("evening-"))
    seen = event["dtend"].dt.astimezone(UTC) - event["dtstart"].dt.astimezone(UTC)
    assert seen == dt.timedelta(hours=hours)
    assert str(event["summary"]).startswith("Night; a, test\\ with “marks”: ")


def test_an_uncertain_deadline_is_tentative_and_keeps_the_organisers_words() -> None:
    data, _ = told(_project("Europe/Berlin", "2027-10-30", "20:00", 2.0))
    gate = events(data)["gate-deadline"]
    assert gate["status"] == "TENTATIVE"
    assert "7 November" in str(gate["description"])


@pytest.mark.parametrize(
    "memory",
    [
        None,
        7,
        [],
        {"base": 3, "entries": []},
        {"base": "a/b\r\nX:1", "entries": {"gate-lock": None, "gone": {"start": 4}}},
        {"entries": {"gate-lock": {"sequence": -4, "stamp": "soon"}, "gone": {"start": "2027-13-01", "end": 3}}},
    ],
)
def test_a_spoilt_memory_does_no_harm(memory: Any) -> None:
    project = load(SAMPLES / "moth-and-lantern.nightplan").but(**{TOLD: memory})
    data, _ = told(project)
    assert {str(e["uid"]).partition("@")[2] for e in icalendar.Calendar.from_ical(data).walk("VEVENT")} == {
        f"{calendar_base(project)}.nightplan"
    }
    assert b"\r\nX:1" not in data


def test_without_alarms_there_are_none() -> None:
    data, _ = told(load(SAMPLES / "moth-and-lantern.nightplan"), evening_alarm=None, gate_alarm=None)
    assert b"VALARM" not in data
