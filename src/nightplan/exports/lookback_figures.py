# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of a look back: planned against actual, ratio by stage, evenings kept, honesty of the odds.

Ranges are thin lines with end marks, values are filled marks; counts stand beside them, so that nothing
depends on colour alone. Each picture can be drawn into given axes or comes as a figure of its own.
"""

from __future__ import annotations

from typing import Any

from matplotlib.figure import Figure

from nightplan.exports import words
from nightplan.exports.axes import DPI, axis_names, axis_ticks, plain_axes
from nightplan.exports.fonts import families
from nightplan.exports.labels import backing, put
from nightplan.exports.look import LIGHT, Look
from nightplan.model.results_lookback import Band, EveningLook, Facts, ItemFact, LookBack, Scores, StageLook
from nightplan.speech import tr, trn
from nightplan.speech.dates import decimal

#: stages in a picture; more are too small to read
MAX_ROWS = 14
_HOURS = (0.1, 0.25, 0.5, 1, 2, 4, 8, 16, 32, 64, 128, 256)
_FINE_HOURS = (0.5, 0.75, 1, 1.5, 2, 3, 4, 5, 6, 7, 8, 10, 12, 16, 20, 24, 32, 48)
_TIMES = (0.25, 0.5, 0.7, 1, 1.4, 2, 3, 4, 6, 8)


#: name of a picture -> how wide and high it is by itself, in inches
PICTURES = {
    "planned-against-actual": (5.6, 4.6),
    "ratio-by-stage": (6.4, 4.2),
    "evenings-kept": (6.4, 3.6),
    "forecast-honesty": (5.2, 4.6),
}


def figures(facts: Facts, looks: LookBack, scores: Scores, look: Look = LIGHT) -> dict[str, Figure]:
    """All four by their names."""
    made = {}
    for name, size in PICTURES.items():
        made[name] = Figure(figsize=size, dpi=DPI)
        draw(made[name], name, facts, looks, scores, look)
    return made


def draw(figure: Figure, name: str, facts: Facts, looks: LookBack, scores: Scores, look: Look) -> None:
    """Draw one of the four anew on a figure of any size; margins grow with the letters."""
    figure.clear()
    figure.set_facecolor(look.panel)
    wide, tall = figure.get_size_inches()
    inch = look.size / LIGHT.size
    left = (1.25 if name == "ratio-by-stage" else 0.62) * inch
    bottom = 0.56 * inch
    room = max(0.2, wide - left - 0.22 * inch), max(0.2, tall - bottom - 0.22 * inch)
    axes = figure.add_axes((left / wide, bottom / tall, room[0] / wide, room[1] / tall))
    if name == "planned-against-actual":
        draw_planned_against_actual(axes, facts.items, look)
    elif name == "ratio-by-stage":
        draw_ratio_by_stage(axes, (*looks.stages[: MAX_ROWS - 1], looks.overall), look)
    elif name == "evenings-kept":
        draw_evenings_kept(axes, looks.weekdays, look)
    else:
        draw_forecast_honesty(axes, scores, look)


# ---- drawing into given axes ---------------------------------------------------------------------
def draw_planned_against_actual(axes: Any, items: tuple[ItemFact, ...], look: Look) -> None:
    """Every item as a ring."""
    plain_axes(axes, look)
    xs, ys = [i.planned for i in items], [i.actual for i in items]
    low = min([*xs, *ys], default=0.5) / 1.3
    high = max([*xs, *ys], default=8.0) * 1.3
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(low, high)
    axes.set_ylim(low, high)
    axes.minorticks_off()
    shown = [float(h) for h in _HOURS if low <= h <= high]
    if len(shown) < 4:
        shown = [float(h) for h in _FINE_HOURS if low <= h <= high]
    for axis in (axes.xaxis, axes.yaxis):
        axis_ticks(axis, shown, [decimal(h, 2, least=0) for h in shown], look)
    axis_names(axes, look, tr("hours planned"), tr("hours it took"))
    for times, dash, text in (
        (1.0, "solid", tr("as planned")),
        # translators: beside the line of items that took two times as long as planned
        (2.0, (0, (4, 3)), tr("twice")),
    ):
        axes.plot([low, high], [low * times, high * times], color=look.plan, linewidth=1.1, linestyle=dash, zorder=2)
        at = high / times / 1.12
        put(
            axes,
            at,
            at * times,
            text,
            look,
            ha="right",
            va="bottom",
            color=look.plan,
            fontsize=look.small,
            zorder=6,
            bbox=backing(look.panel),
        )
    if items:
        # one marker stamped many times: a collection of thousands is several times slower
        axes.plot(
            xs,
            ys,
            linestyle="none",
            marker="o",
            markersize=4.7,
            markerfacecolor="none",
            markeredgecolor=look.now,
            markeredgewidth=1.0,
            label="items",
            zorder=4,
        )
    else:
        _nothing(axes, tr("no item is finished yet"), look)


def draw_ratio_by_stage(axes: Any, stages: tuple[StageLook, ...], look: Look) -> None:
    """One row a stage; the last row is over all."""
    plain_axes(axes, look)
    axes.set_xscale("log")
    axes.minorticks_off()
    # whatever the data, 0.7 to 2 times is seen
    ends = [v for s in stages for v in (s.factor.low, s.factor.high)]
    low, high = max(0.1, min([0.7, *ends]) / 1.1), min(20.0, max([2.0, *ends]) * 1.35)
    axes.set_xlim(low, high)
    axes.set_ylim(len(stages) - 0.4, -0.6)
    times = [t for t in _TIMES if low <= t <= high]
    axis_ticks(axes.xaxis, [float(t) for t in times], [decimal(t, 2, least=0) for t in times], look)
    axis_ticks(axes.yaxis, [float(n) for n in range(len(stages))], [words.clean(s.stage, 16) for s in stages], look)
    axes.grid(axis="y", visible=False)
    axes.axvline(1.0, color=look.plan, linewidth=1.1, zorder=2)
    axis_names(axes, look, tr("times your likely hours (range: 8 in 10 sure)"), "")
    for n, s in enumerate(stages):
        _range(axes, s.factor, float(n), look, filled=s.prior_share <= 0.5)
        count = trn("{n} item", "{n} items", s.n)
        text = f"{decimal(s.factor.value, 2)} · {count}"
        put(axes, high / 1.02, n, text, look, ha="right", va="center", fontsize=look.small, bbox=backing(look.panel))


def draw_evenings_kept(axes: Any, rows: tuple[EveningLook, ...], look: Look) -> None:
    """Learned chance with its range, the chance promised as a dash, counts below."""
    plain_axes(axes, look)
    axes.set_ylim(0, 104)
    axis_ticks(axes.yaxis, [0, 25, 50, 75, 100], ["0", "25", "50", "75", "100"], look)
    axes.set_xlim(-0.6, max(1, len(rows)) - 0.4)
    names = [_evening_kind(r) + "\n" + tr("{part} of {whole}", part=r.kept, whole=r.promised) for r in rows]
    axis_ticks(axes.xaxis, [float(n) for n in range(len(rows))], names, look)
    axis_names(axes, look, "", tr("of 100 evenings happen"))
    for n, r in enumerate(rows):
        axes.plot([n - 0.28, n + 0.28], [r.said * 100] * 2, color=look.plan, linewidth=1.8, zorder=3)
        _upright(axes, float(n), r.chance, 100.0, look, filled=r.sure)
    if rows:
        first = rows[0]
        put(axes, 0.34, first.said * 100, tr("promised"), look, va="center", color=look.plan, fontsize=look.small)
    else:
        _nothing(axes, tr("no evening is ticked off yet"), look)


def draw_forecast_honesty(axes: Any, scores: Scores, look: Look) -> None:
    """Calibration: on the line the odds were what they said."""
    plain_axes(axes, look)
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 104)
    for axis in (axes.xaxis, axes.yaxis):
        axis_ticks(axis, [0, 20, 40, 60, 80, 100], ["0", "20", "40", "60", "80", "100"], look)
    axis_names(axes, look, tr("odds said, in 100"), tr("made it, in 100"))
    axes.plot([0, 100], [0, 100], color=look.plan, linewidth=1.1, zorder=2)
    put(axes, 3, 97, tr("above the line: too careful"), look, va="top", fontsize=look.small, color=look.muted)
    # on the left, where few odds are: not among the ranges
    put(axes, 20, 3, tr("below: too sure"), look, va="bottom", fontsize=look.small, color=look.muted)
    for b in scores.bins:
        _upright(axes, b.said * 100, b.made, 100.0, look, filled=b.gates >= 5)
        # upright, clear of its own range, so that ten of them fit side by side
        over = b.made.high <= 0.72
        put(
            axes,
            b.said * 100,
            (b.made.high * 100 + 2) if over else (b.made.low * 100 - 2),
            tr("{part} of {whole}", part=b.met, whole=b.forecasts),
            look,
            ha="center",
            va="bottom" if over else "top",
            rotation=90,
            fontsize=look.small,
            bbox=backing(look.panel),
            zorder=2.5,
        )
    if not scores.bins:
        _nothing(axes, tr("no forecast can be scored yet"), look)


def _evening_kind(row: EveningLook) -> str:
    day = words.weekday(row.weekday or 0)
    return tr("{weekday} sure", weekday=day) if row.sure else tr("{weekday} maybe", weekday=day)


# ---- pieces --------------------------------------------------------------------------------------
def _range(axes: Any, band: Band, y: float, look: Look, *, filled: bool) -> None:
    axes.plot([band.low, band.high], [y, y], color=look.now, linewidth=1.3, marker="|", markersize=7, zorder=3)
    _mark(axes, band.value, y, look, filled)


def _upright(axes: Any, x: float, band: Band, scale: float, look: Look, *, filled: bool) -> None:
    ends = [band.low * scale, band.high * scale]
    axes.plot([x, x], ends, color=look.now, linewidth=1.3, marker="_", markersize=8, zorder=3)
    _mark(axes, x, band.value * scale, look, filled)


def _mark(axes: Any, x: float, y: float, look: Look, filled: bool) -> None:
    """Hollow where little is known."""
    face = look.now if filled else look.panel
    axes.plot([x], [y], "o", color=look.now, markerfacecolor=face, markersize=6.5, zorder=4)


def _nothing(axes: Any, text: str, look: Look) -> None:
    axes.text(
        0.5,
        0.5,
        text,
        transform=axes.transAxes,
        ha="center",
        va="center",
        color=look.text,
        fontfamily=families(look.family),
        fontsize=look.size,
        bbox=backing(look.panel),
        zorder=6,
    )
