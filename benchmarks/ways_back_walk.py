# SPDX-License-Identifier: GPL-3.0-or-later
"""The half-way sample as an artist would live it: animate overruns, two evenings are lost, the program is followed.

The story is fixed, the odds are the program's. What is left of animate takes 60 % more than likely,
the two evenings after it do not happen; everything else takes its likely hours, and an evening happens
where the plan counts on it. After every tick the artist looks at what the program offers and, while the
lock stands below the asked odds, applies the combination that it names. Used by the guide's pictures and
by the tests.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from nightplan.actions.recover import apply
from nightplan.actions.tick import Evening, tick
from nightplan.actions.ways_back import why
from nightplan.desk.words import in_100
from nightplan.engine.effort import likely_left
from nightplan.engine.forecast import FUTURES, forecast
from nightplan.engine.plan import plan
from nightplan.engine.recovery import recover
from nightplan.engine.state import item_states
from nightplan.engine.watch import Offer, offers
from nightplan.evenings.dated import calendar
from nightplan.files.store import load
from nightplan.model.project import PLANNED_CHANCE, Project, Span
from nightplan.model.results import Forecast
from nightplan.model.results_recovery import Recovery

SAMPLE = "moth-and-lantern"
START = dt.date(2027, 10, 10)
STAGE = "animate"
OVERRUN = 1.6
LOST = (dt.date(2027, 10, 12), dt.date(2027, 10, 14))


def sample(folder: Path) -> Project:
    return load(folder / f"{SAMPLE}.nightplan")


@dataclass(frozen=True)
class Step:
    """The project after one thing that the artist did."""

    kind: Literal["start", "tick", "lost", "re-plan"]
    date: dt.date
    project: Project
    forecast: Forecast
    #: what the program gives as reasons to look at the ways back
    offers: tuple[Offer, ...]
    #: of a re-plan: what was found and taken
    found: Recovery | None = None

    @property
    def odds(self) -> dict[str, float]:
        return {g.id: g.odds for g in self.forecast.gates}


def needed(project: Project) -> dict[str, float]:
    """Hours that each open item will really take from now on, to three minutes."""
    left = {k: likely_left(s, 0.0, project.correlation) for k, s in item_states(project, START).items()}
    return {
        k: round(hours * (OVERRUN if project.stage_of[k].id == STAGE else 1.0) * 20) / 20
        for k, hours in left.items()
        if project.items[k].state == "open"
    }


def walk(project: Project, futures: int = FUTURES) -> Iterator[Step]:
    """Every step from the evening on which the sample stands until the work of the lock is done."""
    left = needed(project)
    yield _step("start", START, project, futures)
    for date in _dates(project):
        if not lock_work(project):
            return
        evening = next((e for e in calendar(project).evenings if e.date == date), None)
        if evening is None or evening.chance < PLANNED_CHANCE:
            continue
        if date in LOST:
            project = tick(project, Evening(date, missed=True))
            step = _step("lost", date, project, futures)
        else:
            project = tick(project, _worked(project, date, left))
            step = _step("tick", date, project, futures)
        yield step
        if step.offers and step.odds["lock"] < project.target_odds:
            found = recover(project, date, futures=futures)
            if found.combination.moves:
                project = apply(project, found.combination.moves, why(project, step.offers), date, futures=futures)
                yield _step("re-plan", date, project, futures, found)


def lock_work(project: Project) -> list[str]:
    """Items of the lock that are still open."""
    return [i.id for s in project.stages if s.gate == "lock" for i in s.items if i.state == "open"]


def _dates(project: Project) -> list[dt.date]:
    last = calendar(project).gate("deadline").date
    return [START + dt.timedelta(days=n) for n in range((last - START).days + 1)]


def _worked(project: Project, date: dt.date, left: dict[str, float]) -> Evening:
    """The evening's hours, to items in the order of the plan, each until it is really done."""
    planned = plan(project, date)
    row = next(e for e in planned.evenings if e.date == date)
    order = [w.item for w in row.work]
    hours = row.hours
    work: dict[str, float] = {}
    # a machine that was to be ready before this evening is
    opens = dt.datetime.combine(date, row.start, calendar(project).zone)
    done = [j.id for j in planned.jobs if j.end is not None and j.end <= opens]
    again: dict[str, Span] = {}
    for key in order:
        give = round(min(hours, left[key]), 6)
        if give <= 1e-9:
            continue
        work[key] = give
        hours -= give
        left[key] -= give
        if left[key] <= 1e-9:
            done.append(key)
        elif item_states(project, date)[key].spent + give > project.items[key].likely:
            # past its likely time: the artist looks again at what is left, to the quarter of an hour
            likely = max(0.25, round(left[key] * 4) / 4)
            again[key] = Span(likely=likely, high=round(likely * 1.75, 2))
    return Evening(date, round(sum(work.values()), 6), work, tuple(done), again)


def _step(
    kind: Literal["start", "tick", "lost", "re-plan"],
    date: dt.date,
    project: Project,
    futures: int,
    found: Recovery | None = None,
) -> Step:
    odds = forecast(project, date, futures=futures)
    told = offers(project, date, {g.id: g.odds for g in odds.gates})
    return Step(kind, date, project, odds, told, found)


# ---- the same as a table -------------------------------------------------------------------------
HEADS = ("evening", "what happens", "lock", "hand-in")


def table(steps: list[Step]) -> str:
    """The walk as a table in Markdown."""
    rows = [HEADS, tuple("---:" if n > 1 else "---" for n in range(len(HEADS)))]
    before = steps[0].project
    for step in steps:
        rows.append(
            (
                day(step.date),
                _told(step, before),
                *(in_100(step.odds[g]).removesuffix(" in 100") for g in ("lock", "deadline")),
            )
        )
        before = step.project
    return "\n".join("| " + " | ".join(row) + " |" for row in rows) + "\n"


def _told(step: Step, before: Project) -> str:
    if step.kind == "start":
        return "the sample as it stands"
    if step.kind == "lost":
        return "the evening is lost"
    if step.found is not None:
        return "**re-plan**: " + " + ".join(m.what for m in step.found.combination.moves)
    entry = step.project.log_by_date[step.date]
    parts = []
    for work in entry.work:
        end = "done" if work.done else f"{work.left.likely:g} h likely left" if work.left else "goes on"
        parts.append(f"{before.items[work.item].name} {work.hours:g} h ({end})")
    return ", ".join(parts)


def day(date: dt.date) -> str:
    return f"{date:%a} {date.day} {date:%b}"
