# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates and times of day in an English sentence; what stood there is blanked, so that the rest can be looked at."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from nightplan.model.errors import BadInput
from nightplan.speech import tr
from nightplan.speech.words import listed

#: stands where a date was, and where a time of day was
DATE_BLANK, TIME_BLANK = "\x03", "\x01"

_FIRST_YEAR, _LAST_YEAR = 1990, 2199

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = (
    r"(?P<month>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)\b\.?"
)
_YEAR = r"(?:[\s,-]+(?:of\s+)?(?P<year>(?:19|20|21)\d\d|'\d\d)(?![\d:]))?"
_DAY = r"(?P<day>\d{1,2})(?:st|nd|rd|th)?"
_FLAGS = re.IGNORECASE | re.ASCII

_ISO = re.compile(r"(?<![\d.:/-])(?P<year>\d{4})([-/.])(?P<month>\d{1,2})\2(?P<day>\d{1,2})(?![\d/-])t?", _FLAGS)
_NUMBERS = re.compile(
    r"(?<![\d.:/-])(?P<a>\d{1,2})(?P<sep>[./-])\s?(?P<b>\d{1,2})(?:(?P=sep)\s?(?P<year>\d{4}|\d{2})?)(?![\d:/-])",
    _FLAGS,
)
_SHORT = re.compile(r"(?<![\d.:/-])(?P<a>\d{1,2})/(?P<b>\d{1,2})(?![\d:/.-])", _FLAGS)
_DAY_FIRST = re.compile(rf"(?<![\d:.]){_DAY}\.?(?:\s+day)?(?:\s+of)?[\s-]*{_MONTH}{_YEAR}", _FLAGS)
_MONTH_FIRST = re.compile(rf"\b{_MONTH}[\s-]*(?:the\s+)?{_DAY}(?![\d:]|\s?[ap]\.?m\b){_YEAR}", _FLAGS)

_WEEKDAY = re.compile(
    r"\b(mon(?:day)?|tue(?:s(?:day)?)?|wed(?:nesday)?|thu(?:rs?(?:day)?)?|fri(?:day)?|sat(?:urday)?|sun(?:day)?)\b",
    re.IGNORECASE,
)

_CLOCK = re.compile(
    r"(?<![\d.,:/+-])(?:"
    r"(?P<h>\d{1,2})[:.](?P<m>\d\d)(?::(?P<s>\d\d))?(?!\d)(?:\s?(?P<half>[ap])\.?\s?m\b\.?)?"
    r"|(?P<h2>\d{1,2})\s?(?P<half2>[ap])\.?\s?m\b\.?"
    r"|(?P<h3>\d{1,2})h(?P<m3>\d\d)?\b"
    r"|(?P<h4>\d\d)(?P<m4>\d\d)\s?(?:hours|hrs?|h)\b"
    r")(?:\s?(?:h|hrs?|hours|uhr)\b)?",
    _FLAGS,
)
_NAMED = re.compile(
    r"\b(?:12\s+)?(?P<noon>noon|midday)\b|\b(?:12\s+)?(?P<midnight>midnight)\b|\b(?P<end>end\s+of\s+(?:the\s+|that\s+)?day|eod)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class TimeOfDay:
    """A time that the text can mean."""

    time: dt.time
    #: 1: on the day after the date (24:00, the midnight that ends it)
    days_on: int = 0


def dates(text: str, not_before: dt.date, doubts: list[str], notes: list[str]) -> tuple[list[dt.date], str]:
    """The dates that the text can mean, the sensible ones, earliest first; and the text with a blank instead.

    Raises:
        BadInput: no date, two different ones, or none of the calendar.
    """
    found: list[list[dt.date]] = []
    shown: list[str] = []
    yearless = False

    def take(match: re.Match[str], candidates: list[tuple[str | None, int, int]]) -> str:
        nonlocal yearless
        yearless = yearless or any(year is None for year, _, _ in candidates)
        real = [d for c in candidates if (d := _date(*c, not_before)) is not None]
        if not real:
            raise BadInput.at(
                "deadline", match[0].strip(), tr("there is no such day in the calendar from 1990 to 2199")
            )
        found.append(list(dict.fromkeys(real)))
        shown.append(match[0].strip())
        return DATE_BLANK

    def iso(m: re.Match[str]) -> str:
        return take(m, [(m["year"], int(m["month"]), int(m["day"]))])

    def named(m: re.Match[str]) -> str:
        return take(m, [(m["year"], _month(m["month"]), int(m["day"]))])

    def numbers(m: re.Match[str]) -> str:
        year, a, b = m.groupdict().get("year"), int(m["a"]), int(m["b"])
        if m.groupdict().get("sep") == "." and b <= 12:
            # with dots the day stands first
            return take(m, [(year, b, a)])
        readings: list[tuple[str | None, int, int]] = [(year, b, a), (year, a, b)]
        if year is not None and len(year) == 2 and a > 12:
            readings.append((m["a"], b, int(year)))
        return take(m, readings)

    for pattern, taker in (
        (_ISO, iso),
        (_DAY_FIRST, named),
        (_MONTH_FIRST, named),
        (_NUMBERS, numbers),
        (_SHORT, numbers),
    ):
        text = pattern.sub(taker, text)
    if not found:
        raise BadInput.at("deadline", _plain(text), tr("no date is found; write for example 31 Oct 2027 23:59 UTC"))
    if any(set(f) != set(found[0]) for f in found):
        raise BadInput.at("deadline", ", ".join(shown), tr("names several dates; keep the one of the hand-in"))
    candidates = found[0]
    sensible = sorted(d for d in candidates if d >= not_before) or sorted(candidates)
    sensible, text = _with_weekday(sensible, len(candidates) > 1, text, doubts)
    if yearless:
        notes.append(tr("no year is given: read as {year}", year=sensible[0].year))
    if sensible[0] < not_before:
        doubts.append(tr("the date lies before the announcement"))
    return sensible, text


def _with_weekday(sensible: list[dt.date], several: bool, text: str, doubts: list[str]) -> tuple[list[dt.date], str]:
    """A weekday settles which of two dates is meant, or contradicts them."""
    said = {_weekday(m[1]) for m in _WEEKDAY.finditer(text)}
    fitting = [d for d in sensible if d.weekday() in said]
    if several and len(fitting) == 1 and len(said) == 1:
        sensible = fitting
    elif several:
        doubts.append(tr("day and month could be either way round: read as the earlier date that is still to come"))
    if said and not fitting:
        doubts.append(tr("the weekday that it names is not that of the date: read by the date"))
    return sensible, _WEEKDAY.sub(" ", text)


def times(text: str, doubts: list[str]) -> tuple[list[TimeOfDay], str]:
    """The times of day that the text can mean (none: it has none); and the text with a blank instead.

    Raises:
        BadInput: two different times, or one that no clock shows.
    """
    clocks: dict[TimeOfDay, str] = {}
    alternatives: list[TimeOfDay] = []
    midnight = tr("midnight can be either end of that day: read as its start")

    def clock(m: re.Match[str]) -> str:
        hour = int(m["h"] or m["h2"] or m["h3"] or m["h4"])
        minute, second = int(m["m"] or m["m3"] or m["m4"] or 0), int(m["s"] or 0)
        half = (m["half"] or m["half2"] or "").lower()
        if (hour, minute, second) == (24, 0, 0):
            clocks[TimeOfDay(dt.time(), 1)] = m[0].strip()
            return TIME_BLANK
        if hour > 23 or minute > 59 or second > 59 or (half and hour == 0 and m["h2"]):
            raise BadInput.at("deadline", m[0].strip(), tr("a time of day runs from 00:00 to 24:00"))
        if half and hour <= 12:
            hour = hour % 12 + (12 if half == "p" else 0)
            if (hour, minute, second) == (0, 0, 0):
                doubts.append(midnight)
                alternatives.append(TimeOfDay(dt.time(), 1))
        elif (hour, minute) == (11, 59):
            doubts.append(tr("11:59 is written without am or pm: read as the morning"))
            alternatives.append(TimeOfDay(dt.time(23, 59)))
        clocks[TimeOfDay(dt.time(hour, minute, second))] = m[0].strip()
        return TIME_BLANK

    text = _CLOCK.sub(clock, text)
    words: list[str] = []

    def named(m: re.Match[str]) -> str:
        words.append(m.lastgroup or "")
        return TIME_BLANK

    text = _NAMED.sub(named, text)
    if len(clocks) > 1:
        raise BadInput.at("deadline", ", ".join(clocks.values()), tr("names several times of day; keep one"))
    if clocks:
        # a time in figures says what a word beside it means: "midnight (23:59)"
        if words:
            doubts[:] = [d for d in doubts if d != midnight]
            alternatives.clear()
            if words[0] == "midnight" and next(iter(clocks)).time == dt.time():
                doubts.append(midnight)
                alternatives.append(TimeOfDay(dt.time(), 1))
        return [*clocks, *alternatives], text
    if len(set(words)) > 1:
        raise BadInput.at("deadline", listed(sorted(set(words))), tr("names several times of day; keep one"))
    if not words:
        return [], text
    if words[0] == "noon":
        return [TimeOfDay(dt.time(12))], text
    if words[0] == "end":
        return [TimeOfDay(dt.time(23, 59))], text
    doubts.append(midnight)
    return [TimeOfDay(dt.time()), TimeOfDay(dt.time(), 1)], text


def _plain(text: str) -> str:
    return re.sub(r"[\x01-\x03]", "…", text).strip()


def _month(name: str) -> int:
    return _MONTHS.index(name[:3].lower()) + 1


def _weekday(name: str) -> int:
    return ("mon", "tue", "wed", "thu", "fri", "sat", "sun").index(name[:3].lower())


def _date(year: str | None, month: int, day: int, not_before: dt.date) -> dt.date | None:
    """The date, or None where the calendar has none; without a year the first on or after ``not_before``."""
    if year is not None:
        number = int(year.removeprefix("'"))
        years = range(number + 2000, number + 2001) if number < 100 else range(number, number + 1)
    else:
        # 29 February comes round within eight years, also over a year such as 2100
        years = range(not_before.year, not_before.year + 9)
    for candidate in years:
        if not _FIRST_YEAR <= candidate <= _LAST_YEAR:
            continue
        try:
            date = dt.date(candidate, month, day)
        except ValueError:
            continue
        if year is not None or date >= not_before:
            return date
    return None
