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

from nightplan.evenings import dates_in_text, zone_names
from nightplan.evenings.dates_in_text import TimeOfDay
from nightplan.evenings.words import local_meaning, moment_words
from nightplan.evenings.zone_names import Mention
from nightplan.evenings.zones import EARLIEST_ZONE, UTC, exists, to_local, to_utc, zone_info
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate
from nightplan.speech import tr
from nightplan.speech.words import listed

MAX_LENGTH = 500
#: where a calendar day ends last on Earth
_LATEST_ZONE = "-12:00"
_ACCEPTED = tr("write a date, a time and a zone, for example 31 Oct 2027 23:59 UTC")


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

    @property
    def words(self) -> str:
        """``Sun 31 Oct 2027 23:59 (America/Los_Angeles), that is Mon 1 Nov 2027 06:59 your time``."""
        return _words(self.at, self.zone, self.home)


@dataclass(frozen=True, slots=True)
class DeadlineReading:
    """The earliest sensible reading of a deadline, and the others."""

    wording: str
    #: naive, local to ``zone``
    at: dt.datetime
    zone: str
    #: aware, in UTC
    instant: dt.datetime
    #: naive, in the artist's own zone
    home: dt.datetime
    uncertain: bool
    #: what had to be read into the sentence, in plain words; empty where it is clear
    reading: str
    #: later readings, in time order
    others: tuple[Reading, ...]

    @property
    def words(self) -> str:
        """The reading and its local meaning."""
        return _words(self.at, self.zone, self.home)


def _words(at: dt.datetime, zone: str, home: dt.datetime) -> str:
    shown = f"UTC{zone}" if zone[0] in "+-" else zone
    return tr(
        "{moment} ({zone}), that is {home} your time",
        moment=moment_words(at, year=True),
        zone=shown,
        home=moment_words(home, year=True),
    )


def read_deadline(text: str, *, home_zone: str, not_before: dt.date) -> DeadlineReading:
    """The deadline that a sentence states.

    Words that say nothing about the moment are passed over; figures that are not understood are not.

    Args:
        text: for example ``Oct 31, 11:59 pm PT``, ``31.10.2027 18:00 UTC+2``, ``October 31st``.
        home_zone: the artist's own zone, for the local meaning.
        not_before: a date without a year is the first such date on or after this one.

    Raises:
        BadInput: no date is found or several are, one that the calendar does not have, figures that
            are not understood, or an unknown home zone.
    """
    home = zone_info(home_zone)
    if not text.strip() or len(text) > MAX_LENGTH:
        raise BadInput.at("deadline", text, _ACCEPTED)
    doubts: list[str] = []
    notes: list[str] = []
    mentions, rest = zone_names.mentions_before_times(_tidy(text))
    dates, rest = dates_in_text.dates(rest, not_before, doubts, notes)
    times, rest = dates_in_text.times(rest, doubts)
    more, rest = zone_names.mentions_after_times(rest)
    left_over = re.search(r"\S*\d\S*", rest)
    if left_over:
        shown = re.sub(r"[\x01-\x03]", "", left_over[0])
        raise BadInput.at(
            "deadline", text, tr("the part {part!r} is not understood; {accepted}", part=shown, accepted=_ACCEPTED)
        )
    mentions += more
    if not times:
        times = [TimeOfDay(dt.time(23, 59))]
        # a date anywhere on Earth lasts until its end by definition
        if not any(m.anywhere_on_earth for m in mentions):
            doubts.append(tr("no time is given: read as the end of that day"))

    found: dict[dt.datetime, Reading] = {}
    season: dict[str, None] = {}
    for date in dates:
        for time in times:
            at = dt.datetime.combine(date + dt.timedelta(days=time.days_on), time.time)
            for zone in _zones(mentions, at, home_zone, season):
                for one in _instants(at, zone_info(zone)):
                    stated = at if one == to_utc(at, zone_info(zone)) else to_local(one, zone_info(zone))
                    found.setdefault(one, Reading(stated, zone, one, to_local(one, home)))
                if mentions and not exists(at, zone_info(zone)):
                    season[tr("the clocks there go forward over that time: read as the earlier of the two")] = None
    doubts += season
    if not mentions:
        unknown = zone_names.unknown_zone(rest)
        if unknown:
            doubts.append(
                tr("the zone {zone} is not known: read as the earliest place on Earth (UTC+14)", zone=repr(unknown))
            )
        else:
            doubts.append(tr("no zone is given: read as the earliest place on Earth (UTC+14)"))
    readings = sorted(found.values(), key=lambda r: r.instant)
    first = readings[0]
    return DeadlineReading(
        text.strip(),
        first.at,
        first.zone,
        first.instant,
        first.home,
        bool(doubts),
        "; ".join([*doubts, *notes]),
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


def _tidy(text: str) -> str:
    """Plain spaces, minus signs and apostrophes; control characters go."""
    text = re.sub(r"[\u2010-\u2015\u2212]", "-", text.replace("\u2019", "'"))
    text = re.sub(r"[\x00-\x08\x0e-\x1f\x7f]", " ", text)
    return " ".join(text.split())


def _instants(at: dt.datetime, zone: dt.tzinfo) -> set[dt.datetime]:
    """A local time as an instant; two for one that the clocks skip, by the offsets before and after the gap."""
    if exists(at, zone):
        return {to_utc(at, zone)}
    return {at.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1)}


def _zones(mentions: list[Mention], at: dt.datetime, home_zone: str, doubts: dict[str, None]) -> list[str]:
    """Zones that are meant at a local time; ``doubts`` gains what is open about them."""
    if not mentions:
        return [EARLIEST_ZONE, home_zone, "UTC", _LATEST_ZONE]
    meant: list[dict[dt.datetime, str]] = []
    contradictions = []
    for mention in mentions:
        names, contradicted = zone_names.zones_of(mention, at)
        by_instant: dict[dt.datetime, str] = {}
        for name in names:
            by_instant.setdefault(to_utc(at, zone_info(name)), name)
        meant.append(by_instant)
        if contradicted:
            contradictions.append(mention.text)
    # "PDT (UTC-7)": each settles the other, as long as they have a reading in common
    common = set(meant[0]).intersection(*meant[1:])
    chosen = {instant: names[instant] for names in meant for instant in names if not common or instant in common}
    if len(chosen) > 1:
        if contradictions:
            doubts[
                tr("{zone} does not fit the season there: read as the earlier of the two", zone=contradictions[0])
            ] = None
        elif not common:
            both = listed(list(dict.fromkeys(m.text for m in mentions)))
            doubts[tr("{zones} are different zones: read as the earliest of them", zones=both)] = None
        else:
            doubts[tr("{zone} is used for several zones: read as the earliest of them", zone=mentions[0].text)] = None
    return list(chosen.values())


__all__ = ["DeadlineReading", "Reading", "apply_reading", "local_meaning", "read_deadline"]
