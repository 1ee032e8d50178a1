# SPDX-License-Identifier: GPL-3.0-or-later
"""Machine jobs in nights, for people."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from nightplan.cli import words
from nightplan.engine.nights import NightEstimate
from nightplan.evenings.zones import to_local, zone_info
from nightplan.files.frames import FramesFound
from nightplan.model.project import Project

if TYPE_CHECKING:
    from rich.console import Console


def tell_nights(
    console: Console,
    project: Project,
    nights: Sequence[NightEstimate],
    odds: Mapping[str, float],
    found: Mapping[str, FramesFound | str],
) -> None:
    """Each open job: nights, the moment it is ready, its odds, what its folder holds."""
    if not nights:
        console.print("No machine job is open.")
    for night in nights:
        job = project.jobs_by_id[night.job]
        console.print(f"[bold]{words.marked(job.name)}[/] on {words.marked(', '.join(job.machines))}")
        for line in _lines(project, night, odds[night.job], found.get(night.job)):
            console.print(f"  {words.marked(line)}")


def _lines(project: Project, night: NightEstimate, odds: float, found: FramesFound | str | None) -> list[str]:
    lines = []
    if night.start is None:
        lines.append("the plan does not get to it before its last evening")
    elif night.likely_ready is None:
        lines.append("its machines do not work long enough for it to end")
    else:
        lines.append(
            f"{_count(night.likely_nights)} ({words.hours(night.likely_hours)}), from {_moment(project, night.start)}, "
            f"ready {_moment(project, night.likely_ready)}"
        )
        if night.high_ready is not None and night.high_hours > night.likely_hours:
            lines.append(
                f"nine times in ten no more than {_count(night.high_nights)}, {_moment(project, night.high_ready)}"
            )
    gate = project.gates_by_id[project.jobs_by_id[night.job].gate]
    lines.append(f"done by {gate.name}: {words.in_100(odds)}")
    if night.blocks:
        lines.append("what waits for it cannot go on " + ", ".join(words.day(d) for d in night.blocks))
    if isinstance(found, str):
        lines.append(found)
    elif found is not None:
        gaps = f", {found.missing} missing between them" if found.gaps else ""
        empty = f", {found.placeholders} empty" if found.placeholders else ""
        lines.append(
            f"{found.whole} of {project.jobs_by_id[night.job].whole_frames or 0} frames are there{gaps}{empty}"
        )
        lines += [f"in doubt, and not taken over: {d}" for d in found.doubts]
    return lines


def _count(nights: int) -> str:
    return "1 night" if nights == 1 else f"{nights} nights"


def _moment(project: Project, instant: dt.datetime) -> str:
    local = to_local(instant, zone_info(project.zone))
    return f"{words.day(local.date())} {local:%H:%M}"
