# SPDX-License-Identifier: GPL-3.0-or-later
"""Machine jobs in nights, for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from nightplan.cli import words
from nightplan.engine.nights import NightEstimate
from nightplan.files.frames import FramesFound
from nightplan.model.project import Project
from nightplan.speech import tr, trc, trn

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
        console.print(tr("No machine job is open."))
    for night in nights:
        job = project.jobs_by_id[night.job]
        name = f"[bold]{words.marked(job.name)}[/]"
        machines = trc("between the parts of a list", ", ").join(words.marked(m) for m in job.machines)
        # translators: of a machine job and the machines that it runs on
        console.print(tr("{job} on {machines}", job=name, machines=machines))
        for line in _lines(project, night, odds[night.job], found.get(night.job)):
            console.print(f"  {words.marked(line)}")


def _lines(project: Project, night: NightEstimate, odds: float, found: FramesFound | str | None) -> list[str]:
    lines = []
    if night.start is None:
        lines.append(tr("the plan does not get to it before its last evening"))
    elif night.likely_ready is None:
        lines.append(tr("its machines do not work long enough for it to end"))
    else:
        lines.append(
            tr(
                "{nights} ({hours}), from {start}, ready {end}",
                nights=_count(night.likely_nights),
                hours=words.hours(night.likely_hours),
                start=words.moment(project, night.start),
                end=words.moment(project, night.likely_ready),
            )
        )
        if night.high_ready is not None and night.high_hours > night.likely_hours:
            lines.append(
                tr(
                    "nine times in ten no more than {nights}, {end}",
                    nights=_count(night.high_nights),
                    end=words.moment(project, night.high_ready),
                )
            )
    gate = project.gates_by_id[project.jobs_by_id[night.job].gate]
    lines.append(tr("done by {gate}: {odds}", gate=gate.name, odds=words.in_100(odds)))
    if night.blocks:
        lines.append(_waits(night))
    if isinstance(found, str):
        lines.append(found)
    elif found is not None:
        lines.append(_frames(found, project.jobs_by_id[night.job].whole_frames or 0))
        lines += [tr("in doubt, and not taken over: {what}", what=d) for d in found.doubts]
    return lines


def _waits(night: NightEstimate) -> str:
    days = trc("between the parts of a list", ", ").join(words.day(d) for d in night.blocks)
    return tr("what waits for it cannot go on {days}", days=days)


def _frames(found: FramesFound, of: int) -> str:
    there = tr("{whole} of {frames} frames are there", whole=found.whole, frames=of)
    if found.gaps and found.placeholders:
        return tr(
            "{there}, {missing} missing between them, {empty} empty",
            there=there,
            missing=found.missing,
            empty=found.placeholders,
        )
    if found.gaps:
        return tr("{there}, {missing} missing between them", there=there, missing=found.missing)
    if found.placeholders:
        return tr("{there}, {empty} empty", there=there, empty=found.placeholders)
    return there


def _count(nights: int) -> str:
    return trn("{n} night", "{n} nights", nights)
