# SPDX-License-Identifier: GPL-3.0-or-later
"""How good stored forecasts were, once the outcome is known.

Brier score: G. W. Brier 1950. CRPS: T. Gneiting and A. E. Raftery, Strictly Proper Scoring Rules, 2007,
section 4.2. Both are checked in the tests against printed values.

Forecasts of one gate share one fate, so every gate counts the same however many forecasts it has, and
ranges are made from the number of gates, not of forecasts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
from scipy import special

from nightplan.engine.lookback import INSIDE
from nightplan.model.results_lookback import Band, Bin, FinishFact, GateFact, Level, Scores
from nightplan.speech import dates, mark, tr, trn

Floats = npt.NDArray[np.float64]

#: the levels of the finish dates that a forecast is stored with
LEVELS = (0.1, 0.5, 0.8, 0.9)
BINS = 10


# ---- the rules -----------------------------------------------------------------------------------
def brier(odds: npt.ArrayLike, happened: npt.ArrayLike, weights: Floats | None = None) -> float:
    """Mean of (odds − outcome)²: 0 is perfect, 0.25 is always saying 50 in 100."""
    loss = (np.asarray(odds, dtype=np.float64) - np.asarray(happened, dtype=np.float64)) ** 2
    return float(np.average(loss, weights=weights))


def crps_quantiles(levels: Sequence[float], values: npt.ArrayLike, seen: npt.ArrayLike) -> Floats:
    """CRPS of the distribution that joins quantiles by straight lines; exact for that distribution.

    The ends run on with the slope of the nearest piece to 0 and to 1.

    Args:
        levels: (q,) increasing, in (0, 1), at least two.
        values: (..., q) quantiles, not decreasing.
        seen: (...) what happened.

    Returns:
        (...) in the unit of the values.
    """
    p = [0.0, *levels, 1.0]
    x = np.asarray(values, dtype=np.float64)
    y = np.asarray(seen, dtype=np.float64)
    inner = [x[..., k] for k in range(x.shape[-1])]
    first = inner[0] - (inner[1] - inner[0]) * p[1] / (p[2] - p[1])
    last = inner[-1] + (inner[-1] - inner[-2]) * (1 - p[-2]) / (p[-2] - p[-3])
    ends = [first, *inner, last]
    # outside of the support the distribution is 0 or 1
    total = np.maximum(0.0, first - y) + np.maximum(0.0, y - last)
    # ∫F² up to what happened and ∫(1 − F)² beyond it, piece by piece
    for a, b, pa, pb in zip(ends, ends[1:], p, p[1:], strict=False):
        width = b - a
        cut = np.clip(y, a, b)
        pc = pb - (pb - pa) * (b - cut) / np.where(width > 0, width, 1.0)
        qa = 1.0 - pc
        total += (cut - a) * (pa * pa + pa * pc + pc * pc) / 3
        total += (b - cut) * (qa * qa + qa * (1 - pb) + (1 - pb) ** 2) / 3
    return np.asarray(total, dtype=np.float64)


# ---- shares and their ranges ---------------------------------------------------------------------
def share_band(done: float, n: float) -> Band:
    """A share with its 8-in-10 range, by Jeffreys' prior (L. D. Brown, T. T. Cai, A. DasGupta 2001)."""
    if n <= 0:
        return Band(math.nan, 0.0, 1.0)
    a, b = done + 0.5, n - done + 0.5
    low = 0.0 if done <= 0 else float(special.betaincinv(a, b, (1 - INSIDE) / 2))
    high = 1.0 if done >= n else float(special.betaincinv(a, b, (1 + INSIDE) / 2))
    return Band(done / n, low, high)


def level(said: float, n: int, done: int) -> Level:
    """Of ``n`` things promised at a level, ``done`` were kept."""
    return Level(said, n, done, share_band(done, n))


def _in_100(share: float) -> str:
    return tr("{odds} in 100", odds=dates.decimal(share * 100, 0))


def bins_of(odds: Floats, happened: Floats, gates: npt.NDArray[np.int64]) -> tuple[Bin, ...]:
    """Calibration table: forecasts by tens of their odds, empty ones left out.

    Args:
        odds, happened, gates: (n,) each; ``gates`` numbers, from 0, what a forecast was about.
    """
    place = np.minimum((odds * BINS + 1e-9).astype(np.int64), BINS - 1)
    rows = []
    for k in range(BINS):
        here = place == k
        n = int(here.sum())
        if not n:
            continue
        alike = int(np.count_nonzero(np.bincount(gates[here])))
        made = float(happened[here].mean())
        band = share_band(made * alike, alike)
        rows.append(Bin(k / BINS, (k + 1) / BINS, n, alike, float(odds[here].mean()), int(happened[here].sum()), band))
    return tuple(rows)


# ---- all of it -----------------------------------------------------------------------------------
def scores(gates: Iterable[GateFact], finishes: Iterable[FinishFact] = ()) -> Scores:
    """Every stored forecast whose outcome is known, scored."""
    gates, finishes = tuple(gates), tuple(finishes)
    known = [g for g in gates if g.outcome != "unknown" and g.odds.size]
    odds = _joined([g.odds for g in known])
    sizes = np.array([g.odds.size for g in known], dtype=np.int64)
    met = np.array([g.outcome == "met" for g in known], dtype=np.float64)
    happened = np.repeat(met, sizes)
    number = np.repeat(np.arange(len(known)), sizes)
    score = base = base_score = skill = None
    if known:
        score = brier(odds, happened, np.repeat(1.0 / sizes, sizes))
        base = float(met.mean())
        base_score = base * (1 - base)
        skill = 1 - score / base_score if base_score > 0 else None
    bins = bins_of(odds, happened, number)
    dated = [g for g in gates if g.finished is not None and g.odds.size]
    columns = ([g.p10 for g in dated], [g.p50 for g in dated], [g.p80 for g in dated], [g.p90 for g in dated])
    quantiles = np.stack([_joined(c) for c in columns], axis=-1)
    many = np.array([g.odds.size for g in dated], dtype=np.int64)
    seen = np.repeat(np.array([g.finished for g in dated], dtype=np.float64), many)
    end = np.repeat(np.array([g.horizon for g in dated], dtype=np.float64), many)
    of_items = np.array([(f.p10, f.p50, f.p80, f.p90) for f in finishes], dtype=np.float64).reshape(-1, 4)
    items_seen = np.array([f.finished for f in finishes], dtype=np.float64)
    items_end = np.array([f.horizon for f in finishes], dtype=np.float64)
    coverage, levels, crps = _dates(quantiles, seen, end, np.repeat(1.0 / many, many))
    item_coverage, item_levels, item_crps = _dates(of_items, items_seen, items_end, np.ones(len(finishes)))
    found = Scores(
        int(odds.size),
        len(known),
        len({g.project for g in known}),
        score,
        base,
        base_score,
        skill,
        bins,
        coverage,
        levels,
        item_coverage,
        item_levels,
        crps,
        item_crps,
        (),
        sum(g.outcome == "unknown" and g.odds.size > 0 for g in gates),
    )
    return _with_words(found)


def _joined(parts: list[Floats]) -> Floats:
    return np.concatenate(parts) if parts else np.zeros(0)


def _dates(
    quantiles: Floats, seen: Floats, horizon: Floats, weights: Floats
) -> tuple[Level, tuple[Level, ...], float | None]:
    """Coverage, levels and mean CRPS in days; a percentile beyond the horizon counts as one day after it.

    Args:
        quantiles: (n, 4) ordinals, NaN beyond the horizon.
        seen, horizon: (n,) ordinals.
        weights: (n,)
    """
    n = int(seen.size)
    if not n:
        return level(INSIDE, 0, 0), tuple(level(p, 0, 0) for p in LEVELS), None
    beyond = np.maximum(horizon, seen)[:, None] + 1.0
    x = np.maximum.accumulate(np.where(np.isnan(quantiles), beyond, quantiles), axis=1)
    by = seen[:, None] <= x
    inside = int(np.sum((seen >= x[:, 0]) & (seen <= x[:, 3])))
    levels = tuple(level(p, n, int(by[:, k].sum())) for k, p in enumerate(LEVELS))
    mean = float(np.average(crps_quantiles(LEVELS, x, seen), weights=weights))
    return level(INSIDE, n, inside), levels, mean


def _with_words(s: Scores) -> Scores:
    from dataclasses import replace

    if s.brier is None or s.base_brier is None or s.base_rate is None:
        return replace(s, words=(tr("No forecast can be scored yet: it takes a gate that was met or missed."),))
    said = [
        # translators: "12 forecasts of 3 gates in 1 project"
        tr(
            "{forecasts} of {gates} in {projects} are scored; "
            "those of one gate share one fate, so every gate counts the same.",
            forecasts=trn("{n} forecast", "{n} forecasts", s.forecasts),
            gates=trn("{n} gate", "{n} gates", s.gates),
            projects=trn("{n} project", "{n} projects", s.projects),
        )
    ]
    if s.skill is None:
        said.append(
            tr("Every gate was met, so there is nothing yet to tell good odds from a habit.")
            if s.base_rate > 0.5
            else tr("Every gate was missed, so there is nothing yet to tell good odds from a habit.")
        )
    else:
        if s.skill > 0:
            sentence = mark(
                "Brier score {brier}; always saying {base} would have scored {plain}: the odds were better than that."
            )
        elif s.skill < 0:
            sentence = mark(
                "Brier score {brier}; always saying {base} would have scored {plain}: the odds were worse than that."
            )
        else:
            sentence = mark(
                "Brier score {brier}; always saying {base} would have scored {plain}: "
                "the odds were no better than that."
            )
        said.append(
            tr(
                sentence,
                brier=dates.decimal(s.brier, 3),
                base=_in_100(s.base_rate),
                plain=dates.decimal(s.base_brier, 3),
            )
        )
    for b in s.bins:
        if b.made.low <= b.said <= b.made.high:
            sentence = mark("When it said about {said} you made it {met} of {n} times ({gates}).")
        elif b.said > b.made.high:
            sentence = mark("When it said about {said} you made it {met} of {n} times ({gates}); too sure.")
        else:
            sentence = mark("When it said about {said} you made it {met} of {n} times ({gates}); too careful.")
        gates = trn("{n} gate", "{n} gates", b.gates)
        said.append(tr(sentence, said=_in_100(b.said), met=b.met, n=b.forecasts, gates=gates))
    if s.coverage.n:
        said.append(
            tr(
                "The finish of the gates lay in the range of 8 in 10 futures in {inside} of {n} forecasts "
                "(8 in 10 or a little more is right: dates are whole evenings).",
                inside=s.coverage.done,
                n=s.coverage.n,
            )
        )
    if s.item_coverage.n:
        said.append(
            tr(
                "The finish of the items lay in the range of 8 in 10 futures in {inside} of {n} forecasts "
                "(8 in 10 or a little more is right: dates are whole evenings).",
                inside=s.item_coverage.done,
                n=s.item_coverage.n,
            )
        )
    if s.crps_days is not None:
        days = dates.decimal(s.crps_days, 1)
        said.append(tr("The finish dates of gates were off by {days} days on average (CRPS).", days=days))
    if s.gates < 10:
        said.append(tr("That is few: read it as a hint, not as a verdict."))
    return replace(s, words=tuple(said))
