# SPDX-License-Identifier: GPL-3.0-or-later
"""How much a project may hold: one more than the limit is refused by name. The limits are ours, no source."""

from __future__ import annotations

from typing import Any

import pytest
from bare_project import bare

from nightplan.model.check import MAX_ENTRIES, MAX_ITEMS
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw

DATES = [f"{y}-{m:02}-{d:02}" for y in range(2000, 2040) for m in range(1, 13) for d in range(1, 29)]


def raw_with(key: str, count: int) -> dict[str, Any]:
    raw = bare()
    entry = {
        "gates": lambda n: {"id": f"g{n}", "name": "g", "on": "2027-10-01"},
        "week": lambda n: {"day": "mon", "start": "20:00", "hours": 1},
        "off": lambda n: {"from": DATES[n], "to": DATES[n]},
        "extra": lambda n: {"on": DATES[n], "start": "20:00", "hours": 1},
        "busy": lambda n: {"from": "2027-09-01T10:00", "to": "2027-09-01T11:00"},
        "changes": lambda n: {"on": DATES[n]},
        "stages": lambda n: {"id": f"s{n}", "name": "s"},
        "jobs": lambda n: {"id": f"j{n}", "name": "j", "kind": "render", "hours": 1},
        "machines": lambda n: {"name": f"m{n}"},
        "log": lambda n: {"evening": DATES[n]},
        "baselines": lambda n: {"on": DATES[n]},
        "forecasts": lambda n: {"as_of": DATES[n], "futures": 1, "seed": 1},
        "silenced": lambda n: f"k{n}",
    }.get(key, lambda n: {})
    raw[key] = [*(raw[key] if key == "gates" else []), *(entry(n) for n in range(count))]
    return raw


@pytest.mark.parametrize("key", sorted(MAX_ENTRIES))
def test_one_more_than_the_limit_is_refused_by_name(key: str) -> None:
    with pytest.raises(BadInput, match=rf"^{key}: {MAX_ENTRIES[key] + 1} \w+, at most {MAX_ENTRIES[key]} are accepted"):
        project_from_raw(raw_with(key, MAX_ENTRIES[key] + 1 - (2 if key == "gates" else 0)))


@pytest.mark.parametrize("key", ["gates", "stages", "jobs", "machines", "log"])
def test_as_many_as_the_limit_are_accepted(key: str) -> None:
    made = project_from_raw(raw_with(key, MAX_ENTRIES[key] - (2 if key == "gates" else 0)))
    assert len(getattr(made, key)) == MAX_ENTRIES[key]


def test_items_count_over_all_stages() -> None:
    raw = raw_with("stages", 2)
    for s, stage in enumerate(raw["stages"]):
        stage["items"] = [{"id": f"i{s}-{n}", "name": "i", "likely": 1, "high": 1} for n in range(MAX_ITEMS // 2 + 1)]
    with pytest.raises(BadInput, match=f"{MAX_ITEMS + 2} items"):
        project_from_raw(raw)


def test_a_file_full_of_faults_is_told_of_in_one_sentence_and_few_more() -> None:
    raw = raw_with("log", 1)
    raw["log"][0]["work"] = [1] * 50_000
    with pytest.raises(BadInput, match=r"^log\[0\].work\[0\] = 1: must be an object$") as caught:
        project_from_raw(raw)
    assert len(caught.value.more) < 1_000


def test_faults_that_come_late_are_counted() -> None:
    raw = raw_with("log", 1)
    good = [{"item": f"a{n}", "hours": 0} for n in range(500)]
    raw["log"][0]["work"] = good + [1] * 5_000
    with pytest.raises(BadInput, match=r"^5000 values of the file break the rules of a project$"):
        project_from_raw(raw)
