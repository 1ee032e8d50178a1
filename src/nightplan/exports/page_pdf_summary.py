# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan and the odds in a few lines of Markdown (CommonMark with tables), for a note or a post."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from nightplan.evenings.dated import calendar
from nightplan.exports import report_words, words
from nightplan.exports.report_rows import gate_row, work_words
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr

_SIGNS = r"\`*_{}[]<>#|~!&$^"


def escaped(text: str, limit: int = 200) -> str:
    """Text of a file as plain text within Markdown."""
    return "".join(f"\\{c}" if c in _SIGNS else c for c in words.clean(text, limit))


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows of text that is escaped already."""
    lines = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    return "\n".join([*lines, *(f"| {' | '.join(row)} |" for row in rows)]) + "\n"


def _at(local: dt.datetime) -> str:
    return tr("{time} on {day}", time=f"{local:%H:%M}", day=words.day(local.date()))


def summary_markdown(project: Project, forecast: Forecast, plan: Plan) -> str:
    """Verdict, gates, coming evenings, machine jobs."""
    dates = calendar(project)
    gates = []
    for g in forecast.gates:
        name, row = escaped(g.name), gate_row(dates, g)
        gates.append(
            (
                tr("{gate} (uncertain)", gate=name) if g.uncertain else name,
                row.when,
                row.odds,
                row.done_by,
                tr("{have} of {need} needed", have=row.have, need=row.need),
            )
        )
    evenings = [
        (
            words.day(e.date),
            f"{e.start:%H:%M}",
            words.hours(e.hours),
            report_words.STATUS[e.status],
            work_words(project, e, escaped),
        )
        for e in plan.evenings
        if e.status in ("planned", "relied", "buffer") or (e.status == "late" and e.work)
    ]
    jobs = [
        "- "
        + tr(
            "{job}: {start} to {end}",
            job=escaped(project.jobs_by_id[j.id].name),
            start=_at(j.start.astimezone(dates.zone)),
            end=_at(j.end.astimezone(dates.zone)),
        )
        for j in plan.jobs
        if j.start is not None and j.end is not None and j.id in project.jobs_by_id
    ]
    parts = [
        f"# {escaped(project.title)}\n",
        tr(
            "As of {day}; {hours} of work left.",
            day=words.day(forecast.as_of, year=True),
            hours=words.hours(forecast.hours_left),
        )
        + "\n",
        f"{escaped(report_words.verdict(project, forecast, plan), 2000)}\n",
        "## " + tr("Gates") + "\n",
        table((tr("Gate"), tr("When"), tr("Odds"), tr("Done, 9 in 10 by"), tr("Buffer")), gates),
        "## " + tr("Evenings to come") + "\n",
        table((tr("Evening"), tr("Start"), tr("Hours"), tr("State"), tr("Work, likely hours")), evenings)
        if evenings
        else tr("None.") + "\n",
    ]
    if jobs:
        parts += ["## " + tr("Machine jobs, by the plan") + "\n", "\n".join(jobs) + "\n"]
    parts.append(f"{report_words.CAUTION}\n")
    return "\n".join(parts)
