# SPDX-License-Identifier: GPL-3.0-or-later
"""Zones as organisers write them: letter codes, long names, offsets, cities; and what each can mean.

Offsets and places of the letter codes are those of the time zone database (tests hold them to it);
which of several bearers of one code are sensible is common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from functools import cache
from zoneinfo import available_timezones

from nightplan.evenings.zones import zone_info
from nightplan.model.errors import BadInput
from nightplan.speech import tr


@dataclass(frozen=True, slots=True)
class Bearer:
    """One zone that a code can stand for.

    ``place`` without ``offset``: the clock of that place, whatever the season. ``offset`` without
    ``place``: fixed. Both: the code names one season of that place (PST), and many write it all year.
    """

    place: str | None = None
    offset: str | None = None


def _season(place: str, standard: str, standard_offset: str, summer: str, summer_offset: str) -> dict[str, Bearer]:
    return {standard: Bearer(place, standard_offset), summer: Bearer(place, summer_offset)}


#: unambiguous codes of places with two seasons
SEASONAL: dict[str, Bearer] = {
    **_season("America/Los_Angeles", "PST", "-08:00", "PDT", "-07:00"),
    **_season("America/Denver", "MST", "-07:00", "MDT", "-06:00"),
    **_season("America/New_York", "EST", "-05:00", "EDT", "-04:00"),
    **_season("America/Anchorage", "AKST", "-09:00", "AKDT", "-08:00"),
    **_season("America/St_Johns", "NST", "-03:30", "NDT", "-02:30"),
    **_season("Europe/Lisbon", "WET", "+00:00", "WEST", "+01:00"),
    **_season("Europe/Berlin", "CET", "+01:00", "CEST", "+02:00"),
    **_season("Europe/Athens", "EET", "+02:00", "EEST", "+03:00"),
    **_season("Australia/Sydney", "AEST", "+10:00", "AEDT", "+11:00"),
    **_season("Australia/Adelaide", "ACST", "+09:30", "ACDT", "+10:30"),
    **_season("Pacific/Auckland", "NZST", "+12:00", "NZDT", "+13:00"),
    "CDT": Bearer("America/Chicago", "-05:00"),
    "ADT": Bearer("America/Halifax", "-03:00"),
    "IDT": Bearer("Asia/Jerusalem", "+03:00"),
}
FIXED = {
    "UTC": "UTC",
    "GMT": "UTC",
    "Z": "UTC",
    "AOE": "-12:00",
    "HST": "-10:00",
    "BRT": "-03:00",
    "ART": "-03:00",
    "WAT": "+01:00",
    "CAT": "+02:00",
    "SAST": "+02:00",
    "MSK": "+03:00",
    "EAT": "+03:00",
    "TRT": "+03:00",
    "PKT": "+05:00",
    "NPT": "+05:45",
    "ICT": "+07:00",
    "WIB": "+07:00",
    "SGT": "+08:00",
    "HKT": "+08:00",
    "AWST": "+08:00",
    "PHT": "+08:00",
    "JST": "+09:00",
    "KST": "+09:00",
}
CODES: dict[str, tuple[Bearer, ...]] = {
    **{code: (bearer,) for code, bearer in SEASONAL.items()},
    **{
        code: (Bearer(place),)
        for code, place in {
            "PT": "America/Los_Angeles",
            "MT": "America/Denver",
            "CT": "America/Chicago",
            "ET": "America/New_York",
            "UK": "Europe/London",
            "AET": "Australia/Sydney",
        }.items()
    },
    **{code: (Bearer(None, offset),) for code, offset in FIXED.items()},
    # as German rule sheets name them
    "MEZ": (SEASONAL["CET"],),
    "MESZ": (SEASONAL["CEST"],),
    # several bearers each
    "BST": (Bearer("Europe/London", "+01:00"), Bearer("Asia/Dhaka", "+06:00")),
    "CST": (Bearer("America/Chicago", "-06:00"), Bearer("Asia/Shanghai", "+08:00"), Bearer("America/Havana", "-05:00")),
    "IST": (
        Bearer("Asia/Kolkata", "+05:30"),
        Bearer("Asia/Jerusalem", "+02:00"),
        Bearer("Europe/Dublin", "+01:00"),
    ),
    "AST": (Bearer("America/Halifax", "-04:00"), Bearer("Asia/Riyadh", "+03:00")),
    "GST": (Bearer("Asia/Dubai", "+04:00"), Bearer("Atlantic/South_Georgia", "-02:00")),
    "AMT": (Bearer("Asia/Yerevan", "+04:00"), Bearer("America/Manaus", "-04:00")),
}
#: codes that are also words: only right behind a time or a date
_WORDS = frozenset({"WEST", "WET", "EAT", "CAT", "ART", "EST", "IST", "PT", "MT", "CT", "ET", "UK", "Z"})

_LONG = {
    "anywhere on earth": "AOE",
    "coordinated universal time": "UTC",
    "universal time": "UTC",
    "greenwich mean time": "GMT",
    "british summer time": "BST1",
    "uk time": "UK",
    "british time": "UK",
    "indian standard time": "IST1",
    "india standard time": "IST1",
    "japan standard time": "JST",
    "korea standard time": "KST",
    "china standard time": "CST8",
    "central european standard time": "CET",
    "central european summer time": "CEST",
    "central european time": "CE",
    "eastern european summer time": "EEST",
    "eastern european time": "EE",
    "western european summer time": "WEST",
    "western european time": "WE",
    "australian eastern standard time": "AEST",
    "australian eastern daylight time": "AEDT",
    "australian eastern time": "AET",
    "pacific standard time": "PST",
    "pacific daylight time": "PDT",
    "pacific time": "PT",
    "mountain standard time": "MST",
    "mountain daylight time": "MDT",
    "mountain time": "MT",
    "central standard time": "CST6",
    "central daylight time": "CDT",
    "central time": "CT",
    "eastern standard time": "EST",
    "eastern daylight time": "EDT",
    "eastern time": "ET",
    "newfoundland standard time": "NST",
    "newfoundland daylight time": "NDT",
    "newfoundland time": "NF",
    "atlantic time": "AT",
    "alaska time": "AK",
    "hawaii time": "HI",
    "new zealand time": "NZ",
}  # untranslated: as English rule sheets write them
#: a long name settles which bearer of a code is meant
_SETTLED = {
    "BST1": CODES["BST"][:1],
    "IST1": CODES["IST"][:1],
    "CST6": CODES["CST"][:1],
    "CST8": CODES["CST"][1:2],
    "CE": (Bearer("Europe/Berlin"),),
    "EE": (Bearer("Europe/Athens"),),
    "WE": (Bearer("Europe/Lisbon"),),
}

#: a place's own clock, without a letter code of its own
_SETTLED |= {
    name: (Bearer(place),)
    for name, place in {
        "NF": "America/St_Johns",
        "AT": "America/Halifax",
        "AK": "America/Anchorage",
        "HI": "Pacific/Honolulu",
        "NZ": "Pacific/Auckland",
    }.items()
}

_LONG_NAME = re.compile(rf"\b({'|'.join(sorted(_LONG, key=len, reverse=True))})\b", re.IGNORECASE)
_IANA = re.compile(r"\b[A-Za-z]+(?:/[A-Za-z]+(?:[_-][A-Za-z]+)*)+\b")
_UTC_OFFSET = re.compile(r"\b(?:UTC|GMT)\s?([+-])\s?(\d{1,2})(?::?(\d{2}))?(?![\d:]|\.\d)", re.IGNORECASE | re.ASCII)
#: \x01 stands where a time of day was, \x03 where a date was
_BARE_OFFSET = re.compile(r"(?<=\x01)\s?([+-])(\d{1,2})(?::?(\d{2}))?(?![\d:])", re.ASCII)
_CITY = re.compile(r"((?:[^\W\d_][\w.'-]*\s+){1,3})time\b", re.IGNORECASE)
#: "11:59 pm Pacific": the long name without its last word, right behind a time
_SHORT_NAME = re.compile(
    r"(?<=\x01)[\s(\[,]*(Pacific|Mountain|Central|Eastern)\b(?!\s+(?:Europe|America))", re.IGNORECASE
)
_UNKNOWN = re.compile(r"\x01[\s(\[,]*((?:[^\W\d_][\w.'-]*\s+){1,3}time|[A-Z]{2,5})\b")
_NO_PLACE = frozenset({"local", "your", "our", "own", "the", "that", "this", "any", "in", "at", "on", "by"})
_CODE = "|".join(sorted(CODES, key=len, reverse=True))
_AFTER_TIME = re.compile(rf"(?<=\x01)[\s(\[,]*({_CODE})\b", re.IGNORECASE)
_AFTER_DATE = re.compile(rf"(?<=\x03)[\s(\[,]*({_CODE})\b")
_ANYWHERE = re.compile(rf"\b({'|'.join(sorted(set(CODES) - _WORDS, key=len, reverse=True))}|AoE)\b")
#: after another code: EST/EDT, ET (EST)
_BESIDE = re.compile(rf"(?<=\x02)[\s(\[/,]*({_CODE})\b")
BLANK = "\x02"


@dataclass(frozen=True, slots=True)
class Mention:
    """A zone that the text names."""

    text: str
    bearers: tuple[Bearer, ...]

    @property
    def anywhere_on_earth(self) -> bool:
        """Whether the words mean the end of a date anywhere on Earth (UTC−12)."""
        return self.bearers == CODES["AOE"]


def mentions_before_times(text: str) -> tuple[list[Mention], str]:
    """Zones whose digits could be taken for a date or a time (``UTC+2``), and the text without them.

    Raises:
        BadInput: an offset that no place on Earth has.
    """
    found: list[Mention] = []

    def offset(match: re.Match[str]) -> str:
        found.append(Mention(match[0].strip(), (Bearer(None, _offset(match)),)))
        return BLANK

    def iana(match: re.Match[str]) -> str:
        name = _zones_by_lower_name().get(match[0].lower())
        if name is None:
            return match[0]
        found.append(Mention(name, (Bearer(name),)))
        return BLANK

    return found, _IANA.sub(iana, _UTC_OFFSET.sub(offset, text))


def mentions_after_times(text: str) -> tuple[list[Mention], str]:
    """The other zones; in ``text`` the dates and times are blanked already.

    Raises:
        BadInput: a fixed offset beyond -12:00 to +14:00.
    """
    found: list[Mention] = []

    def bare(match: re.Match[str]) -> str:
        found.append(Mention(match[0].strip(), (Bearer(None, _offset(match)),)))
        return BLANK

    def long(match: re.Match[str]) -> str:
        code = _LONG[match[0].lower()]
        found.append(Mention(match[0], _SETTLED.get(code) or CODES[code]))
        return BLANK

    def short(match: re.Match[str]) -> str:
        found.append(Mention(match[1], CODES[_LONG[f"{match[1].lower()} time"]]))
        return BLANK

    def city(match: re.Match[str]) -> str:
        words = match[1].split()
        for n in range(len(words)):
            name = _cities().get(" ".join(words[n:]).lower())
            if name is not None:
                found.append(Mention(name, (Bearer(name),)))
                return " ".join([*words[:n], BLANK])
        return match[0]

    def code(match: re.Match[str]) -> str:
        found.append(Mention(match[1].upper().replace("AOE", "AoE"), CODES[match[1].upper()]))
        return BLANK

    text = _SHORT_NAME.sub(short, _LONG_NAME.sub(long, _BARE_OFFSET.sub(bare, text)))
    text = _AFTER_DATE.sub(code, _AFTER_TIME.sub(code, _CITY.sub(city, text)))
    text = _ANYWHERE.sub(code, text)
    return found, _BESIDE.sub(code, text)


def unknown_zone(text: str) -> str:
    """Words right behind a time that look like a zone and are none that is known; empty where there are none.

    Args:
        text: what :func:`mentions_after_times` left over.
    """
    match = _UNKNOWN.search(text)
    if match is None or set(match[1].lower().split()) & _NO_PLACE:
        return ""
    return match[1]


def _offset(match: re.Match[str]) -> str:
    name = f"{match[1]}{int(match[2]):02d}:{match[3] or '00'}"
    try:
        zone_info(name)
    except BadInput:
        raise BadInput.at("deadline", match[0].strip(), tr("a fixed offset lies between -12:00 and +14:00")) from None
    return name


def zones_of(mention: Mention, local: dt.datetime) -> tuple[list[str], bool]:
    """Zones (names for a gate) that a mention can mean at a local time; and whether the season contradicts it."""
    zones: list[str] = []
    contradicted = False
    for bearer in mention.bearers:
        if bearer.offset is not None:
            zones.append(bearer.offset)
        if bearer.place is None:
            continue
        if bearer.offset is None:
            zones.append(bearer.place)
        elif len(mention.bearers) == 1 and not _on_that_offset(bearer, local):
            # only for the one bearer: of a code with several, the others are doubt enough
            contradicted = True
            zones.append(bearer.place)
    return list(dict.fromkeys(zones)), contradicted


def _on_that_offset(bearer: Bearer, local: dt.datetime) -> bool:
    assert bearer.place is not None
    assert bearer.offset is not None
    place, fixed = zone_info(bearer.place), zone_info(bearer.offset)
    # both folds: in the hour that exists twice, each of the two codes is right
    wanted = local.replace(tzinfo=fixed).utcoffset()
    return wanted in {local.replace(tzinfo=place, fold=fold).utcoffset() for fold in (0, 1)}


@cache
def _zones_by_lower_name() -> dict[str, str]:
    return {name.lower(): name for name in available_timezones() if "/" in name}


@cache
def _cities() -> dict[str, str]:
    """City in small letters -> zone."""
    areas = ("Africa/", "America/", "Asia/", "Atlantic/", "Australia/", "Europe/", "Indian/", "Pacific/")
    names = sorted((n for n in available_timezones() if n.startswith(areas)), key=lambda n: (n.count("/"), n))
    cities: dict[str, str] = {}
    for name in names:
        cities.setdefault(name.rsplit("/", 1)[1].replace("_", " ").lower(), name)
    return cities
