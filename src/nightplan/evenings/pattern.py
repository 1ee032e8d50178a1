# SPDX-License-Identifier: GPL-3.0-or-later
"""What the weekly pattern, the extras and the artist's changes promise, date by date; nothing taken away yet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from nightplan.evenings.zones import to_local, to_utc
from nightplan.model.errors import BadInput
from nightplan.model.project import DAYS, EveningChange, Project
from nightplan.speech import dates, tr

#: more is a slip of the keyboard, and would cost memory without bound
MAX_EVENINGS = 5_000

Origin = Literal["week", "extra"]

_WEEK_MINUTES = 7 * 24 * 60


@dataclass(frozen=True, slots=True)
class Slot:
    """A promised evening."""

    date: dt.date
    start: dt.time
    #: elapsed
    hours: float
    chance: float
    #: aware, in UTC; where ``start`` does not exist, counted with the offset before the gap
    start_at: dt.datetime
    origin: Origin
    #: where the file says so, for an error
    place: str
    #: False inside the gap of a daylight-saving night
    exists: bool
    #: as the pattern has it, no dated word of the artist's
    plain: bool


def merged_changes(project: Project) -> dict[dt.date, EveningChange]:
    """The artist's word on each date; of several entries for one date, the later fills in or overrides."""
    merged: dict[dt.date, EveningChange] = {}
    for change in project.changes:
        earlier = merged.get(change.on)
        if earlier is None:
            merged[change.on] = change
            continue
        merged[change.on] = EveningChange(
            on=change.on,
            lost=earlier.lost or change.lost,
            chance=earlier.chance if change.chance is None else change.chance,
            start=earlier.start if change.start is None else change.start,
            hours=earlier.hours if change.hours is None else change.hours,
            why=change.why or earlier.why,
        )
    return merged


def check_week(project: Project) -> None:
    """Two slots of the pattern must not overlap on the clock, also over midnight and over the week's end.

    Raises:
        BadInput: naming both slots.
    """
    slots = sorted((DAYS.index(w.day) * 1440 + _minutes(w.start), n, w) for n, w in enumerate(project.week))
    # each against the next, the last against the first of the week after; a slot alone has 24 h at most
    for (minute, n, slot), (later, m, other) in zip(slots, slots[1:] + slots[:1], strict=True):
        if n == m:
            continue
        gap = later - minute if (later, m) > (minute, n) else later + _WEEK_MINUTES - minute
        if gap < slot.hours * 60.0:
            raise BadInput(
                # translators: the words week[0] and the days (mon, tue ...) are those of the file
                tr(
                    "week[{m}] = {day} {time}: this evening starts before that of week[{n}] ends "
                    "({other_day} {other_time} for {hours} h); evenings must not overlap",
                    m=m,
                    day=other.day,
                    time=f"{other.start:%H:%M}",
                    n=n,
                    other_day=slot.day,
                    other_time=f"{slot.start:%H:%M}",
                    hours=dates.decimal(slot.hours, 4, least=0),
                )
            )


def promised(
    project: Project, changes: Mapping[dt.date, EveningChange], zone: dt.tzinfo, end: dt.date
) -> Iterator[Slot]:
    """Every evening from the announcement to ``end``, both included, in no particular order.

    An extra evening replaces the evening of the pattern that it overlaps on its own date: the artist's
    dated word is more exact than the pattern.

    Raises:
        BadInput: overlapping slots of the week, more than MAX_EVENINGS.
    """
    check_week(project)
    places = {c.on: n for n, c in enumerate(project.changes)}
    by_day = [[(n, w) for n, w in enumerate(project.week) if w.day == name] for name in DAYS]
    extras: dict[dt.date, list[tuple[dt.time, float]]] = {}
    for extra in project.extra:
        extras.setdefault(extra.on, []).append((extra.start, extra.hours))
    days = (end - project.announced).days + 1
    count = len(project.extra) + len(project.week) * days / 7
    if count > MAX_EVENINGS:
        raise BadInput(
            tr(
                "week: {n} evenings until {day}, at most {most} are accepted",
                n=f"{count:.0f}",
                day=end,
                most=MAX_EVENINGS,
            )
        )

    def make(date: dt.date, start: dt.time, hours: float, chance: float, origin: Origin, place: str) -> Slot:
        change = changes.get(date)
        if change is not None:
            if change.start is not None:
                start, place = change.start, f"changes[{places[date]}].start"
            hours = hours if change.hours is None else change.hours
            chance = chance if change.chance is None else change.chance
        local = dt.datetime.combine(date, start)
        start_at = to_utc(local, zone)
        plain = origin == "week" and (change is None or (change.start is None and change.hours is None))
        return Slot(date, start, hours, chance, start_at, origin, place, to_local(start_at, zone) == local, plain)

    for offset in range(days):
        date = project.announced + dt.timedelta(days=offset)
        dated = extras.get(date, ())
        for n, slot in by_day[date.weekday()]:
            if not any(_meet(slot.start, slot.hours, start, hours) for start, hours in dated):
                yield make(date, slot.start, slot.hours, slot.chance, "week", f"week[{n}].start")
    for n, extra in enumerate(project.extra):
        if project.announced <= extra.on <= end:
            yield make(extra.on, extra.start, extra.hours, extra.chance, "extra", f"extra[{n}].start")


def _minutes(time: dt.time) -> int:
    return time.hour * 60 + time.minute


def _meet(start: dt.time, hours: float, other_start: dt.time, other_hours: float) -> bool:
    a, b = _minutes(start), _minutes(other_start)
    return a < b + other_hours * 60.0 and b < a + hours * 60.0
