# SPDX-License-Identifier: GPL-3.0-or-later
"""What past projects say of the artist's estimates and evenings.

Estimates. y = ln(actual / likely) of a finished item is taken as normal with unknown mean (bias) and
variance (spread²). Prior and posterior are normal-inverse-gamma (e.g. K. P. Murphy, Conjugate Bayesian
analysis of the Gaussian distribution, 2007, section 6; from memory, checked in the tests against
numerical integration). Items of one project are alike (whoever is late is late everywhere), so m items
of a project with correlation ρ count as m/(1 + (m−1)ρ) of them: the design effect of a cluster
(L. Kish, Survey Sampling, 1965). Without it one bad project would shout.

A stage's prior is centred on what the other stages say; without any other it is the stated one.

Evenings. Whether a promised evening happens: beta-binomial; a weekday's prior is centred on the other
weekdays of its kind, the kind's on the chance that was promised.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy import special

from nightplan.model.errors import BadInput
from nightplan.model.results_lookback import (
    Band,
    DriftFact,
    DriftLook,
    EveningFact,
    EveningLook,
    Facts,
    ItemFact,
    LeftFact,
    LookBack,
    Normal4,
    StageLook,
    SwitchFact,
    SwitchLook,
)
from nightplan.speech import dates, tr, trn

Floats = npt.NDArray[np.float64]

#: every range here holds its value 8 times in 10
INSIDE = 0.8
_LOW, _HIGH = (1 - INSIDE) / 2, (1 + INSIDE) / 2
#: evenings with several items that are needed before a cost of switching is named
_MIN_SWITCHED = 8
OVERALL = tr("all stages")


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed before any project is finished; every number may be set by the artist.

    ratio: items take so many times their likely hours (1: the estimates are right).
    worth: and that counts like so many finished items.
    spread: standard deviation of ln(actual/likely); 0.4 is 3 h likely, 5 h nine times in ten.
    spread_worth: and that counts like so many items.
    evenings: the promised chance of an evening counts like so many evenings.
    correlation: of items of one project, as in the forecast.
    """

    ratio: float = 1.0
    worth: float = 3.0
    spread: float = 0.4
    spread_worth: float = 4.0
    evenings: float = 6.0
    correlation: float = 0.3

    def __post_init__(self) -> None:
        for name, low, high in (
            ("ratio", 0.1, 10.0),
            ("worth", 0.1, 1000.0),
            ("spread", 0.01, 3.0),
            ("spread_worth", 0.1, 1000.0),
            ("evenings", 0.1, 1000.0),
            ("correlation", 0.0, 0.99),
        ):
            value = getattr(self, name)
            if not low <= value <= high:
                raise BadInput.at(
                    f"prior {name}", value, tr("{low} to {high} are accepted", low=f"{low:g}", high=f"{high:g}")
                )

    def normal4(self) -> Normal4:
        """The starting assumption as a normal-inverse-gamma distribution of ln(actual/likely)."""
        shape = self.spread_worth / 2
        return Normal4(math.log(self.ratio), self.worth, shape, shape * self.spread**2)


# ---- normal-inverse-gamma ------------------------------------------------------------------------
def update(prior: Normal4, values: npt.ArrayLike, weights: npt.ArrayLike | None = None) -> Normal4:
    """The posterior after values y_i, (n,), each counting like ``weights[i]`` values (1 unless given)."""
    y = np.asarray(values, dtype=np.float64)
    w = np.ones(y.size) if weights is None else np.asarray(weights, dtype=np.float64)
    n = float(w.sum())
    if n <= 0:
        return prior
    mean = float((w * y).sum()) / n
    around = float((w * (y - mean) ** 2).sum())
    worth = prior.worth + n
    return Normal4(
        (prior.worth * prior.mean + n * mean) / worth,
        worth,
        prior.shape + n / 2,
        prior.scale + around / 2 + prior.worth * n * (mean - prior.mean) ** 2 / (2 * worth),
    )


def bias_band(p: Normal4) -> Band:
    """μ: mean, and the range that holds it 8 times in 10 (Student's t with 2·shape degrees of freedom)."""
    reach = float(special.stdtrit(2 * p.shape, _HIGH)) * math.sqrt(p.scale / (p.shape * p.worth))
    return Band(p.mean, p.mean - reach, p.mean + reach)


def spread_band(p: Normal4) -> Band:
    """σ = √v: median and range."""
    low, middle, high = (math.sqrt(p.scale / float(special.gammaincinv(p.shape, 1 - q))) for q in (_LOW, 0.5, _HIGH))
    return Band(middle, low, high)


def next_quantile(p: Normal4, q: float) -> float:
    """Quantile of the next y: Student's t, wider the less is known."""
    scale = math.sqrt(p.scale * (p.worth + 1) / (p.shape * p.worth))
    return p.mean + float(special.stdtrit(2 * p.shape, q)) * scale


def project_weights(projects: npt.ArrayLike, correlation: float) -> Floats:
    """(n,) 1/(1 + (m−1)ρ) for each item of a project with m items, given each item's project."""
    _, place, count = np.unique(np.asarray(projects, dtype=np.int64), return_inverse=True, return_counts=True)
    return np.asarray(1 / (1 + (count[place] - 1) * correlation), dtype=np.float64)


@dataclass(frozen=True)
class _Sample:
    """Items as arrays, (n,) each."""

    y: Floats
    projects: npt.NDArray[np.int64]

    @classmethod
    def of(cls, items: Iterable[ItemFact]) -> _Sample:
        usable = [i for i in items if i.own > 0 and i.actual > 0]
        ratios = np.array([i.actual / i.own for i in usable], dtype=np.float64)
        return cls(np.log(ratios), np.array([i.project for i in usable], dtype=np.int64))

    def weights(self, correlation: float) -> Floats:
        return project_weights(self.projects, correlation)


def _look(name: str, items: Sequence[ItemFact], sample: _Sample, given: Normal4, prior: Prior) -> StageLook:
    weights = sample.weights(prior.correlation)
    found = update(given, sample.y, weights)
    bias = bias_band(found)
    planned, actual = math.fsum(i.planned for i in items), math.fsum(i.actual for i in items)
    return StageLook(
        name,
        sample.y.size,
        np.unique(sample.projects).size,
        planned,
        actual,
        actual / planned if planned > 0 else math.nan,
        bias,
        spread_band(found),
        Band(*(math.exp(v) for v in (bias.value, bias.low, bias.high))),
        math.exp(next_quantile(found, 0.9)),
        float(weights.sum()),
        given.worth / found.worth,
        found,
    )


def _stage_prior(others: _Sample, prior: Prior) -> Normal4:
    """As firm as the stated prior, centred on the other stages."""
    stated = prior.normal4()
    found = update(stated, others.y, others.weights(prior.correlation))
    return Normal4(found.mean, stated.worth, stated.shape, stated.shape * found.scale / found.shape)


def stage_looks(facts: Facts, stages: Iterable[str], prior: Prior | None = None) -> dict[str, StageLook]:
    """Stages by their names, also one that no project had yet: then all is from the others."""
    prior = prior or Prior()
    usable = [i for i in facts.items if i.own > 0 and i.actual > 0]
    whole, keys = _Sample.of(usable), np.array([stage_key(i.stage) for i in usable], dtype=object)
    found = {}
    for stage in stages:
        here = keys == stage_key(stage) if usable else np.zeros(0, dtype=bool)
        mine = [usable[n] for n in np.flatnonzero(here)]
        rest = _Sample(whole.y[~here], whole.projects[~here])
        sample = _Sample(whole.y[here], whole.projects[here])
        found[stage] = _look(mine[0].stage if mine else stage, mine, sample, _stage_prior(rest, prior), prior)
    return found


@cache
def stage_key(name: str) -> str:
    """Stages of different projects are the same where their names differ in case and spaces only."""
    return " ".join(name.split()).casefold()


# ---- evenings ------------------------------------------------------------------------------------
def beta_band(a: float, b: float) -> Band:
    """Mean of a beta distribution and the range that holds it 8 times in 10."""
    low, high = (float(special.betaincinv(a, b, q)) for q in (_LOW, _HIGH))
    return Band(a / (a + b), low, high)


def _kept(rows: Sequence[EveningFact]) -> tuple[int, int, int, float]:
    promised, kept = sum(r.promised for r in rows), sum(r.kept for r in rows)
    said = math.fsum(r.chance * r.promised for r in rows) / promised if promised else math.nan
    return promised, kept, sum(r.unlogged for r in rows), said


def evening_look(
    rows: Iterable[EveningFact], sure: bool, weekday: int | None, prior: Prior, said: float
) -> EveningLook:
    """Evenings of a kind; ``said`` is the chance promised where there are no data."""
    rows = [r for r in rows if r.sure == sure]
    mine = [r for r in rows if weekday is None or r.weekday == weekday]
    others = [] if weekday is None else [r for r in rows if r.weekday != weekday]
    promised, kept, unlogged, told = _kept(mine)
    there, came, _, told_others = _kept(others)
    centre = told_others if there else told if promised else said
    centre = min(0.98, max(0.02, centre))
    centre = (prior.evenings * centre + came) / (prior.evenings + there)
    a, b = prior.evenings * centre + kept, prior.evenings * (1 - centre) + promised - kept
    share = prior.evenings / (prior.evenings + promised)
    return EveningLook(weekday, sure, promised, kept, unlogged, told if promised else said, beta_band(a, b), share)


# ---- switching and drift -------------------------------------------------------------------------
def switch_look(s: SwitchFact) -> SwitchLook:
    """Least squares of the minutes that no item got on the number of switches, with Student's range.

    It can only be told where evenings are logged with more hours than their items have.
    """
    if s.x > 0 and s.evenings < 2:
        return SwitchLook(None, s.evenings, tr("one evening is too few to tell what switching costs"))
    if s.evenings < 2 or s.x <= 0:
        return SwitchLook(None, s.evenings, tr("no evening had more than one item, so switching cannot be told"))
    if s.yy <= 1e-6:
        return SwitchLook(
            None,
            s.evenings,
            tr("the log gives every minute of an evening to some item, so what switching costs cannot be told from it"),
        )
    within = s.xx - s.x * s.x / s.evenings
    if s.evenings < 2 * _MIN_SWITCHED or s.x < _MIN_SWITCHED or within <= 1e-9:
        words = trn(
            "{n} evening is too few, or too alike, to tell",
            "{n} evenings are too few, or too alike, to tell",
            s.evenings,
        )
        return SwitchLook(None, s.evenings, words)
    slope = (s.xy - s.x * s.y / s.evenings) / within
    rest = max(0.0, s.yy - s.y * s.y / s.evenings - slope * slope * within) / (s.evenings - 2)
    reach = float(special.stdtrit(s.evenings - 2, _HIGH)) * math.sqrt(rest / within)
    band = Band(slope, slope - reach, slope + reach)
    if band.low <= 0:
        words = trn(
            "no cost of switching shows in {n} evening ({minutes} min, but it may as well be 0)",
            "no cost of switching shows in {n} evenings ({minutes} min, but it may as well be 0)",
            s.evenings,
            minutes=dates.decimal(slope, 0),
        )
        return SwitchLook(None, s.evenings, words)
    words = tr(
        "each switch to another item costs about {minutes} min ({low} to {high})",
        minutes=dates.decimal(slope, 0),
        low=dates.decimal(band.low, 0),
        high=dates.decimal(band.high, 0),
    )
    return SwitchLook(band, s.evenings, words)


def _mean_band(values: Sequence[float]) -> Band:
    """Geometric mean of ratios with Student's range on logarithms; one value has no range but itself."""
    logs = [math.log(v) for v in values]
    mean = math.fsum(logs) / len(logs)
    if len(logs) < 2:
        return Band(math.exp(mean), 0.0, math.inf)
    sd = math.sqrt(math.fsum((v - mean) ** 2 for v in logs) / (len(logs) - 1))
    reach = float(special.stdtrit(len(logs) - 1, _HIGH)) * sd / math.sqrt(len(logs))
    return Band(math.exp(mean), math.exp(mean - reach), math.exp(mean + reach))


def drift_look(rows: Sequence[DriftFact]) -> tuple[DriftLook, ...]:
    """By share of the work done."""
    looks = []
    for share in sorted({r.share for r in rows}):
        mine = [r.ratio for r in rows if r.share == share and r.ratio > 0]
        if mine:
            looks.append(DriftLook(share, len(mine), _mean_band(mine)))
    return tuple(looks)


def _left_look(rows: Sequence[LeftFact]) -> Band | None:
    usable = [r for r in rows if r.said > 0 and r.actual > 0]
    return _mean_band([r.actual / r.said for r in usable]) if usable else None


# ---- all of it -----------------------------------------------------------------------------------
def look_back(facts: Facts, prior: Prior | None = None) -> LookBack:
    """Planned against actual per stage and over all, evenings kept, switching, drift.

    Stages come in the order in which projects first name them.
    """
    prior = prior or Prior()
    names = {stage_key(i.stage): i.stage for i in reversed(facts.items)}
    order = dict.fromkeys(stage_key(i.stage) for i in facts.items)
    stages = stage_looks(facts, [names[key] for key in order], prior).values()
    evenings, weekdays = [], []
    for sure, said in ((True, 0.9), (False, 0.5)):
        rows = [r for r in facts.evenings if r.sure == sure]
        if not rows:
            continue
        evenings.append(evening_look(rows, sure, None, prior, said))
        weekdays += [evening_look(rows, sure, day, prior, said) for day in sorted({r.weekday for r in rows})]
    return LookBack(
        _look(OVERALL, facts.items, _Sample.of(facts.items), prior.normal4(), prior),
        tuple(stages),
        tuple(evenings),
        tuple(weekdays),
        switch_look(facts.switching),
        drift_look(facts.drift),
        _left_look(facts.left),
        sum(r.said > 0 and r.actual > 0 for r in facts.left),
    )
