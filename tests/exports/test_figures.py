# SPDX-License-Identifier: GPL-3.0-or-later
"""The drawn lines, bands and columns carry the numbers of the results (numbers by hand, no source)."""

from __future__ import annotations

import datetime as dt
import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import export_cases as cases
import pytest
from matplotlib.colors import to_hex

from nightplan.engine.forecast import forecast as real_forecast
from nightplan.engine.plan import plan as real_plan
from nightplan.exports import chart_numbers, figures
from nightplan.exports.chart_words import ZONE_WORDS
from nightplan.exports.look import LIGHT, LOOKS, NIGHT, PRINT
from nightplan.exports.palette import stage_inks
from nightplan.exports.strip import evening_strip
from nightplan.exports.strip_numbers import strip_numbers
from nightplan.model.parse import project_from_raw

SAMPLES = sorted((Path(__file__).parents[2] / "sample_projects").glob("*.nightplan"))


def line(axes: Any, label: str) -> list[tuple[float, float]]:
    (found,) = [k for k in axes.lines if k.get_label() == label]
    return [(float(x), float(y)) for x, y in zip(found.get_xdata(), found.get_ydata(), strict=True)]


def texts(figure: Any) -> list[str]:
    return [t.get_text() for axes in figure.axes for t in axes.texts]


# ---- hours left ----------------------------------------------------------------------------------
def test_burn_down_draws_what_it_is_given() -> None:
    (axes,) = figures.burn_down(cases.project(), cases.forecast(), NIGHT).axes
    # evenings 2 4 6 9 11 13 16 18 20; body 3 + fins 2 + swim 4 at first
    so_far = line(axes, "so far")
    assert so_far[0] == (0, 9)
    # fins were re-estimated to 1.5, body is done, swim has 4
    assert so_far[-1] == (3, 5.5)
    # the lost evening changed nothing
    assert so_far[1][1] == so_far[2][1]
    assert line(axes, "baseline") == [(0, 9), (1, 7), (2, 5), (3, 5), (4, 3)]
    # 6 sure evenings of 2 h at 0.9 and 3 maybe ones of 4 h at 0.5
    there = line(axes, "hours you still have")
    assert there[0] == pytest.approx((0, 16.8))
    assert there[3] == pytest.approx((3, 11.2))
    assert there[-1] == pytest.approx((9, 0))
    assert line(axes, "middle") == [(3, 6.5), (4, 5), (5, 3.5), (6, 1.5), (7, 0.5)]
    assert line(axes, "gate lock") == [(8, 0), (8, 1)]
    assert line(axes, "gate deadline") == [(9, 0), (9, 1)]
    (band,) = [c for c in axes.collections if c.get_label() == "band"]
    corners = {(float(x), float(y)) for x, y in band.get_paths()[0].vertices}
    assert {(4, 3.0), (4, 6.0), (6, 0.0), (6, 4.0), (7, 2.5)} <= corners


def test_burn_down_without_baseline_and_log() -> None:
    project = cases.project(log=[], baselines=[], forecasts=[])
    numbers = chart_numbers.burn_numbers(project, cases.forecast(of=project))
    assert numbers.baseline == ()
    # unlogged evenings before the day are part of what was; nothing got less
    assert [p.y for p in numbers.actual] == [9.0] * 4
    figures.burn_down(project, cases.forecast(of=project))


# ---- odds ----------------------------------------------------------------------------------------
def test_slip_risk_draws_the_stored_and_the_present_odds() -> None:
    so_far, by_date = figures.slip_risk(cases.project(), cases.forecast()).axes
    # what was said after an evening counts, what lies after the day of the forecast does not
    expected = [(0.0, 90.0), (1.0, 85.0), (4.0, 71.4)]
    assert line(so_far, "lock") == [pytest.approx(p) for p in expected]
    assert line(so_far, "asked")[0][1] == pytest.approx(80)
    assert line(by_date, "deadline") == [
        pytest.approx(p) for p in [(1, 0), (2, 10), (3, 40), (4, 60), (5, 80), (6, 93)]
    ]
    # the lock is after the fifth evening to come, and its own odds are marked there
    marks = [(float(k.get_xdata()[0]), float(k.get_ydata()[0])) for k in by_date.lines if len(k.get_xdata()) == 1]
    assert marks == [pytest.approx((5.5, 71.4)), pytest.approx((6.5, 93.0))]


def test_names_of_gates_never_write_over_each_other() -> None:
    rows = figures._spread([(80.0, "a", ""), (81.0, "b", ""), (99.0, "c", ""), (100.0, "d", "")], least=8.0, top=101.0)
    heights = [r[0] for r in rows]
    assert min(b - a for a, b in pairwise(heights)) >= 8.0 - 1e-9
    assert heights[-1] <= 101.0
    assert heights[0] == 77.0


# ---- buffer --------------------------------------------------------------------------------------
def test_buffer_used_draws_shares_and_thirds() -> None:
    (axes,) = figures.buffer_used(cases.project(), cases.forecast()).axes
    used = line(axes, "used")
    # 1 March: nothing done, nothing used; 2 March: 2 of body's hours against what is left of body and fins
    assert used[0] == (0, 0)
    assert [u for _, u in used] == pytest.approx([0, 20, 40])
    # lock: body's 3 likely hours are done, of fins' 2 the share 1/(1 + 1.5)
    assert used[-1][0] == pytest.approx(100 * (3 + 2 * 1 / 2.5) / 5)
    edges = sorted({round(k.get_ydata()[0], 3) for k in axes.lines if list(k.get_xdata()) == [0, 1]})
    assert edges == [33.333, 66.667]
    assert set(ZONE_WORDS) <= {t.get_text() for t in axes.texts}


@pytest.mark.parametrize("used", [-0.6, 0.0, 1.8, None])
def test_buffer_grown_overdrawn_or_unknown(used: float | None) -> None:
    from dataclasses import replace

    found = cases.forecast()
    lock = replace(found.gates[0], buffer=replace(found.gates[0].buffer, used=used))
    figure = figures.buffer_used(cases.project(forecasts=[]), replace(found, gates=(lock, found.gates[1])))
    (axes,) = figure.axes
    if used is None:
        assert "no buffer to begin with" in texts(figure)
    else:
        low, high = axes.get_ylim()
        assert low <= used * 100 <= high
        assert line(axes, "used")[-1][1] == pytest.approx(used * 100)


# ---- strip ---------------------------------------------------------------------------------------
def blocks(figure: Any, prefix: str) -> dict[str, Any]:
    return {p.get_gid(): p for p in figure.axes[0].patches if (p.get_gid() or "").startswith(prefix)}


def test_strip_columns_are_as_tall_as_their_hours() -> None:
    figure = evening_strip(cases.project(), cases.plan(), cases.forecast(), LIGHT)
    evenings = blocks(figure, "evening ")
    assert len(evenings) == 9
    per_hour = evenings["evening 2027-03-13"].get_height() / 4
    for day, hours in ((2, 2), (4, 2), (6, 3), (16, 2), (20, 4)):
        assert evenings[f"evening 2027-03-{day:02d}"].get_height() == pytest.approx(hours * per_hour)
    work = blocks(figure, "work ")
    inks = stage_inks(cases.project())
    assert work["work 2027-03-09 model"].get_height() == pytest.approx(1.5 * per_hour)
    assert work["work 2027-03-09 motion"].get_height() == pytest.approx(0.5 * per_hour)
    # body and fins are one stage: one block
    assert work["work 2027-03-06 model"].get_height() == pytest.approx(3 * per_hour)
    assert to_hex(work["work 2027-03-09 motion"].get_facecolor()).upper() == inks["motion"].fill


def test_strip_says_how_sure_an_evening_is_without_colour() -> None:
    figure = evening_strip(cases.project(), cases.plan(), cases.forecast(), PRINT)
    evenings = blocks(figure, "evening ")
    dashed = {g for g, p in evenings.items() if p.get_linestyle() not in ("solid", "-")}
    assert dashed == {"evening 2027-03-06", "evening 2027-03-13", "evening 2027-03-20"}
    # three buffer evenings and the sample in the legend
    assert sum(p.get_hatch() is not None for p in figure.axes[0].patches) == 4
    said = texts(figure)
    for word in (
        "lost",
        "relied",
        "buffer, kept free",
        "Personal lock: 71 in 100",
        "Hand-in: 93 in 100",
        "Render, 6 h",
    ):
        assert word in said, word
    assert said.count("✓") == 2


def test_strip_flags_and_jobs_lie_between_their_evenings() -> None:
    figure = evening_strip(cases.project(), cases.plan(), cases.forecast(), LIGHT)
    axes = figure.axes[0]
    evenings = blocks(figure, "evening ")

    def span(day: int) -> tuple[float, float]:
        p = evenings[f"evening 2027-03-{day:02d}"]
        return p.get_x(), p.get_x() + p.get_width()

    flags = {k.get_gid(): k.get_xdata()[0] for k in axes.lines if (k.get_gid() or "").startswith("gate ")}
    assert span(18)[1] < flags["gate lock"] < span(20)[0]
    assert flags["gate deadline"] > span(20)[1]
    job = blocks(figure, "job ")["job render"]
    assert span(13)[0] < job.get_x() < span(16)[0]
    assert job.get_x() + job.get_width() < span(16)[0]


def test_strip_says_what_a_missed_gate_is_short_of() -> None:
    plan = cases.plan(met=False, short_hours=2.5)
    assert "Mon 22 Mar, 12:00, 2.5 h short" in texts(evening_strip(cases.project(), plan))


def test_strip_shows_days_off_where_the_pattern_had_an_evening() -> None:
    project = cases.project(off=[{"from": "2027-03-18", "to": "2027-03-18"}])
    columns = strip_numbers(project, real_plan(project, cases.AS_OF)).columns
    assert [c.status for c in columns if c.date == cases.d(18)] == ["off"]


@pytest.mark.parametrize("width", [4.0, 7.2, 12.0])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_strip_keeps_every_evening_in_sight(path: Path, width: float) -> None:
    project = project_from_raw(json.loads(path.read_text(encoding="utf-8")))
    plan = real_plan(project, max([project.announced, *(e.evening for e in project.log)]))
    figure = evening_strip(project, plan, None, LIGHT, width=width)
    evenings = blocks(figure, "evening ")
    columns = strip_numbers(project, plan).columns
    assert set(evenings) == {f"evening {c.date}" for c in columns}
    assert all(p.get_x() >= 0 and p.get_x() + p.get_width() <= width + 1e-6 for p in evenings.values())
    boxes = [(p.get_x(), p.get_x() + p.get_width(), p.get_y()) for p in evenings.values()]
    for (x0, x1, y), (u0, u1, v) in ((a, b) for i, a in enumerate(boxes) for b in boxes[:i]):
        assert x1 <= u0 + 1e-9 or u1 <= x0 + 1e-9 or y != v
    gates = [k for k in figure.axes[0].lines if (k.get_gid() or "").startswith("gate ")]
    assert len(gates) == len(project.gates)
    assert len(blocks(figure, "job ")) == sum(j.start is not None for j in plan.jobs)


def test_strip_of_a_plan_without_evenings() -> None:
    from dataclasses import replace

    figure = evening_strip(cases.project(), replace(cases.plan(), evenings=()), None)
    assert blocks(figure, "evening ") == {}


# ---- all of them ---------------------------------------------------------------------------------
@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda k: k.name)
def test_a_look_changes_colours_and_nothing_else(look: Any) -> None:
    figure = evening_strip(cases.project(), cases.plan(), cases.forecast(), look)
    assert to_hex(figure.get_facecolor()).upper() == look.panel
    assert texts(figure) == texts(evening_strip(cases.project(), cases.plan(), cases.forecast(), NIGHT))
    greys = [to_hex(p.get_facecolor()) for p in blocks(figure, "work ").values()]
    assert all(g[1:3] == g[3:5] == g[5:7] for g in greys) == look.grey


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_words_stay_within_the_picture_and_apart(path: Path) -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    project = project_from_raw(json.loads(path.read_text(encoding="utf-8")))
    day = max([project.announced, *(e.evening for e in project.log)])
    found = real_forecast(project, day, futures=2000)
    made = [
        figures.burn_down(project, found),
        figures.slip_risk(project, found),
        figures.buffer_used(project, found),
        evening_strip(project, real_plan(project, day), found),
    ]
    for figure in made:
        FigureCanvasAgg(figure).draw()
        whole = figure.bbox
        boxes = [(t.get_text(), t.get_window_extent()) for axes in figure.axes for t in axes.texts if t.get_text()]
        for text, box in boxes:
            assert whole.x0 - 1 <= box.x0, text
            assert box.x1 <= whole.x1 + 1, text
            assert whole.y0 - 1 <= box.y0, text
            assert box.y1 <= whole.y1 + 1, text
        for n, (text, box) in enumerate(boxes):
            for other, another in boxes[:n]:
                wide = min(box.x1, another.x1) - max(box.x0, another.x0)
                tall = min(box.y1, another.y1) - max(box.y0, another.y0)
                # two pixels: the letters' boxes have air around them
                assert min(wide, tall) <= 2, (text, other)


def test_few_ticks() -> None:
    for figure in (
        figures.burn_down(cases.project(), cases.forecast()),
        figures.slip_risk(cases.project(), cases.forecast()),
    ):
        for axes in figure.axes:
            assert len(axes.get_xticks()) <= 6
            assert len(axes.get_yticks()) <= 6


def test_a_long_project_has_few_ticks_and_hours_far_apart() -> None:
    project = cases.project(
        gates=[
            {"id": "lock", "name": "Lock", "on": "2028-03-19"},
            {"id": "deadline", "name": "End", "on": "2028-03-26"},
        ],
        stages=[
            {
                "id": "model",
                "name": "Model",
                "items": [
                    {"id": "body", "name": "Body", "likely": 300, "high": 400},
                    {"id": "fins", "name": "Fins", "likely": 2, "high": 4},
                    {"id": "swim", "name": "Swim", "likely": 4, "high": 4},
                ],
            }
        ],
        jobs=[],
        forecasts=[],
        baselines=[],
    )
    found = real_forecast(project, dt.date(2027, 3, 9), futures=500)
    (axes,) = figures.burn_down(project, found).axes
    assert len(axes.get_xticks()) <= 6
    assert len(axes.get_yticks()) <= 6
