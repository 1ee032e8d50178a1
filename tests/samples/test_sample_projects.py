# SPDX-License-Identifier: GPL-3.0-or-later
"""The sample projects: each is a valid project and shows what it is there to show.

What a sample has to show is common practice, no source; the dates on which clocks change are those
of the tz database (European Union: last Sunday of March and October; United States: first Sunday of
November; Victoria: first Sunday of April).
"""

from __future__ import annotations

import datetime as dt
import json
import re
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from nightplan.actions.assets import look_at_licences
from nightplan.actions.journal import asked_by_brief
from nightplan.brief.assets import held
from nightplan.brief.hold import wanted_words
from nightplan.brief.rules import deliverables_of, deliverables_to_raw
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.evenings.dated import calendar
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import PLANNED_CHANCE, Project

FOLDER = Path(__file__).parents[2] / "sample_projects"
NAMES = ("clockwork-heron", "moth-and-lantern", "still-harbour", "tin-parade-loop")


def raw(name: str) -> Any:
    return json.loads((FOLDER / f"{name}.nightplan").read_text(encoding="utf-8"))


def sample(name: str) -> Project:
    return project_from_raw(raw(name))


def texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [t for v in value.values() for t in texts(v)]
    return [t for v in value for t in texts(v)] if isinstance(value, list) else []


def test_the_folder_holds_these_samples_and_nothing_else() -> None:
    assert sorted(p.name for p in FOLDER.iterdir()) == [f"{n}.nightplan" for n in NAMES]


@pytest.mark.parametrize("name", NAMES)
def test_saving_an_untouched_sample_changes_nothing(name: str) -> None:
    assert project_to_raw(sample(name)) == raw(name)
    assert sample(name).unknown == {}


@pytest.mark.parametrize("name", NAMES)
def test_no_address_of_the_outside(name: str) -> None:
    for text in texts(raw(name)):
        assert not re.search(r"https?:|www\.|\.(com|org|net|io)\b|@|[#™®©]", text), text


@pytest.mark.parametrize("name", NAMES)
def test_evenings_can_be_dated_and_end_before_bedtime(name: str) -> None:
    project = sample(name)
    assert project.bedtime is not None
    for evening in calendar(project).evenings:
        bed = dt.datetime.combine(evening.date, project.bedtime)
        if project.bedtime < dt.time(12):
            bed += dt.timedelta(days=1)
        end = dt.datetime.combine(evening.date, evening.start) + dt.timedelta(hours=evening.hours)
        assert end <= bed


@pytest.mark.parametrize("name", NAMES)
def test_lock_comes_before_the_deadline_with_evenings_for_the_rest(name: str) -> None:
    days = calendar(sample(name))
    lock, deadline = days.gate("lock"), days.gate("deadline")
    assert lock.instant < deadline.instant
    between = [e for e in days.evenings if lock.instant <= e.start_at < deadline.instant]
    assert between


@pytest.mark.parametrize("name", NAMES)
def test_the_work_looks_like_the_trade(name: str) -> None:
    project = sample(name)
    items = list(project.items.values())
    assert 12 <= len(items) <= 18
    assert {i.tier for i in items} == {"primary", "secondary", "tertiary"}
    assert {"chain-test", "critique", "hand-in"} <= {i.role for i in items}
    assert all(i.high > i.likely > 0 for i in items)
    assert any(j.kind == "render" for j in project.jobs)
    maybe = [s.chance < PLANNED_CHANCE for s in project.week]
    assert any(maybe)
    assert not all(maybe)


@pytest.mark.parametrize("name", NAMES)
def test_the_brief_holds_what_rule_sheets_hold_and_changes_no_plan(name: str) -> None:
    project = sample(name)
    deliverables = deliverables_of(project)
    rules = [r for d in deliverables for r in d.rules]
    assert any(d.condition == "always" for d in deliverables)
    # the kinds that rule sheets name most often
    assert {r.kind for r in rules} & {"picture-size", "long-side"}
    assert any(r.kind in ("tick", "declaration") for r in rules)
    assert any(r.wording for r in rules)
    assert any(r.breach for r in rules)
    assert all(wanted_words(r) for r in rules)
    assert deliverables_to_raw(deliverables) == project.deliverables
    assert not held(look_at_licences(project))
    day = max([project.announced, *(e.evening for e in project.log)])
    bare = project.but(deliverables=(), assets=())
    assert plan(project, day) == plan(bare, day)
    few = {"futures": 50, "seed": 1}
    assert [g.odds for g in forecast(project, day, **few).gates] == [g.odds for g in forecast(bare, day, **few).gates]


def test_moth_has_kept_its_blocking_and_still_owes_a_post() -> None:
    asked = {a.kind: a for a in asked_by_brief(sample("moth-and-lantern"))}
    assert (asked["kept-stage"].ticked, asked["progress-post"].ticked) == (True, False)
    assert asked["kept-stage"].note
    frames = [r for d in deliverables_of(sample("moth-and-lantern")) for r in d.rules if r.kind == "frame-count"]
    # the brief asks for the frames that the render makes
    assert [r.value for r in frames] == [j.frames for j in sample("moth-and-lantern").jobs if j.id == "final-render"]


def test_moth_deadline_lies_behind_the_end_of_summer_time_here_and_before_it_there() -> None:
    project = sample("moth-and-lantern")
    gate = project.gates_by_id["deadline"]
    assert gate.wording == "Oct 31, 11:59 pm PT"
    moment = calendar(project).gate("deadline")
    # Los Angeles is still at UTC-7 (until 7 November); Lisbon went to UTC+0 on that very Sunday
    assert moment.instant == dt.datetime(2027, 11, 1, 6, 59, tzinfo=dt.timezone.utc)  # noqa: UP017
    assert moment.local == dt.datetime(2027, 11, 1, 6, 59)
    lisbon = ZoneInfo("Europe/Lisbon")
    assert dt.datetime(2027, 10, 30, 12, tzinfo=lisbon).utcoffset() == dt.timedelta(hours=1)
    assert dt.datetime(2027, 10, 31, 12, tzinfo=lisbon).utcoffset() == dt.timedelta(0)
    # an evening on the day of the change is there to be seen
    assert any(e.on == dt.date(2027, 10, 31) for e in project.extra)


def test_moth_is_half_way_through() -> None:
    project = sample("moth-and-lantern")
    worked = [e for e in project.log if e.happened]
    assert len(worked) == 6
    assert len(project.log) == 7
    assert all(e.note for e in project.log)
    spent = dict.fromkeys(project.items, 0.0)
    for entry in project.log:
        for work in entry.work:
            spent[work.item] += work.hours
    done = {k for k, i in project.items.items() if i.state == "done"}
    assert done == {w.item for e in project.log for w in e.work if w.done}
    assert 0.4 < sum(spent.values()) / (sum(spent.values()) + 16.5) < 0.6
    # the rig ran over, and so does the animation
    assert spent["rig-wings"] > 1.5 * project.items["rig-wings"].likely
    last = project.log[-1].work[-1]
    assert last.item == "spline"
    assert not last.done
    assert last.left is not None
    assert spent["spline"] + last.left.likely > project.items["spline"].likely


def test_moth_has_a_baseline_and_forecasts_that_belong_to_it() -> None:
    project = sample("moth-and-lantern")
    (baseline,) = project.baselines
    assert baseline.on == project.announced
    assert set(baseline.estimates) == set(project.items)
    assert set(baseline.finish) == set(project.items)
    for key, item in project.items.items():
        assert (baseline.estimates[key].likely, baseline.estimates[key].high) == (item.likely, item.high)
    left = list(baseline.burn_down.values())
    assert left == sorted(left, reverse=True)
    assert left[-1] == 0.0
    assert [f.as_of for f in project.forecasts] == [project.announced, *(e.evening for e in project.log)]
    assert all(set(f.odds) == {"lock", "deadline"} for f in project.forecasts)
    assert all(0.5 < f.odds["lock"] < 0.95 for f in project.forecasts)


def test_harbour_stands_on_announcement_day_with_an_unclear_deadline() -> None:
    project = sample("still-harbour")
    assert project.log == project.baselines == project.forecasts == ()
    moment = calendar(project).gate("deadline")
    assert moment.uncertain
    # the end of 11 April at UTC+14
    assert moment.instant == dt.datetime(2027, 4, 11, 10, tzinfo=dt.timezone.utc)  # noqa: UP017
    assert any(i.not_before is not None for i in project.items.values())
    assert any(i.low is not None for i in project.items.values())
    assert project.switching_minutes > 0
    assert "download" in {j.kind for j in project.jobs}


def test_heron_has_a_progress_post_and_a_deadline_that_cuts_an_evening() -> None:
    project = sample("clockwork-heron")
    assert [g.id for g in calendar(project).gates] == ["progress", "lock", "deadline"]
    assert project.gates_by_id["progress"].zone == "+02:00"
    assert project.gates_by_id["deadline"].zone == "UTC"
    cut = [e for e in calendar(project).evenings if e.clipped_by]
    assert [(e.clipped_by, e.hours) for e in cut] == [("deadline", 2.5)]
    assert project.busy
    assert project.changes


def test_tin_parade_is_short_and_works_past_midnight() -> None:
    project = sample("tin-parade-loop")
    days = calendar(project)
    zone = ZoneInfo("Australia/Melbourne")
    assert (days.gate("deadline").local.date() - project.announced).days <= 21
    late = [e for e in days.evenings if e.end_at.astimezone(zone).date() > e.date]
    assert late
    assert days.gate("deadline").local == dt.datetime(2027, 4, 18, 20)


def test_together_they_show_the_rest() -> None:
    projects = [sample(n) for n in NAMES]
    assert any(p.off for p in projects)
    assert any(p.extra for p in projects)
    assert {j.kind for p in projects for j in p.jobs} >= {"render", "simulation", "download", "upload"}
    assert len({p.zone for p in projects}) == len(projects)
