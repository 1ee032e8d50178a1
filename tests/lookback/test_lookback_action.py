# SPDX-License-Identifier: GPL-3.0-or-later
"""Proposals from history, accepted one by one; the three questions. Common practice, no source, unless named."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from library_cases import by_hand

from nightplan.actions.edit import change_item
from nightplan.actions.lookback import accept, answers, file_answers, is_over, notes, proposals
from nightplan.engine.lookback import Prior, evening_look, stage_looks
from nightplan.files.library_facts import extract
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project
from nightplan.model.results_lookback import EveningFact, Facts, ItemFact, SwitchFact

ON = dt.date(2027, 1, 4)


def fresh(**changes: object) -> Project:
    """Nothing logged yet: Rig 2.5 h (4 h), Light 1 h (2 h); Mondays and Thursdays sure, Saturdays maybe."""
    raw = by_hand(log=[], baselines=[], forecasts=[], **changes)
    for stage in raw["stages"]:
        stage["items"][0]["state"] = "open"
    return project_from_raw(raw)


def history(items: int = 30, ratio: float = 2.0) -> Facts:
    rows = tuple(ItemFact(n, "rig", 2.0, 3.4, 2.0, 2.0 * ratio * (1.2 if n % 2 else 1 / 1.2)) for n in range(items))
    return Facts(items=rows, evenings=(EveningFact(0, True, 40, 20, 3, 0.9),))


def test_nothing_to_learn_from_proposes_nothing() -> None:
    assert proposals(fresh(), Facts()) == ()


def test_each_proposal_says_before_after_and_why_and_changes_nothing() -> None:
    project = fresh()
    raw = project_to_raw(project)
    found = proposals(project, history())
    assert project_to_raw(project) == raw
    assert [p.id for p in found] == [
        "estimate:rig-stage",
        "spread:rig-stage",
        "estimate:light-stage",
        "spread:light-stage",
        "evening:mon:20:00",
        "evening:thu:20:00",
    ]
    rig = found[0]
    factor = stage_looks(history(), ["Rig"], Prior())["Rig"].factor.value
    assert rig.before == "Rig 2.5 h (high 4 h)"
    assert rig.after == f"Rig {round(2.5 * factor, 2):g} h (high {round(4 * factor, 2):g} h)"
    assert "30 items in 30 projects took" in rig.reason
    assert not rig.weak
    light = found[2]
    assert light.weak
    assert "No finished item in this stage yet" in light.reason
    monday, thursday = found[4:]
    assert "20 of 40 sure Monday evenings happened" in monday.reason
    assert "Never ticked off, and so counted as not happened: 3." in monday.reason
    assert "no longer leans on it" in monday.reason
    assert "No sure Thursday yet" in thursday.reason


def test_few_data_shrink_to_the_prior_and_say_so() -> None:
    one = proposals(fresh(), history(1, 4.0))[0]
    many = proposals(fresh(), history(200, 4.0))[0]
    assert one.values["factor"] < many.values["factor"]
    # one item of four, the prior counting as three: ln(4/1.2)/4
    assert one.values["factor"] == pytest.approx(math.exp(math.log(4 / 1.2) / 4), abs=1e-4)
    assert one.weak
    assert "Few data: 75 % of this is the starting assumption." in one.reason
    assert "Few data" not in many.reason


def test_accepting_one_changes_that_one_and_is_remembered() -> None:
    project = fresh()
    found = {p.id: p for p in proposals(project, history())}
    new = accept(project, found["estimate:rig-stage"], ON)
    assert new.items["light"] == project.items["light"]
    assert new.week == project.week
    factor = found["estimate:rig-stage"].values["factor"]
    assert (new.items["rig"].likely, new.items["rig"].high) == (round(2.5 * factor, 2), round(4 * factor, 2))
    # never twice
    assert "estimate:rig-stage" not in {p.id for p in proposals(new, history())}
    with pytest.raises(BadInput, match="no item left"):
        accept(new, found["estimate:rig-stage"], ON)
    assert project_from_raw(project_to_raw(new)) == new


def test_estimate_and_spread_may_be_accepted_in_any_order() -> None:
    project = fresh()
    found = {p.id: p for p in proposals(project, history())}
    a, b = found["estimate:rig-stage"], found["spread:rig-stage"]
    one, two = accept(accept(project, a, ON), b, ON), accept(accept(project, b, ON), a, ON)
    assert one.items["rig"].likely == two.items["rig"].likely
    assert one.items["rig"].high == pytest.approx(two.items["rig"].high, abs=0.03)
    # together they are the 90th percentile of the next item, of Student's t
    assert one.items["rig"].high == pytest.approx(2.5 * stage_looks(history(), ["Rig"])["Rig"].high_factor, abs=0.03)


def test_an_evening_gets_the_learned_chance() -> None:
    project = fresh()
    monday = next(p for p in proposals(project, history()) if p.id == "evening:mon:20:00")
    new = accept(project, monday, ON)
    wanted = evening_look(history().evenings, True, 0, Prior(), 0.9).chance.value
    assert [w.chance for w in new.week] == [round(wanted, 2), 0.9, 0.5]
    assert "evening:mon:20:00" not in {p.id for p in proposals(new, history())}
    with pytest.raises(BadInput, match="week has changed"):
        accept(new, monday, ON)


def test_history_knows_the_own_estimate_and_the_own_promise_afterwards() -> None:
    project = fresh()
    for proposal in proposals(project, history()):
        project = accept(project, proposal, ON)
    raw = by_hand(baselines=[], lookback=project_to_raw(project)["lookback"])
    raw["stages"] = project_to_raw(project)["stages"]
    raw["week"] = project_to_raw(project)["week"]
    for stage in raw["stages"]:
        stage["items"][0]["state"] = "done"
    row = extract(raw)
    assert [i[3] for i in row.items] == pytest.approx([2.5, 1.0], abs=0.01)
    assert [(r[0], r[1], round(r[5] / r[2], 3)) for r in row.evenings] == [(0, 1, 0.9), (3, 1, 0.9), (5, 0, 0.5)]


def test_what_is_pinned_begun_cut_or_certain_is_left_alone() -> None:
    facts = history()
    pinned = change_item(fresh(), "rig", pinned=True)
    assert "estimate:rig-stage" not in {p.id for p in proposals(pinned, facts)}
    begun = project_from_raw({**project_to_raw(fresh()), "log": by_hand()["log"][:1]})
    assert "estimate:rig-stage" not in {p.id for p in proposals(begun, facts)}
    cut = change_item(fresh(), "rig", state="cut")
    assert "estimate:rig-stage" not in {p.id for p in proposals(cut, facts)}
    certain = change_item(fresh(), "rig", high=2.5)
    found = {p.id: p for p in proposals(certain, facts)}
    assert "spread:rig-stage" not in found
    assert accept(certain, found["estimate:rig-stage"], ON).items["rig"].high > 2.5
    three = change_item(fresh(), "rig", low=2.0)
    new = accept(three, next(p for p in proposals(three, facts) if p.id == "estimate:rig-stage"), ON)
    assert new.items["rig"].low == pytest.approx(2.0 * new.items["rig"].likely / 2.5, abs=0.02)


def test_switching_is_proposed_where_the_log_tells_it() -> None:
    # 40 evenings, x alternating 0 and 1, y 15 minutes at each switch, give or take
    sums = SwitchFact(40, 20, 310.0, 20, 310.0, 4900.0)
    found = [p for p in proposals(fresh(), Facts(switching=sums)) if p.kind == "switching"]
    assert [(p.before, p.after) for p in found] == [("0 min", "16 min")]
    assert accept(fresh(), found[0], ON).switching_minutes == 16


def test_the_three_answers_are_filed_and_taken_back() -> None:
    project = fresh()
    assert answers(project) == {}
    one = file_answers(project, ON, {"overran": " the rig ", "again": "the storm"})
    assert answers(one) == {"overran": "the rig", "again": "the storm"}
    back = project_from_raw(project_to_raw(one))
    assert answers(back) == answers(one)
    two = file_answers(one, ON, {"overran": ""})
    assert answers(two) == {"again": "the storm"}
    assert file_answers(two, ON, {}) is two
    none = file_answers(two, ON, {"again": ""})
    assert "lookback" not in project_to_raw(none)
    with pytest.raises(BadInput, match="the questions are"):
        file_answers(project, ON, {"mood": "good"})
    with pytest.raises(BadInput, match="at most 5000"):
        file_answers(project, ON, {"again": "x" * 5001})


def test_answers_and_accepted_proposals_live_beside_each_other() -> None:
    project = file_answers(fresh(), ON, {"again": "yes"})
    project = accept(project, proposals(project, history())[0], ON)
    assert answers(project) == {"again": "yes"}
    assert len(notes(file_answers(project, ON, {"again": ""}))["applied"]) == 1


@pytest.mark.parametrize(
    "odd", ["text", 3, [], {"applied": "x", "answers": 7}, {"applied": [1], "answers": {"again": 3}}]
)
def test_a_strange_key_in_the_file_does_no_harm(odd: object) -> None:
    project = fresh(lookback=odd)
    assert answers(project) == {}
    new = accept(project, proposals(project, history())[0], ON)
    assert len(notes(new)["applied"]) == 1


def test_when_a_project_is_over() -> None:
    done = project_from_raw(by_hand())
    assert is_over(done, dt.date(2027, 1, 18))
    assert not is_over(fresh(), ON)
    assert is_over(fresh(), dt.date(2027, 1, 19))
