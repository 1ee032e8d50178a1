# SPDX-License-Identifier: GPL-3.0-or-later
"""The report on one page of paper, black and white: where the piece stands, the strip, two charts, what comes next.

What does not fit is left out and said to be; the long report and the page of HTML have everything.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from nightplan.evenings.dated import calendar
from nightplan.evenings.words import moment_words
from nightplan.exports import report_words, words
from nightplan.exports.chart_numbers import burn_numbers, slip_numbers
from nightplan.exports.figures import draw_burn_down, draw_odds_by_date
from nightplan.exports.look import PRINT
from nightplan.exports.page_pdf_sheet import Column, Pages, Progress, paper, wrapped
from nightplan.exports.palette import stage_inks
from nightplan.exports.report_rows import LEAST_HOURS, gate_row
from nightplan.exports.strip import laid_strip, stage_names
from nightplan.exports.strip_numbers import StripNumbers, strip_numbers
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import COMING, Forecast, GateForecast, Plan
from nightplan.speech import tr, trc, trn

#: gates on the page: the next ones, and always the last
_GATES = 4
_CHART = 1.45
#: above and below a chart, for its names
_ABOVE, _BELOW = 0.3, 0.5
#: the least that is kept for the foot: next evenings, drivers, machine jobs
_FOOT = 1.6
_EVENINGS, _DRIVERS, _JOBS = 7, 4, 3
_SMALL = 8.0


def one_page_pdf(
    project: Project, forecast: Forecast, plan: Plan, *, size: str = "a4", progress: Progress | None = None
) -> bytes:
    """The report as a PDF of one page.

    Args:
        size: ``a4`` or ``letter``.
        progress: told the share that is drawn; what it raises ends the drawing.

    Raises:
        BadInput: another paper.
    """
    title = words.clean(project.title)
    foot = tr(
        "{piece}, as of {day}. The organiser’s rules decide.",
        piece=words.clean(project.title, 60),
        day=words.day(forecast.as_of, year=True),
    )
    pages = Pages(paper(size), margin=0.55, title=tr("{piece}: plan and odds", piece=title), foot=foot)
    _lines(pages, [title], 18, bold=True)
    under = [words.clean(project.piece, 80)] if project.piece.strip() else []
    under.append(tr("as of {day}", day=words.day(forecast.as_of, year=True)))
    under.append(tr("{hours} of work left", hours=words.hours(forecast.hours_left)))
    _lines(pages, [" · ".join(under)], 8.5, colour=PRINT.muted)
    pages.gap(0.06)
    _lines(pages, wrapped(report_words.verdict(project, forecast, plan), pages.wide, 10, True, most=3), 10, bold=True)
    pages.gap(0.1)
    _gates(pages, project, forecast)
    told = _told(project, forecast, plan)
    half = pages.wide / 2 - 0.1
    foot_tall = max(_tall(half, told[0]), _tall(half, *told[1:])) + 0.15
    _strip(pages, project, forecast, plan, max(_FOOT, foot_tall))
    _charts(pages, project, forecast)
    _foot(pages, told)
    return pages.pdf(progress)


def _lines(pages: Pages, rows: Sequence[str], size: float, *, bold: bool = False, colour: str = PRINT.text) -> None:
    """Lines that are not wrapped any further; one that is too long ends with dots."""
    for row in rows:
        pages.y -= size * 1.32 / 72
        text = wrapped(row, pages.wide, size, bold, most=1)[0]
        weight = "bold" if bold else "normal"
        pages.write(pages.margin, pages.y + 0.25 * size / 72, text, size, color=colour, fontweight=weight)


def _shown(forecast: Forecast) -> tuple[GateForecast, ...]:
    gates = forecast.gates
    return gates if len(gates) <= _GATES else (*gates[: _GATES - 1], gates[-1])


def _above(forecast: Forecast) -> float:
    """Room for the names of gates above the charts, which may stand in steps."""
    return _ABOVE + 0.13 * max(0, min(len(forecast.gates), _GATES) - 2)


def _gates(pages: Pages, project: Project, forecast: Forecast) -> None:
    dates = calendar(project)
    gates, shown = forecast.gates, _shown(forecast)
    rows = []
    for g in shown:
        row = gate_row(dates, g)
        name = words.clean(g.name, 50)
        name = tr("{gate} (uncertain)", gate=name) if g.uncertain else name
        # translators: a buffer: hours that are there, hours that are needed, the share that is used
        buffer = tr("{have} of {need}, {used}", have=row.have, need=row.need, used=row.used)
        rows.append((name, row.when, row.odds, row.done_by, buffer))
    if len(shown) < len(gates):
        more = trn("and {n} more", "and {n} more", len(gates) - len(shown))
        rows.append((more, "", "", "", ""))
    columns = (
        Column(tr("Gate"), 26),
        Column(tr("When"), 31),
        Column(tr("Odds"), 12, True),
        Column(tr("9 in 10 by"), 12, True),
        Column(tr("Buffer: there of needed, used"), 19, True),
    )
    pages.table(columns, rows, size=_SMALL)


def _strip(pages: Pages, project: Project, forecast: Forecast, plan: Plan, foot: float) -> None:
    whole = strip_numbers(project, plan, forecast)
    names, inks = stage_names(project), stage_inks(project, grey=True)
    room = pages.room - foot - (_above(forecast) + _CHART + _BELOW) - 0.2

    def tall(numbers: StripNumbers) -> float:
        return laid_strip(numbers, names, inks, PRINT, pages.wide)[0]

    numbers = fitting(whole, tall, room)
    if numbers is None:
        _lines(pages, wrapped(report_words.strip_words(whole), pages.wide, _SMALL, most=3), _SMALL)
        return
    high, draw = laid_strip(numbers, names, inks, PRINT, pages.wide)
    pages.picture(high, draw)
    if len(numbers.columns) < len(whole.columns):
        first, last = numbers.columns[0].date, numbers.columns[-1].date
        _lines(
            pages,
            [tr("The evenings from {first} to {last}.", first=words.day(first), last=words.day(last, year=True))],
            7.5,
            colour=PRINT.muted,
        )


def fitting(whole: StripNumbers, tall: Callable[[StripNumbers], float], room: float) -> StripNumbers | None:
    """As much of a strip as ``room`` inches hold: all, else whole weeks from the one before the next evening on."""
    if not whole.columns:
        return None
    if tall(whole) <= room:
        return whole
    weeks = list(dict.fromkeys(c.week for c in whole.columns))
    next_one = next((c.week for c in whole.columns if c.following), weeks[-1])
    first = max(0, weeks.index(next_one) - 1)
    fits, too_many = 0, len(weeks) - first + 1
    while too_many - fits > 1:
        count = (fits + too_many) // 2
        if tall(_part(whole, weeks[first : first + count])) <= room:
            fits = count
        else:
            too_many = count
    return _part(whole, weeks[first : first + fits]) if fits else None


def _part(whole: StripNumbers, weeks: list[tuple[int, int]]) -> StripNumbers:
    kept = frozenset(weeks)
    columns = tuple(c for c in whole.columns if c.week in kept)
    begin, end = columns[0].start_at, columns[-1].end_at + dt.timedelta(days=2)
    rest = whole.columns[-1] is columns[-1]
    return replace(
        whole,
        columns=columns,
        flags=tuple(f for f in whole.flags if begin <= f.instant and (rest or f.instant <= end)),
        jobs=tuple(j for j in whole.jobs if j.end > begin and (rest or j.start < end)),
    )


def _charts(pages: Pages, project: Project, forecast: Forecast) -> None:
    shown = {g.id for g in _shown(forecast)}
    burn, slip = burn_numbers(project, forecast), slip_numbers(project, forecast)
    # more names than that would stand on each other
    burn = replace(burn, gates=tuple(g for g in burn.gates if g.id in shown))
    slip = replace(slip, gates=tuple(g for g in slip.gates if g.id in shown))
    look = replace(PRINT, size=7.5)
    draws: tuple[Callable[[Any], None], ...] = (
        lambda axes: draw_burn_down(axes, burn, look),
        lambda axes: draw_odds_by_date(axes, slip, look),
    )
    half, left, between = pages.wide / 2, 0.45, 0.15
    pages.gap(_above(forecast) + _CHART)
    for n, draw in enumerate(draws):
        place = (pages.margin + half * n + left, pages.y, half - left - between, _CHART)
        w, h = pages.width, pages.height
        axes = pages.figure.add_axes((place[0] / w, place[1] / h, place[2] / w, place[3] / h))
        draw(axes)
    pages.gap(_BELOW)


def _told(project: Project, forecast: Forecast, plan: Plan) -> tuple[list[str], list[str], list[str]]:
    """Rows of the foot: the next evenings, what it hangs on, machine jobs."""
    ahead = [e for e in plan.evenings if e.status in COMING]
    nights = []
    for e in ahead[:_EVENINGS]:
        work = trc("between the parts of a list", ", ").join(
            words.clean(project.items[w.item].name, 60) for w in e.work if w.hours >= LEAST_HOURS
        )
        told = {
            "moment": f"{words.day(e.date)} {e.start:%H:%M}",
            "hours": words.hours(e.hours),
            "work": work or report_words.STATUS[e.status],
        }
        if e.chance >= PLANNED_CHANCE:
            nights.append(tr("☐ {moment}, {hours}: {work}", **told))
        else:
            nights.append(tr("☐ {moment}, {hours}, maybe: {work}", **told))
    hangs = report_words.driver_lines(project, forecast.drivers)[:_DRIVERS]
    zone = calendar(project).zone
    jobs = [
        tr(
            "{job}: {start} to {end}",
            job=words.clean(project.jobs_by_id[j.id].name, 60),
            start=moment_words(j.start.astimezone(zone)),
            end=moment_words(j.end.astimezone(zone)),
        )
        for j in sorted(plan.jobs, key=lambda j: j.start or dt.datetime.max.replace(tzinfo=dt.UTC))
        if j.id in project.jobs_by_id and j.start is not None and j.end is not None
    ]
    return nights or [tr("None is left.")], hangs or [tr("Nothing uncertain is left.")], jobs[:_JOBS]


def _tall(wide: float, *blocks: Sequence[str]) -> float:
    """Inches that blocks take one below the other."""
    line = _SMALL * 1.32 / 72
    return sum(
        0.28 + sum(line * len(wrapped(row, wide, _SMALL, most=2)) + 0.02 for row in rows) for rows in blocks if rows
    )


def _foot(pages: Pages, told: tuple[list[str], list[str], list[str]]) -> None:
    """Two columns down to the end of the page: what comes next, and what it hangs on."""
    nights, hangs, jobs = told
    half = pages.wide / 2 - 0.1
    floor, top = pages.margin + 0.2, pages.y - 0.08
    _block(pages, pages.margin, top, half, floor, tr("The next evenings"), nights)
    x = pages.margin + pages.wide / 2 + 0.1
    below = _block(pages, x, top, half, floor, tr("What it hangs on"), hangs)
    if jobs:
        _block(pages, x, below - 0.06, half, floor, tr("Machine jobs by the plan"), jobs)


def _block(pages: Pages, x: float, top: float, wide: float, floor: float, head: str, rows: Sequence[str]) -> float:
    """A heading and rows of up to two lines each, as far as they fit; answers where it ends."""
    line = _SMALL * 1.32 / 72
    y = top - 0.17
    if y - line < floor:
        return top
    pages.write(x, y, head, 10, fontweight="bold")
    y -= 0.05
    for row in rows:
        parts = wrapped(row, wide, _SMALL, most=2)
        if y - line * len(parts) < floor:
            break
        for part in parts:
            y -= line
            pages.write(x, y + 0.02, part, _SMALL)
        y -= 0.02
    return y
