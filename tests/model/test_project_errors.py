# SPDX-License-Identifier: GPL-3.0-or-later
"""Every error of the file contract (design.md, section 4): one sentence that names place, value and rule."""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nightplan.model.errors import BadInput, NightplanError, shorten
from nightplan.model.parse import project_from_raw, project_to_raw


def raw_contract() -> dict[str, Any]:
    """The example of design.md, section 4, with the items that its job names."""
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Moth and Lantern",
        "piece": "animated shot",
        "zone": "Europe/Lisbon",
        "announced": "2027-09-20",
        "target_odds": 0.8,
        "correlation": 0.3,
        "switching_minutes": 0,
        "gates": [
            {"id": "lock", "name": "Personal lock", "on": "2027-10-24"},
            {
                "id": "deadline",
                "name": "Hand-in",
                "at": "2027-10-31T23:59",
                "zone": "America/Los_Angeles",
                "wording": "Oct 31, 11:59 pm PT",
            },
        ],
        "week": [
            {"day": "mon", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "sat", "start": "14:00", "hours": 4, "chance": 0.5},
        ],
        "off": [{"from": "2027-10-04", "to": "2027-10-08", "why": "work trip"}],
        "extra": [{"on": "2027-10-10", "start": "10:00", "hours": 5, "chance": 0.9}],
        "stages": [
            {
                "id": "reference",
                "name": "Reference",
                "gate": "lock",
                "after": [],
                "items": [
                    {
                        "id": "ref-boards",
                        "name": "Boards",
                        "tier": "primary",
                        "likely": 2,
                        "high": 3.5,
                        "low": None,
                        "after": [],
                        "state": "open",
                    }
                ],
            },
            {
                "id": "polish",
                "name": "Polish",
                "gate": "lock",
                "after": ["reference"],
                "items": [
                    {"id": "polish-pass", "name": "Polish pass", "likely": 3, "high": 5},
                    {"id": "cut", "name": "Cut", "likely": 1, "high": 2, "after": ["polish-pass"]},
                ],
            },
        ],
        "jobs": [
            {
                "id": "final-render",
                "name": "Final render",
                "kind": "render",
                "after": ["polish-pass"],
                "before": ["cut"],
                "gate": "lock",
                "machine": "desk",
                "frames": 192,
                "minutes_per_frame": {"likely": 3.5, "high": 6},
                "fail_chance": 0.1,
            }
        ],
        "deliverables": [],
        "assets": [],
        "log": [
            {
                "evening": "2027-09-20",
                "happened": True,
                "hours": 2.5,
                "work": [{"item": "ref-boards", "hours": 2.5, "done": False, "left": {"likely": 1, "high": 2}}],
                "note": "",
                "captures": [],
            }
        ],
        "baselines": [],
        "forecasts": [],
    }


def at(raw: Any, place: str) -> tuple[Any, Any]:
    """The container and the last key of a place such as ``stages[0].items[1].high``."""
    keys: list[Any] = [int(n) if n else name for name, n in re.findall(r"([A-Za-z_]+)|\[(\d+)\]", place)]
    for key in keys[:-1]:
        raw = raw[key]
    return raw, keys[-1]


def change(place: str, value: Any) -> Callable[[dict[str, Any]], None]:
    def do(raw: dict[str, Any]) -> None:
        container, key = at(raw, place)
        container[key] = value

    return do


def drop(place: str) -> Callable[[dict[str, Any]], None]:
    def do(raw: dict[str, Any]) -> None:
        container, key = at(raw, place)
        del container[key]

    return do


def both(*changes: Callable[[dict[str, Any]], None]) -> Callable[[dict[str, Any]], None]:
    def do(raw: dict[str, Any]) -> None:
        for one in changes:
            one(raw)

    return do


ITEM = "stages[0].items[0]"
#: name -> what is done to the file, and the sentence that must come of it (a regular expression, whole)
FAULTS: dict[str, tuple[Callable[[dict[str, Any]], None], str]] = {
    # ids are unique
    "item id twice": (
        change("stages[1].items[0].id", "ref-boards"),
        r"stages\[1\]\.items\[0\]\.id = 'ref-boards': .*stages\[0\]\.items\[0\]\.id has it already",
    ),
    "item id like a stage's": (change(f"{ITEM}.id", "polish"), r"stages\[1\]\.id = 'polish': an id is used once.*"),
    "job id like an item's": (change("jobs[0].id", "cut"), r"jobs\[0\]\.id = 'cut': an id is used once.*"),
    "gate id twice": (
        lambda raw: raw["gates"].append({"id": "lock", "name": "Again", "on": "2027-10-20"}),
        r"gates\[2\]\.id = 'lock': an id is used once, and gates\[0\]\.id has it already",
    ),
    "evening logged twice": (
        lambda raw: raw["log"].append({"evening": "2027-09-20"}),
        r"log\[1\]\.evening = 2027-09-20: an evening is logged once.*",
    ),
    "item twice in one entry": (
        lambda raw: raw["log"][0]["work"].append({"item": "ref-boards"}),
        r"log\[0\]\.work.*: names the item ref-boards twice",
    ),
    # a cycle
    "item waits for itself": (
        change(f"{ITEM}.after", ["ref-boards"]),
        r"stages\[0\]\.items\[0\]\.after: .*circle: ref-boards -> ref-boards",
    ),
    "two items in a circle": (
        change("stages[1].items[0].after", ["cut"]),
        r"stages\[1\]\.items\[\d\]\.after: .* in a circle: (cut -> )?polish-pass -> cut( -> polish-pass)?",
    ),
    "stages in a circle": (
        change("stages[0].after", ["polish"]),
        r"stages\[\d\]\.after: these wait for each other in a circle: .*",
    ),
    "empty stages in a circle": (
        lambda raw: raw["stages"].extend(
            [{"id": "one", "name": "One", "after": ["two"]}, {"id": "two", "name": "Two", "after": ["one"]}]
        ),
        r"stages\[\d\]\.after: these wait for each other in a circle: .*",
    ),
    "a circle through a job": (
        change("jobs[0].before", ["polish-pass"]),
        r"(stages\[1\]\.items\[0\]|jobs\[0\])\.after: these wait for each other in a circle: .*final-render.*",
    ),
    # a dangling id
    "item after nothing": (
        change(f"{ITEM}.after", ["nowhere"]),
        r"stages\[0\]\.items\[0\]\.after\[0\] = 'nowhere': names no stage, item or job of this project",
    ),
    "stage after nothing": (change("stages[0].after", ["x"]), r"stages\[0\]\.after\[0\] = 'x': names no .*"),
    "job after nothing": (change("jobs[0].after", ["x"]), r"jobs\[0\]\.after\[0\] = 'x': names no .*"),
    "job before nothing": (change("jobs[0].before", ["x"]), r"jobs\[0\]\.before\[0\] = 'x': names no .*"),
    "stage of no gate": (
        change("stages[0].gate", "party"),
        r"stages\[0\]\.gate = 'party': names no gate; there are deadline, lock",
    ),
    "job of no gate": (change("jobs[0].gate", "party"), r"jobs\[0\]\.gate = 'party': names no gate; .*"),
    "work on no item": (
        change("log[0].work[0].item", "x"),
        r"log\[0\]\.work\[0\]\.item = 'x': names no item of this project",
    ),
    "no such job done": (change("log[0].jobs_done", ["x"]), r"log\[0\]\.jobs_done\[0\] = 'x': names no job.*"),
    "no lock": (change("gates[0].id", "early"), r"gates: a gate with the id 'lock' is needed"),
    "no deadline": (change("gates[1].id", "late"), r"gates: a gate with the id 'deadline' is needed"),
    # a negative number, NaN
    "negative likely": (change(f"{ITEM}.likely", -2), r"stages\[0\]\.items\[0\]\.likely = -2.*: must be at least 0"),
    "negative high": (change(f"{ITEM}.high", -1), r"stages\[0\]\.items\[0\]\.high = -1.*: must be at least 0"),
    "negative low": (change(f"{ITEM}.low", -1), r"stages\[0\]\.items\[0\]\.low = -1.*: must be at least 0"),
    "negative hours": (change("week[0].hours", -1), r"week\[0\]\.hours = -1.*: must be above 0"),
    "no hours": (change("extra[0].hours", 0), r"extra\[0\]\.hours = 0.*: must be above 0"),
    "more than a day": (change("week[0].hours", 25), r"week\[0\]\.hours = 25.*: must be at most 24"),
    "negative frames": (change("jobs[0].frames", -3), r"jobs\[0\]\.frames = -3: must be at least 1"),
    "half a frame": (change("jobs[0].frames", 1.5), r"jobs\[0\]\.frames = 1\.5: must be a whole number"),
    "negative log hours": (change("log[0].hours", -1), r"log\[0\]\.hours = -1.*: must be at least 0"),
    "negative switching": (change("switching_minutes", -1), r"switching_minutes = -1.*: must be at least 0"),
    "NaN likely": (
        change(f"{ITEM}.likely", math.nan),
        r"stages\[0\]\.items\[0\]\.likely = nan: must be a finite number",
    ),
    "NaN chance": (change("week[0].chance", math.nan), r"week\[0\]\.chance = nan: must be a finite number"),
    "infinite high": (
        change(f"{ITEM}.high", math.inf),
        r"stages\[0\]\.items\[0\]\.high = inf: must be a finite number",
    ),
    "NaN minutes": (
        change("jobs[0].minutes_per_frame", {"likely": math.nan, "high": 2}),
        r"jobs\[0\]\.minutes_per_frame\.likely = nan: must be a finite number",
    ),
    "NaN correlation": (change("correlation", math.nan), r"correlation = nan: must be a finite number"),
    "chance above 1": (change("week[0].chance", 1.5), r"week\[0\]\.chance = 1\.5: must be at most 1"),
    "correlation of 1": (change("correlation", 1), r"correlation = 1.*: must be below 1"),
    "certain target": (change("target_odds", 1), r"target_odds = 1.*: must be below 1"),
    "always failing": (change("jobs[0].fail_chance", 1), r"jobs\[0\]\.fail_chance = 1.*: must be at most 0\.95"),
    # high < likely
    "high below likely": (
        change(f"{ITEM}.high", 1.0),
        r"stages\[0\]\.items\[0\]\.high = 1\.0: must be at least likely \(2\.0\)",
    ),
    "low above likely": (
        change(f"{ITEM}.low", 3),
        r"stages\[0\]\.items\[0\]\.low = 3.*: must be at most likely \(2\.0\)",
    ),
    "likely 0 but high above": (
        change(f"{ITEM}.likely", 0),
        r"stages\[0\]\.items\[0\]\.likely = 0.*: must be above 0.*",
    ),
    "frame high below likely": (
        change("jobs[0].minutes_per_frame", {"likely": 3, "high": 2}),
        r"jobs\[0\]\.minutes_per_frame\.high = 2.*: must be at least likely \(3\.0\)",
    ),
    "left high below likely": (
        change("log[0].work[0].left", {"likely": 3, "high": 2}),
        r"log\[0\]\.work\[0\]\.left\.high = 2.*: must be at least likely \(3\.0\)",
    ),
    # an impossible date or time
    "no such day": (
        change("announced", "2027-02-30"),
        r"announced = '2027-02-30': there is no such day in the calendar",
    ),
    "not a leap year": (change("gates[0].on", "2027-02-29"), r"gates\[0\]\.on = '2027-02-29': there is no such day.*"),
    "a date by words": (change("extra[0].on", "next Sunday"), r"extra\[0\]\.on = 'next Sunday': a date is written .*"),
    "a date as a number": (change("announced", 20270920), r"announced = 20270920: a date is written as text.*"),
    "no such moment": (change("gates[1].at", "2027-10-31T25:00"), r"gates\[1\]\.at = '2027-10-31T25:00': .*"),
    "an offset in the moment": (
        change("gates[1].at", "2027-10-31T23:59-08:00"),
        r"gates\[1\]\.at = '2027-10-31T23:59-08:00': a moment is written .* without an offset.*",
    ),
    "no such time": (change("week[0].start", "24:30"), r"week\[0\]\.start = '24:30': a time of day runs .*"),
    "a time by words": (change("week[0].start", "8pm"), r"week\[0\]\.start = '8pm': a time of day is written HH:MM.*"),
    "no such weekday": (change("week[0].day", "monday"), r"week\[0\]\.day = 'monday': must be 'mon', .*"),
    "days off backwards": (
        change("off[0].to", "2027-10-01"),
        r"off\[0\]\.to = '2027-10-01': must not be before from.*",
    ),
    "off from no such day": (change("off[0].from", "2027-13-01"), r"off\[0\]\.from = '2027-13-01': .*no such day.*"),
    "gate in the year 9999": (
        change("gates[0].on", "9999-12-31"),
        r"gates\[0\]\.on = 9999-12-31: is more than 5 years after the announcement.*",
    ),
    "gate before the announcement": (
        change("gates[0].on", "2027-08-01"),
        r"gates\[0\]\.on = 2027-08-01: is before the announcement.*",
    ),
    "announced in the year 1": (change("announced", "0001-01-01"), r"announced = 0001-01-01: a year from 1990 .*"),
    "logged on no such day": (change("log[0].evening", "2027-09-31"), r"log\[0\]\.evening = '2027-09-31': .*"),
    # missing and wrong kinds
    "no title": (drop("title"), r"title: is missing and is needed"),
    "no zone": (drop("zone"), r"zone: is missing and is needed"),
    "no gates": (drop("gates"), r"gates: is missing and is needed"),
    "no high": (drop(f"{ITEM}.high"), r"stages\[0\]\.items\[0\]\.high: is missing and is needed"),
    "likely as text": (change(f"{ITEM}.likely", "2"), r"stages\[0\]\.items\[0\]\.likely = '2': must be a number"),
    "likely as true": (change(f"{ITEM}.likely", True), r"stages\[0\]\.items\[0\]\.likely = True: must be a number"),
    "likely as null": (change(f"{ITEM}.likely", None), r"stages\[0\]\.items\[0\]\.likely = None: must be a number"),
    "stages as object": (change("stages", {}), r"stages: must be a list"),
    "item as number": (change(ITEM, 3), r"stages\[0\]\.items\[0\] = 3: must be an object"),
    "title as number": (change("title", 3), r"title = 3: must be text"),
    "empty title": (change("title", ""), r"title = '': must not be empty"),
    "unknown tier": (
        change(f"{ITEM}.tier", "fourth"),
        r"stages\[0\]\.items\[0\]\.tier = 'fourth': must be 'primary'.*",
    ),
    "unknown state": (change(f"{ITEM}.state", "half"), r"stages\[0\]\.items\[0\]\.state = 'half': must be 'open'.*"),
    "an id with blanks": (change(f"{ITEM}.id", "ref boards"), r"stages\[0\]\.items\[0\]\.id = 'ref boards': an id .*"),
    "a gate in two forms": (change("gates[0].at", "2027-10-24T20:00"), r"gates\[0\]: a gate has either on .*"),
    "a gate in no form": (drop("gates[0].on"), r"gates\[0\]: a gate has either on .*"),
    "a job with two measures": (change("jobs[0].hours", 3), r"jobs\[0\]: a job has exactly one measure.*"),
    "a job with no measure": (
        both(drop("jobs[0].frames"), drop("jobs[0].minutes_per_frame")),
        r"jobs\[0\]: a job has exactly one measure.*",
    ),
    "frames without minutes": (drop("jobs[0].minutes_per_frame"), r"jobs\[0\]: frames and minutes_per_frame go .*"),
    "a line without speed": (
        both(
            drop("jobs[0].frames"),
            drop("jobs[0].minutes_per_frame"),
            change("jobs[0].gigabytes", 4),
            change("jobs[0].megabits_per_second", 0),
        ),
        r"jobs\[0\]\.megabits_per_second = .*: must be above 0",
    ),
    "more work than hours": (
        change("log[0].hours", 1),
        r"log\[0\]\.hours = 1.*: must be at least the hours of its work \(2\.5\)",
    ),
    "missed with hours": (
        both(change("log[0].happened", False), change("log[0].work", [])),
        r"log\[0\]\.hours = 2\.5: must be 0 for an evening that did not happen",
    ),
    # version and format
    "newer version": (change("version", 2), r"version = 2: this file is from a newer nightplan; .* up to version 1"),
    "version 0": (change("version", 0), r"version = 0: must be 1"),
    "another format": (change("format", "other"), r"format = 'other': a project file says 'nightplan' here"),
    "no format": (drop("format"), r"format = None: a project file says 'nightplan' here"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_names_its_place(name: str) -> None:
    # source: design.md, section 4
    spoil, sentence = FAULTS[name]
    raw = raw_contract()
    spoil(raw)
    before = copy.deepcopy(raw)
    with pytest.raises(BadInput) as caught:
        project_from_raw(raw)
    found = caught.value.sentence
    assert re.fullmatch(sentence, found), found
    assert "\n" not in found
    assert len(found) < 400
    assert str(caught.value) == found
    # the input is never written to (NaN is not equal to itself, hence the text)
    assert repr(raw) == repr(before)


def test_the_contract_itself_is_accepted() -> None:
    project = project_from_raw(raw_contract())
    assert project.items["ref-boards"].high == 3.5
    assert project.predecessors["cut"] == {"polish-pass", "final-render", "ref-boards"}
    assert project_from_raw(project_to_raw(project)) == project


def test_further_faults_are_told_as_well() -> None:
    raw = raw_contract()
    raw["stages"][0]["items"][0]["likely"] = -1
    raw["week"][0]["hours"] = 0
    with pytest.raises(BadInput) as caught:
        project_from_raw(raw)
    told = " ".join((caught.value.sentence, *caught.value.more))
    assert "stages[0].items[0].likely" in told
    assert "week[0].hours" in told


@pytest.mark.parametrize("raw", [None, 3, "text", [], [1, 2], True, 1.5])
def test_anything_but_an_object(raw: Any) -> None:
    with pytest.raises(BadInput, match="a project is a JSON object"):
        project_from_raw(raw)


def test_long_values_are_shortened() -> None:
    raw = raw_contract()
    raw["stages"][0]["items"][0]["tier"] = "x" * 1_000_000
    with pytest.raises(BadInput) as caught:
        project_from_raw(raw)
    assert len(caught.value.sentence) < 200
    assert len(shorten("y" * 1_000_000)) <= 60


def test_too_many_items() -> None:
    raw = raw_contract()
    raw["stages"][0]["items"] = [{"id": f"i{n}", "name": "n", "likely": 1, "high": 1} for n in range(2_001)]
    raw["log"] = []
    with pytest.raises(BadInput, match=r"stages: 2003 items, at most 1000 are accepted"):
        project_from_raw(raw)


def test_deep_nesting_is_one_sentence() -> None:
    raw = raw_contract()
    deep: Any = []
    for _ in range(100_000):
        deep = [deep]
    raw["assets"] = [deep]
    with pytest.raises(BadInput) as caught:
        project_from_raw(raw)
    assert "\n" not in caught.value.sentence


#: JSON values of every kind
values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


def _places(raw: Any, place: str = "") -> list[str]:
    found = []
    if isinstance(raw, dict):
        for key, value in raw.items():
            here = f"{place}.{key}" if place else key
            found += [here, *_places(value, here)]
    elif isinstance(raw, list):
        for n, value in enumerate(raw):
            here = f"{place}[{n}]"
            found += [here, *_places(value, here)]
    return found


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(place=st.sampled_from(_places(raw_contract())), value=values)
def test_any_value_anywhere_is_accepted_or_refused_in_one_sentence(place: str, value: Any) -> None:
    raw = raw_contract()
    change(place, value)(raw)
    try:
        project = project_from_raw(raw)
    except NightplanError as error:
        told = str(error)
    else:
        told = "accepted"
        assert project_from_raw(project_to_raw(project)) == project
    assert told
    assert "\n" not in told


def test_numbers_that_json_does_not_have_are_refused_also_deep_inside() -> None:
    raw = raw_contract()
    raw["assets"] = [{"title": "Sky", "more": [1, {"x": float("inf")}]}]
    with pytest.raises(BadInput, match=r"assets\[0\].*finite numbers"):
        project_from_raw(raw)
