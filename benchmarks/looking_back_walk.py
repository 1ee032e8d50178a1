# SPDX-License-Identifier: GPL-3.0-or-later
"""Two samples brought to their end, looked back on, and what that changes in a new piece.

Moth and Lantern goes on from the end of ``ways_back_walk.py``, Clockwork Heron from where the sample stands;
from there on every evening that the plan counts on happens and everything takes its likely hours. Then both
are looked back on, and Kelp Diver, the piece of the announcement day, takes every proposal. Used by the
guide's pictures and by the tests.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import ways_back_walk as story

from nightplan.actions.lookback import accept, proposals
from nightplan.actions.templates import new_project
from nightplan.actions.tick import Evening, tick, tick_with_odds
from nightplan.actions.today import as_it_stands
from nightplan.engine.forecast import FUTURES, forecast
from nightplan.engine.lookback import look_back
from nightplan.engine.lookback_scores import scores
from nightplan.engine.plan import plan
from nightplan.evenings.dated import calendar
from nightplan.files.library import Library
from nightplan.files.store import load, save
from nightplan.model.project import Project
from nightplan.model.results_lookback import Facts, LookBack, Proposal, Scores

#: Moth and Lantern was handed in the evening before
TODAY = dt.date(2027, 11, 3)
OTHER = "clockwork-heron"


def finished(project: Project, futures: int = FUTURES) -> Project:
    """The project lived to its end by its plan, with the odds kept that were given on the way."""
    zone = calendar(project).zone
    for evening in calendar(project).evenings:
        if evening.date < as_it_stands(project) or not _open(project):
            continue
        planned = plan(project, evening.date)
        row = next(e for e in planned.evenings if e.date == evening.date)
        if not row.work:
            # not needed: said so, or it would count as never ticked off
            project = tick(project, Evening(evening.date, missed=True))
            continue
        opens = dt.datetime.combine(evening.date, row.start, zone)
        done = [j.id for j in planned.jobs if j.end is not None and j.end <= opens]
        done += [i.id for i in planned.items if i.finish == evening.date and i.hours > 0]
        work = {w.item: w.hours for w in row.work}
        said = Evening(evening.date, sum(work.values()), work, tuple(done))
        project = tick_with_odds(project, said, extra=True, futures=futures).project
    # what still ran when the last item was done
    runs = tuple(job.id for job in project.jobs if job.state == "open")
    return tick(project, Evening(as_it_stands(project), done=runs), extra=True) if runs else project


def _open(project: Project) -> bool:
    return any(item.state == "open" for item in project.items.values())


def past(samples: Path, futures: int = FUTURES) -> tuple[Project, Project]:
    """Both pieces, finished."""
    end = list(story.walk(story.sample(samples), futures))[-1].project
    return finished(end, futures), finished(load(samples / f"{OTHER}.nightplan"), futures)


def kelp_diver() -> Project:
    """The piece that comes next."""
    return new_project(
        title="Kelp Diver",
        piece="animated shot",
        zone="Europe/Lisbon",
        announced=TODAY,
        lock={"on": "2027-12-12"},
        deadline={"at": "2027-12-19T23:59", "zone": "UTC"},
        week=[
            {"day": "tue", "start": "20:30", "hours": 2.5},
            {"day": "thu", "start": "20:30", "hours": 2.5},
            {"day": "sat", "start": "14:00", "hours": 4, "chance": 0.5},
        ],
        bedtime="23:30",
    )


@dataclass(frozen=True)
class Told:
    """What the look back says, and the new piece before and after."""

    facts: Facts
    looks: LookBack
    scores: Scores
    before: Project
    proposals: tuple[Proposal, ...]
    after: Project

    def odds(self, project: Project, futures: int = FUTURES) -> dict[str, float]:
        return {g.id: g.odds for g in forecast(project, TODAY, futures=futures).gates}


def told(pieces: tuple[Project, ...], folder: Path) -> Told:
    """Look back on finished pieces, which are written to ``folder``."""
    for piece in pieces:
        save(piece, folder / f"{piece.title.lower().replace(' ', '-')}.nightplan")
    with Library() as library:
        library.refresh([folder])
        facts = library.facts(TODAY.toordinal())
    before = after = kelp_diver()
    offered = proposals(before, facts)
    for proposal in offered:
        again = {p.id: p for p in proposals(after, facts)}
        after = accept(after, again[proposal.id], TODAY) if proposal.id in again else after
    return Told(facts, look_back(facts), scores(facts.gates, facts.finishes), before, offered, after)


# ---- the same as a table -------------------------------------------------------------------------
def table(found: Told) -> str:
    """Planned against actual, in Markdown."""
    rows = ["| stage | items | planned | took | times likely (8 in 10 sure) |", "| --- | ---: | ---: | ---: | --- |"]
    for look in (*found.looks.stages, found.looks.overall):
        low, value, high = look.factor.low, look.factor.value, look.factor.high
        rows.append(
            f"| {look.stage} | {look.n} | {look.planned_hours:.1f} h | {look.actual_hours:.1f} h "
            f"| {value:.2f} ({low:.2f} to {high:.2f}) |"
        )
    return "\n".join(rows) + "\n"
