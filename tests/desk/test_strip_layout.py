# SPDX-License-Identifier: GPL-3.0-or-later
"""Geometry and words of the evening strip. Common practice, no source: the rules are design.md's own."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise

import pytest
from plan_page_project import AS_OF, project, raw

from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.strip_layout import Layout, Measures
from nightplan.desk.widgets.strip_model import Column, StripData, strip_data
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.model.parse import project_from_raw

MEASURES = Measures(14.0, 40.0, 26.0, lambda s: 6.0 * len(s), lambda s: 7.0 * len(s))


@pytest.fixture(scope="module")
def data() -> StripData:
    p = project()
    return strip_data(p, plan(p, AS_OF), forecast(p, AS_OF, futures=500))


def lay(data: StripData, zoom: float = 1.0, height: float = 320.0) -> Layout:
    return Layout(data, MEASURES, zoom, height)


def works_between(data: StripData, a: Column, b: Column) -> bool:
    return any(job.start < b.start_at and a.end_at < job.end for job in data.jobs)


def test_where_there_is_no_tonight_the_next_evening_is_nearest(data: StripData) -> None:
    assert data.nearest == data.tonight
    without = tuple(replace(c, tonight=False) for c in data.columns)
    at = StripData(without).nearest
    assert data.tonight is not None
    assert at >= data.tonight
    assert without[at].status in ("planned", "relied", "buffer")
    assert not any(c.status == "planned" for c in without[:at])
    gone = tuple(c for c in without if c.status in ("worked", "lost", "off"))
    assert StripData(gone).nearest == len(gone) - 1
    assert StripData().nearest == -1


def test_the_columns_are_the_plans_evenings_and_the_days_off(data: StripData) -> None:
    planned = {(e.date, e.start, e.hours, e.status) for e in plan(project(), AS_OF).evenings}
    shown = {(c.date, c.start, c.hours, c.status) for c in data.columns}
    assert planned <= shown
    assert {s[3] for s in shown - planned} == {"off"}
    assert [c.start_at for c in data.columns] == sorted(c.start_at for c in data.columns)


def test_the_work_of_a_column_is_the_plans(data: StripData) -> None:
    for evening in plan(project(), AS_OF).evenings:
        at = data.find(evening.date, evening.start)
        assert at is not None
        assert [(b.item, b.hours) for b in data.columns[at].blocks] == [(w.item, w.hours) for w in evening.work]


def test_one_evening_is_tonight(data: StripData) -> None:
    assert [c.date for c in data.columns if c.tonight] == [AS_OF]


def test_evenings_of_one_week_stand_closer_than_weeks(data: StripData) -> None:
    layout = lay(data)
    # where a machine works through the night the gap is wider by its hours
    nights = [n for n, (a, b) in enumerate(pairwise(data.columns)) if works_between(data, a, b)]
    steps = [b - a for a, b in zip(layout.left, layout.left[1:], strict=False)]
    assert nights
    for n in nights:
        assert steps[n] > layout.column + layout.gap
    same = [
        s
        for s, (a, b) in zip(steps, zip(data.columns, data.columns[1:], strict=False), strict=False)
        if a.week == b.week and not works_between(data, a, b)
    ]
    other = [
        s
        for s, (a, b) in zip(steps, zip(data.columns, data.columns[1:], strict=False), strict=False)
        if a.week != b.week and not works_between(data, a, b)
    ]
    assert same
    assert other
    assert max(same) < min(other)


def test_height_is_hours(data: StripData) -> None:
    layout = lay(data)
    for n, column in enumerate(data.columns):
        bar = layout.bar(n)
        assert bar.h == pytest.approx(column.hours * layout.per_hour)
        assert bar.y + bar.h == pytest.approx(layout.floor)
        assert sum(b.h for b in layout.blocks(n)) == pytest.approx(
            sum(b.hours for b in column.blocks) * layout.per_hour
        )


def test_time_runs_to_the_right(data: StripData) -> None:
    layout = lay(data)
    first, last = data.columns[0].start_at, data.columns[-1].end_at
    moments = [first + (last - first) * k / 500 for k in range(501)]
    places = [layout.x_of(m) for m in moments]
    assert places == sorted(places)
    for n, column in enumerate(data.columns):
        assert layout.x_of(column.start_at) == pytest.approx(layout.left[n])
        assert layout.x_of(column.end_at) == pytest.approx(layout.left[n] + layout.column)


def test_a_machine_job_of_the_night_lies_in_the_gap(data: StripData) -> None:
    layout = lay(data)
    job = next(n for n, j in enumerate(data.jobs) if j.id == "final-render")
    bar = layout.jobs[job].bar
    before = [
        n for n, c in enumerate(data.columns) if c.end_at <= data.jobs[job].start or c.start_at < data.jobs[job].start
    ][-1]
    after = next(n for n, c in enumerate(data.columns) if c.start_at >= data.jobs[job].end)
    assert after == before + 1
    middle = bar.x + bar.w / 2
    assert layout.left[before] < middle < layout.left[after]


@pytest.mark.parametrize("zoom", [0.5, 1.0, 2.0])
def test_a_longer_job_has_a_longer_bar(data: StripData, zoom: float) -> None:
    job = next(j for j in data.jobs if j.id == "final-render")
    row = next(n for n, j in enumerate(data.jobs) if j.id == "final-render")
    widths = []
    for hours in (6.0, 9.0, 12.0):
        other = replace(job, end=job.start + dt.timedelta(hours=hours))
        layout = lay(replace(data, jobs=(*data.jobs[:row], other, *data.jobs[row + 1 :])), zoom)
        bar = layout.jobs[row].bar
        assert layout.x_of(other.start) == pytest.approx(bar.x) or bar.w <= layout.gap + 4
        widths.append(bar.w)
    assert widths == sorted(set(widths))


def test_flags_do_not_cover_each_other(data: StripData) -> None:
    for zoom in (0.2, 0.5, 1.0, 2.0):
        flags = lay(data, zoom).flags
        for n, one in enumerate(flags):
            for two in flags[n + 1 :]:
                assert one.x + one.w <= two.x or one.y + one.h <= two.y or two.y + two.h <= one.y


def test_the_flag_of_a_whole_evening_stands_behind_it() -> None:
    changed = raw()
    changed["gates"][0]["on"] = "2027-02-13"
    p = project_from_raw(changed)
    data = strip_data(p, plan(p, AS_OF))
    layout = lay(data)
    at = data.find(dt.date(2027, 2, 13))
    assert at is not None
    assert layout.left[at] + layout.column < layout.flags[0].x < layout.left[at + 1]


def test_the_pointer_finds_what_is_drawn(data: StripData) -> None:
    layout = lay(data)
    for n in range(len(data.columns)):
        for b, box in enumerate(layout.blocks(n)):
            if box.h > 1:
                assert layout.hit(box.middle, box.y + box.h / 2) == ("evening", n, b)
    for n, box in enumerate(layout.flags):
        assert layout.hit(box.middle, box.y + 2) == ("flag", n, -1)
    for n, place in enumerate(layout.jobs):
        assert layout.hit(place.bar.middle, place.bar.y + 1) == ("job", n, -1)
    assert layout.hit(2, 2) is None


def test_only_columns_in_sight_are_given_to_the_painter(data: StripData) -> None:
    layout = lay(data)
    x0, x1 = layout.left[4], layout.left[7]
    seen = layout.visible(x0, x1)
    assert set(seen) == {
        n for n in range(len(data.columns)) if layout.left[n] + layout.column >= x0 and layout.left[n] <= x1
    }


def test_work_behind_its_gate_is_said() -> None:
    changed = raw()
    for item in changed["stages"][2]["items"]:
        item["likely"], item["high"] = 20.0, 30.0
    p = project_from_raw(changed)
    data = strip_data(p, plan(p, AS_OF))
    late = [b for c in data.columns for b in c.blocks if b.late_for]
    assert late
    assert all(b.late_for in ("Personal lock", "Hand-in") for b in late)
    lock = next(f for f in data.flags if f.id == "lock")
    assert not lock.met
    assert any("does not meet" in line for line in words.flag_lines(lock))


def test_words(data: StripData) -> None:
    assert words.chance(0.9) == "sure (9 in 10)"
    assert words.chance(0.5) == "maybe (5 in 10)"
    assert words.chance(0.85) == "sure (85 in 100)"
    assert words.clock(dt.time(22, 30), 2.5) == "22:30 to 01:00"
    assert words.hours(2.0) == "2 h"
    assert words.hours(1.25) == "1.2 h"
    tonight = data.columns[data.tonight or 0]
    assert words.sentence(tonight).startswith("Tuesday 26 Jan 2027, tonight. 20:30 to 23:00, 2.5 h, sure (9 in 10).")
    assert "18 evenings" in words.summary(data)


def test_an_empty_strip_can_be_laid_out() -> None:
    layout = lay(StripData())
    assert layout.hit(10, 10) is None
    assert list(layout.visible(0, 1000)) == []
    assert layout.x_of(dt.datetime(2027, 1, 1, tzinfo=dt.UTC)) == layout.gutter
