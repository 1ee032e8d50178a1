# SPDX-License-Identifier: GPL-3.0-or-later
"""The evening strip as a figure: an evening is a column, its height its hours.

Sure evenings have a solid outline, maybe ones a dashed one; buffer is hatched, lost evenings are
only outlined, gates are flags, machine jobs lie beneath, in the gaps. A long strip goes on in
further rows. All measures are inches, so that letters keep their size on any paper.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle

from nightplan.exports import words
from nightplan.exports.labels import put, text_inches
from nightplan.exports.look import LIGHT, Look
from nightplan.exports.palette import StageInk, ink_on, mix, stage_inks
from nightplan.exports.strip_legend import draw_legend, legend_lines
from nightplan.exports.strip_numbers import StripColumn, StripFlag, StripJob, StripNumbers, strip_numbers
from nightplan.exports.strip_rows import DASH, Row, laid_rows
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr, trc

TALLEST = 1.25
DATES, LANE, FLAG, MARKS = 0.52, 0.2, 0.42, 0.2
# translators: the five texts below stand in or above an evening's column, which is narrow
_GONE = {"lost": trc("on a column", "lost"), "unlogged": "?", "off": trc("on a column", "off")}
_SIGNS = {"worked": "✓", "relied": trc("on a column", "relied"), "late": trc("on a column", "late")}


def evening_strip(
    project: Project, plan: Plan, forecast: Forecast | None = None, look: Look = LIGHT, *, width: float = 9.6
) -> Figure:
    """The strip of a plan as a figure ``width`` inches wide and as tall as it needs."""
    return draw_strip(
        strip_numbers(project, plan, forecast), stage_names(project), stage_inks(project, grey=look.grey), look, width
    )


def stage_names(project: Project) -> dict[str, str]:
    """Stage id -> name that is safe to set in type."""
    return {stage.id: words.clean(stage.name, 28) for stage in project.stages}


def draw_strip(
    numbers: StripNumbers, names: Mapping[str, str], inks: Mapping[str, StageInk], look: Look, width: float
) -> Figure:
    """The strip from its numbers."""
    height, draw = laid_strip(numbers, names, inks, look, width)
    figure = Figure(figsize=(width, height), dpi=100, facecolor=look.panel)
    draw(figure.add_axes((0, 0, 1, 1)))
    return figure


def laid_strip(
    numbers: StripNumbers, names: Mapping[str, str], inks: Mapping[str, StageInk], look: Look, width: float
) -> tuple[float, Callable[[Any], None]]:
    """The height in inches that a strip of this width takes, and what draws it into axes of that very size."""
    rows = laid_rows(numbers.columns, width)
    per_hour = TALLEST / max([1.0, *(c.hours for c in numbers.columns)])
    parts = [_Part(row, numbers, look, width) for row in rows]
    legend = legend_lines(numbers, names, inks, look, width)
    below = 0.12 + 0.21 * len(legend)
    height = sum(p.height for p in parts) + below

    def draw(axes: Any) -> None:
        axes.set_xlim(0, width)
        axes.set_ylim(0, height)
        axes.set_axis_off()
        top = height
        for part in parts:
            part.draw(axes, top, per_hour, inks)
            top -= part.height
        draw_legend(axes, legend, top - 0.1, look)

    return height, draw


class _Part:
    """One row of the strip, with its flags above and its jobs beneath."""

    def __init__(self, row: Row, numbers: StripNumbers, look: Look, width: float) -> None:
        self.row, self.look, self.width = row, look, width
        self.gate_places = {flag.id: n for n, flag in enumerate(numbers.flags)}
        self.flags = self._place_flags([f for f in numbers.flags if row.holds(f.instant)])
        self.jobs = self._place_jobs([j for j in numbers.jobs if row.holds(j.start)])
        self.levels = max((f[3] for f in self.flags), default=-1) + 1
        self.lanes = max((j[4] for j in self.jobs), default=-1) + 1
        self.above = 0.1 + self.levels * (FLAG + 0.05) + MARKS
        self.height = self.above + TALLEST + DATES + self.lanes * LANE + 0.08

    def _place_flags(self, flags: list[StripFlag]) -> list[tuple[StripFlag, float, float, int, tuple[str, str]]]:
        """Flag, its line's x, left edge of the cloth, level, the two lines on it."""
        placed: list[tuple[StripFlag, float, float, int, tuple[str, str]]] = []
        ends: list[float] = []
        for flag in flags:
            head = words.clean(flag.name, 22)
            foot = words.day(flag.date)
            if not flag.whole_evening:
                foot = tr("{day}, {time}", day=foot, time=f"{flag.local:%H:%M}")
            if flag.odds is not None:
                head = tr("{gate}: {odds}", gate=head, odds=words.in_100(flag.odds))
            if not flag.met and flag.short_hours >= 0.05:
                foot = tr("{moment}, {hours} short", moment=foot, hours=words.hours(flag.short_hours))
            elif not flag.met:
                # translators: of a gate
                foot = tr("{moment}, missed", moment=foot)
            wide = max(text_inches(head, self.look.size * 1.06)[0], text_inches(foot, self.look.small)[0]) + 0.12
            x = self.row.edge(flag.instant)
            left = x if x + wide < self.width - 0.02 else x - wide
            level = next((n for n, end in enumerate(ends) if left > end + 0.05), len(ends))
            ends[level : level + 1] = [left + wide]
            placed.append((flag, x, left, level, (head, foot)))
        return placed

    def _place_jobs(self, jobs: list[StripJob]) -> list[tuple[StripJob, float, float, bool, int, str]]:
        """Job, bar from, bar to, words to the left, lane, words."""
        placed: list[tuple[StripJob, float, float, bool, int, str]] = []
        ends: list[float] = []
        for job in jobs:
            x0, x1 = self.row.x(job.start), self.row.x(job.end)
            x1 = max(x1, x0 + 0.07)
            text = tr("{job}, {time}", job=words.clean(job.name, 40), time=words.duration(job.end - job.start))
            wide = text_inches(text, self.look.small)[0] + 0.08
            to_left = x1 + wide > self.width
            start, end = (x0 - wide, x1) if to_left else (x0, x1 + wide)
            lane = next((n for n, taken in enumerate(ends) if start > taken), len(ends))
            ends[lane : lane + 1] = [end]
            placed.append((job, x0, x1, to_left, lane, text))
        return placed

    def draw(self, axes: Any, top: float, per_hour: float, inks: Mapping[str, StageInk]) -> None:
        look, row = self.look, self.row
        base = top - self.above - TALLEST
        seen: tuple[int, int] | None = None
        for column, left in zip(row.columns, row.lefts, strict=True):
            self._column(axes, column, left, base, per_hour, inks)
            middle = left + row.wide / 2
            strong = "bold" if column.following else "normal"
            put(
                axes,
                middle,
                base - 0.11,
                words.weekday(column.date),
                look,
                ha="center",
                va="center",
                fontsize=look.small,
                color=look.muted,
            )
            put(axes, middle, base - 0.26, str(column.date.day), look, ha="center", va="center", fontweight=strong)
            if seen != (column.date.year, column.date.month):
                seen = (column.date.year, column.date.month)
                put(
                    axes,
                    middle,
                    base - 0.41,
                    words.month(column.date),
                    look,
                    ha="center",
                    va="center",
                    fontsize=look.small,
                    color=look.muted,
                )
        for job, x0, x1, to_left, lane, text in self.jobs:
            y = base - DATES - LANE * lane - 0.06
            axes.add_patch(
                Rectangle((x0, y - 0.045), x1 - x0, 0.09, facecolor=look.muted, edgecolor="none", gid=f"job {job.id}")
            )
            x, side = (x0 - 0.05, "right") if to_left else (x1 + 0.05, "left")
            put(axes, x, y, text, look, ha=side, va="center", fontsize=look.small, color=look.muted)
        for flag, x, left, level, (head, foot) in self.flags:
            self._flag(axes, flag, x, left, top - 0.1 - level * (FLAG + 0.05), base, head, foot)

    def _flag(
        self, axes: Any, flag: StripFlag, x: float, left: float, top: float, base: float, head: str, foot: str
    ) -> None:
        look = self.look
        colour = look.gate(self.gate_places[flag.id])
        wide = max(text_inches(head, look.size * 1.06)[0], text_inches(foot, look.small)[0]) + 0.12
        axes.plot([x, x], [base - 0.46, top], color=colour, linewidth=1.6, gid=f"gate {flag.id}", zorder=4)
        axes.add_patch(Rectangle((left, top - FLAG), wide, FLAG, facecolor=colour, edgecolor="none", zorder=4))
        ink = ink_on(colour)
        put(axes, left + 0.07, top - 0.13, head, look, va="center", color=ink, fontweight="bold", zorder=5)
        put(axes, left + 0.07, top - 0.3, foot, look, va="center", color=ink, fontsize=look.small, zorder=5)

    def _column(
        self, axes: Any, c: StripColumn, left: float, base: float, per_hour: float, inks: Mapping[str, StageInk]
    ) -> None:
        look, wide, tall = self.look, self.row.wide, c.hours * per_hour
        y = base
        for stage, hours in c.blocks:
            part, ink = hours * per_hour, inks[stage]
            fill = ink.fill
            axes.add_patch(
                Rectangle(
                    (left, y),
                    wide,
                    part,
                    facecolor=fill,
                    edgecolor=look.edge,
                    linewidth=0.6,
                    gid=f"work {c.date} {stage}",
                    zorder=2,
                )
            )
            size = min(look.small, part * 72 * 0.78, wide * 72 / 2.1)
            if size >= 4.5:
                put(
                    axes,
                    left + wide / 2,
                    y + part / 2,
                    ink.letters,
                    look,
                    ha="center",
                    va="center",
                    color=ink.ink,
                    fontsize=size,
                    zorder=3,
                )
            y += part
        frame: dict[str, Any] = {"facecolor": "none", "zorder": 3}
        dash: Any = DASH if c.maybe else "solid"
        if c.status == "buffer":
            axes.add_patch(
                Rectangle(
                    (left, base),
                    wide,
                    tall,
                    facecolor=mix(look.panel, look.hatch, 0.12),
                    edgecolor=look.hatch,
                    hatch="////",
                    linewidth=0,
                    zorder=1,
                )
            )
            axes.add_patch(
                Rectangle(
                    (left, base),
                    wide,
                    tall,
                    edgecolor=look.text,
                    linestyle=dash,
                    linewidth=0.9,
                    gid=f"evening {c.date}",
                    **frame,
                )
            )
        elif c.status in ("lost", "unlogged", "off"):
            dots: Any = (0, (1, 2)) if c.status == "off" else "solid"
            axes.add_patch(
                Rectangle(
                    (left, base),
                    wide,
                    tall,
                    edgecolor=look.muted,
                    linestyle=dots,
                    linewidth=0.8,
                    gid=f"evening {c.date}",
                    **frame,
                )
            )
            text: str = _GONE[c.status]
            put(
                axes,
                left + wide / 2,
                base + tall / 2,
                text,
                look,
                ha="center",
                va="center",
                color=look.muted,
                fontsize=look.small,
            )
        else:
            axes.add_patch(
                Rectangle(
                    (left, base),
                    wide,
                    max(tall, y - base),
                    edgecolor=look.text,
                    linestyle=dash,
                    linewidth=1.1 if c.maybe else 0.9,
                    gid=f"evening {c.date}",
                    **frame,
                )
            )
        above = base + max(tall, y - base) + 0.04
        if c.following:
            axes.add_patch(
                Polygon(
                    [
                        (left + wide / 2 - 0.07, above + 0.1),
                        (left + wide / 2 + 0.07, above + 0.1),
                        (left + wide / 2, above),
                    ],
                    facecolor=look.now,
                    edgecolor="none",
                    zorder=4,
                )
            )
        elif c.status in ("worked", "relied", "late"):
            text = _SIGNS[c.status]
            put(
                axes,
                left + wide / 2,
                above,
                text,
                look,
                ha="center",
                va="bottom",
                fontsize=look.small,
                color=look.muted,
            )
