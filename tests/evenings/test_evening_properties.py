# SPDX-License-Identifier: GPL-3.0-or-later
"""What holds of every calendar (Hypothesis)."""

from __future__ import annotations

import datetime as dt
import sys
from itertools import pairwise
from typing import Any

import pytest
from evening_cases import made
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from nightplan.evenings.dated import Calendar, Evening, calendar
from nightplan.evenings.spans import Spans
from nightplan.evenings.zones import to_local, to_utc
from nightplan.model.errors import BadInput
from nightplan.model.project import DAYS, Project

ZONES = ("Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "Pacific/Auckland", "UTC", "+05:45")
#: a few weeks before the changes of autumn in the north and of spring in the south
FIRST = dt.date(2027, 9, 20)
WHY = st.sampled_from(["", "work trip", "wedding"])

quarters = st.integers(0, 95).map(lambda q: f"{q // 4:02d}:{q % 4 * 15:02d}")
lengths = st.integers(1, 24).map(lambda q: q / 4)
chances = st.sampled_from([0.5, 0.9, 1.0])
dates = st.integers(0, 90).map(lambda n: f"{FIRST + dt.timedelta(days=n)}")


@st.composite
def projects(draw: st.DrawFn) -> dict[str, Any]:
    """Lists of a project in a random state; days and dates once each, so that order cannot matter by meaning."""
    week = [
        {"day": day, "start": draw(quarters), "hours": draw(lengths), "chance": draw(chances)}
        for day in draw(st.sets(st.sampled_from(DAYS), min_size=1))
    ]
    off = []
    for start in draw(st.lists(dates, max_size=3)):
        until = dt.date.fromisoformat(start) + dt.timedelta(days=draw(st.integers(0, 9)))
        off.append({"from": start, "to": f"{until}", "why": draw(WHY)})
    busy = []
    for start in draw(st.lists(dates, max_size=4)):
        busy.append({"from": f"{start}T{draw(quarters)}", "to": f"{start}T{draw(quarters)}", "why": draw(WHY)})
    extra = [
        {"on": on, "start": draw(quarters), "hours": draw(lengths)}
        for on in draw(st.lists(dates, max_size=4, unique=True))
    ]
    changes = [
        {
            "on": on,
            "lost": draw(st.booleans()),
            "chance": draw(st.none() | chances),
            "hours": draw(st.none() | lengths),
            "start": draw(st.none() | quarters),
        }
        for on in draw(st.lists(dates, max_size=4, unique=True))
    ]
    end = FIRST + dt.timedelta(days=draw(st.integers(14, 80)))
    deadline: dict[str, Any] = {"on": f"{end}"}
    if draw(st.booleans()):
        deadline = {"at": f"{end}T{draw(quarters)}", "zone": draw(st.sampled_from([*ZONES, "-12:00", "+14:00"]))}
    return {
        "lock": f"{end - dt.timedelta(days=draw(st.integers(0, 7)))}",
        "deadline": deadline,
        "zone": draw(st.sampled_from(ZONES)),
        "week": week,
        "off": off,
        "busy": busy,
        "extra": extra,
        "changes": changes,
    }


def build(raw: dict[str, Any]) -> Project:
    more = {k: v for k, v in raw.items() if k not in ("lock", "deadline")}
    return made(f"{FIRST}", raw["lock"], raw["deadline"], **more)


def dated_or_skip(project: Project) -> Calendar:
    try:
        return calendar(project)
    except BadInput:
        # an overlap or a skipped start: refused, which other tests look at
        assume(False)
        raise


@settings(max_examples=200, deadline=None)
@given(projects())
def test_sorted_and_never_overlapping(raw: dict[str, Any]) -> None:
    found = dated_or_skip(build(raw))
    for one, two in pairwise(found.evenings):
        assert one.start_at < two.start_at
        assert one.end_at <= two.start_at
        assert one.tail <= two.tail
        assert one.date <= two.date
    assert list(found.gates) == sorted(found.gates, key=lambda g: g.instant)
    for e in found.evenings:
        assert 0 < e.hours <= 24
        assert e.tail == (e.start_at >= found.gates[-1].instant)
        assert to_local(e.start_at, found.zone) == dt.datetime.combine(e.date, e.start)


@settings(max_examples=200, deadline=None)
@given(projects())
def test_nothing_on_a_day_off_a_lost_date_or_in_a_busy_time(raw: dict[str, Any]) -> None:
    project = build(raw)
    found = dated_or_skip(project)
    lost = {c.on for c in project.changes if c.lost}
    for e in found.evenings:
        assert not any(o.from_ <= e.date <= o.to for o in project.off)
        assert e.date not in lost
        for b in project.busy:
            if b.from_ < b.to:
                start, end = to_utc(b.from_, found.zone), to_utc(b.to, found.zone)
                assert end <= e.start_at or e.end_at <= start


@settings(max_examples=200, deadline=None)
@given(projects())
def test_no_hour_is_lost_or_made(raw: dict[str, Any]) -> None:
    """Hours of the evenings = hours of the pattern and extras − those taken − what the deadline cuts off."""
    project = build(raw)
    found = dated_or_skip(project)
    final = found.gates[-1].instant
    changed = {c.on: c.hours for c in project.changes if c.hours is not None}
    promised = 0.0
    day = project.announced
    # counted the plain way: each day, each slot
    while to_utc(dt.datetime.combine(day, dt.time()), found.zone) < final:
        slots = [(w.start, w.hours) for w in project.week if DAYS[day.weekday()] == w.day]
        extra = [(x.start, x.hours) for x in project.extra if x.on == day]
        moved = {c.on: c.start for c in project.changes if c.start is not None}
        kept = [s for s in slots if not any(_clocks_meet(s, x) for x in extra)]
        for start, hours in [*kept, *extra]:
            begin = to_utc(dt.datetime.combine(day, moved.get(day, start)), found.zone)
            if begin < final:
                promised += changed.get(day, hours)
        day += dt.timedelta(days=1)
    there = sum(e.hours for e in found.evenings if not e.tail)
    taken = sum(t.hours for t in found.taken if to_utc(dt.datetime.combine(t.date, t.start), found.zone) < final)
    whole = {e.date: e for e in _without_deadline_instant(project).evenings}
    cut = sum(whole[e.date].hours - e.hours for e in found.evenings if e.clipped_by)
    assert there == pytest.approx(promised - taken - cut)
    assert sum(e.clipped_by is not None for e in found.evenings) <= 1
    for e in found.evenings:
        assert e.clipped_by is None or e.end_at == found.gate(e.clipped_by).instant


def _clocks_meet(one: tuple[dt.time, float], two: tuple[dt.time, float]) -> bool:
    a, b = (t[0].hour * 60 + t[0].minute for t in (one, two))
    return a < b + two[1] * 60 and b < a + one[1] * 60


def _without_deadline_instant(project: Project) -> Calendar:
    far = project.gates_by_id["deadline"].but(at=None, zone=None, on=FIRST + dt.timedelta(days=100))
    try:
        return calendar(project.but(gates=(project.gates_by_id["lock"], far)))
    except BadInput:
        # a later gate makes evenings count that were tail, and one of them may not be possible
        assume(False)
        raise


@settings(max_examples=100, deadline=None)
@given(projects(), st.randoms(use_true_random=False))
def test_the_order_of_lists_means_nothing(raw: dict[str, Any], random: Any) -> None:
    found = dated_or_skip(build(raw))
    mixed = {k: random.sample(v, len(v)) if isinstance(v, list) else v for k, v in raw.items()}
    again = calendar(build(mixed))
    assert again == found
    project = build(raw)
    assert calendar(project.but(gates=project.gates[::-1])) == found


@settings(max_examples=100, deadline=None)
@given(projects(), st.integers(0, 200 * 24 * 4))
def test_the_date_of_an_instant_is_that_of_the_first_evening_around_it(raw: dict[str, Any], quarter: int) -> None:
    found = dated_or_skip(build(raw))
    instant = to_utc(dt.datetime.combine(FIRST, dt.time()), found.zone) + dt.timedelta(minutes=15 * quarter)
    around: list[Evening] = [e for e in found.evenings if e.start_at <= instant <= e.end_at]
    expected = around[0].date if around else to_local(instant, found.zone).date()
    assert found.evening_date(instant) == expected
    date = found.evenings[quarter % len(found.evenings)].date
    assert found.on(date) == tuple(e for e in found.evenings if e.date == date)


@given(
    st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50), st.sampled_from("abc")), max_size=12),
    st.integers(0, 50),
    st.integers(1, 10),
)
def test_spans_find_what_looking_at_each_finds(spans: list[tuple[int, int, str]], start: int, length: int) -> None:
    met = [why for a, b, why in spans if a < b and a < start + length and start < b]
    answer = Spans(spans).meeting(start, start + length)
    assert (answer is not None) == bool(met)
    assert answer is None or answer in met


def _calls(weeks: int) -> int:
    """Function calls of one calendar whose every list grows with the weeks."""
    end = f"{FIRST + dt.timedelta(weeks=weeks)}"
    on = [f"{FIRST + dt.timedelta(days=3 * n)}" for n in range(weeks * 2)]
    project = build(
        {
            "lock": end,
            "deadline": {"on": end},
            "zone": "Europe/Lisbon",
            "week": [{"day": d, "start": "20:30", "hours": 2} for d in DAYS],
            "off": [{"from": d, "to": d} for d in on[::4]],
            "busy": [{"from": f"{d}T10:00", "to": f"{d}T11:00"} for d in on],
            "changes": [{"on": d, "chance": 0.5} for d in on],
        }
    )
    calls = 0

    def count(_frame: Any, event: str, _arg: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(count)
    try:
        calendar(project)
    finally:
        sys.setprofile(before)
    return calls


def test_the_cost_is_linear_in_evenings_and_lists() -> None:
    """Counted, not timed: four times the weeks may cost four times the calls and a little, not sixteen."""
    assert _calls(208) < 5 * _calls(52)
