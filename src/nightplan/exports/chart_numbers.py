# SPDX-License-Identifier: GPL-3.0-or-later
"""The numbers behind the charts, from a project and its forecast. No matplotlib.

The axis of every chart over time is evenings, not days: ``x`` counts the evenings from the
announcement up to and including a date, 0 stands before the first.
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_right
from dataclasses import dataclass

from nightplan.evenings.dated import Calendar, calendar
from nightplan.model.project import Project, StoredForecast
from nightplan.model.results import Forecast, PastPoint


@dataclass(frozen=True, slots=True)
class Point:
    """Hours, odds or shares (``y``) at an evening."""

    x: float
    date: dt.date
    y: float


@dataclass(frozen=True, slots=True)
class BandPoint:
    """Hours left over the futures: 10th, 50th and 90th percentile."""

    x: float
    date: dt.date
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class GateMark:
    """Where a gate stands on the axis of evenings."""

    id: str
    name: str
    x: float
    #: the last evening that counts
    date: dt.date


@dataclass(frozen=True, slots=True)
class BurnNumbers:
    """Hours of work left."""

    days: tuple[dt.date, ...]
    #: as accepted; empty without a baseline
    baseline: tuple[Point, ...]
    actual: tuple[Point, ...]
    band: tuple[BandPoint, ...]
    #: expected hours of evenings still there before the last gate
    there: tuple[Point, ...]
    gates: tuple[GateMark, ...]


@dataclass(frozen=True, slots=True)
class GateOdds:
    """Odds of one gate, 0 to 1."""

    id: str
    name: str
    #: as they were given, on the evenings so far
    so_far: tuple[Point, ...]
    #: that its work is done by the end of each evening to come
    by_date: tuple[Point, ...]
    #: place of the gate itself on the axis of ``by_date``; None where it lies before it
    gate_x: float | None


@dataclass(frozen=True, slots=True)
class SlipNumbers:
    """Odds of every gate over time, and the odds that were asked for."""

    days: tuple[dt.date, ...]
    target: float
    gates: tuple[GateOdds, ...]


@dataclass(frozen=True, slots=True)
class UsePoint:
    """Shares; ``used`` may lie below 0 (the buffer grew) or above 1."""

    date: dt.date
    done: float
    used: float


@dataclass(frozen=True, slots=True)
class BufferNumbers:
    """A gate's buffer in hours, and how it was used as the work went on."""

    gate: str
    name: str
    points: tuple[UsePoint, ...]
    have_hours: float
    need_hours: float


class Axis:
    """Evenings up to the last gate."""

    def __init__(self, project: Project, dates: Calendar) -> None:
        days = {e.date for e in dates.evenings if not e.tail} | {t.date for t in dates.taken if t.cause == "lost"}
        self.days = tuple(sorted(days | {entry.evening for entry in project.log}))

    def x(self, date: dt.date) -> float:
        """How many evenings lie on or before a date."""
        return float(bisect_right(self.days, date))


def burn_numbers(project: Project, forecast: Forecast) -> BurnNumbers:
    """Hours of work left, as accepted, so far, and in the futures."""
    dates = calendar(project)
    axis = Axis(project, dates)
    start = project.announced - dt.timedelta(days=1)
    actual = [Point(0.0, project.announced, past(forecast, start).hours_left)]
    for day in axis.days:
        if day < forecast.as_of or (day == forecast.as_of and day in project.log_by_date):
            actual.append(Point(axis.x(day), day, past(forecast, day).hours_left))
    now, left = actual[-1], forecast.hours_left
    band = [BandPoint(now.x, now.date, left, left, left)]
    # a second evening on a date stands on the same place: its end counts
    last = {b.date: b for b in forecast.burn_down}
    band += [BandPoint(axis.x(b.date), b.date, b.p10, b.p50, b.p90) for b in last.values()]
    gates = tuple(GateMark(g.id, g.name, axis.x(g.date), g.date) for g in dates.gates)
    return BurnNumbers(axis.days, _baseline(project, axis), tuple(actual), tuple(band), _there(dates, axis), gates)


def _baseline(project: Project, axis: Axis) -> tuple[Point, ...]:
    if not project.baselines:
        return ()
    base = project.baselines[-1]
    rows = sorted((dt.date.fromisoformat(day), left) for day, left in base.burn_down.items())
    points = [Point(axis.x(day), day, left) for day, left in rows if axis.days and day <= axis.days[-1]]
    if base.on <= project.announced:
        points.insert(0, Point(0.0, base.on, sum(s.likely for s in base.estimates.values())))
    return tuple(points)


def _there(dates: Calendar, axis: Axis) -> tuple[Point, ...]:
    expected: dict[dt.date, float] = {}
    for e in dates.evenings:
        if not e.tail:
            expected[e.date] = expected.get(e.date, 0.0) + e.hours * e.chance
    rest = sum(expected.values())
    points = [Point(0.0, axis.days[0], rest)]
    for day in axis.days:
        rest -= expected.get(day, 0.0)
        points.append(Point(axis.x(day), day, max(0.0, rest)))
    return tuple(points)


def slip_numbers(project: Project, forecast: Forecast) -> SlipNumbers:
    """Odds of every gate on the evenings so far, and per possible finish date."""
    dates = calendar(project)
    axis = Axis(project, dates)
    rows = []
    for gate in forecast.gates:
        given = {f.as_of: f.odds[gate.id] for f in _in_order(project, forecast.as_of) if gate.id in f.odds}
        given[forecast.as_of] = gate.odds
        so_far = tuple(Point(axis.x(d), d, given[d]) for d in sorted(given))
        last = {o.date: o.odds for o in forecast.by_date.get(gate.id, ())}
        by_date = tuple(Point(float(n), d, odds) for n, (d, odds) in enumerate(last.items(), 1))
        ends = dates.gate(gate.id).date
        before = sum(p.date <= ends for p in by_date)
        rows.append(GateOdds(gate.id, gate.name, so_far, by_date, float(before) if before else None))
    return SlipNumbers(axis.days, project.target_odds, tuple(rows))


def buffer_numbers(project: Project, forecast: Forecast, gate_id: str) -> BufferNumbers:
    """Share of a gate's buffer used against the share of its work done, evening by evening."""
    gate = forecast.gate(gate_id)
    stored = _in_order(project, forecast.as_of)
    used = {f.as_of: f.buffer[gate_id].get("used") for f in stored if gate_id in f.buffer}
    used[forecast.as_of] = gate.buffer.used
    points = tuple(UsePoint(d, past(forecast, d).done[gate_id], u) for d, u in sorted(used.items()) if u is not None)
    return BufferNumbers(gate_id, gate.name, points, gate.buffer.have_hours, gate.buffer.need_hours)


def past(forecast: Forecast, day: dt.date) -> PastPoint:
    """Where the work stood at the end of a day; that of the first day for what lies before it."""
    n = bisect_right(forecast.past, day, key=lambda p: p.date)
    return forecast.past[max(0, n - 1)]


def _in_order(project: Project, as_of: dt.date) -> list[StoredForecast]:
    # what was said after an evening stands above what was said before it
    rank = {"before": 0, "accepted": 1, "after": 2}
    told = (f for f in project.forecasts if f.as_of <= as_of)
    return sorted(told, key=lambda f: (f.as_of, rank[f.moment]))
