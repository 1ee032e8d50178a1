# SPDX-License-Identifier: GPL-3.0-or-later
"""Random projects for Hypothesis: valid ones, as raw values, with unknown keys at every level."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

SAMPLES = Path(__file__).parents[2] / "sample_projects"

ANNOUNCED = dt.date(2027, 9, 20)

#: text as a person might write it, no half letters (those are refused, and tested elsewhere)
texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
names = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=12)
hours = st.integers(1, 400).map(lambda n: n / 8)
days = st.integers(0, 60).map(lambda n: (ANNOUNCED + dt.timedelta(days=n)).isoformat())
clock = st.tuples(st.integers(0, 23), st.integers(0, 59)).map(lambda t: f"{t[0]:02d}:{t[1]:02d}")
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | texts,
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(texts, inner, max_size=2),
    max_leaves=4,
)
#: keys that this version does not know
unknown = st.dictionaries(texts.map(lambda t: f"x-{t}"), values, max_size=2)


def sample_raw(name: str = "moth-and-lantern") -> Any:
    return json.loads((SAMPLES / f"{name}.nightplan").read_text(encoding="utf-8"))


@st.composite
def amounts(draw: st.DrawFn) -> Any:
    likely = draw(hours)
    if draw(st.booleans()):
        return likely
    return {"likely": likely, "high": likely + draw(hours), **draw(unknown)}


@st.composite
def estimates(draw: st.DrawFn) -> dict[str, Any]:
    likely = draw(hours)
    made = {"likely": likely, "high": likely + draw(st.just(0) | hours)}
    if draw(st.booleans()):
        made["low"] = likely / 2
    return made


@st.composite
def raw_projects(draw: st.DrawFn) -> dict[str, Any]:
    """A valid project as the file holds it; what names another thing names an earlier one, so there is no circle."""
    stages: list[dict[str, Any]] = []
    items: list[str] = []
    known: list[str] = []
    for s in range(draw(st.integers(0, 3))):
        mine = []
        for i in range(draw(st.integers(0, 3))):
            key = f"item-{s}-{i}"
            before = draw(st.lists(st.sampled_from(known), unique=True, max_size=2)) if known else []
            mine.append(
                {
                    "id": key,
                    "name": draw(names),
                    "tier": draw(st.sampled_from(["primary", "secondary", "tertiary"])),
                    **draw(estimates()),
                    "after": before,
                    "state": draw(st.sampled_from(["open", "done", "cut"])),
                    "note": draw(texts),
                    **draw(unknown),
                }
            )
            items.append(key)
        stages.append({"id": f"stage-{s}", "name": draw(names), "gate": "lock", "items": mine, **draw(unknown)})
        known += [f"stage-{s}", *(item["id"] for item in mine)]
    jobs: list[dict[str, Any]] = []
    for j in range(draw(st.integers(0, 2))):
        measure: dict[str, Any] = draw(
            st.one_of(
                st.fixed_dictionaries({"frames": st.integers(1, 500), "minutes_per_frame": amounts()}),
                st.fixed_dictionaries({"gigabytes": amounts(), "megabits_per_second": amounts()}),
                st.fixed_dictionaries({"hours": amounts()}),
            )
        )
        after = draw(st.lists(st.sampled_from(known), unique=True, max_size=2)) if known else []
        jobs.append({"id": f"job-{j}", "name": draw(names), "after": after, **measure, **draw(unknown)})
    log = []
    for day in draw(st.lists(days, unique=True, max_size=2)):
        worked = draw(st.lists(st.sampled_from(items), unique=True, max_size=2)) if items else []
        work: list[dict[str, Any]] = [
            {"item": key, "hours": 0.5, "done": draw(st.booleans()), **draw(unknown)} for key in worked
        ]
        log.append({"evening": day, "hours": 2.0, "work": work, "note": draw(texts), **draw(unknown)})
    week = draw(
        st.lists(
            st.fixed_dictionaries(
                {
                    "day": st.sampled_from(["mon", "tue", "sat"]),
                    "start": clock,
                    "hours": st.just(2.0),
                    "chance": st.sampled_from([0.9, 0.5]),
                }
            ),
            max_size=2,
        )
    )
    return {
        "format": "nightplan",
        "version": 1,
        "title": draw(names),
        "piece": draw(texts),
        "zone": draw(st.sampled_from(["Europe/Lisbon", "America/Los_Angeles", "UTC", "+05:45"])),
        "announced": ANNOUNCED.isoformat(),
        "target_odds": draw(st.sampled_from([0.5, 0.8])),
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": "2027-10-24", **draw(unknown)},
            {"id": "deadline", "name": "Hand-in", "at": "2027-10-31T23:59", "zone": "UTC", "wording": draw(texts)},
        ],
        "week": week,
        "extra": [{"on": d, "start": "10:00", "hours": 3, **draw(unknown)} for d in draw(st.lists(days, max_size=2))],
        "off": [{"from": d, "to": d, "why": draw(texts), **draw(unknown)} for d in draw(st.lists(days, max_size=1))],
        "stages": stages,
        "jobs": jobs,
        "log": log,
        "deliverables": draw(st.lists(values, max_size=1)),
        **draw(unknown),
    }
