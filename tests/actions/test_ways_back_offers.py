# SPDX-License-Identifier: GPL-3.0-or-later
"""When the ways back are offered outside their page: never twice for one reason. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from nightplan.actions.recover import apply
from nightplan.actions.tick import Evening, tick
from nightplan.actions.ways_back import why, worth_saying
from nightplan.engine.recovery import Ways
from nightplan.engine.watch import offers
from nightplan.files.store import load
from nightplan.model.project import Project

SUNDAY = dt.date(2027, 10, 10)
TUESDAY = dt.date(2027, 10, 12)
WELL, LOW = {"lock": 0.9, "deadline": 0.95}, {"lock": 0.6, "deadline": 0.95}


def overrun() -> Project:
    start = load(Path(__file__).parents[2] / "sample_projects" / "moth-and-lantern.nightplan")
    return tick(start, Evening(SUNDAY, 5.0, {"spline": 5.0}))


def replanned(project: Project, reason: str) -> Project:
    return apply(project, Ways(project, SUNDAY, futures=100).moves()[:1], reason, SUNDAY, futures=100)


def test_an_overrun_is_said_until_it_is_answered() -> None:
    project = overrun()
    assert [o.kind for o in worth_saying(project, SUNDAY, WELL)] == ["overrun"]
    settled = replanned(project, why(project, offers(project, SUNDAY, WELL)))
    assert worth_saying(settled, SUNDAY, WELL) == ()
    # the next evening is a new look
    later = tick(settled, Evening(TUESDAY, missed=True))
    assert [o.kind for o in worth_saying(later, TUESDAY, WELL)] == ["overrun", "lost-evening"]


def test_low_odds_are_said_all_the_same() -> None:
    project = overrun()
    settled = replanned(project, why(project, offers(project, SUNDAY, LOW)))
    assert [o.kind for o in worth_saying(settled, SUNDAY, LOW)] == ["overrun", "odds"]


def test_a_project_without_a_plan_is_offered_nothing() -> None:
    project = overrun()
    assert worth_saying(project.but(zone="Nowhere/Land"), SUNDAY, WELL) == ()


def test_the_reason_is_what_is_new() -> None:
    project = overrun()
    first = why(project, offers(project, SUNDAY, LOW))
    assert first == "Splining pass is past its likely 3.5 h; " + first.split("; ")[1]
    assert "stands at" not in first
    later = tick(replanned(project, first), Evening(TUESDAY, missed=True))
    assert why(later, offers(later, TUESDAY, LOW)) == "the evening of Tue 12 Oct was lost"
    # nothing new but the odds
    again = replanned(later, "the evening of Tue 12 Oct was lost")
    assert why(again, offers(again, TUESDAY, LOW)).startswith("Personal lock stands at 60 in 100")
    assert why(project, ()) == ""
