# SPDX-License-Identifier: GPL-3.0-or-later
"""Gates as instants: what a date or a deadline in another zone means here."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from nightplan.evenings.zones import EARLIEST_ZONE, to_local, to_utc, zone_info
from nightplan.model.errors import BadInput
from nightplan.model.project import Gate, Project


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


def project_zone(project: Project) -> dt.tzinfo:
    """The artist's own zone. Raises BadInput naming ``zone``."""
    return zone_info(project.zone)


def gate_moment(project: Project, gate: Gate) -> GateMoment:
    """The instant of a gate; see design.md, Evenings.

    A date with the organiser's wording but without a zone takes the earliest sensible reading (the
    end of that day at UTC+14) and is marked uncertain; a date of the artist's own ends with that
    evening, in the artist's zone.

    Raises:
        BadInput: the zone is not known.
    """
    home = project_zone(project)
    place = f"gates[{project.gates.index(gate)}].zone"
    uncertain, reading = gate.uncertain, ""
    zone_name = gate.zone
    if zone_name is None and gate.wording:
        zone_name, uncertain = EARLIEST_ZONE, True
        reading = "no zone is given: read as the earliest place on Earth (UTC+14)"
    try:
        zone = home if zone_name is None else zone_info(zone_name)
    except BadInput:
        raise BadInput.at(
            place, zone_name, "is neither a time zone such as Europe/Lisbon nor an offset such as -08:00"
        ) from None
    if gate.at is not None:
        instant = to_utc(gate.at, zone)
        local = to_local(instant, home)
        return GateMoment(gate.id, gate.name, instant, local, local.date(), False, uncertain, reading)
    assert gate.on is not None
    own_day = zone_name is None
    end = dt.datetime.combine(gate.on + dt.timedelta(days=1), dt.time())
    instant = to_utc(end, zone)
    local = to_local(instant, home)
    # "until midnight" belongs to the day that ends
    date = gate.on if own_day else (local - dt.timedelta(seconds=1)).date()
    return GateMoment(gate.id, gate.name, instant, local, date, own_day, uncertain, reading)
