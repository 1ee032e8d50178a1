# SPDX-License-Identifier: GPL-3.0-or-later
"""Ways back that make machine time cheaper, with windows, samples and machines."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from nights_cases import NIGHT, day, item, job, make

from nightplan.engine.forecast import forecast
from nightplan.engine.nights_hours import job_hours
from nightplan.engine.problem import problem
from nightplan.engine.recovery import Ways
from nightplan.engine.recovery_cuts import cheaper_job_moves
from nightplan.engine.recovery_moves import apply_moves
from nightplan.model.project import Job, Project
from nightplan.model.results_recovery import Move


def moves(project: Project) -> dict[str, Move]:
    return {m.id.removeprefix("job:render:"): m for m in cheaper_job_moves(problem(project, day(0)), frozenset())}


def render(**more: Any) -> Project:
    raw = job(after=["light"], before=["cut"], frames=400, minutes_per_frame={"likely": 4, "high": 7}, **more)
    machines = [{"name": "desk", "window": NIGHT}, {"name": "laptop", "speed": 0.5}]
    return make([item("light", 2, 3), item("cut", 1, 2)], jobs=[raw], machines=machines, lock=6, chance=0.8)


def after(project: Project, move: Move) -> Job:
    return apply_moves(project, [move]).jobs[0]


def test_the_keys_of_the_job_are_used_where_it_has_them() -> None:
    project = render(samples=128, tested_samples=128, picture=[1920, 804], tested_picture=[1920, 804])
    found = moves(project)
    assert after(project, found["samples"]).samples == 96
    assert after(project, found["picture"]).picture == (1440, 604)
    assert "96 samples for 128" in found["samples"].what
    assert "1440 × 604 for 1920 × 804" in found["picture"].what


def test_another_machine_of_the_project_shares_the_frames() -> None:
    project = render()
    assert after(project, moves(project)["shared:laptop"]).also_on == ("laptop",)
    assert "shared:laptop" not in moves(render(also_on=["laptop"]))


def test_ranges_are_offered_where_a_run_can_fail() -> None:
    assert "ranges" not in moves(render())
    project = render(fail_chance=0.4)
    assert after(project, moves(project)["ranges"]).ranges == 4


def test_what_runs_is_left_alone() -> None:
    assert moves(render(seen={"frames": 3, "oldest": "2027-09-20T18:00", "newest": "2027-09-20T18:08"})) == {}


def test_a_machine_of_its_own_is_like_the_first() -> None:
    """Faster or with the same hours: the move may never make the job slower."""
    waits = job("cache", hours=3)
    raw = job(after=["light"], before=["cut"], frames=400, minutes_per_frame={"likely": 4, "high": 7})
    machines = [{"name": "desk", "speed": 2.0, "window": NIGHT}]
    project = make([item("light", 2), item("cut", 1)], jobs=[waits, raw], machines=machines)
    changed = apply_moves(project, [moves(project)["machine"]])
    own = changed.machines_by_name[changed.jobs_by_id["render"].machine]
    assert own.name != "desk"
    assert (own.speed, own.window) == (2.0, project.machines_by_name["desk"].window)


@pytest.mark.parametrize("fail_chance", [0.05, 0.3, 0.6, 0.95])
def test_ranges_never_take_longer_in_any_future(fail_chance: float) -> None:
    """The search counts on it: what meets a gate without a move meets it with one more."""
    u = np.linspace(0.0, 1.0, 20_001)[:-1]
    z = np.zeros((2, u.size))
    whole = job_hours(Job.model_validate(job(hours=8, fail_chance=fail_chance))).hours(z, u)
    for ranges in (2, 4, 20):
        parts = job_hours(Job.model_validate(job(hours=8, fail_chance=fail_chance, ranges=ranges))).hours(z, u)
        assert (parts <= whole + 1e-9).all()


def test_every_move_is_worth_what_a_fresh_forecast_says() -> None:
    """The odds of the search are those of the changed project, to the last future."""
    project = render(fail_chance=0.4, samples=128, tested_samples=128, start_minutes=10.0, check_minutes=15.0)
    found = Ways(project, day(0), futures=1000).recover()
    mine = [v for v in found.moves if v.move.id.startswith("job:render")]
    assert {"job:render:samples", "job:render:ranges", "job:render:shared:laptop"} <= {v.move.id for v in mine}
    for value in mine:
        changed = apply_moves(project, [value.move])
        odds = forecast(changed, day(0), futures=1000).gate("lock").odds
        assert value.odds["lock"] == pytest.approx(odds, abs=1e-9), value.move.id
        assert odds >= found.before["lock"] - 1e-9, value.move.id
