# SPDX-License-Identifier: GPL-3.0-or-later
"""The clock of a machine: how much work it has done by each moment.

A machine that stands still outside its nightly window, on days without power, or is faster than
speed 1, does work at a rate that changes with time. The clock is the integral of that rate: a line
that rises while the machine works and is flat while it stands still. A job that begins at s and takes
d hours of a machine of speed 1 ends when the line has risen by d since s. Several machines that share
a job are one clock, the sum of theirs. Windows are civil times turned into instants, so that on a
daylight-saving night a window from 23:00 to 07:00 holds 7 or 9 hours.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from nightplan.evenings.zones import to_local, to_utc
from nightplan.model.project import Machine, Project

Floats = npt.NDArray[np.float64]

#: work that is short of a moment by less than this has reached it (a few microseconds)
_TINY = 1e-9


@dataclass(frozen=True, eq=False)
class WorkClock:
    """K moments and the work done by each; both in hours, work in hours of a machine of speed 1."""

    #: (K,) increasing
    times: Floats
    #: (K,) never decreasing, 0 at first
    work: Floats

    def done(self, time: Floats) -> Floats:
        """(n,) hours of work done by times, (n,) hours; constant before the first and after the last moment."""
        return np.asarray(np.interp(time, self.times, self.work), dtype=np.float64)

    def run(self, start: Floats, hours: Floats) -> tuple[Floats, Floats]:
        """When a job that may begin at ``start`` really begins and ends.

        Args:
            start: (n,) times, inf for never.
            hours: (n,) hours that it takes a machine of speed 1.

        Returns:
            (n,) first moments of work and ends; inf where they lie beyond the last moment. A job of no
            hours ends where it starts.
        """
        before = self.done(start)
        begin = np.maximum(start, self._at(before + 2 * _TINY, after_rest=True))
        end = np.maximum(start, self._at(before + hours, after_rest=False))
        nothing = hours <= _TINY
        begin, end = np.where(nothing, start, begin), np.where(nothing, start, end)
        never = np.isinf(start)
        begin[never] = np.inf
        end[never] = np.inf
        return begin, end

    def _at(self, work: Floats, *, after_rest: bool) -> Floats:
        """(n,) when the work is reached; ``after_rest``: where the rise that reaches it began."""
        k = np.searchsorted(self.work, work - _TINY, side="left")
        beyond = k >= len(self.work)
        k = np.clip(k, 1, len(self.work) - 1)
        if after_rest:
            found = self.times[k - 1].copy()
        else:
            rise = self.work[k] - self.work[k - 1]
            rise = np.where(rise > 0, rise, 1.0)
            share = np.clip((work - self.work[k - 1]) / rise, 0.0, 1.0)
            found = self.times[k - 1] + share * (self.times[k] - self.times[k - 1])
        found[beyond] = np.inf
        return np.asarray(found, dtype=np.float64)

    @property
    def rate(self) -> float:
        """Hours of work done in an hour, over the whole clock."""
        return float(self.work[-1] / (self.times[-1] - self.times[0]))


def open_spans(
    window: tuple[dt.time, dt.time] | None,
    off: tuple[tuple[dt.date, dt.date], ...],
    zone: dt.tzinfo,
    first: dt.date,
    last: dt.date,
) -> list[tuple[dt.datetime, dt.datetime]]:
    """The spans in which a machine works from one date to another, as instants, in time order.

    Args:
        window: local times of opening and closing; None for round the clock.
        off: first and last days without power.

    A time that occurs twice is the first of the two; one that does not exist is as long after midnight
    as if the clock had not been put forward.
    """
    day = dt.timedelta(days=1)
    spans: list[tuple[dt.datetime, dt.datetime]] = []
    if window is None:
        spans.append((to_utc(dt.datetime.combine(first, dt.time()), zone), _midnight(last + day, zone)))
    else:
        opens, closes = window
        date = first - day
        while date <= last:
            until = date if closes > opens else date + day
            begin = to_utc(dt.datetime.combine(date, opens), zone)
            end = to_utc(dt.datetime.combine(until, closes), zone)
            if spans:
                # a time that does not exist on a daylight-saving night may lie past the next opening
                begin = max(begin, spans[-1][1])
            if begin < end:
                spans.append((begin, end))
            date += day
    for day_from, day_to in off:
        begin, end = _midnight(day_from, zone), _midnight(day_to + day, zone)
        spans = [part for span in spans for part in ((span[0], min(span[1], begin)), (max(span[0], end), span[1]))]
        spans = [s for s in spans if s[0] < s[1]]
    return spans


def _midnight(date: dt.date, zone: dt.tzinfo) -> dt.datetime:
    return to_utc(dt.datetime.combine(date, dt.time()), zone)


def clock_of(
    project: Project, names: Iterable[str], zone: dt.tzinfo, zero: dt.datetime, first: dt.datetime, last: dt.datetime
) -> WorkClock | None:
    """The common clock of some machines from one instant to another, hours since ``zero``.

    None where it would tick like the clock on the wall: one machine, speed 1, always on.
    """
    chosen = [project.machines_by_name.get(n) or Machine(name=n) for n in names]
    if len(chosen) == 1 and chosen[0].speed == 1 and chosen[0].window is None and not chosen[0].off:
        return None
    return _clock(tuple(_key(m) for m in chosen), zone, zero, first, last)


_Key = tuple[float, tuple[dt.time, dt.time] | None, tuple[tuple[dt.date, dt.date], ...]]


def _key(machine: Machine) -> _Key:
    """What a clock depends on, for :func:`_clock`."""
    window = None if machine.window is None else (machine.window.from_, machine.window.to)
    return machine.speed, window, tuple((o.from_, o.to) for o in machine.off)


# a search for ways back sets up hundreds of walks with the same machines
@lru_cache(maxsize=64)
def _clock(
    machines: tuple[_Key, ...], zone: dt.tzinfo, zero: dt.datetime, first: dt.datetime, last: dt.datetime
) -> WorkClock:
    dates = (to_local(first, zone).date(), to_local(last, zone).date())
    steps: dict[dt.datetime, float] = {}
    for speed, window, off in machines:
        for begin, end in open_spans(window, off, zone, *dates):
            steps[begin] = steps.get(begin, 0.0) + speed
            steps[end] = steps.get(end, 0.0) - speed
    if not steps:
        steps = {first: 0.0, last: 0.0}
    moments = sorted(steps)
    times = np.array([(m - zero).total_seconds() / 3600.0 for m in moments])
    rates = np.cumsum([steps[m] for m in moments])
    # what floats leave over of a speed that was added and taken away again is no work
    rates[np.abs(rates) < 1e-12] = 0.0
    work = np.concatenate(([0.0], np.cumsum(np.diff(times) * rates[:-1])))
    return WorkClock(times, work)
