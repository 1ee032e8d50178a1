# SPDX-License-Identifier: GPL-3.0-or-later
"""Read an organiser's deadline sentence: every sensible reading, and the earliest of them.

Where a sentence leaves something open (no zone, "midnight", a letter code that does not fit the
season, day and month in doubt) the earliest sensible reading is taken and marked uncertain. The
sentence itself is kept beside it; the organiser's word decides.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from itertools import product

from nightplan.evenings.zones import EARLIEST_ZONE, to_local, to_utc, zone_info
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate

_MONTHS = {
    name[:3]: n
    for n, name in enumerate(
        (
            *("january", "february", "march", "april", "may", "june", "july"),
            *("august", "september", "october", "november", "december"),
        ),
        start=1,
    )
}
_MONTH = (
    r"(?P<{0}>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\.?"
)
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")

#: letter codes of zones: the places they can mean. A place whose clock is not on that offset on that
#: day is still meant by many who write it (PST in summer), so both readings count.
#: Offsets from common use, checked against the time zone database in the tests.
_CODES: dict[str, tuple[str, ...]] = {
    "utc": ("UTC",),
    "gmt": ("UTC",),
    "z": ("UTC",),
    "aoe": ("-12:00",),
    "pt": ("America/Los_Angeles",),
    "mt": ("America/Denver",),
    "ct": ("America/Chicago",),
    "et": ("America/New_York",),
    "pst": ("-08:00", "America/Los_Angeles"),
    "pdt": ("-07:00", "America/Los_Angeles"),
    "mst": ("-07:00", "America/Denver"),
    "mdt": ("-06:00", "America/Denver"),
    "cst": ("-06:00", "America/Chicago", "+08:00"),
    "cdt": ("-05:00", "America/Chicago"),
    "est": ("-05:00", "America/New_York"),
    "edt": ("-04:00", "America/New_York"),
    "bst": ("+01:00", "Europe/London"),
    "wet": ("+00:00", "Europe/Lisbon"),
    "west": ("+01:00", "Europe/Lisbon"),
    "cet": ("+01:00", "Europe/Berlin"),
    "cest": ("+02:00", "Europe/Berlin"),
    "eet": ("+02:00", "Europe/Athens"),
    "eest": ("+03:00", "Europe/Athens"),
    "msk": ("+03:00",),
    "ist": ("+05:30", "+01:00", "+02:00"),
    "jst": ("+09:00",),
    "kst": ("+09:00",),
    "sgt": ("+08:00",),
    "aest": ("+10:00", "Australia/Sydney"),
    "aedt": ("+11:00", "Australia/Sydney"),
    "nzst": ("+12:00", "Pacific/Auckland"),
    "nzdt": ("+13:00", "Pacific/Auckland"),
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to understand the sentence."""

    #: naive, local to ``zone``
    at: dt.datetime
    zone: str
    #: aware, in UTC
    instant: dt.datetime
    #: naive, in the artist's own zone
    home: dt.datetime


@dataclass(frozen=True, slots=True)
class DeadlineReading:
    """The earliest sensible reading of a deadline, and the others."""

    wording: str
    at: dt.datetime
    zone: str
    instant: dt.datetime
    home: dt.datetime
    uncertain: bool
    #: what had to be read into the sentence, in plain words; empty where it is clear
    reading: str
    #: later readings, in time order
    others: tuple[Reading, ...]


def read_deadline(text: str, *, home_zone: str, not_before: dt.date) -> DeadlineReading:
    """The deadline that a sentence states.

    Args:
        text: for example ``Oct 31, 11:59 pm PT``, ``31.10.2027 18:00 UTC+2``, ``October 31st``.
        home_zone: the artist's own zone, for the local meaning.
        not_before: a date without a year is the first such date on or after this one.

    Raises:
        BadInput: no date is found, or it is none of the calendar.
    """
    low = " ".join(text.lower().replace("\u2019", "'").split())
    if not low or len(low) > 500:
        raise BadInput.at("deadline", text, "write a date, a time and a zone, for example 31 Oct 2027 23:59 UTC")
    doubts: list[str] = []
    dates = _dates(low, text, not_before, doubts)
    rest = low
    zones, rest = _zones(rest, doubts)
    times = _times(rest, doubts)
    home = zone_info(home_zone)
    found: dict[dt.datetime, Reading] = {}
    for date, (time, next_day), zone in product(dates, times, zones):
        at = dt.datetime.combine(date + dt.timedelta(days=next_day), time)
        instant = to_utc(at, zone_info(zone))
        found.setdefault(instant, Reading(at, zone, instant, to_local(instant, home)))
    readings = sorted(found.values(), key=lambda r: r.instant)
    first = readings[0]
    return DeadlineReading(
        text.strip(),
        first.at,
        first.zone,
        first.instant,
        first.home,
        bool(doubts),
        "; ".join(doubts),
        tuple(readings[1:]),
    )


def apply_reading(reading: DeadlineReading, gate_id: str, name: str) -> Gate:
    """The reading as a gate of a project, the wording kept."""
    return Gate(
        id=gate_id,
        name=name,
        at=reading.at,
        zone=reading.zone,
        wording=reading.wording,
        uncertain=reading.uncertain,
    )


# --- dates ----------------------------------------------------------------------------------------


def _dates(low: str, text: str, not_before: dt.date, doubts: list[str]) -> list[dt.date]:
    candidates = _named_dates(low, not_before) or _numbered_dates(low)
    if not candidates:
        raise BadInput.at("deadline", text, "no date is found; write for example 31 Oct 2027 23:59 UTC, or 2027-10-31")
    dates = []
    for year, month, day in candidates:
        try:
            dates.append(dt.date(year, month, day))
        except ValueError:
            continue
    if not dates:
        raise BadInput.at("deadline", text, "there is no such day in the calendar")
    sensible = sorted({d for d in dates if d >= not_before}) or sorted(set(dates))[-1:]
    if len(sensible) > 1:
        doubts.append("day and month could be either way round: read as the earlier date")
    for n, name in enumerate(_DAYS):
        if re.search(rf"\b{name[:3]}(?:{name[3:]})?\b|\b{name}\b", low) and all(d.weekday() != n for d in sensible):
            doubts.append(f"it says {name.capitalize()}, but the date is another weekday: the date was taken")
    return sensible


def _named_dates(low: str, not_before: dt.date) -> list[tuple[int, int, int]]:
    day, year = r"(?P<d>\d{1,2})(?:st|nd|rd|th)?", r"(?:,?\s*(?P<y>20\d\d)\b)?"
    found = None
    for pattern in (
        rf"\b{day}\.?\s*(?:of\s+)?{_MONTH.format('m')}{year}",
        rf"\b{_MONTH.format('m')}\s*{day}\b(?!:){year}",
    ):
        found = re.search(pattern, low)
        if found:
            break
    if not found:
        return []
    month, number = _MONTHS[found["m"][:3]], int(found["d"])
    if found["y"]:
        return [(int(found["y"]), month, number)]
    this = (not_before.year, month, number)
    later = (not_before.year + 1, month, number)
    try:
        return [this if dt.date(*this) >= not_before else later]
    except ValueError:
        # 29 February of a year without one
        return [later]


def _numbered_dates(low: str) -> list[tuple[int, int, int]]:
    iso = re.search(r"\b(20\d\d)-(\d{1,2})-(\d{1,2})", low)
    if iso:
        return [(int(iso[1]), int(iso[2]), int(iso[3]))]
    dotted = re.search(r"\b(\d{1,2})\.\s?(\d{1,2})\.\s?(20\d\d)\b", low)
    if dotted:
        return [(int(dotted[3]), int(dotted[2]), int(dotted[1]))]
    slashed = re.search(r"\b(\d{1,2})[/-](\d{1,2})[/-](20\d\d)\b", low)
    if slashed:
        one, two, year = int(slashed[1]), int(slashed[2]), int(slashed[3])
        return list(dict.fromkeys([(year, two, one), (year, one, two)]))
    return []


# --- zones ----------------------------------------------------------------------------------------


def _zones(low: str, doubts: list[str]) -> tuple[list[str], str]:
    """Zones that the sentence can mean, and the sentence without them."""
    named = re.search(r"\b([a-z]+(?:_[a-z]+)*/[a-z]+(?:[_/-][a-z]+)*)\b", low)
    if named:
        proper = "/".join("_".join(w.capitalize() for w in part.split("_")) for part in named[1].split("/"))
        try:
            zone_info(proper)
        except BadInput:
            pass
        else:
            return [proper], low.replace(named[0], " ")
    anywhere = re.search(r"\banywhere on earth\b|\baoe\b", low)
    if anywhere:
        return ["-12:00"], low.replace(anywhere[0], " ")
    for offset in re.finditer(r"(\b(?:utc|gmt))?\s?([+\u2212-])\s?(\d{1,2})(?::?(\d{2}))?\b(?![-./]\d)", low):
        after_a_time = re.search(r"\d:\d\d\s*(?:[ap]\.?m\.?)?\s*$", low[: offset.start()])
        if offset[1] or after_a_time:
            sign = "+" if offset[2] == "+" else "-"
            name = f"{sign}{int(offset[3]):02d}:{offset[4] or '00'}"
            zone_info(name)
            return [name], low[: offset.start()] + " " + low[offset.end() :]
    long = re.search(
        r"\b(pacific|mountain|central|eastern)(?:\s+(standard|daylight|european))?(?:\s+summer)?\s+time\b", low
    )
    if long:
        if long[2] == "european":
            code = {"central": "cet", "eastern": "eet"}.get(long[1], "cet")
            return [_CODES[code][1]], low.replace(long[0], " ")
        letter = {None: "", "standard": "s", "daylight": "d"}[long[2]]
        return _meant(long[1][0] + letter + "t", low.replace(long[0], " "), doubts)
    for word in re.findall(r"\b[a-z]{1,4}\b", low):
        if word in _CODES and (word != "z" or re.search(r"\d\s?z\b", low)):
            return _meant(word, re.sub(rf"\b{word}\b", " ", low), doubts)
    doubts.append("no zone is given: read as the earliest place on Earth (UTC+14)")
    return [EARLIEST_ZONE, "-12:00"], low


def _meant(code: str, rest: str, doubts: list[str]) -> tuple[list[str], str]:
    zones = list(_CODES[code])
    if len(zones) == 1:
        return zones, rest
    day = _first_date(rest)
    # the code's own offset against the place's clock on that day: where they agree there is no doubt
    if day is not None:
        noon = dt.datetime.combine(day, dt.time(12))
        instants = {to_utc(noon, zone_info(z)) for z in zones}
        if len(instants) == 1:
            return zones[:1] if "/" in zones[0] else [zones[0]], rest
    others = [z for z in zones[1:] if "/" not in z]
    if others:
        doubts.append(f"{code.upper()} is used for several zones: read as the earliest of them")
    else:
        doubts.append(f"{code.upper()} does not fit the season there: read as the earlier of the two")
    return zones, rest


def _first_date(low: str) -> dt.date | None:
    for year, month, day in _named_dates(low, dt.date(2000, 1, 1)) or _numbered_dates(low):
        try:
            return dt.date(year, month, day)
        except ValueError:
            continue
    return None


# --- times ----------------------------------------------------------------------------------------


def _times(low: str, doubts: list[str]) -> list[tuple[dt.time, int]]:
    """Times of day that the sentence can mean, each with the days to add."""
    clean = re.sub(r"\b20\d\d-\d{1,2}-\d{1,2}t?|\b\d{1,2}[./-]\s?\d{1,2}[./-]\s?20\d\d\b", " ", low)
    clock = re.search(r"\b(\d{1,2})(?:[:.h](\d{2}))(?::\d{2})?\s*(a\.?m\b|p\.?m\b)?", clean) or re.search(
        r"\b(\d{1,2})()\s*(a\.?m\b|p\.?m\b)", clean
    )
    if clock:
        hour, minute, half = int(clock[1]), int(clock[2] or 0), (clock[3] or "")[:1]
        if half and not 1 <= hour <= 12:
            half = ""
        if half:
            hour = hour % 12 + (12 if half == "p" else 0)
        if (hour, minute) == (24, 0):
            return [(dt.time(), 1)]
        if hour > 23 or minute > 59:
            raise BadInput.at("deadline", clock[0].strip(), "a time of day runs from 00:00 to 24:00")
        if (hour, minute) == (0, 0) and half:
            doubts.append("midnight can be either end of that day: read as its start")
            return [(dt.time(), 0), (dt.time(), 1)]
        return [(dt.time(hour, minute), 0)]
    if re.search(r"\bnoon\b|\bmidday\b", clean):
        return [(dt.time(12), 0)]
    if re.search(r"\bend of (?:the )?day\b|\beod\b", clean):
        return [(dt.time(23, 59), 0)]
    if "midnight" in clean:
        doubts.append("midnight can be either end of that day: read as its start")
        return [(dt.time(), 0), (dt.time(), 1)]
    doubts.append("no time is given: read as the end of that day")
    return [(dt.time(23, 59), 0)]
