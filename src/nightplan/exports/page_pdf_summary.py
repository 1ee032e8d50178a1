# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan and the odds in a few lines of Markdown (CommonMark with tables), for a note or a post."""

from __future__ import annotations

from collections.abc import Sequence

from nightplan.evenings.dated import calendar
from nightplan.exports import report_words, words
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan

_SIGNS = r"\`*_{}[]<>#|~!&$^"


def escaped(text: str, limit: int = 200) -> str:
    """Text of a file as plain text within Markdown."""
    return "".join(f"\\{c}" if c in _SIGNS else c for c in words.clean(text, limit))


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows of text that is escaped already."""
    lines = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    return "\n".join([*lines, *(f"| {' | '.join(row)} |" for row in rows)]) + "\n"


def summary_markdown(project: Project, forecast: Forecast, plan: Plan) -> str:
    """Verdict, gates, coming evenings, machine jobs."""
    dates = calendar(project)
    gates = []
    for g in forecast.gates:
        m = dates.gate(g.id)
        when = f"{words.day(m.date, year=True)}, whole evening"
        if not m.whole_evening:
            when = f"{words.day(m.local.date(), year=True)}, {m.local:%H:%M} your time"
        gates.append(
            (
                escaped(g.name) + (" (uncertain)" if g.uncertain else ""),
                when,
                words.in_100(g.odds),
                words.day(g.finish.p90),
                f"{words.hours(g.buffer.have_hours)} of {words.hours(g.buffer.need_hours)} needed",
            )
        )
    evenings = [
        (
            words.day(e.date),
            f"{e.start:%H:%M}",
            words.hours(e.hours),
            report_words.STATUS[e.status],
            "; ".join(
                f"{escaped(project.items[w.item].name)} {words.hours(w.hours)}" for w in e.work if w.hours >= 0.05
            ),
        )
        for e in plan.evenings
        if e.status in ("planned", "relied", "buffer") or (e.status == "late" and e.work)
    ]
    jobs = [
        f"- {escaped(project.jobs_by_id[j.id].name)}: "
        f"{j.start.astimezone(dates.zone):%H:%M} on {words.day(j.start.astimezone(dates.zone).date())} to "
        f"{j.end.astimezone(dates.zone):%H:%M} on {words.day(j.end.astimezone(dates.zone).date())}"
        for j in plan.jobs
        if j.start is not None and j.end is not None and j.id in project.jobs_by_id
    ]
    parts = [
        f"# {escaped(project.title)}\n",
        f"As of {words.day(forecast.as_of, year=True)}; {words.hours(forecast.hours_left)} of work left.\n",
        f"{escaped(report_words.verdict(project, forecast, plan), 2000)}\n",
        "## Gates\n",
        table(("Gate", "When", "Odds", "Done, 9 in 10 by", "Buffer"), gates),
        "## Evenings to come\n",
        table(("Evening", "Start", "Hours", "State", "Work, likely hours"), evenings) if evenings else "None.\n",
    ]
    if jobs:
        parts += ["## Machine jobs, by the plan\n", "\n".join(jobs) + "\n"]
    parts.append(f"{report_words.CAUTION}\n")
    return "\n".join(parts)
