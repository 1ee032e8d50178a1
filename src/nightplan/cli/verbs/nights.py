# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan nights``: machine jobs in nights, ready when, at what risk."""

from __future__ import annotations

import argparse
from typing import Any

from nightplan.actions.jobs import look_at, needed_gigabytes, take_in
from nightplan.cli import options
from nightplan.cli.context import GOOD, Context
from nightplan.cli.values import hours, instant
from nightplan.engine.forecast import forecast
from nightplan.engine.nights import NightEstimate, estimates
from nightplan.engine.plan import plan
from nightplan.files.frames import FramesFound
from nightplan.files.store import load
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr

HELP = tr("Say how many nights each machine job takes, when it is ready, and how likely by its gate.")


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    options.add_as_of(parser)
    parser.add_argument(
        "--look", action="store_true", help=tr("look into the folders of frames first; the file stays as it is")
    )
    options.add_futures(parser)


def run(given: Any, context: Context) -> int:
    project = load(given.file)
    as_of = options.as_of(given.as_of, project, context)
    found: dict[str, FramesFound | str] = {}
    if given.look:
        project, found = _look(project, context)
    nights = estimates(project, as_of, plan(project, as_of))
    odds = forecast(project, as_of, futures=given.futures, seed=given.seed).job_odds
    if given.json:
        rows = [_values(project, n, odds[n.job], found.get(n.job)) for n in nights]
        context.print_json({"title": project.title, "as_of": as_of.isoformat(), "jobs": rows})
    else:
        from nightplan.cli.tell_nights import tell_nights

        tell_nights(context.console(), project, nights, odds, found)
    return GOOD


def _look(project: Project, context: Context) -> tuple[Project, dict[str, FramesFound | str]]:
    found: dict[str, FramesFound | str] = {}
    for job in project.jobs:
        if job.frames is not None and job.state == "open":
            try:
                seen = look_at(job, context.now())
            except BadInput as error:
                found[job.id] = error.sentence
            else:
                found[job.id] = seen
                project = take_in(project, job.id, seen)
    return project, found


def _values(project: Project, night: NightEstimate, odds: float, found: FramesFound | str | None) -> dict[str, Any]:
    need = needed_gigabytes(project.jobs_by_id[night.job])
    row: dict[str, Any] = {
        "id": night.job,
        "hours": {"likely": hours(night.likely_hours), "high": hours(night.high_hours)},
        "nights": {"likely": night.likely_nights, "high": night.high_nights},
        "start": instant(night.start),
        "ready": {"likely": instant(night.likely_ready), "high": instant(night.high_ready)},
        "blocks": [d.isoformat() for d in night.blocks],
        "odds": odds,
        "minutes_per_frame": night.measured_minutes,
        "gigabytes_to_come": None if need is None else round(need, 3),
    }
    if isinstance(found, str):
        row["refused"] = found
    elif found is not None:
        row["frames"] = {
            "whole": found.whole,
            "placeholders": found.placeholders,
            "gaps": [list(g) for g in found.gaps],
            "doubts": list(found.doubts),
        }
    return row
