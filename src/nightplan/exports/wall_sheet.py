# SPDX-License-Identifier: GPL-3.0-or-later
"""The wall sheet: weeks as rows, evenings as boxes to cross off by pen, gates as black flags; black and white."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import Any

from matplotlib.patches import Rectangle

from nightplan.evenings.dated import calendar
from nightplan.exports import words
from nightplan.exports.fonts import families
from nightplan.exports.look import PRINT
from nightplan.exports.page_pdf_sheet import Pages, Progress, inches, paper, wrapped
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import Plan, PlannedEvening
from nightplan.speech import tr, trc
from nightplan.speech.dates import date as in_words
from nightplan.speech.dates import first_weekday, week

#: weeks that a page holds with room to write
WEEKS_A_PAGE = 9
_TALLEST = 1.15
_LEFT = 0.5
_TOLD = {"buffer": tr("buffer"), "worked": tr("worked"), "lost": tr("lost"), "unlogged": tr("not ticked off")}


def wall_sheet_pdf(project: Project, plan: Plan, *, size: str = "a4", progress: Progress | None = None) -> bytes:
    """The sheet as PDF.

    Args:
        size: ``a4`` or ``letter``.
        progress: told the share that is drawn; what it raises ends the drawing.

    Raises:
        BadInput: another paper.
    """
    dates = calendar(project)
    by_day: dict[dt.date, list[PlannedEvening]] = defaultdict(list)
    for e in plan.evenings:
        if e.status != "late" or e.work:
            by_day[e.date].append(e)
    flags: dict[dt.date, list[str]] = defaultdict(list)
    for g in dates.gates:
        day = g.date if g.whole_evening else g.local.date()
        when = "" if g.whole_evening else f" {g.local:%H:%M}"
        flags[day].append(f"{words.clean(g.name, 40)}{when}")
    ends: dict[dt.date, list[str]] = defaultdict(list)
    for job in plan.jobs:
        if job.end is not None and job.id in project.jobs_by_id:
            at = job.end.astimezone(dates.zone)
            ends[at.date()].append(tr("{job} ends", job=words.clean(project.jobs_by_id[job.id].name, 40)))
    # the sheet ends with the last gate, or with the last planned work behind it
    marks = [*flags, *(day for day, es in by_day.items() if any(e.work for e in es))]
    days = [project.announced, *marks]
    first = min(days) - dt.timedelta(days=(min(days).weekday() - first_weekday()) % 7)
    last = max(days)
    weeks = [first + dt.timedelta(weeks=n) for n in range((last - first).days // 7 + 1)]
    pages = Pages(
        paper(size),
        margin=0.5,
        title=tr("{piece}: evenings to cross off", piece=project.title),
        foot=tr("As of {day}. Cross off what happened. Sleep is no buffer.", day=words.day(plan.as_of, year=True)),
    )
    for n in range(0, len(weeks), WEEKS_A_PAGE):
        if n:
            pages.new_page()
        _page(pages, project, plan, weeks[n : n + WEEKS_A_PAGE], (by_day, flags, ends))
    return pages.pdf(progress)


def _page(pages: Pages, project: Project, plan: Plan, weeks: list[dt.date], what: tuple[Any, Any, Any]) -> None:
    pages.text(words.clean(project.title, 120), size=20, bold=True)
    gates = " · ".join(f"{words.clean(g.name, 40)}: {_gate_day(project, g.id)}" for g in project.gates)
    pages.text(gates, size=9.5)
    pages.gap(0.18)
    head = 0.22
    legend = 0.62
    tall = min(_TALLEST, (pages.room - head - legend) / max(len(weeks), 1))
    wide = (pages.wide - _LEFT) / 7
    total = head + tall * len(weeks)

    def draw(axes: Any) -> None:
        axes.set_xlim(0, pages.wide)
        axes.set_ylim(0, total)
        axes.set_axis_off()
        for n, day in enumerate(week()):
            _say(axes, _LEFT + wide * (n + 0.5), total - 0.12, words.weekday(day), 9, ha="center", fontweight="bold")
        for row, first in enumerate(weeks):
            top = total - head - tall * row
            # a week has the number of its Thursday (ISO 8601), whatever day it begins on
            thursday = first + dt.timedelta(days=(3 - first.weekday()) % 7)
            # translators: number of a week, as short as it can be
            name = tr("W{number}", number=thursday.isocalendar().week)
            _say(axes, 0.0, top - 0.16, name, 8.5, fontweight="bold")
            for n in range(7):
                date = first + dt.timedelta(days=n)
                _cell(axes, (_LEFT + wide * n, top - tall, wide, tall), date, project, plan.as_of, what)

    pages.picture(total, draw)
    pages.gap(0.12)
    pages.picture(0.45, _legend)


def _gate_day(project: Project, key: str) -> str:
    return words.moment(calendar(project).gate(key))


def _say(axes: Any, x: float, y: float, text: str, size: float, **style: Any) -> None:
    style.setdefault("color", PRINT.text)
    axes.text(x, y, text, fontsize=size, fontfamily=families(PRINT.family), parse_math=False, va="center", **style)


def _cell(
    axes: Any,
    box: tuple[float, float, float, float],
    day: dt.date,
    project: Project,
    as_of: dt.date,
    what: tuple[Any, Any, Any],
) -> None:
    by_day, flags, ends = what
    x, y, wide, tall = box
    evenings: list[PlannedEvening] = by_day.get(day, [])
    inside = project.announced <= day
    axes.add_patch(Rectangle((x, y), wide, tall, facecolor="none", edgecolor="#B8B8B8", linewidth=0.5))
    label = in_words(day, weekday=False) if day.day == 1 or day == as_of or evenings else str(day.day)
    colour = PRINT.text if evenings or day in flags else "#6B6B6B"
    _say(axes, x + 0.05, y + tall - 0.1, label if inside else "", 7.5, color=colour)
    line = y + tall - 0.22
    if evenings:
        _box(axes, x + wide - 0.34, y + tall - 0.34, evenings[0])
        hours = sum(e.hours for e in evenings)
        for text in (f"{evenings[0].start:%H:%M}", words.hours(hours)):
            line -= 0.02
            _say(axes, x + 0.05, line, text, 7.5, fontweight="bold")
            line -= 0.12
        line -= 0.02
        names = dict.fromkeys(words.clean(project.stage_of[w.item].name, 40) for e in evenings for w in e.work)
        status = evenings[0].status
        told = trc("between the parts of a list", ", ").join(names) or _TOLD.get(status, "")
        line = _lines(axes, x, line, wide, y, told, 7.0)
    for text in ends.get(day, ()):
        line = _lines(axes, x, line, wide, y, f"▸ {text}", 6.2)
    if day in flags:
        _flag(axes, box, flags[day])


def _lines(axes: Any, x: float, line: float, wide: float, floor: float, text: str, size: float) -> float:
    for row in wrapped(text, wide - 0.1, size, most=3) if text else ():
        if line < floor + 0.06:
            break
        _say(axes, x + 0.05, line, row, size)
        line -= size * 1.25 / 72
    return line


def _flag(axes: Any, box: tuple[float, float, float, float], names: list[str]) -> None:
    x, y, wide, _ = box
    rows = [row for name in names for row in wrapped(name, wide - 0.1, 6.8, True, most=2)]
    tall = 0.115 * len(rows) + 0.06
    axes.add_patch(Rectangle((x, y), wide, tall, facecolor="#000000", edgecolor="#000000"))
    for n, row in enumerate(reversed(rows)):
        _say(axes, x + 0.05, y + 0.085 + 0.115 * n, row, 6.8, color="#FFFFFF", fontweight="bold")


def _box(axes: Any, x: float, y: float, e: PlannedEvening | None, kind: str = "") -> None:
    """The box to cross off: solid for a sure evening, dashed for a maybe one, hatched for buffer."""
    side = 0.28
    maybe = kind == "maybe" or (e is not None and e.chance < PLANNED_CHANCE)
    buffer = kind == "buffer" or (e is not None and e.status == "buffer")
    if buffer:
        axes.add_patch(Rectangle((x, y), side, side, facecolor="none", edgecolor="#8A8A8A", hatch="////", linewidth=0))
    style: Any = (0, (3, 2)) if maybe else "solid"
    axes.add_patch(Rectangle((x, y), side, side, facecolor="none", edgecolor="#000000", linestyle=style, linewidth=1.3))
    if kind == "worked" or (e is not None and e.status == "worked"):
        for left, right in ((x, x + side), (x + side, x)):
            axes.plot((left, right), (y, y + side), color="#000000", linewidth=1.3, clip_on=False)
    elif kind == "lost" or (e is not None and e.status in ("lost", "unlogged")):
        axes.plot((x + 0.05, x + side - 0.05), (y + side / 2, y + side / 2), color="#000000", linewidth=1.3)


def _legend(axes: Any) -> None:
    axes.set_xlim(0, 7.27)
    axes.set_ylim(0, 0.45)
    axes.set_axis_off()
    x = 0.05
    for kind, text in (
        ("sure", tr("sure evening")),
        ("maybe", tr("maybe evening")),
        ("buffer", tr("buffer, kept free")),
        ("worked", tr("worked")),
        ("lost", tr("did not happen")),
    ):
        _box(axes, x, 0.1, None, kind)
        _say(axes, x + 0.36, 0.24, text, 8)
        x += 0.36 + inches(text, 8) + 0.25
