# SPDX-License-Identifier: GPL-3.0-or-later
"""Tonight says which machine job to start, and takes the word that it is started."""

from __future__ import annotations

from conftest import MakeWindow
from plan_page_project import AS_OF, project
from pytestqt.qtbot import QtBot

from nightplan.desk.pages.tonight_words import before_you_stop, starts_tonight
from nightplan.desk.widgets.strip_model import strip_data
from nightplan.desk.widgets.strip_words import job_label, job_lines
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan


def test_the_jobs_that_are_named_are_those_that_can_be_started() -> None:
    made = plan(project(), AS_OF)
    for row in made.evenings:
        told = before_you_stop(project(), made, row.date)
        for key in starts_tonight(project(), made, row.date):
            assert f"start {project().jobs_by_id[key].name}" in told
        assert told.count("Before you stop") == len(starts_tonight(project(), made, row.date))


def test_a_job_is_started_by_one_button_and_one_step_of_undo(make_window: MakeWindow, qtbot: QtBot) -> None:
    window = make_window()
    window.document.new(project())
    window.document.set_as_of(AS_OF)
    window.go_to("tonight")
    page = window.pages["tonight"]
    qtbot.waitUntil(lambda: window.document.fresh and window.document.plan is not None, timeout=20_000)
    keys = starts_tonight(window.document.project, window.document.plan, AS_OF)
    assert page.what_card.started_button.isVisibleTo(page) == bool(keys)
    if not keys:
        page.what_card.starting = window.document.project.jobs[0].id
    key = page.what_card.starting
    page.what_card.started_button.click()
    assert window.document.project.jobs_by_id[key].started is not None
    window.document.undo()
    assert window.document.project.jobs_by_id[key].started is None


def test_a_job_at_risk_says_so_on_the_strip() -> None:
    tight = project().but(target_odds=0.99)
    made, found = plan(tight, AS_OF), forecast(tight, AS_OF, futures=2_000)
    jobs = strip_data(tight, made, found).jobs
    assert jobs
    for job in jobs:
        assert job.odds == found.job_odds[job.id]
        assert job.at_risk == (found.job_odds[job.id] < 0.99)
        assert ("in time" in job_label(job)) == job.at_risk
        assert any("in time for" in line for line in job_lines(job))
        assert any("cannot go on" in line for line in job_lines(job)) == bool(job.blocks)
