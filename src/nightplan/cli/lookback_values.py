# SPDX-License-Identifier: GPL-3.0-or-later
"""A look back as JSON values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from nightplan.engine.lookback import INSIDE, Prior
from nightplan.exports.lookback_table import number, stage_values
from nightplan.model.project import DAYS
from nightplan.model.results_lookback import Band, EveningLook, Facts, Level, LookBack, Proposal, Scores


def lookback_values(
    facts: Facts, looks: LookBack, scores: Scores, prior: Prior, proposals: Sequence[Proposal] | None
) -> dict[str, Any]:
    values: dict[str, Any] = {
        "projects": [
            {
                "path": p.path,
                "title": p.title,
                "announced": _day(p.announced),
                "finished": None if p.finished is None else _day(p.finished),
                "items_done": p.items_done,
                "planned_hours": number(p.planned),
                "actual_hours": number(p.actual),
            }
            for p in facts.projects
        ],
        "stages": [stage_values(s) for s in looks.stages],
        "overall": stage_values(looks.overall),
        "evenings": [_evening(e) for e in looks.evenings],
        "weekdays": [_evening(e) for e in looks.weekdays],
        "switching": {
            "minutes": None if looks.switching.minutes is None else _band(looks.switching.minutes),
            "evenings": looks.switching.evenings,
            "words": looks.switching.words,
        },
        "drift": [
            {"share_of_work": number(d.share), "projects": d.projects, "ratio": _band(d.ratio)} for d in looks.drift
        ],
        "left": None if looks.left is None else {"n": looks.left_count, "ratio": _band(looks.left)},
        "scores": _scores(scores),
        "prior": {
            "ratio": prior.ratio,
            "worth": prior.worth,
            "spread": prior.spread,
            "spread_worth": prior.spread_worth,
            "evenings": prior.evenings,
            "correlation": prior.correlation,
        },
        "inside": INSIDE,
        "skipped": [{"path": s.path, "why": s.why} for s in facts.skipped],
    }
    if proposals is not None:
        values["proposals"] = [
            {
                "id": p.id,
                "kind": p.kind,
                "what": p.what,
                "before": p.before,
                "after": p.after,
                "reason": p.reason,
                "few_data": p.weak,
            }
            for p in proposals
        ]
    return values


def _day(ordinal: int) -> str:
    return dt.date.fromordinal(ordinal).isoformat()


def _band(band: Band) -> dict[str, float | None]:
    return {"value": number(band.value), "low": number(band.low), "high": number(band.high)}


def _evening(look: EveningLook) -> dict[str, Any]:
    return {
        "day": None if look.weekday is None else DAYS[look.weekday],
        "kind": "sure" if look.sure else "maybe",
        "promised": look.promised,
        "kept": look.kept,
        "unlogged": look.unlogged,
        "said": number(look.said),
        "chance": number(look.chance.value),
        "low": number(look.chance.low),
        "high": number(look.chance.high),
        "prior_share": number(look.prior_share),
    }


def _level(found: Level) -> dict[str, Any]:
    return {
        "level": found.level,
        "n": found.n,
        "done": found.done,
        "share": number(found.share.value),
        "low": number(found.share.low),
        "high": number(found.share.high),
    }


def _scores(s: Scores) -> dict[str, Any]:
    return {
        "forecasts": s.forecasts,
        "gates": s.gates,
        "projects": s.projects,
        "unknown": s.unknown,
        "brier": number(s.brier, 6),
        "base_rate": number(s.base_rate, 6),
        "base_brier": number(s.base_brier, 6),
        "skill": number(s.skill, 6),
        "calibration": [
            {
                "low": number(b.low),
                "high": number(b.high),
                "n": b.forecasts,
                "gates": b.gates,
                "said": number(b.said),
                "met": b.met,
                "made": number(b.made.value),
                "made_low": number(b.made.low),
                "made_high": number(b.made.high),
            }
            for b in s.bins
        ],
        "coverage": _level(s.coverage),
        "levels": [_level(v) for v in s.levels],
        "item_coverage": _level(s.item_coverage),
        "item_levels": [_level(v) for v in s.item_levels],
        "crps_days": number(s.crps_days),
        "item_crps_days": number(s.item_crps_days),
        "words": list(s.words),
    }
