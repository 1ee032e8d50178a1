# SPDX-License-Identifier: GPL-3.0-or-later
"""The charts: hours left, odds, buffer. Each is drawn into given axes, or comes as a figure of its own.

Lines differ by dashes and markers as well as by colour and carry their names beside them, so that
nothing depends on a legend or on colour alone. Only matplotlib's object interface is used.
"""

from __future__ import annotations

from typing import Any

from matplotlib.figure import Figure

from nightplan.exports import words
from nightplan.exports.axes import (
    axis_names,
    axis_ticks,
    evening_ticks,
    heading,
    hour_ticks,
    lines_high,
    plain_axes,
    side_by_side,
    size_of,
)
from nightplan.exports.chart_numbers import (
    BufferNumbers,
    BurnNumbers,
    GateMark,
    GateOdds,
    SlipNumbers,
    buffer_numbers,
    burn_numbers,
    slip_numbers,
)
from nightplan.exports.chart_words import ZONE_WORDS, zone
from nightplan.exports.labels import Placer, backing, put, text_inches
from nightplan.exports.look import LIGHT, Look
from nightplan.exports.palette import mix
from nightplan.model.project import Project
from nightplan.model.results import Forecast
from nightplan.speech import tr, trc
from nightplan.speech.dates import decimal

_MARKERS = ("o", "s", "^", "D")
_DASHES: tuple[Any, ...] = ("solid", (0, (5, 2)), (0, (1.5, 1.5)), (0, (6, 2, 1, 2)))

#: of the thirds of the buffer
_ZONE_HATCH = ("", "..", "//")


def burn_down(
    project: Project, forecast: Forecast, look: Look = LIGHT, *, size: tuple[float, float] = (7.2, 3.6)
) -> Figure:
    """Hours of work left over the evenings."""
    figure, (axes,) = side_by_side(look, size, 1)
    draw_burn_down(axes, burn_numbers(project, forecast), look)
    return figure


def slip_risk(
    project: Project, forecast: Forecast, look: Look = LIGHT, *, size: tuple[float, float] = (7.2, 3.4)
) -> Figure:
    """Odds on the evenings so far, and by possible finish date."""
    figure, (left, right) = side_by_side(look, size, 2)
    numbers = slip_numbers(project, forecast)
    draw_odds_so_far(left, numbers, look)
    draw_odds_by_date(right, numbers, look)
    return figure


def buffer_used(
    project: Project,
    forecast: Forecast,
    look: Look = LIGHT,
    *,
    gate: str = "lock",
    size: tuple[float, float] = (7.2, 3.4),
) -> Figure:
    """Buffer used against work done, with its three zones."""
    figure, (axes,) = side_by_side(look, size, 1)
    draw_buffer_used(axes, buffer_numbers(project, forecast, gate), look)
    return figure


# ---- drawing into given axes ---------------------------------------------------------------------
def draw_burn_down(axes: Any, numbers: BurnNumbers, look: Look) -> None:
    """Baseline, actual, the band of 8 in 10 futures, and the hours still there."""
    there, base, actual, band = numbers.there, numbers.baseline, numbers.actual, numbers.band
    top = max([p.y for p in (*there, *base, *actual)] + [b.p90 for b in band])
    plain_axes(axes, look)
    axes.set_xlim(0, max(1, len(numbers.days)))
    axes.set_ylim(0, max(1.0, top * 1.08))
    evening_ticks(axes, numbers.days, look)
    hour_ticks(axes, top, look)
    axis_names(axes, look, tr("evenings (each step is one evening)"), tr("hours of work left"))
    _gate_lines(axes, numbers.gates, look)

    baseline = tr("baseline")
    lines: list[tuple[str, list[tuple[float, float]], str, Any, float]] = [
        (tr("hours you still have"), [(p.x, p.y) for p in there], look.there, (0, (5, 3)), 1.2)
    ]
    if base:
        lines.append((baseline, [(p.x, p.y) for p in base], look.plan, (0, (7, 2, 1.5, 2)), 1.4))
    bx = [b.x for b in band]
    low, middle, high = [b.p10 for b in band], [b.p50 for b in band], [b.p90 for b in band]
    axes.fill_between(bx, low, high, color=look.now, alpha=0.22, linewidth=0, label="band", zorder=2)
    for edge in (low, high):
        axes.plot(bx, edge, color=look.now, linewidth=0.7, zorder=2)
    axes.plot(bx, middle, color=look.now, linewidth=1.4, linestyle=(0, (1.2, 1.6)), label="middle", zorder=3)
    for name, points, colour, dash, width in lines:
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        axes.plot(xs, ys, color=colour, linestyle=dash, linewidth=width, label=name, zorder=3)
    ax, ay = [p.x for p in actual], [p.y for p in actual]
    axes.plot(
        ax, ay, color=look.now, linewidth=2.4, solid_joinstyle="round", label="so far", zorder=4
    )  # untranslated: a name
    axes.plot(ax[-1:], ay[-1:], "o", color=look.now, markersize=5, zorder=5)

    placer = Placer(axes, look)
    for xs, ys in [
        (bx, high),
        (bx, low),
        (bx, middle),
        (ax, ay),
        *(([p[0] for p in q], [p[1] for p in q]) for _, q, *_ in lines),
    ]:
        placer.keep_clear(xs, ys)
    for gate in numbers.gates:
        placer.keep_clear([gate.x, gate.x], [0, axes.get_ylim()[1]])
    if len(actual) > 1:
        placer.label(tr("so far"), ax, ay, look.now)
    if len(band) > 1:
        # named in the wide half, where it is seen to be a band
        half = len(bx) // 2
        placer.label(tr("8 in 10 futures"), bx[half:], high[half:], look.now)
    learned = band[0].p50 - actual[-1].y
    if abs(learned) >= 0.5:
        axes.plot([ax[-1], ax[-1]], [ay[-1], band[0].p50], color=look.now, linewidth=1.0, linestyle=":", zorder=3)
        sign = "+" if learned > 0 else "−"
        # translators: hours that were added to or taken off what is left, by what finished items taught
        text = tr("{hours} learned", hours=f"{sign}{words.hours(abs(learned))}")
        placer.label(text, [ax[-1]], [band[0].p50], look.now)
    for name, points, colour, *_ in lines:
        below = name is baseline
        placer.label(name, [p[0] for p in points], [p[1] for p in points], colour, below=below)


def draw_odds_so_far(axes: Any, numbers: SlipNumbers, look: Look) -> None:
    """Odds of each gate as they were given, evening by evening."""
    _odds_axes(axes, look, tr("evenings so far"))
    last = max((p.x for g in numbers.gates for p in g.so_far), default=1.0)
    last = max(last, 1.0)
    asked = numbers.target * 100
    axes.plot(
        [-0.03 * last, last * 1.04],
        [asked, asked],
        color=look.muted,
        linewidth=1.0,
        linestyle=(0, (2, 2)),
        label="asked",
        zorder=2,
    )
    # the right third is for the names
    axes.set_xlim(-0.03 * last, last * 1.62)
    evening_ticks(axes, numbers.days[: max(1, int(last))], look, count=3)
    heading(axes, tr("Odds so far"), look)
    for n, gate in enumerate(numbers.gates):
        xs, ys = [p.x for p in gate.so_far], [p.y * 100 for p in gate.so_far]
        axes.plot(
            xs,
            ys,
            color=look.gate(n),
            linestyle=_DASHES[n % 4],
            marker=_MARKERS[n % 4],
            markersize=4,
            linewidth=1.6,
            label=gate.id,
        )
    # beside the line, and into the margin that ticks of the next axes leave free
    room = size_of(axes)[0] * (1.62 - 1.06) / 1.65 + 4.0 * look.size / 72
    letters = max(5, min(15, int(room / (0.5 * look.size / 72)) - 3))
    names = [
        (g.so_far[-1].y * 100, f"{words.clean(g.name, letters)} {words.per_100(g.so_far[-1].y)}", look.gate(n))
        for n, g in enumerate(numbers.gates)
    ]
    names.append((asked, tr("asked for {odds}", odds=decimal(asked, 0)), look.muted))
    # spread, so that close odds do not write over each other
    for odds, text, colour in _spread(sorted(names), least=max(8.0, 104 / lines_high(axes, look.size)), top=101.0):
        put(
            axes,
            last * 1.06,
            odds,
            text,
            look,
            color=colour,
            fontsize=look.size - 0.5,
            ha="left",
            va="center",
            bbox=backing(look.panel),
        )


def draw_odds_by_date(axes: Any, numbers: SlipNumbers, look: Look) -> None:
    """Odds that each gate's work is done by the end of an evening to come; the gate itself as a mark."""
    _odds_axes(axes, look, tr("all its work done by this evening"))
    axes.axhline(numbers.target * 100, color=look.muted, linewidth=1.0, linestyle=(0, (2, 2)), label="asked", zorder=2)
    shown = _worth_showing(numbers.gates)
    days = tuple(p.date for p in max((g.by_date for g in numbers.gates), key=len, default=()))[:shown]
    axes.set_xlim(0.5, max(shown, 2) + 0.7)
    evening_ticks(axes, days, look, count=4)
    heading(axes, tr("Odds by finish date"), look, short=tr("By date"))
    curves = []
    for n, gate in enumerate(numbers.gates):
        xs, ys = [p.x for p in gate.by_date[:shown]], [p.y * 100 for p in gate.by_date[:shown]]
        curves.append(list(zip(xs, ys, strict=True)))
        axes.plot(xs, ys, color=look.gate(n), linestyle=_DASHES[n % 4], linewidth=1.6, label=gate.id)
        if gate.gate_x is not None:
            # the gate falls after its last evening; a machine job may end in between
            at = gate.gate_x + 0.5
            odds = gate.so_far[-1].y * 100
            axes.plot([at, at], [0, odds], color=look.gate(n), linewidth=1.0, linestyle=":", zorder=2)
            axes.plot([at], [odds], _MARKERS[n % 4], color=look.gate(n), markersize=6, zorder=5)
    placer = Placer(axes, look)
    placer.keep_clear(axes.get_xlim(), [numbers.target * 100] * 2)
    for curve, gate in zip(curves, numbers.gates, strict=True):
        placer.keep_clear([p[0] for p in curve], [p[1] for p in curve])
        if gate.gate_x is not None:
            placer.keep_clear([gate.gate_x + 0.5] * 2, [0.0, gate.so_far[-1].y * 100])
    for n, (curve, gate) in enumerate(zip(curves, numbers.gates, strict=True)):
        if curve:
            placer.label(words.clean(gate.name, 24), [p[0] for p in curve], [p[1] for p in curve], look.gate(n))


def draw_buffer_used(axes: Any, numbers: BufferNumbers, look: Look) -> None:
    """Buffer used against work done; the three zones are thirds of the buffer."""
    plain_axes(axes, look)
    used = [p.used * 100 for p in numbers.points]
    bottom, top = min([0.0, *used]), max([100.0, *used])
    room = (top - bottom) * 0.06
    low, high = (bottom - room if bottom < 0 else 0.0), (top + room if top > 100 else 100.0)
    axes.set_xlim(0, 100)
    axes.set_ylim(low, high)
    edges = (low, 100 / 3, 200 / 3, high)
    for n in range(3):
        axes.axhspan(
            edges[n],
            edges[n + 1],
            facecolor=look.zones[n],
            edgecolor=mix(look.zones[n], look.hatch, 0.4 if n else 0.0),
            hatch=_ZONE_HATCH[n],
            linewidth=0,
            zorder=0,
        )
        if n:
            axes.axhline(edges[n], color=look.muted, linewidth=0.8, zorder=1)
    axis_ticks(axes.xaxis, [0, 25, 50, 75, 100], ["0", "25", "50", "75", words.percent(1)], look)
    axis_ticks(axes.yaxis, [0, 100 / 3, 200 / 3, 100], ["0", "1/3", "2/3", trc("of the buffer", "all")], look)
    axis_names(axes, look, tr("work done"), tr("buffer used"))
    xs = [p.done * 100 for p in numbers.points]
    axes.plot(xs, used, color=look.now, linewidth=1.6, marker="o", markersize=3.5, label="used", zorder=4)
    placer = Placer(axes, look)
    placer.keep_clear(xs, used)
    if numbers.points:
        axes.plot(xs[-1:], used[-1:], "o", color=look.now, markersize=9, zorder=5)
        last = numbers.points[-1]
        placer.label(
            tr("{day}: {share} used", day=words.day(last.date), share=words.percent(last.used)),
            xs[-1:],
            used[-1:],
            look.now,
            back=look.zones[zone(last.used)],
        )
    for n, text in enumerate(ZONE_WORDS):
        middle = (max(edges[n], 0) + edges[n + 1]) / 2
        put(axes, 98.5, middle, text, look, ha="right", va="center", zorder=3, bbox=backing(look.zones[n]))
    if not numbers.points:
        put(axes, 50, 50, tr("no buffer to begin with"), look, ha="center", va="center", color=look.text)


# ---- pieces that two charts share ----------------------------------------------------------------
def _gate_lines(axes: Any, gates: tuple[GateMark, ...], look: Look) -> None:
    top = axes.get_ylim()[1]
    last = axes.get_xlim()[1]
    per_inch = last / (axes.figure.get_size_inches()[0] * axes.get_position().width)
    ends = [-last, -last, -last, -last]
    for n, gate in enumerate(gates):
        axes.axvline(
            gate.x, color=look.gate(n), linewidth=1.4, linestyle=_DASHES[n % 4], label=f"gate {gate.id}", zorder=3
        )
        text = tr("{gate}, {day}", gate=words.clean(gate.name, 30), day=words.day(gate.date))
        wide = text_inches(text, look.small)[0] * per_inch
        start = max(0.0, gate.x - wide)
        # a line higher where it would write over the one before
        level = next((k for k, end in enumerate(ends) if end < start), len(ends) - 1)
        ends[level] = start + wide
        # in a low chart a line of letters is a larger share of the height
        line = text_inches(text, look.small)[1] / size_of(axes)[1]
        height = top * (1.015 + max(0.055, line) * level)
        side, x = ("right", gate.x) if gate.x >= wide else ("left", 0.0)
        put(axes, x, height, text, look, color=look.gate(n), fontsize=look.small, ha=side, va="bottom")


def _odds_axes(axes: Any, look: Look, x: str) -> None:
    plain_axes(axes, look)
    axes.set_ylim(0, 104)
    lines = lines_high(axes, look.small)
    step = 20 if lines >= 8 else 50 if lines >= 4 else 100
    odds = list(range(0, 101, step))
    axis_ticks(axes.yaxis, [float(n) for n in odds], [str(n) for n in odds], look)
    axis_names(axes, look, x, tr("odds, in 100"))


def _spread(rows: list[tuple[float, str, str]], *, least: float, top: float) -> list[tuple[float, str, str]]:
    """Heights moved apart to at least ``least``, the highest at most ``top``; the order stays."""
    heights = [row[0] for row in rows]
    for n in range(1, len(heights)):
        heights[n] = max(heights[n], heights[n - 1] + least)
    for n in range(len(heights) - 1, -1, -1):
        heights[n] = min(heights[n], top - least * (len(heights) - 1 - n))
    return [(height, text, colour) for height, (_, text, colour) in zip(heights, rows, strict=True)]


def _worth_showing(gates: tuple[GateOdds, ...]) -> int:
    """Evenings until every gate is past and nearly certain, with a little room, at most what there is."""
    needed = 2.0
    for gate in gates:
        settled = next((p.x for p in gate.by_date if p.y >= 0.98), float(len(gate.by_date)))
        needed = max(needed, settled, (gate.gate_x or 0.0) + 1)
    return min(int(needed) + 1, max((len(g.by_date) for g in gates), default=2))
