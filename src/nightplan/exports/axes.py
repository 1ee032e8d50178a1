# SPDX-License-Identifier: GPL-3.0-or-later
"""Axes as all charts have them: ground, ticks, names and headings, as far as there is room for them."""

from __future__ import annotations

import datetime as dt
from typing import Any

from matplotlib.figure import Figure

from nightplan.exports.fonts import families
from nightplan.exports.labels import text_inches
from nightplan.exports.look import Look
from nightplan.speech.dates import date

DPI = 100
#: of the type size: so much room below the axes holds the dates and a name, such narrow axes have none beside them
_NAMED_BELOW, _NAMED_BESIDE = 3.0, 16.0
#: as wide as dates get
_WIDE_DAY = dt.date(2027, 9, 30)


def side_by_side(look: Look, size: tuple[float, float], count: int) -> tuple[Figure, tuple[Any, ...]]:
    """A figure with ``count`` axes side by side, margins in inches so that letters always have room."""
    figure = Figure(figsize=size, dpi=DPI, facecolor=look.panel)
    left, right, bottom, top, between = 0.62, 0.22, 0.56, 0.36, 0.72
    wide = (size[0] - left - right - between * (count - 1)) / count
    tall = size[1] - bottom - top
    made = []
    for n in range(count):
        x = left + n * (wide + between)
        made.append(figure.add_axes((x / size[0], bottom / size[1], wide / size[0], tall / size[1])))
    return figure, tuple(made)


def plain_axes(axes: Any, look: Look) -> None:
    """Ground, the line below, and level guides."""
    axes.set_facecolor(look.panel)
    for side, spine in axes.spines.items():
        spine.set_visible(side == "bottom")
        spine.set_color(look.muted)
        spine.set_linewidth(0.8)
    axes.grid(axis="y", color=look.line, linewidth=0.7)
    axes.set_axisbelow(True)
    axes.tick_params(length=0, colors=look.muted, labelsize=look.small)


def axis_ticks(axis: Any, places: list[float], texts: list[str], look: Look) -> None:
    """Places and their texts along an axis."""
    axis.set_ticks(places)
    axis.set_ticklabels(
        texts, fontfamily=families(look.family), fontsize=look.small, color=look.muted, parse_math=False
    )


def axis_names(axes: Any, look: Look, x: str, y: str) -> None:
    """What stands along both axes, where there is room."""
    style = {"fontfamily": families(look.family), "fontsize": look.small, "color": look.muted}
    # a name is left out where it has no room: below the dates, or along axes that are shorter than it is long
    below = axes.figure.get_size_inches()[1] * axes.get_position().y0
    wide, tall = size_of(axes)
    along = text_inches(x, look.small)[0] <= wide + 2.5 * look.size / 72
    axes.set_xlabel(x if along and below >= _NAMED_BELOW * look.size / 72 else "", labelpad=5, **style)
    beside = tall >= 0.9 * text_inches(y, look.small)[0] and wide >= _NAMED_BESIDE * look.size / 72
    axes.set_ylabel(y if beside else "", labelpad=5, **style)


def heading(axes: Any, text: str, look: Look, *, short: str = "") -> None:
    """A heading over the axes, the short one where the long one has no room."""
    # bold letters are wider by a tenth
    if short and 1.1 * text_inches(text, look.size)[0] > size_of(axes)[0]:
        text = short
    axes.set_title(
        text,
        loc="left",
        fontfamily=families(look.family),
        fontsize=look.size,
        color=look.text,
        fontweight="bold",
        pad=8,
    )


def size_of(axes: Any) -> tuple[float, float]:
    """Width and height of the axes, in inches."""
    width, height = axes.figure.get_size_inches()
    place = axes.get_position()
    return width * place.width, height * place.height


def lines_high(axes: Any, size: float) -> float:
    """How many lines of letters the axes are high."""
    return size_of(axes)[1] / text_inches("0", size)[1]


def evening_ticks(axes: Any, days: tuple[Any, ...], look: Look, count: int = 6) -> None:
    """A few dates under the evenings they belong to."""
    widest = text_inches(f"{date(_WIDE_DAY, weekday=False)} ", look.small)[0]
    first, last = axes.get_xlim()
    room = size_of(axes)[0] * min(1.0, len(days) / (last - first))
    count = max(1, min(count, int(room / widest)))
    step = max(1, -(-len(days) // count))
    places = list(range(1, len(days) + 1, step))
    axis_ticks(axes.xaxis, [float(p) for p in places], [date(days[p - 1], weekday=False) for p in places], look)


def hour_ticks(axes: Any, top: float, look: Look) -> None:
    """Whole hours up to ``top``, as many as there is room for."""
    most = max(1.0, min(5.0, lines_high(axes, look.small) / 1.6))
    step = next((s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if top / s <= most), 5000)
    places = list(range(0, int(top) + 1, step))
    axis_ticks(axes.yaxis, [float(p) for p in places], [str(p) for p in places], look)
