# SPDX-License-Identifier: GPL-3.0-or-later
"""The report: one file of HTML with everything in it, for the screen and for an A4 page in black and white.

No script, no address, nothing loaded; the same input gives the same bytes. Each chart has its
sentence and its table for those who do not see it.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Iterable, Sequence
from html import escape
from pathlib import Path
from typing import Any

from nightplan.evenings.dated import calendar
from nightplan.exports import chart_words, report_words, words
from nightplan.exports.chart_numbers import (
    BurnNumbers,
    SlipNumbers,
    buffer_numbers,
    burn_numbers,
    slip_numbers,
)
from nightplan.exports.figures import buffer_used, burn_down, slip_risk
from nightplan.exports.look import LIGHT
from nightplan.exports.palette import StageInk, stage_inks
from nightplan.exports.report_rows import gate_row, job_rows, work_words
from nightplan.exports.report_style import STYLE
from nightplan.exports.save import inline_svg, write_bytes
from nightplan.exports.strip import evening_strip
from nightplan.exports.strip_numbers import StripNumbers, strip_numbers
from nightplan.model.project import PLANNED_CHANCE, Item, Project
from nightplan.model.results import COMING, EarnedSchedule, Forecast, Percentiles, Plan, PlannedItem
from nightplan.speech import language, tr, trc, trn
from nightplan.speech.dates import decimal, whole


def write_report(
    project: Project,
    forecast: Forecast,
    plan: Plan,
    path: str | os.PathLike[str],
    *,
    earned: EarnedSchedule | None = None,
) -> None:
    """Write the report. Raises BadInput where the file cannot be written."""
    write_bytes(Path(path), report_html(project, forecast, plan, earned=earned).encode("utf-8"))


def report_html(
    project: Project,
    forecast: Forecast,
    plan: Plan,
    *,
    earned: EarnedSchedule | None = None,
    progress: Callable[[float], None] | None = None,
) -> str:
    """The report as a page of HTML 5.

    Args:
        earned: progress against the baseline, said as a second opinion; left out where None.
        progress: told the share that is drawn before each chart; what it raises ends the drawing.
    """
    strip = strip_numbers(project, plan, forecast)
    burn = burn_numbers(project, forecast)
    slip = slip_numbers(project, forecast)
    watched = "lock" if any(g.id == "lock" for g in forecast.gates) else forecast.gates[0].id
    used = buffer_numbers(project, forecast, watched)
    inks = stage_inks(project)
    burn_text, slip_text = chart_words.burn_words(burn), chart_words.slip_words(slip)
    strip_text, used_text = report_words.strip_words(strip), chart_words.buffer_words(used)
    used_table = _table(
        tr("Buffer used"),
        (tr("Evening"), tr("Work done"), tr("Buffer used")),
        [(words.day(p.date), words.percent(p.done), words.percent(p.used)) for p in used.points],
    )
    charts: dict[str, str] = {}
    drawn: tuple[tuple[str, Callable[[], Any], str, str], ...] = (
        ("strip", lambda: evening_strip(project, plan, forecast, LIGHT), strip_text, ""),
        ("burn", lambda: burn_down(project, forecast, LIGHT), burn_text, _burn_table(burn)),
        ("slip", lambda: slip_risk(project, forecast, LIGHT), slip_text, _slip_table(slip)),
        ("buffer", lambda: buffer_used(project, forecast, LIGHT, gate=watched), used_text, used_table),
    )
    for name, make, text, table in drawn:
        if progress is not None:
            progress(len(charts) / 4)
        charts[name] = _chart(make(), name, text, table)
    title = _text(project.title)
    body = [
        f"<header><h1>{title}</h1>",
        f"<p>{_under_title(project, forecast)}</p>",
        f'<p class="verdict">{escape(report_words.verdict(project, forecast, plan))}</p></header>',
        _section("gates", tr("Gates"), _gates(project, forecast)),
        _section(
            "evenings",
            tr("Evenings"),
            charts["strip"],
        ),
        _section(
            "hours-left",
            tr("Hours left"),
            charts["burn"],
        ),
        _section("odds", tr("Odds"), charts["slip"]),
        _section(
            "buffer",
            tr("Buffer"),
            charts["buffer"],
        ),
        "" if earned is None else _section("second-opinion", tr("A second opinion"), _earned(earned)),
        _section("drivers", tr("What it hangs on"), _drivers(project, forecast)),
        _section("stages", tr("Stages and items"), _items(project, forecast, plan, inks)),
        _section("table-of-evenings", tr("Evening by evening"), _evenings(project, plan, strip)),
        _section("machine", tr("Machine jobs"), _jobs(project, forecast, plan)) if project.jobs else "",
        _section(
            "meaning",
            tr("What the numbers mean"),
            f"<p>{_meaning(forecast)}</p><p><strong>{escape(report_words.CAUTION)}</strong></p>",
        ),
    ]
    name = tr("{piece}: plan and odds", piece=words.clean(project.title))
    return (
        f'<!DOCTYPE html>\n<html lang="{language()}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(name)}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n"
        + "\n".join(part for part in body if part)
        + "\n</main>\n</body>\n</html>\n"
    )


# ---- pieces of the page --------------------------------------------------------------------------
def _text(raw: str, limit: int = 200) -> str:
    """Text of the file, made safe for the page."""
    return escape(words.clean(raw, limit))


def _section(name: str, heading: str, content: str) -> str:
    return f'<section aria-labelledby="{name}"><h2 id="{name}">{escape(heading)}</h2>\n{content}</section>'


def _chart(figure: Any, name: str, text: str, table: str) -> str:
    same = escape(tr("The same as a table"))
    twin = f"<details><summary>{same}</summary>{table}</details>" if table else ""
    return (
        f'<figure class="{name}">'
        + f"{inline_svg(figure, name, text)}<figcaption>{escape(text)}</figcaption></figure>\n{twin}\n"
    )


def _table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: int = 1) -> str:
    """A table of plain texts; columns from ``numbers`` on are set to the right."""
    return _raw_table(caption, heads, ([escape(cell) for cell in row] for row in rows), numbers=numbers)


def _raw_table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]], *, numbers: int) -> str:
    def side(n: int) -> str:
        return ' class="n"' if n >= numbers else ""

    head = "".join(f'<th scope="col"{side(n)}>{escape(h)}</th>' for n, h in enumerate(heads))
    body = "\n".join(
        "<tr>"
        + "".join(f'<th scope="row">{c}</th>' if n == 0 else f"<td{side(n)}>{c}</td>" for n, c in enumerate(row))
        + "</tr>"
        for row in rows
    )
    return (
        f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>\n"
    )


def _under_title(project: Project, forecast: Forecast) -> str:
    parts = [_text(project.piece)] if project.piece.strip() else []
    parts.append(escape(tr("as of {day}", day=words.day(forecast.as_of, year=True))))
    worked = sum(e.happened for e in project.log if e.evening <= forecast.as_of)
    parts.append(escape(trn("{n} evening worked", "{n} evenings worked", worked)))
    parts.append(escape(tr("{hours} of work left", hours=words.hours(forecast.hours_left))))
    return " · ".join(parts)


def _gates(project: Project, forecast: Forecast) -> str:
    dates = calendar(project)
    rows = []
    for gate in forecast.gates:
        source = project.gates_by_id.get(gate.id)
        name = _text(gate.name)
        if source is not None and source.wording:
            quoted = escape(tr("“{words}”", words=words.clean(source.wording, 400)))
            name += f'<br><span class="quiet">{quoted}</span>'
        if gate.uncertain:
            doubt = escape(tr("uncertain: the earliest reading is planned on"))
            name += f'<br><span class="quiet">{doubt}</span>'
        row = [escape(cell) for cell in gate_row(dates, gate)]
        rows.append((name, row[0], f"<strong>{row[1]}</strong>", *row[2:]))
    heads = (
        tr("Gate"),
        tr("When"),
        tr("Odds"),
        tr("Done, 9 in 10 by"),
        tr("Buffer there"),
        trc("of a buffer", "needed"),
        trc("of a buffer", "used"),
    )
    return _raw_table(tr("Odds and buffer; times in {zone}", zone=words.clean(project.zone)), heads, rows, numbers=2)


def _burn_table(burn: BurnNumbers) -> str:
    base = {p.x: p.y for p in burn.baseline}
    actual = {p.x: p.y for p in burn.actual}
    there = {p.x: p.y for p in burn.there}
    band = {b.x: b for b in burn.band[1:]}
    rows = []
    for x, day in enumerate(burn.days, 1):
        b = band.get(x)
        futures = tr("{low} to {high}", low=words.hours(b.p10), high=words.hours(b.p90)) if b else ""
        rows.append(
            (
                words.day(day),
                *(words.hours(t[x]) if x in t else "" for t in (base, actual)),
                futures,
                words.hours(there[x]),
            )
        )
    return _table(
        tr("Hours of work left at the end of each evening"),
        (tr("Evening"), tr("baseline"), tr("so far"), tr("8 in 10 futures"), tr("hours still there")),
        rows,
    )


def _slip_table(slip: SlipNumbers) -> str:
    def rows(of: str) -> list[tuple[str, ...]]:
        lines: dict[dt.date, dict[str, float]] = {}
        for gate in slip.gates:
            for p in getattr(gate, of):
                lines.setdefault(p.date, {})[gate.id] = p.y
        told = []
        for day, odds in sorted(lines.items()):
            told.append((words.day(day), *(words.per_100(odds[g.id]) if g.id in odds else "" for g in slip.gates)))
            if of == "by_date" and all(round(odds.get(g.id, 0.0) * 100) == 100 for g in slip.gates):
                # nothing changes any more
                break
        return told

    heads = (tr("Evening"), *(words.clean(g.name) for g in slip.gates))
    return _table(tr("Odds so far, in 100"), heads, rows("so_far")) + _table(
        tr("Odds, in 100, that all work of a gate is done by the end of an evening"), heads, rows("by_date")
    )


def _earned(earned: EarnedSchedule) -> str:
    said = f"<p>{escape(report_words.earned_words(earned))}</p>\n"
    return f'{said}<p class="quiet">{escape(report_words.EARNED)}</p>\n'


def _drivers(project: Project, forecast: Forecast) -> str:
    rows = report_words.driver_words(project, forecast.drivers)
    if not rows:
        nothing = escape(tr("Nothing uncertain is left."))
        return f"<p>{nothing}</p>\n"
    lines = "".join(f"<li><strong>{escape(name)}</strong> {escape(text)}</li>" for name, text in rows)
    return f"<ol>{lines}</ol>\n"


def _items(project: Project, forecast: Forecast, plan: Plan, inks: dict[str, StageInk]) -> str:
    planned = {i.id: i for i in plan.items}
    finish = {i.id: i.finish for i in forecast.items}
    rows: list[tuple[str, ...]] = []
    for stage in project.stages:
        ink = inks[stage.id]
        badge = f'<span class="stage" style="background:{ink.fill};color:{ink.ink}">{escape(ink.letters)}</span> '
        mine = [planned[i.id] for i in stage.items if i.id in planned]
        likely = sum(i.likely for i in stage.items if i.state != "cut")
        spent, left = sum(p.spent for p in mine), sum(p.hours for p in mine)
        rows.append(
            (
                f"{badge}<strong>{_text(stage.name)}</strong>",
                "",
                words.exact_hours(likely),
                "",
                _hours(spent),
                words.hours(left) if left else tr("done"),
                "",
            )
        )
        rows += [_item(item, planned.get(item.id), finish.get(item.id)) for item in stage.items]
    heads = (tr("Stage, item"), tr("Tier"), tr("Likely"), tr("High"), tr("Spent"), tr("Left"), tr("9 in 10 by"))
    return _raw_table(tr("Likely, high, spent and left in hours"), heads, rows, numbers=2)


def _item(item: Item, planned: PlannedItem | None, finish: Percentiles | None) -> tuple[str, ...]:
    if item.state == "cut" or planned is None:
        left, by = tr("left out"), ""
    elif finish is None:
        left, by = tr("done"), words.day(planned.finish) if planned.finish else ""
    else:
        left, by = words.hours(planned.hours), words.day(finish.p90)
    spent = planned.spent if planned else 0.0
    # translators: of an item that took more than its likely hours
    said = escape(tr("over likely"))
    over = f' <span class="over">{said}</span>' if spent > item.likely + 0.05 else ""
    return (
        f'<span class="item">{_text(item.name)}</span>{over}',
        report_words.TIERS[item.tier],
        words.exact_hours(item.likely),
        words.exact_hours(item.high),
        _hours(spent),
        left,
        by,
    )


def _hours(value: float) -> str:
    return words.exact_hours(value) if value > 0 else "–"


def _evenings(project: Project, plan: Plan, strip: StripNumbers) -> str:
    times = {e.date: e for e in plan.evenings}
    rows = []
    for column in strip.columns:
        e = times.get(column.date)
        note = project.log_by_date.get(column.date)
        if e is None:
            rows.append((words.day(column.date), "", words.hours(column.hours), "", report_words.STATUS["off"], ""))
            continue
        work = work_words(project, e)
        said = words.clean(note.note, 300) if note else words.clean(e.why, 300)
        if said:
            work = f"{work} – {said}" if work else said
        sure = ""
        if e.status in COMING:
            tenths = decimal(float(f"{e.chance * 10:.2g}"), 2, least=0)
            if e.chance >= PLANNED_CHANCE:
                sure = tr("sure, {tenths} in 10", tenths=tenths)
            else:
                sure = tr("maybe, {tenths} in 10", tenths=tenths)
        rows.append(
            (words.day(e.date), f"{e.start:%H:%M}", words.hours(e.hours), sure, report_words.STATUS[e.status], work)
        )
    return _table(
        tr("Evenings; likely hours"),
        (tr("Evening"), tr("Start"), tr("Hours"), tr("Chance"), tr("State"), tr("Work")),
        rows,
        numbers=99,
    )


def _jobs(project: Project, forecast: Forecast, plan: Plan) -> str:
    return _table(
        tr("Unattended; wall-clock time"),
        (tr("Job"), tr("Kind"), tr("Machine"), tr("Start"), tr("End"), tr("9 in 10 by")),
        job_rows(project, forecast, plan),
        numbers=99,
    )


def _meaning(forecast: Forecast) -> str:
    example = words.per_100(forecast.gates[0].odds)
    # said with a number, also where the odds are words
    example = example if example.isdigit() else "71"
    return escape(tr(report_words.MEANING, futures=whole(forecast.futures), example=example))
