# SPDX-License-Identifier: GPL-3.0-or-later
"""Does looking back help? ``python benchmarks/study_lookback.py [--artists N] [--futures N]`` prints Markdown.

200 artificial artists with ten projects each. Every artist has a bias and a spread of estimates and a habit of
keeping evenings, drawn once; items of a project share a common factor, as in the forecast. Each project is
forecast three ways on the day of its announcement, over the same fate:

- not learned: with the estimates and chances as the artist gives them,
- learned: after accepting every proposal from the earlier projects (the program's own way, nothing else),
- known: with the artist's true bias, spread and chances, which nobody has; it shows what the forecast itself adds.

Then: is the share of projects that made it the share that the odds said, in each tenth of the odds? And does the
Brier score fall with the projects learned from? One core, a few minutes. Seeds are fixed.
"""

from __future__ import annotations

import argparse
import datetime as dt
import math
import sys
import time
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from nightplan.actions.lookback import accept, proposals
from nightplan.engine.estimates import Z90
from nightplan.engine.forecast import forecast
from nightplan.engine.lookback import Prior, look_back
from nightplan.engine.lookback_scores import brier
from nightplan.engine.problem import problem
from nightplan.engine.walk import walk
from nightplan.model.parse import project_from_raw
from nightplan.model.project import PLANNED_CHANCE, Project
from nightplan.model.results_lookback import EveningFact, Facts, ItemFact

Floats = npt.NDArray[np.float64]

PROJECTS = 10
RHO = 0.3
ARMS = ("not learned", "learned", "known")
STAGES = ("Layout", "Animate", "Light", "Polish")
#: what every artist writes down as enough 9 times in 10, over the likely hours
HIGH = 1.7
ANNOUNCED = dt.date(2027, 1, 4)
#: ten deciles, together wrong one time in twenty: 1 − 0.05/10 two-sided
_Z_ALL = 2.807


@dataclass
class Artist:
    bias: float
    spread: float
    #: chance that an evening happens, sure and maybe
    sure: float
    maybe: float
    items: list[ItemFact] = field(default_factory=list)
    evenings: dict[tuple[int, bool], list[int]] = field(default_factory=dict)

    @classmethod
    def drawn(cls, rng: np.random.Generator, right: bool = False) -> Artist:
        """One artist; ``right``: one whose estimates and chances need no learning."""
        if right:
            return cls(0.0, math.log(HIGH) / Z90, 0.9, 0.5)
        return cls(
            float(rng.normal(0.25, 0.25)),
            float(0.35 * math.exp(rng.normal(0, 0.25))),
            float(rng.beta(16, 4)),
            float(rng.beta(6, 9)),
        )

    def facts(self) -> Facts:
        rows = tuple(
            EveningFact(day, sure, there, kept, 0, 0.9 if sure else 0.5)
            for (day, sure), (there, kept) in sorted(self.evenings.items())
        )
        return Facts(items=tuple(self.items), evenings=rows)


def drawn_project(rng: np.random.Generator) -> Project:
    """Four stages of two items; the room for them differs, so that odds of all sizes come up."""
    likely = rng.uniform(1.5, 5.0, 2 * len(STAGES)).round(2)
    weeks = max(2, round(float(likely.sum() * rng.uniform(0.9, 2.4)) / 6.0))
    lock = ANNOUNCED + dt.timedelta(days=7 * weeks - 1)
    stages = [
        {
            "id": name.lower(),
            "name": name,
            "after": [STAGES[s - 1].lower()] if s else [],
            "items": [
                {
                    "id": f"{name.lower()}-{k}",
                    "name": f"{name} {k}",
                    "likely": float(h),
                    "high": round(float(h) * HIGH, 2),
                }
                for k, h in enumerate(likely[2 * s : 2 * s + 2])
            ],
        }
        for s, name in enumerate(STAGES)
    ]
    return project_from_raw(
        {
            "format": "nightplan",
            "version": 1,
            "title": "Piece",
            "zone": "UTC",
            "announced": ANNOUNCED.isoformat(),
            "correlation": RHO,
            "gates": [
                {"id": "lock", "name": "Lock", "on": lock.isoformat()},
                {"id": "deadline", "name": "Hand-in", "on": (lock + dt.timedelta(days=7)).isoformat()},
            ],
            "week": [
                {"day": "mon", "start": "20:00", "hours": 2.5, "chance": 0.9},
                {"day": "thu", "start": "20:00", "hours": 2.5, "chance": 0.9},
                {"day": "sat", "start": "14:00", "hours": 3.0, "chance": 0.5},
            ],
            "stages": stages,
        }
    )


def learned(project: Project, artist: Artist, prior: Prior) -> Project:
    facts = artist.facts()
    for proposal in proposals(project, facts, prior):
        project = accept(project, proposal, ANNOUNCED)
    return project


def known(project: Project, artist: Artist) -> Project:
    up, wide = math.exp(artist.bias), math.exp(Z90 * artist.spread)
    stages = tuple(
        s.but(items=tuple(i.but(likely=i.likely * up, high=i.likely * up * wide) for i in s.items))
        for s in project.stages
    )
    week = tuple(w.but(chance=artist.sure if w.chance >= PLANNED_CHANCE else artist.maybe) for w in project.week)
    return project.but(stages=stages, week=week)


def lived(project: Project, artist: Artist, rng: np.random.Generator, number: int) -> bool:
    """One fate: whether the lock was met. What happened goes to the artist's memory."""
    setup = problem(project, ANNOUNCED)
    common = rng.standard_normal()
    z = math.sqrt(RHO) * common + math.sqrt(1 - RHO) * rng.standard_normal(len(setup.items))
    likely = np.array([project.items[k].likely for k in setup.items])
    hours = likely * np.exp(artist.bias + artist.spread * z)
    chance = np.array([artist.sure if e.chance >= PLANNED_CHANCE else artist.maybe for e in setup.evenings])
    came = rng.random(chance.size) < chance
    walked = walk(
        (came * setup.hours)[:, None], setup.starts, hours[:, None], setup.walk_items, groups=(setup.gates[0].items,)
    )
    times = walked.last_time(setup.gates[0].items)
    assert times is not None
    end = float(times[0])
    for key, took, said in zip(setup.items, hours, likely, strict=True):
        stage = project.stage_of[key].name
        artist.items.append(ItemFact(number, stage, float(said), float(said) * HIGH, float(said), float(took)))
    for evening, start, kept in zip(setup.evenings, setup.starts, came, strict=True):
        if start <= end:
            row = artist.evenings.setdefault((evening.date.weekday(), evening.chance >= PLANNED_CHANCE), [0, 0])
            row[0] += 1
            row[1] += bool(kept)
    return end <= setup.gates[0].time + 1e-6


def inside(value: float, low: float, high: float) -> bool:
    return low <= value <= high


def study(artists: int, futures: int, seed: int, right: bool = False) -> dict[str, Any]:
    """Odds (arms, artists, projects), outcomes (artists, projects), coverage of the ranges by projects seen."""
    prior = Prior()
    odds = np.zeros((len(ARMS), artists, PROJECTS))
    met = np.zeros((artists, PROJECTS))
    hits: dict[str, Floats] = {k: np.zeros(PROJECTS) for k in ("bias", "spread", "bias, all alike", "sure", "maybe")}
    for a in range(artists):
        rng = np.random.default_rng([seed, a])
        artist = Artist.drawn(rng, right)
        for n in range(PROJECTS):
            project = drawn_project(rng)
            ways = (project, learned(project, artist, prior), known(project, artist))
            for k, way in enumerate(ways):
                odds[k, a, n] = forecast(way, ANNOUNCED, futures=futures, seed=1000 * a + n).gate("lock").odds
            met[a, n] = lived(project, artist, rng, n)
            look = look_back(artist.facts(), prior)
            alike = look_back(artist.facts(), Prior(correlation=0.0)).overall
            hits["bias"][n] += inside(artist.bias, look.overall.bias.low, look.overall.bias.high)
            hits["bias, all alike"][n] += inside(artist.bias, alike.bias.low, alike.bias.high)
            hits["spread"][n] += inside(artist.spread, look.overall.spread.low, look.overall.spread.high)
            for e in look.evenings:
                truth, name = (artist.sure, "sure") if e.sure else (artist.maybe, "maybe")
                hits[name][n] += inside(truth, e.chance.low, e.chance.high)
        if a % 20 == 19:
            print(f"{a + 1} artists", file=sys.stderr, flush=True)
    return {"odds": odds, "met": met, "hits": hits}


def deciles(odds: Floats, met: Floats) -> list[tuple[int, float, float, float, bool]]:
    """(n, said, made, standard error, within) by tenth of the odds; within holds for all ten together."""
    place = np.minimum((odds * 10).astype(int), 9)
    rows = []
    for k in range(10):
        here = place == k
        n = int(here.sum())
        if not n:
            continue
        said, made = float(odds[here].mean()), float(met[here].mean())
        error = math.sqrt(float(np.mean(odds[here] * (1 - odds[here])))) / math.sqrt(n)
        # half a case is what a count can say at best
        rows.append((n, said, made, error, abs(made - said) <= _Z_ALL * error + 0.5 / n))
    return rows


def report(found: dict[str, Any], artists: int, futures: int) -> bool:
    odds, met, hits = found["odds"], found["met"], found["hits"]
    print(
        f"{artists} artists, {PROJECTS} projects each, {futures} futures a forecast; "
        f"{met.mean() * 100:.0f} in 100 projects made their lock.\n"
    )
    print("| project | " + " | ".join(f"Brier, {arm}" for arm in ARMS) + " | Brier, base rate |")
    print("|---|" + "---|" * (len(ARMS) + 1))
    spans = [(f"{n + 1}", slice(n, n + 1)) for n in range(PROJECTS)] + [("2 to 10", slice(1, PROJECTS))]
    for name, span in spans:
        there = met[:, span]
        base = float(there.mean() * (1 - there.mean()))
        print(f"| {name} | " + " | ".join(f"{brier(o[:, span], there):.4f}" for o in odds) + f" | {base:.4f} |")
    won = ((odds[0] - met) ** 2 - (odds[1] - met) ** 2)[:, 1:].mean(axis=1)
    error = float(won.std(ddof=1) / math.sqrt(artists))
    print(
        f"\nLearning lowers the Brier score by {won.mean():.4f} ± {error:.4f} (standard error over artists) "
        f"from the second project on; it is lower for {int((won > 0).sum())} of {artists} artists.\n"
    )
    good = bool(won.mean() > 2 * error)
    for arm, name, span in (
        (2, "known", slice(0, PROJECTS)),
        (1, "learned, projects 6 to 10", slice(5, PROJECTS)),
        (0, "not learned", slice(0, PROJECTS)),
    ):
        rows = deciles(odds[arm][:, span].ravel(), met[:, span].ravel())
        print(f"Odds in tenths, {name}:\n\n| n | said | made | standard error | within |\n|---|---|---|---|---|")
        for n, said, made, error, within in rows:
            print(f"| {n} | {said * 100:.1f} | {made * 100:.1f} | {error * 100:.1f} | {'yes' if within else 'no'} |")
        print()
        good = good and (arm != 2 or all(r[4] for r in rows))
    print("How often the 8-in-10 range holds the truth, in 100 artists:\n")
    print("| projects seen | bias | bias, items taken as independent | spread | sure evenings | maybe evenings |")
    print("|---|---|---|---|---|---|")
    for n in (0, 2, 4, 9):
        cells = [hits[k][n] / artists * 100 for k in ("bias", "bias, all alike", "spread", "sure", "maybe")]
        print(f"| {n + 1} | " + " | ".join(f"{c:.0f}" for c in cells) + " |")
    return good


def price(found: dict[str, Any], artists: int) -> None:
    """What learning costs those who do not need it."""
    odds, met = found["odds"], found["met"]
    print(f"\n{artists} further artists whose estimates and chances are right as they are:\n")
    print("| project | Brier, not learned | Brier, learned |\n|---|---|---|")
    for n in range(1, PROJECTS):
        print(f"| {n + 1} | {brier(odds[0][:, n], met[:, n]):.4f} | {brier(odds[1][:, n], met[:, n]):.4f} |")
    lost = ((odds[1] - met) ** 2 - (odds[0] - met) ** 2)[:, 1:].mean(axis=1)
    error = float(lost.std(ddof=1) / math.sqrt(artists)) if artists > 1 else math.nan
    print(f"\nFor them learning raises the Brier score by {lost.mean():.4f} ± {error:.4f}.")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--artists", type=int, default=200)
    parser.add_argument("--futures", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=2027)
    given = parser.parse_args()
    begin = time.perf_counter()
    good = report(study(given.artists, given.futures, given.seed), given.artists, given.futures)
    few = max(1, given.artists // 2)
    price(study(few, given.futures, given.seed + 1, right=True), few)
    print(f"{time.perf_counter() - begin:.0f} s", file=sys.stderr)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
