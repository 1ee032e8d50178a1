# SPDX-License-Identifier: GPL-3.0-or-later
"""The report on paper: the same numbers and sentences as the page of HTML, in black and white, A4 or Letter."""

from __future__ import annotations

from typing import Any

from nightplan.evenings.dated import calendar
from nightplan.exports import chart_words, report_words, words
from nightplan.exports.chart_numbers import buffer_numbers, burn_numbers, slip_numbers
from nightplan.exports.figures import draw_buffer_used, draw_burn_down, draw_odds_by_date, draw_odds_so_far
from nightplan.exports.look import PRINT
from nightplan.exports.page_pdf_sheet import Column, Pages, Progress, paper
from nightplan.exports.palette import stage_inks
from nightplan.exports.report_rows import gate_row, job_rows, work_words
from nightplan.exports.strip import laid_strip, stage_names
from nightplan.exports.strip_numbers import strip_numbers
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results import COMING, EarnedSchedule, Forecast, Plan
from nightplan.speech import tr, trc

_CHART = 2.5


def report_pdf(
    project: Project,
    forecast: Forecast,
    plan: Plan,
    *,
    size: str = "a4",
    earned: EarnedSchedule | None = None,
    progress: Progress | None = None,
) -> bytes:
    """The report as PDF.

    Args:
        size: ``a4`` or ``letter``.
        progress: told the share that is drawn; what it raises ends the drawing.
        earned: progress against the baseline; left out where None.

    Raises:
        BadInput: another paper.
    """
    title = words.clean(project.title)
    foot = tr("{piece}, as of {day}", piece=words.clean(project.title, 60), day=words.day(forecast.as_of, year=True))
    pages = Pages(paper(size), title=tr("{piece}: plan and odds", piece=title), foot=foot)
    pages.text(title, size=20, bold=True)
    under = [words.clean(project.piece, 100)] if project.piece.strip() else []
    under.append(tr("as of {day}", day=words.day(forecast.as_of, year=True)))
    under.append(tr("{hours} of work left", hours=words.hours(forecast.hours_left)))
    pages.text(" · ".join(under), size=9, colour=PRINT.muted)
    pages.gap(0.1)
    pages.text(report_words.verdict(project, forecast, plan), size=11, bold=True)
    _gates(pages, project, forecast)
    _strip(pages, project, forecast, plan)
    _charts(pages, project, forecast)
    if earned is not None:
        pages.heading(tr("A second opinion"))
        pages.text(report_words.earned_words(earned))
        pages.text(report_words.EARNED, size=8.5, colour=PRINT.muted)
    pages.heading(tr("What it hangs on"))
    for line in report_words.driver_lines(project, forecast.drivers) or [tr("Nothing uncertain is left.")]:
        pages.text(line, size=9)
    _items(pages, project, forecast, plan)
    _evenings(pages, project, plan)
    _jobs(pages, project, forecast, plan)
    pages.heading(tr("What the numbers are worth"), keep=0.8)
    pages.text(report_words.CAUTION, size=9)
    return pages.pdf(progress)


def _gates(pages: Pages, project: Project, forecast: Forecast) -> None:
    dates = calendar(project)
    pages.heading(tr("Gates"))
    rows = []
    for g in forecast.gates:
        name = words.clean(g.name)
        source = project.gates_by_id.get(g.id)
        if source is not None and source.wording:
            name = tr("{gate} (“{wording}”)", gate=name, wording=words.clean(source.wording, 300))
        if g.uncertain:
            name = tr("{gate}; uncertain, the earliest reading is planned on", gate=name)
        rows.append((name, *gate_row(dates, g)))
    pages.table(
        (
            Column(tr("Gate"), 26),
            Column(tr("When"), 22),
            Column(tr("Odds"), 13, True),
            Column(tr("Done, 9 in 10 by"), 13, True),
            Column(tr("Buffer there"), 10, True),
            Column(trc("of a buffer", "needed"), 9, True),
            Column(trc("of a buffer", "used"), 8, True),
        ),
        rows,
    )


def _strip(pages: Pages, project: Project, forecast: Forecast, plan: Plan) -> None:
    numbers = strip_numbers(project, plan, forecast)
    tall, draw = laid_strip(numbers, stage_names(project), stage_inks(project, grey=True), PRINT, pages.wide)
    if not numbers.columns:
        return
    fits = tall <= pages.whole - 0.85
    pages.heading(tr("Evenings"), keep=tall + 0.85 if fits else 1.2)
    if fits:
        pages.picture(tall, draw)
    else:
        pages.text(tr("The strip is longer than a page; every evening is in the table at the end."), size=9)
    pages.text(report_words.strip_words(numbers), size=8.5, colour=PRINT.muted)


def _charts(pages: Pages, project: Project, forecast: Forecast) -> None:
    burn, slip = burn_numbers(project, forecast), slip_numbers(project, forecast)
    watched = "lock" if any(g.id == "lock" for g in forecast.gates) else forecast.gates[0].id
    used = buffer_numbers(project, forecast, watched)
    sides = (0.6, 0.25)

    def chart(name: str, draw: Any, said: str) -> None:
        if name:
            pages.heading(name, keep=_CHART + 1.3)
        pages.need(_CHART + 1.2)
        pages.gap(0.36)
        pages.picture(_CHART, draw, sides=sides)
        pages.gap(0.56)
        pages.text(said, size=8.5, colour=PRINT.muted)

    chart(tr("Hours left"), lambda axes: draw_burn_down(axes, burn, PRINT), chart_words.burn_words(burn))
    chart(tr("Odds"), lambda axes: draw_odds_by_date(axes, slip, PRINT), chart_words.slip_words(slip))
    if any(g.so_far for g in slip.gates):
        chart(
            "",
            lambda axes: draw_odds_so_far(axes, slip, PRINT),
            tr("The odds as they were given on the evenings so far."),
        )
    chart(tr("Buffer"), lambda axes: draw_buffer_used(axes, used, PRINT), chart_words.buffer_words(used))


def _items(pages: Pages, project: Project, forecast: Forecast, plan: Plan) -> None:
    pages.heading(tr("Stages and items"))
    planned = {i.id: i for i in plan.items}
    finish = {i.id: i.finish for i in forecast.items}
    rows = []
    for stage in project.stages:
        for item in stage.items:
            mine, likely = planned.get(item.id), finish.get(item.id)
            state = {"done": tr("done"), "cut": tr("left out")}.get(item.state, report_words.TIERS[item.tier])
            rows.append(
                (
                    words.clean(stage.name, 60),
                    words.clean(item.name),
                    state,
                    f"{words.exact_hours(item.likely)} / {words.exact_hours(item.high)}",
                    words.exact_hours(mine.spent) if mine and mine.spent else "",
                    words.hours(mine.hours) if mine and mine.hours else "",
                    words.day(mine.finish) if mine and item.state == "open" else "",
                    words.day(likely.p90) if likely and item.state == "open" else "",
                )
            )
    pages.table(
        (
            Column(tr("Stage"), 15),
            Column(tr("Item"), 24),
            Column(tr("State"), 10),
            Column(tr("Likely / high"), 13, True),
            Column(tr("Spent"), 8, True),
            Column(tr("Left"), 7, True),
            Column(tr("By plan"), 11, True),
            Column(tr("9 in 10 by"), 11, True),
        ),
        rows,
        size=7.5,
    )


def _evenings(pages: Pages, project: Project, plan: Plan) -> None:
    pages.heading(tr("Evening by evening"))
    rows = []
    for e in plan.evenings:
        note = project.log_by_date.get(e.date)
        work = work_words(project, e)
        said = words.clean(note.note, 200) if note else words.clean(e.why, 200)
        sure = tr("sure") if e.chance >= PLANNED_CHANCE else tr("maybe")
        rows.append(
            (
                words.day(e.date),
                f"{e.start:%H:%M}",
                words.hours(e.hours),
                sure if e.status in COMING else "",
                report_words.STATUS[e.status],
                " – ".join(part for part in (work, said) if part),
            )
        )
    pages.table(
        (
            Column(tr("Evening"), 13),
            Column(tr("Start"), 7),
            Column(tr("Hours"), 7, True),
            Column(tr("Chance"), 8),
            Column(tr("State"), 14),
            Column(tr("Work"), 51),
        ),
        rows,
        size=7.5,
    )


def _jobs(pages: Pages, project: Project, forecast: Forecast, plan: Plan) -> None:
    if not project.jobs:
        return
    pages.heading(tr("Machine jobs"))
    rows = [(row.name, row.start, row.end, row.done_by) for row in job_rows(project, forecast, plan)]
    pages.table(
        (
            Column(tr("Job"), 40),
            Column(tr("Start by plan"), 22),
            Column(tr("End by plan"), 22),
            Column(tr("9 in 10 by"), 16),
        ),
        rows,
    )
