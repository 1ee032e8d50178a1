# SPDX-License-Identifier: GPL-3.0-or-later
"""Busy times that come in: the standard's own examples, another library as witness, hostile files."""

from __future__ import annotations

import csv
import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from hypothesis import given, settings
from hypothesis import strategies as st

from nightplan.actions.busy import busy_sources, import_busy, remove_busy
from nightplan.actions.today import as_it_stands
from nightplan.engine.plan import plan
from nightplan.evenings.calendar_in import MAX_BUSY, Busy, read_busy
from nightplan.evenings.calendar_lines import MAX_BYTES, MAX_ENTRIES, MAX_LINES
from nightplan.evenings.dated import calendar
from nightplan.exports.calendar_out import TOLD, calendar_text
from nightplan.files.store import load
from nightplan.model.errors import BadInput

DATA = Path(__file__).parents[1] / "data"
SAMPLES = Path(__file__).parents[2] / "sample_projects"
UTC = dt.timezone.utc  # noqa: UP017
NEW_YORK, LISBON = ZoneInfo("America/New_York"), ZoneInfo("Europe/Lisbon")


def ics(*events: str, head: str = "") -> str:
    body = "".join(f"BEGIN:VEVENT\n{e.strip()}\nEND:VEVENT\n" for e in events)
    return f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//t//t//EN\n{head}{body}END:VCALENDAR\n".replace("\n", "\r\n")


def read(
    text: str,
    zone: dt.tzinfo = NEW_YORK,
    first: tuple[int, int, int] = (1997, 1, 1),
    last: tuple[int, int, int] = (2001, 1, 1),
) -> list[Busy]:
    since, until = (dt.datetime(*d, tzinfo=UTC) for d in (first, last))
    return list(read_busy(text, zone, since=since, until=until).busy)


RULES = list(csv.DictReader((DATA / "rfc5545_rrule.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", RULES, ids=[r["title_in_rfc"][:50] for r in RULES])
def test_the_recurrences_printed_in_the_standard(row: dict[str, str]) -> None:
    # source: RFC 5545, 3.8.5.3, the dates as printed
    exdate = f"\nEXDATE;{row['exdate']}" if row["exdate"] else ""
    dtend = ""
    text = ics(f"UID:a\nSUMMARY:x\nDTSTART;{row['dtstart']}\nRRULE:{row['rrule']}{exdate}\nDURATION:PT1H{dtend}")
    printed = [dt.date.fromisoformat(d) for d in row["dates_printed"].split()]
    last = max(printed) + dt.timedelta(days=2)
    seen = [
        b.start.date() for b in read(text, last=(last.year, last.month, last.day)) if b.start.date() <= max(printed)
    ]
    assert sorted(set(seen)) == sorted(set(printed))


MIXED = ics(
    # weekly, one left out, one moved, one cancelled
    "UID:choir\nSUMMARY:Choir\nDTSTART;TZID=Europe/Lisbon:20271005T193000\nDTEND;TZID=Europe/Lisbon:20271005T213000\n"
    "RRULE:FREQ=WEEKLY;COUNT=6\nEXDATE;TZID=Europe/Lisbon:20271012T193000",
    "UID:choir\nSUMMARY:Choir moved\nRECURRENCE-ID;TZID=Europe/Lisbon:20271019T193000\n"
    "DTSTART;TZID=Europe/Lisbon:20271020T193000\nDTEND;TZID=Europe/Lisbon:20271020T213000",
    "UID:choir\nSUMMARY:Choir\nSTATUS:CANCELLED\nRECURRENCE-ID;TZID=Europe/Lisbon:20271026T193000\n"
    "DTSTART;TZID=Europe/Lisbon:20271026T193000\nDTEND;TZID=Europe/Lisbon:20271026T213000",
    # in another zone, in UTC, floating
    "UID:call\nSUMMARY:Call\nDTSTART;TZID=America/New_York:20271014T150000\nDURATION:PT90M",
    "UID:utc\nSUMMARY:Utc\nDTSTART:20271015T200000Z\nDTEND:20271015T210000Z",
    "UID:float\nSUMMARY:Floating\nDTSTART:20271016T100000\nDTEND:20271016T110000",
    # further dates
    "UID:extra\nSUMMARY:Extra\nDTSTART;TZID=Europe/Lisbon:20271006T080000\nDURATION:PT1H\n"
    "RDATE;TZID=Europe/Lisbon:20271007T080000,20271008T080000",
)


def test_another_library_sees_the_same_times() -> None:
    # source: recurring-ical-events; across the clock change of 31 October 2027 in Lisbon
    ours = read(MIXED, LISBON, (2027, 10, 1), (2027, 12, 1))
    cancelled = {dt.datetime(2027, 10, 26, 19, 30)}
    theirs = []
    for e in recurring_ical_events.of(icalendar.Calendar.from_ical(MIXED)).between((2027, 10, 1), (2027, 12, 1)):
        start, end = (t.astimezone(LISBON).replace(tzinfo=None) if t.tzinfo else t for t in (e.start, e.end))
        if start not in cancelled:
            theirs.append((start, end, str(e["summary"])))
    assert sorted((b.start, b.end, b.why) for b in ours) == sorted(theirs)
    assert len(theirs) == 10


COURSE = "DTSTART;TZID=Europe/Lisbon:20271005T190000\nDTEND;TZID=Europe/Lisbon:20271005T200000"
FROM_ON = {
    "later and longer": [
        "RECURRENCE-ID;TZID=Europe/Lisbon;RANGE=THISANDFUTURE:20271019T190000\nSUMMARY:Course, new room\n"
        "DTSTART;TZID=Europe/Lisbon:20271020T203000\nDTEND;TZID=Europe/Lisbon:20271020T230000"
    ],
    "earlier, over the clock change": [
        "RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=Europe/Lisbon:20271026T190000\nSUMMARY:Course\n"
        "DTSTART;TZID=Europe/Lisbon:20271025T070000\nDTEND;TZID=Europe/Lisbon:20271025T073000"
    ],
    "two changes, and one evening by itself": [
        "RECURRENCE-ID;TZID=Europe/Lisbon;RANGE=THISANDFUTURE:20271012T190000\nSUMMARY:A\n"
        "DTSTART;TZID=Europe/Lisbon:20271012T200000\nDTEND;TZID=Europe/Lisbon:20271012T210000",
        "RECURRENCE-ID;TZID=Europe/Lisbon;RANGE=THISANDFUTURE:20271102T190000\nSUMMARY:B\n"
        "DTSTART;TZID=Europe/Lisbon:20271102T180000\nDTEND;TZID=Europe/Lisbon:20271102T181500",
        "RECURRENCE-ID;TZID=Europe/Lisbon:20271109T190000\nSUMMARY:C\n"
        "DTSTART;TZID=Europe/Lisbon:20271111T190000\nDTEND;TZID=Europe/Lisbon:20271111T193000",
    ],
}


@pytest.mark.parametrize("name", FROM_ON)
def test_a_change_that_holds_from_one_evening_on(name: str) -> None:
    # source: RFC 5545, 3.2.13 and 3.8.4.4 (moved by the same difference, the new length), by recurring-ical-events
    head = f"UID:course\nSUMMARY:Course\n{COURSE}\nRRULE:FREQ=WEEKLY;COUNT=7\nEXDATE;TZID=Europe/Lisbon:20271116T190000"
    text = ics(head, *(f"UID:course\n{change}" for change in FROM_ON[name]))
    ours = read(text, LISBON, (2027, 10, 1), (2027, 12, 1))
    theirs = [
        (
            e.start.astimezone(LISBON).replace(tzinfo=None),
            e.end.astimezone(LISBON).replace(tzinfo=None),
            str(e["summary"]),
        )
        for e in recurring_ical_events.of(icalendar.Calendar.from_ical(text)).between((2027, 10, 1), (2027, 12, 1))
    ]
    assert sorted((b.start, b.end, b.why) for b in ours) == sorted(theirs)
    assert len(theirs) == 6


def test_a_series_that_is_called_off_from_one_evening_on() -> None:
    # RFC 5545, 3.2.13: the range says which occurrences the entry is about; that a cancelled one takes none: 3.8.1.11
    gone = "RECURRENCE-ID;TZID=Europe/Lisbon;RANGE=THISANDFUTURE:20271019T190000\nSTATUS:CANCELLED"
    text = ics(f"UID:course\nSUMMARY:Course\n{COURSE}\nRRULE:FREQ=WEEKLY", f"UID:course\n{gone}\n{COURSE}")
    assert [b.start.day for b in read(text, LISBON, (2027, 10, 1), (2027, 12, 1))] == [5, 12]
    # the older standard had another range, which is said and holds for one occurrence only
    old = gone.replace("THISANDFUTURE", "THISANDPRIOR")
    text = ics(f"UID:course\nSUMMARY:Course\n{COURSE}\nRRULE:FREQ=WEEKLY;COUNT=4", f"UID:course\n{old}\n{COURSE}")
    since, until = (dt.datetime(2027, month, 1, tzinfo=UTC) for month in (10, 12))
    found = read_busy(text, LISBON, since=since, until=until)
    assert [b.start.day for b in found.busy] == [5, 12, 26]
    assert any("RANGE=THISANDPRIOR" in r.reason for r in found.left_out)


def test_a_whole_day_is_taken_from_the_morning_on() -> None:
    # RFC 5545, 3.6.1: DTEND of a date is exclusive. That a day begins when the night is over: ours
    rows = read(
        ics(
            "UID:a\nSUMMARY:Trip\nDTSTART;VALUE=DATE:20271009\nDTEND;VALUE=DATE:20271011",
            "UID:b\nSUMMARY:Day\nDTSTART;VALUE=DATE:20271020\nRRULE:FREQ=DAILY;COUNT=3\nEXDATE;VALUE=DATE:20271021",
        ),
        LISBON,
        (2027, 10, 1),
        (2027, 12, 1),
    )
    assert [(b.start, b.end) for b in rows] == [
        (dt.datetime(2027, 10, 9, 4), dt.datetime(2027, 10, 11)),
        (dt.datetime(2027, 10, 20, 4), dt.datetime(2027, 10, 21)),
        (dt.datetime(2027, 10, 22, 4), dt.datetime(2027, 10, 23)),
    ]


def test_what_takes_no_time_is_named_with_its_reason() -> None:
    start = "DTSTART:20271015T200000Z\nDTEND:20271015T210000Z"
    found = read_busy(
        ics(
            f"UID:a\nSUMMARY:Cancelled one\nSTATUS:CANCELLED\n{start}",
            f"UID:b\nSUMMARY:Free one\nTRANSP:TRANSPARENT\n{start}",
            f"UID:c@me.nightplan\nSUMMARY:Mine\n{start}",
            "UID:d\nSUMMARY:Backwards\nDTSTART:20271015T200000Z\nDTEND:20271014T210000Z",
            "UID:e\nSUMMARY:Often\nDTSTART:20271015T200000Z\nRRULE:FREQ=SECONDLY\nDURATION:PT1S",
            "UID:f\nSUMMARY:No start",
            f"UID:g\nSUMMARY:Good\n{start}",
        ),
        LISBON,
        since=dt.datetime(2027, 10, 1, tzinfo=UTC),
        until=dt.datetime(2027, 12, 1, tzinfo=UTC),
        own="@me.nightplan",
    )
    assert [b.why for b in found.busy] == ["Good"]
    reasons = {r.what: r.reason for r in found.left_out}
    assert set(reasons) == {"Cancelled one", "Free one", "Mine", "Backwards", "Often", "No start"}
    assert "more often than hourly" in reasons["Often"]


ZONE = """BEGIN:VTIMEZONE
TZID:{name}
BEGIN:STANDARD
DTSTART:16010101T000000
TZOFFSETFROM:{off}
TZOFFSETTO:{off}
{rule}
END:STANDARD
END:VTIMEZONE
"""


def test_zones_with_rules_of_their_own_are_each_files_own() -> None:
    event = "UID:a\nSUMMARY:x\nDTSTART;TZID=Home made:20271015T200000\nDURATION:PT1H"
    for off, hour in (("+0300", 17), ("-0500", 1)):
        (row,) = read(
            ics(event, head=ZONE.format(name="Home made", off=off, rule="COMMENT:none")),
            UTC,
            (2027, 1, 1),
            (2028, 1, 1),
        )
        assert row.start.hour == hour
    # a zone that nobody explains is the artist's
    (row,) = read(ics(event), LISBON, (2027, 1, 1), (2028, 1, 1))
    assert row.start == dt.datetime(2027, 10, 15, 20)
    # a prefix before a known name
    (row,) = read(ics(event.replace("Home made", "/x.example/2027/Europe/Berlin")), UTC, (2027, 1, 1), (2028, 1, 1))
    assert row.start.hour == 18


HOURLY = "DTSTART:20270101T000000Z\nRRULE:FREQ=HOURLY\nDURATION:PT1M"
SLOW = "DTSTART:10000101T000000Z\nRRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30\nDURATION:PT1M"
HOSTILE = {
    "no calendar": ("PK\x03\x04", "begins with BEGIN:VCALENDAR"),
    "nothing": ("", "begins with BEGIN:VCALENDAR"),
    "too long": ("BEGIN:VCALENDAR\n" + "X" * MAX_BYTES, "MB"),
    "breaks off": (ics("UID:a\nDTSTART:20270101T000000Z")[:-40], "breaks off"),
    "deep": ("BEGIN:VCALENDAR\n" + "BEGIN:X\n" * 5000 + "END:X\n" * 5000 + "END:VCALENDAR\n", "levels deep"),
    "many": ("BEGIN:VCALENDAR\n" + "BEGIN:VEVENT\nEND:VEVENT\n" * (MAX_ENTRIES + 1) + "END:VCALENDAR\n", "entries"),
    "hourly without end": (ics(f"UID:a\n{HOURLY}"), f"more than {MAX_BUSY}"),
    "many hourly": (
        ics(*(f"UID:{n}\n{HOURLY};UNTIL=20270202T000000Z" for n in range(10))),
        "cannot be read|more than|is no",
    ),
    "dates without end": (
        ics(
            *(
                f"UID:{n}\nDTSTART:20270101T000000Z\nRDATE:{'20270101T000000Z,' * 5000}20270101T000000Z"
                for n in range(5)
            )
        ),
        "single dates",
    ),
    "a rule as long as a book": (
        ics("UID:a\nDTSTART:20270101T000000Z\nRRULE:FREQ=DAILY;BYHOUR=" + "1," * 5000),
        "letters",
    ),
    "lines without end": (ics("UID:a\n" + "SEQUENCE:1\n" * (MAX_LINES + 1)), "lines about times"),
    "rules that never come": (ics(*(f"UID:{n}\n{SLOW}" for n in range(400))), "more often than is read"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_in_one_sentence(name: str) -> None:
    text, sentence = HOSTILE[name]
    if name == "many hourly":
        text = text.replace("\r\nDURATION:PT1M;UNTIL=20270202T000000Z", ";UNTIL=20271230T000000Z\r\nDURATION:PT1M")
    with pytest.raises(BadInput, match=sentence) as caught:
        read(text, LISBON, (2027, 1, 1), (2028, 1, 1))
    assert "\n" not in caught.value.sentence


def test_what_says_nothing_of_times_is_not_read() -> None:
    # alarms, attachments, names of people: nothing of it may cost more than its letters
    people = "".join(f"ATTENDEE;CN={n}{';A=b' * 2000}:mailto:x\n" for n in range(100))
    alarm = "BEGIN:VALARM\nTRIGGER:-PT1H\nBEGIN:X\nDTSTART:20271016T200000Z\nEND:X\nEND:VALARM\n"
    event = f"UID:a\nSUMMARY:{'long ' * 700_000}\n{people}{alarm}DTSTART:20271015T200000Z\nDURATION:PT1H"
    (row,) = read(ics(event), UTC, (2027, 1, 1), (2028, 1, 1))
    assert row.start == dt.datetime(2027, 10, 15, 20)
    assert len(row.why) <= 120


@pytest.mark.parametrize(
    "rule",
    ["RRULE:FREQ=SECONDLY", "RRULE:FREQ=YEARLY;BYMONTH=1;BYSECOND=1,2", "RRULE:FREQ=YEARLY", "EXRULE:FREQ=DAILY"],
)
def test_a_zone_with_endless_rules_is_not_built(rule: str) -> None:
    event = "UID:a\nSUMMARY:x\nDTSTART;TZID=Trap:20271015T200000\nDURATION:PT1H"
    (row,) = read(ics(event, head=ZONE.format(name="Trap", off="+0300", rule=rule)), LISBON, (2027, 1, 1), (2028, 1, 1))
    assert row.start == dt.datetime(2027, 10, 15, 20)


LINES = MIXED.split("\r\n")
SPOILT = ("", "0", "-1", "20271332T250000", "99991231T235959Z", "P9999999999D", "FREQ=", "\x00")


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_a_spoilt_calendar_is_read_or_refused_never_a_fault(data: st.DataObject) -> None:
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 4))):
        n = data.draw(st.integers(0, len(lines) - 1))
        what = data.draw(st.sampled_from(("drop", "double", "swap", "letters", "value")))
        if what == "drop":
            del lines[n]
        elif what == "double":
            lines.insert(n, lines[n])
        elif what == "swap":
            other = data.draw(st.integers(0, len(lines) - 1))
            lines[n], lines[other] = lines[other], lines[n]
        elif what == "letters":
            lines[n] = data.draw(st.text(max_size=30))
        else:
            name = lines[n].partition(":")[0]
            lines[n] = f"{name}:{data.draw(st.sampled_from(SPOILT))}"
    try:
        rows = read("\r\n".join(lines), LISBON, (2027, 1, 1), (2028, 1, 1))
    except BadInput:
        return
    assert all(b.start < b.end and b.why for b in rows)


def test_evenings_are_taken_shown_refreshed_and_given_back() -> None:
    start = load(SAMPLES / "moth-and-lantern.nightplan")
    free = {e.date for e in calendar(start).evenings}
    first = import_busy(start, MIXED, "work.ics")
    assert first.count == 10
    # the choir of the 5th falls on a day off, and what comes after the hand-in is not yet promised
    assert {(t.date, t.why) for t in first.taken} == {(dt.date(2027, 10, 14), "Call")}
    assert dt.date(2027, 10, 14) in free
    assert busy_sources(first.project)["work.ics"] == 10
    again = import_busy(first.project, MIXED, "work.ics")
    assert (again.before, again.count, again.taken, again.given_back) == (10, 10, (), ())
    assert again.project == first.project
    fewer = import_busy(first.project, ics("UID:n\nSUMMARY:n\nDTSTART:20280101T000000Z"), "work.ics")
    assert (fewer.before, fewer.count) == (10, 0)
    assert set(fewer.given_back) == {t.date for t in first.taken}
    assert remove_busy(first.project, "work.ics") == start
    with pytest.raises(BadInput, match="no busy time comes from there"):
        remove_busy(start, "work.ics")


def test_our_own_calendar_takes_nothing_and_another_pieces_does() -> None:
    project = load(SAMPLES / "moth-and-lantern.nightplan")
    data, memory = calendar_text(
        project, plan(project, as_it_stands(project)), stamp=dt.datetime(2027, 10, 1, tzinfo=UTC)
    )
    own = import_busy(project.but(**{TOLD: memory}), data, "mine.ics")
    assert own.count == 0
    assert {r.reason for r in own.left_out} == {"is an evening or gate of this project itself"}
    other = project.but(title="Another piece")
    taken = {t.date for t in import_busy(other, data, "mine.ics").taken}
    coming = {e.date for e in plan(project, as_it_stands(project)).evenings if e.status in ("planned", "buffer")}
    assert coming <= taken
