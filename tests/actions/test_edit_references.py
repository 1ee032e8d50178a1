# SPDX-License-Identifier: GPL-3.0-or-later
"""Changes to stages, items, jobs and gates keep every reference whole. The rules are the project's own (no source)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_project import MONDAY, small

from nightplan.actions import edit
from nightplan.actions.tick import Evening, tick
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Gate, Project


def order(project: Project, key: str) -> set[str]:
    """Everything that ``key`` waits for, also by way of others."""
    found: set[str] = set()
    rest = [key]
    while rest:
        new = set(project.predecessors[rest.pop()]) - found
        found |= new
        rest += new
    return found


def test_add_rename_and_estimate() -> None:
    project = edit.add_item(small(), "animate", "Second pass", likely=2, high=4, after=("block",), tier="secondary")
    assert [i.id for i in project.stages[1].items] == ["block", "polish", "second-pass"]
    project = edit.change_item(project, "second-pass", name="Third pass", pinned=True, not_before=dt.date(2027, 10, 1))
    project = edit.set_estimate(project, "second-pass", 3, 5, 1)
    item = project.items["second-pass"]
    assert (item.name, item.likely, item.high, item.low, item.pinned, item.tier) == (
        "Third pass", 3, 5, 1, True, "secondary",
    )  # fmt: skip
    assert item.not_before == dt.date(2027, 10, 1)


def test_an_id_is_made_from_the_name_and_is_new() -> None:
    project = small()
    assert edit.fresh_id(project, "Boards") == "boards-2"
    assert edit.fresh_id(project, "Wind & Wetter!") == "wind-wetter"
    assert edit.fresh_id(project, "蛾") == "item"
    assert edit.fresh_id(edit.add_item(project, "sketch", "蛾"), "蛾") == "item-2"


def test_positions() -> None:
    project = edit.add_item(small(), "sketch", "First", position=0)
    assert [i.id for i in project.stages[0].items] == ["first", "boards", "timing"]
    project = edit.move_item(project, "first", 99)
    assert [i.id for i in project.stages[0].items] == ["boards", "timing", "first"]
    project = edit.move_item(project, "first", -1)
    assert [i.id for i in project.stages[0].items] == ["boards", "first", "timing"]
    project = edit.move_item_to_stage(project, "first", "animate", 1)
    assert [i.id for i in project.stages[1].items] == ["block", "first", "polish"]
    project = edit.move_stage(project, "edit", -2)
    assert [s.id for s in project.stages] == ["edit", "sketch", "animate"]


def test_leave_out_and_bring_back() -> None:
    project = edit.leave_out(small(), ["polish", "cut"])
    assert [i.id for i in project.items.values() if i.state == "cut"] == ["polish", "cut"]
    assert edit.bring_back(project, "polish").items["polish"].state == "open"


def test_removing_an_item_hands_on_what_it_waited_for() -> None:
    project = edit.remove_item(small(), "cut")
    assert "cut" not in project.items
    # what came after the cut still waits for the render and for the stage before
    assert {"render", "polish"} <= order(project, "send")
    project = edit.remove_item(edit.change_item(small(), "send", after=("timing",)), "timing")
    assert project.items["send"].after == ("boards",)


def test_removing_an_item_that_another_stage_waits_for() -> None:
    project = edit.change_stage(small(), "edit", after=("block",))
    project = edit.remove_item(project, "block")
    assert {"boards", "timing"} <= order(project, "cut")


def test_removing_a_stage_hands_on_what_it_waited_for() -> None:
    project = edit.remove_stage(small(), "animate")
    assert project.stages_by_id["edit"].after == ("sketch",)
    assert project.jobs_by_id["render"].after == ("sketch",)
    assert {"boards", "timing", "render"} <= order(project, "cut")


def test_removing_a_job_hands_on_what_it_waited_for() -> None:
    project = edit.change_stage(small(), "edit", after=())
    assert "block" in order(project, "cut")
    project = edit.remove_job(project, "render")
    assert project.jobs == ()
    assert {"block", "polish"} <= order(project, "cut")
    # where the order holds anyway nothing is added
    assert edit.remove_job(small(), "render").items["cut"].after == ()


def test_what_the_log_names_is_not_removed() -> None:
    project = tick(small(), Evening(MONDAY, 2.5, done=("boards", "render")))
    with pytest.raises(BadInput, match="'boards' has hours in the log; leave it out instead"):
        edit.remove_item(project, "boards")
    with pytest.raises(BadInput, match="'boards' has hours in the log"):
        edit.remove_stage(project, "sketch")
    with pytest.raises(BadInput, match="'render' is in the log as done"):
        edit.remove_job(project, "render")


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_removing_anything_keeps_the_order_of_the_rest(data: st.DataObject) -> None:
    project = small()
    for _ in range(data.draw(st.integers(1, 5))):
        things: list[tuple[Callable[[Project, str], Project], str]] = [
            *((edit.remove_item, key) for key in project.items),
            *((edit.remove_stage, stage.id) for stage in project.stages),
            *((edit.remove_job, job.id) for job in project.jobs),
        ]
        if not things:
            break
        remove, key = data.draw(st.sampled_from(things))
        before = {k: order(project, k) for k in project.predecessors}
        project = remove(project, key)
        check_project(project)
        assert project_from_raw(project_to_raw(project)) == project
        for k in project.predecessors:
            assert before[k] & set(project.predecessors) == order(project, k)


def test_jobs() -> None:
    project = edit.add_job(
        small(), "Upload", kind="upload", gigabytes=2, megabits_per_second=16, after=("send",), gate="deadline"
    )
    assert project.jobs_by_id["upload"].kind == "upload"
    project = edit.change_job(project, "render", hours={"likely": 3, "high": 4}, machine="second")
    assert project.jobs_by_id["render"].machine == "second"
    project = edit.put_job(project, {"id": "render", "name": "Render", "frames": 120, "minutes_per_frame": 3})
    assert [j.id for j in project.jobs] == ["render", "upload"]
    assert project.jobs[0].frames == 120
    assert edit.remove_job(project, "upload").jobs == (project.jobs[0],)


def test_gates() -> None:
    project = edit.set_gate(small(), Gate(id="post", name="Progress post", on=dt.date(2027, 10, 1)))
    project = edit.change_stage(project, "sketch", gate="post")
    assert edit.remove_gate(project, "post").stages[0].gate == "lock"


REFUSED: list[tuple[Callable[[Project], Any], str]] = [
    (
        lambda p: edit.set_estimate(p, "block", 3, 2),
        r"^stages\[1\]\.items\[0\]\.high = 2(\.0)?: must be at least likely",
    ),
    (
        lambda p: edit.set_estimate(p, "block", -1, 2),
        r"^stages\[1\]\.items\[0\]\.likely = -1(\.0)?: must be at least 0",
    ),
    (lambda p: edit.set_estimate(p, "block", float("nan"), 2), r"^stages\[1\]\.items\[0\]\.likely = nan: must be"),
    (lambda p: edit.set_estimate(p, "block", 1, float("inf")), r"^stages\[1\]\.items\[0\]\.high = inf: must be"),
    (lambda p: edit.change_item(p, "block", tier="best"), r"^stages\[1\]\.items\[0\]\.tier = 'best': must be"),
    (lambda p: edit.change_item(p, "block", name=""), r"^stages\[1\]\.items\[0\]\.name = '': must not be empty"),
    (
        lambda p: edit.change_item(p, "block", after=("ghost",)),
        r"^stages\[1\]\.items\[0\]\.after\[0\] = 'ghost': names no",
    ),
    (lambda p: edit.change_item(p, "boards", after=("send",)), r"wait for each other in a circle"),
    (lambda p: edit.change_item(p, "ghost", likely=1), r"'ghost' is no item of this project"),
    (lambda p: edit.change_stage(p, "sketch", after=("edit",)), r"wait for each other in a circle"),
    (lambda p: edit.change_stage(p, "sketch", gate="ghost"), r"^stages\[0\]\.gate = 'ghost': names no gate"),
    (lambda p: edit.add_item(p, "ghost", "New"), r"'ghost' is no stage of this project"),
    (lambda p: edit.add_item(p, "sketch", ""), r"^stages\[0\]\.items\[2\]\.name = '': must not be empty"),
    (lambda p: edit.move_item_to_stage(p, "boards", "ghost"), r"'ghost' is no stage of this project"),
    (lambda p: edit.add_stage(p, " "), r"a stage needs a name"),
    (lambda p: edit.add_job(p, "Bake"), r"^jobs\[1\]: a job has exactly one measure"),
    (lambda p: edit.change_job(p, "render", fail_chance=1.0), r"^jobs\[0\]\.fail_chance = 1\.0: must be at most 0\.95"),
    (lambda p: edit.change_job(p, "ghost", name="x"), r"'ghost' is no job of this project"),
    (lambda p: edit.remove_job(p, "ghost"), r"'ghost' is no job of this project"),
    (lambda p: edit.remove_gate(p, "lock"), r"the gate 'lock' stays"),
]


@pytest.mark.parametrize(("act", "words"), REFUSED)
def test_refused(act: Callable[[Project], Any], words: str) -> None:
    project = small()
    with pytest.raises(BadInput, match=words):
        act(project)
    assert project == small()
