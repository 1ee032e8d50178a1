# SPDX-License-Identifier: GPL-3.0-or-later
"""Templates: stage shares, and a size that leaves 30 percent of the evenings free.

The shares are this project's own proposal (no source); the free 30 percent follow from Buehler, Griffin and Ross
1994 (55.5 days needed where 33.9 were predicted: 33.9 / 55.5 = 0.61).
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from nightplan.actions.templates import HIGH_FACTOR, TEMPLATES, new_project, template_stages
from nightplan.engine.plan import plan
from nightplan.evenings.dated import calendar
from nightplan.model.errors import BadInput
from nightplan.model.project import PLANNED_CHANCE

WEEK = [
    {"day": "tue", "start": "20:30", "hours": 2.5, "chance": 0.9},
    {"day": "thu", "start": "20:30", "hours": 2.5, "chance": 0.9},
    {"day": "sat", "start": "14:00", "hours": 4, "chance": 0.5},
]
#: percent of the evenings per stage, in the order of work
SHARES = {
    "animated shot": (8, 10, 4, 4, 4, 4, 36, 6, 10, 6, 8),
    "still environment": (8, 15, 4, 24, 17, 16, 8, 4, 4),
    "still character": (8, 10, 3, 32, 4, 20, 5, 2, 8, 5, 3),
    "motion loop": (12, 15, 5, 12, 4, 12, 18, 4, 8, 5, 5),
    "game asset": (8, 10, 4, 34, 26, 8, 4, 6),
}


def make(piece: str, weeks: int = 6, **keys: Any) -> Any:
    announced = dt.date(2027, 9, 20)
    lock = announced + dt.timedelta(weeks=weeks)
    return new_project(
        **{
            "title": "Paper Comet",
            "piece": piece,
            "zone": "Europe/Lisbon",
            "announced": announced,
            "lock": {"on": lock.isoformat()},
            "deadline": {"at": f"{lock + dt.timedelta(days=6)}T23:59", "zone": "UTC"},
            "week": WEEK,
            **keys,
        }
    )


def test_there_are_five() -> None:
    assert set(TEMPLATES) == set(SHARES)


@pytest.mark.parametrize("piece", SHARES)
def test_hours_follow_the_shares(piece: str) -> None:
    stages = template_stages(piece, 1000.0)
    hours = [sum(i["likely"] for i in s["items"]) for s in stages]
    whole = sum(SHARES[piece])
    # items are in quarters of an hour: half a quarter off for each
    for got, share, stage in zip(hours, SHARES[piece], stages, strict=True):
        assert got == pytest.approx(1000 * share / whole, abs=0.125 * len(stage["items"]) + 1e-9)


@pytest.mark.parametrize("piece", SHARES)
@pytest.mark.parametrize("weeks", [4, 6, 12])
def test_thirty_percent_of_the_sure_hours_stay_free(piece: str, weeks: int) -> None:
    project = make(piece, weeks)
    dated = calendar(project)
    sure = sum(h for e, h in dated.before(dated.gate("lock")) if e.chance >= PLANNED_CHANCE)
    likely = sum(i.likely for i in project.items.values())
    assert likely == pytest.approx(0.7 * sure, abs=0.05 * sure + 1.5)
    assert likely < 0.85 * sure


@pytest.mark.parametrize("piece", SHARES)
def test_the_plan_of_a_fresh_project_meets_both_gates(piece: str) -> None:
    project = make(piece)
    planned = plan(project, project.announced)
    assert {g.id: g.met for g in planned.gates} == {"lock": True, "deadline": True}


@pytest.mark.parametrize("piece", SHARES)
def test_stages_follow_each_other_and_what_warnings_need_is_there(piece: str) -> None:
    project = make(piece)
    for before, after in zip(project.stages, project.stages[1:], strict=False):
        assert after.after == (before.id,)
    roles = [i.role for i in project.items.values()]
    assert roles.count("chain-test") == 1
    assert roles.count("critique") == 2
    assert roles.count("hand-in") == 1
    for item in project.items.values():
        assert item.likely <= item.high <= max(0.5, item.likely * (HIGH_FACTOR + 0.5))
    assert [j.kind for j in project.jobs] == ["render", "upload"]
    last = project.stages[-1].items
    assert project.predecessors[last[0].id] >= {"final-render"}
    assert project.predecessors["upload"] == {last[-1].id}


def test_only_maybe_evenings_are_sized_by_their_chance() -> None:
    maybe = [{**slot, "chance": 0.5} for slot in WEEK]
    project = make("motion loop", week=maybe)
    hours = sum(e.hours for e in calendar(project).evenings if e.date <= project.gates[0].on)
    assert sum(i.likely for i in project.items.values()) == pytest.approx(0.7 * 0.5 * hours, rel=0.15)


REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"piece": "opera"}, r"^piece = 'opera': templates exist for animated shot"),
    ({"zone": "Mars/Olympus"}, r"^zone = 'Mars/Olympus'"),
    ({"week": []}, "no evening is left between the announcement"),
    ({"week": [{"day": "tue", "start": "20:30", "hours": 25}]}, r"^week\[0\]\.hours = 25: must be at most 24"),
    (
        {"lock": {"on": "2027-11-15"}},
        r"^gates\[0\] = 2027-11-15: the lock must come before the deadline \(.*2027.* your time\)",
    ),
    ({"lock": {"on": "2027-09-20"}}, "no evening lies before the lock"),
    ({"lock": {"on": "2027-02-30"}}, r"^gates\[0\]\.on = '2027-02-30': there is no such day"),
    (
        {"deadline": {"at": "9999-12-31T23:59", "zone": "UTC"}},
        r"^gates\[1\]\.at = 9999-12-31: is more than 5 years after",
    ),
    ({"deadline": {"on": "2027-11-10", "zone": "Mars/Olympus"}}, r"^gates\[1\]\.zone = 'Mars/Olympus'"),
    ({"title": ""}, r"^title = '': must not be empty"),
    ({"bedtime": "late"}, r"^bedtime = 'late': a time of day is written HH:MM"),
]


@pytest.mark.parametrize(("keys", "words"), REFUSED)
def test_refused(keys: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        make(**{"piece": "motion loop", **keys})
