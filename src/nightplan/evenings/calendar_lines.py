# SPDX-License-Identifier: GPL-3.0-or-later
"""The lines of an iCalendar file (RFC 5545) that say when and what, within bounds.

What says nothing of times never reaches the reader of the standard: alarms, notes, rules of zones that are known by
name. Bytes, entries, nesting, lines, single dates and letters of a line are counted before anything is made of them.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator

from nightplan.evenings.zones import zone_info
from nightplan.model.errors import BadInput, shorten
from nightplan.speech import dates, tr

MAX_BYTES = 5_000_000
MAX_ENTRIES = 20_000
MAX_DEPTH = 8
#: content lines, dates that are added or left out, letters of one line
MAX_LINES, MAX_DATES, MAX_LETTERS = 200_000, 20_000, 200_000
_LONGEST_RULE, _LONGEST_NAME = 2_000, 2_000
_MAX_ZONES, _MAX_ZONE_RULES = 50, 60
#: properties that say when, and what it is called; nothing else reaches the reader
_DATES = frozenset(("RDATE", "EXDATE", "FREEBUSY"))
_TIMES = frozenset(("DTSTART", "DTEND", "DURATION", "RRULE", "RECURRENCE-ID", *_DATES))
_ENTRY = _TIMES | frozenset(("UID", "STATUS", "TRANSP", "SUMMARY", "SEQUENCE"))
_PROPERTY = re.compile(r"[A-Za-z0-9-]{1,40}", re.ASCII)
#: what a time zone's own rule may say; anything more could keep a reader busy
_ZONE_RULE = re.compile(
    r"RRULE:(?=.*FREQ=YEARLY)(?=.*BYMONTH=)(?:(?:FREQ=YEARLY|BYMONTH=\d{1,2}|BYDAY=[+-]?\d?[A-Z]{2}|INTERVAL=1|WKST=[A-Z]{2}"
    r"|BYMONTHDAY=-?\d{1,2}(?:,-?\d{1,2}){0,6}|UNTIL=[0-9TZ]{8,16}|COUNT=\d{1,3})(?:;|$))+",
    re.ASCII,
)


def content_lines(text: str | bytes) -> list[str]:
    """Content lines that say when and what, unfolded (RFC 5545, 3.1); zones with a known name need no own rules.

    Raises:
        BadInput: no calendar, one that breaks off, or one beyond the limits.
    """
    size = len(text)
    if size > MAX_BYTES:
        raise BadInput(
            tr(
                "the calendar has {size} MB; at most {most} MB are read",
                size=dates.decimal(size / 1e6, 1),
                most=dates.decimal(MAX_BYTES / 1e6, 0),
            )
        )
    if isinstance(text, bytes):
        text = text.decode("utf-8-sig", "replace")
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    lines = [line for line in re.sub(r"\n[ \t]", "", text).split("\n") if line.strip()]
    if not lines or lines[0].strip().upper() != "BEGIN:VCALENDAR":
        first = shorten(lines[0] if lines else "")
        raise BadInput(tr("{line}: a calendar (.ics) begins with BEGIN:VCALENDAR", line=first))
    depth = deepest = entries = 0
    for line in lines:
        head = line[:16].upper()
        if head.startswith("BEGIN:"):
            depth += 1
            deepest = max(deepest, depth)
            entries += head.startswith(("BEGIN:VEVENT", "BEGIN:VFREEBUSY"))
        elif head.startswith("END:"):
            depth -= 1
    if depth != 0:
        raise BadInput(tr("the calendar breaks off: a BEGIN has no END"))
    if deepest > MAX_DEPTH:
        raise BadInput(tr("the calendar is nested {n} levels deep; at most {most} are read", n=deepest, most=MAX_DEPTH))
    if entries > MAX_ENTRIES:
        raise BadInput(tr("the calendar has {n} entries; at most {most} are read", n=entries, most=MAX_ENTRIES))
    return list(_needed(lines))


def _needed(lines: list[str]) -> Iterator[str]:
    """Lines of entries that say when and what; time zones that are not known by name, with rules that end."""
    n = zones = rules = kept = single = skipping = 0
    while n < len(lines):
        line = lines[n]
        n += 1
        word = line.strip().upper() if len(line) < 80 else ""
        if word == "BEGIN:VTIMEZONE" and not skipping:
            end = n
            while end < len(lines) and lines[end].strip().upper() != "END:VTIMEZONE":
                end += 1
            block, n = lines[n - 1 : end + 1], end + 1
            own = [row.strip().upper() for row in block if row.upper().startswith(("RRULE", "RDATE", "EXRULE"))]
            if _readable_zone(block, own) and zones < _MAX_ZONES and rules + len(own) <= _MAX_ZONE_RULES:
                zones, rules = zones + 1, rules + len(own)
                yield from block
            continue
        if word.startswith("BEGIN:") and (skipping or word[6:] not in ("VCALENDAR", "VEVENT", "VFREEBUSY")):
            # alarms, to-dos and whatever else is in a calendar
            skipping += 1
            continue
        if skipping:
            skipping -= word.startswith("END:")
            continue
        if not word.startswith(("BEGIN:", "END:")):
            name = found[0].upper() if (found := _PROPERTY.match(line)) else ""
            if name not in _ENTRY:
                continue
            if name == "SUMMARY":
                line = line[:_LONGEST_NAME].rstrip("\\")
            elif len(line) > (MAX_LETTERS if name in _DATES else _LONGEST_RULE):
                raise BadInput(
                    tr(
                        "a line {name} of the calendar has {letters} letters, which is not read",
                        name=name,
                        letters=dates.whole(len(line)),
                    )
                )
            single += line.count(",") + 1 if name in _DATES else 0
        kept += 1
        if kept > MAX_LINES or single > MAX_DATES:
            raise BadInput(
                tr(
                    "the calendar has more than {most} lines about times; so many are not read",
                    most=dates.whole(MAX_LINES),
                )
                if kept > MAX_LINES
                else tr(
                    "the calendar has more than {most} single dates about times; so many are not read",
                    most=dates.whole(MAX_DATES),
                )
            )
        yield line


def _readable_zone(block: list[str], own: list[str]) -> bool:
    """Whether the rules of a zone are its own and no more than clock changes; a known name needs none."""
    name = next((line.partition(":")[2] for line in block if line.upper().startswith("TZID")), "")
    if known_zone(name) is not None or any(row.startswith("EXRULE") for row in own):
        return False
    good = all(_ZONE_RULE.fullmatch(row) for row in own if row.startswith("RRULE"))
    return good and all(len(line) < 2_000 for line in block) and len(block) <= 400


def known_zone(name: str) -> dt.tzinfo | None:
    """The zone of a TZID, None for one that is not known; some programs put a prefix before the name."""
    parts = name.strip().strip('"').split("/")
    for count in (len(parts), 3, 2, 1):
        try:
            return zone_info("/".join(parts[-count:])) if parts[-1] else None
        except BadInput:
            continue
    return None
