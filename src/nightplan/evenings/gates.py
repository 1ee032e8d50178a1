# SPDX-License-Identifier: GPL-3.0-or-later
"""Gates as instants: what a date or a deadline in another zone means here."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from nightplan.evenings.zones import EARLIEST_ZONE, exists, repeated, to_local, to_utc, zone_info
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate, Project
from nightplan.speech import tr

#: beyond these years zones are guesswork, and near year 1 and 9999 arithmetic overflows
FIRST_YEAR, LAST_YEAR = 1900, 2300


@dataclass(frozen=True, slots=True)
class GateMoment:
    """When a gate falls."""

    id: str
    name: str
    #: aware, in UTC
    instant: dt.datetime
    #: the same, naive, in the project's zone
    local: dt.datetime
    #: the date by which an evening still counts, in the project's zone
    date: dt.date
    #: given as a date: the whole evening of that date counts, also past midnight
    whole_evening: bool
    uncertain: bool
    #: how the gate was read, in words; empty where nothing had to be read into it
    reading: str
    #: the civil date as the gate states it, in the gate's own zone
    named_date: dt.date | None = None


def project_zone(project: Project) -> dt.tzinfo:
    """The artist's own zone. Raises BadInput naming ``zone``."""
    return zone_info(project.zone)


def gate_moment(project: Project, gate: Gate) -> GateMoment:
    """The instant of a gate; see design.md, Evenings.

    A gate on a date ends with that day in its zone. A gate with the organiser's wording but without a
    zone takes the earliest sensible reading (UTC+14) and is marked uncertain; a gate of the artist's own
    without a zone is in the artist's.

    Raises:
        BadInput: a zone that is not known, a year outside 1900 to 2300.
    """
    home = project_zone(project)
    place = next(
        (f"gates[{n}]" for n, g in enumerate(project.gates) if g.id == gate.id), tr("the gate {gate!r}", gate=gate.id)
    )
    uncertain, reading = gate.uncertain, ""
    zone_name = gate.zone
    if zone_name is None and gate.wording:
        zone_name, uncertain = EARLIEST_ZONE, True
        reading = tr("no zone is given: read as the earliest place on Earth (UTC+14)")
    try:
        zone = home if zone_name is None else zone_info(zone_name)
    except BadInput:
        raise BadInput.at(
            f"{place}.zone", zone_name, tr("is neither a time zone such as Europe/Lisbon nor an offset such as -08:00")
        ) from None
    day = gate.on if gate.at is None else gate.at.date()
    assert day is not None, "a gate has either on or at"
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        key = "on" if gate.at is None else "at"
        raise BadInput.at(
            f"{place}.{key}", day, tr("a year from {first} to {last} is accepted", first=FIRST_YEAR, last=LAST_YEAR)
        )
    if gate.at is not None:
        instant = to_utc(gate.at, zone)
        local = to_local(instant, home)
        reading = reading or _odd_clock(gate.at, zone)
        return GateMoment(gate.id, gate.name, instant, local, local.date(), False, uncertain, reading, day)
    own_day = zone_name is None
    end = dt.datetime.combine(day + dt.timedelta(days=1), dt.time())
    instant = to_utc(end, zone)
    local = to_local(instant, home)
    # "until midnight" belongs to the day that ends
    date = day if own_day else (local - dt.timedelta(seconds=1)).date()
    return GateMoment(gate.id, gate.name, instant, local, date, own_day, uncertain, reading, day)


def _odd_clock(local: dt.datetime, zone: dt.tzinfo) -> str:
    """Words for a moment on a daylight-saving night, read as in RFC 5545, 3.3.5."""
    if not exists(local, zone):
        shown = to_local(to_utc(local, zone), zone)
        return tr("the clock skips {time} on this date: read as {shown}", time=f"{local:%H:%M}", shown=f"{shown:%H:%M}")
    if repeated(local, zone):
        return tr("the clock shows {time} twice on this date: read as the first", time=f"{local:%H:%M}")
    return ""
