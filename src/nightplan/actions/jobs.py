# SPDX-License-Identifier: GPL-3.0-or-later
"""Machine jobs: test frames, machines, folders, starts, room on the disk."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from nightplan.actions.edit import add_job, change_job
from nightplan.actions.values import changed, made
from nightplan.evenings.zones import UTC
from nightplan.files.frames import FramesFound, look
from nightplan.files.frames_space import free_bytes
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.machines import minutes_of_test_frames
from nightplan.model.project import FramesSeen, Job, Machine, Project, TestFrame
from nightplan.speech import tr

#: of a new transfer: its share of the nominal line, and how often it is planned to be done again (both: defaults)
LINE_SHARE = 0.8
RETRIES = 1
#: minutes that a new render takes of the evening of its start and of the one after it (common practice, no source)
START_MINUTES, CHECK_MINUTES = 10.0, 15.0


def job_of(project: Project, job_id: str) -> Job:
    """Raises BadInput where there is no such job."""
    if job_id not in project.jobs_by_id:
        raise BadInput(tr("{id!r} is no job of this project", id=job_id))
    return project.jobs_by_id[job_id]


# --- estimates ------------------------------------------------------------------------------------


def add_render(project: Project, name: str, frames: int, tests: Sequence[dict[str, Any]], **keys: Any) -> Project:
    """A render from test frames; ``tests``: {"load", "minutes", "frames"} each."""
    hands = {"start_minutes": START_MINUTES, "check_minutes": CHECK_MINUTES}
    return add_job(project, name, **{"kind": "render", "frames": frames, "test_frames": list(tests), **hands, **keys})


def add_transfer(project: Project, name: str, gigabytes: float, megabits: float, **keys: Any) -> Project:
    """A transfer of decimal gigabytes over a line of nominal megabits per second.

    It gets 80 % of the line, and time is kept for doing it again once, unless the keys say otherwise.
    """
    measure = {"gigabytes": gigabytes, "megabits_per_second": megabits}
    return add_job(project, name, **{"kind": "upload", **measure, "line_share": LINE_SHARE, "retries": RETRIES, **keys})


def set_test_frames(project: Project, job_id: str, tests: Sequence[dict[str, Any]]) -> Project:
    """Test frames of a render, and the minutes per frame that follow from them; none leaves the minutes as they are.

    Raises:
        BadInput: naming the place and the rule.
    """
    job = job_of(project, job_id)
    if not tests:
        return change_job(project, job_id, test_frames=None)
    place = f"jobs[{project.jobs.index(job)}].test_frames"
    frames = tuple(made(TestFrame, f"{place}[{n}]", dict(t)) for n, t in enumerate(tests))
    return change_job(project, job_id, test_frames=frames, minutes_per_frame=minutes_of_test_frames(frames))


def set_minutes(project: Project, job_id: str, likely: float, high: float) -> Project:
    """Minutes per frame as the artist says; test frames no longer hold."""
    return change_job(project, job_id, test_frames=None, minutes_per_frame={"likely": likely, "high": high})


# --- machines -------------------------------------------------------------------------------------


def set_machine(project: Project, name: str, **changes: Any) -> Project:
    """Change speed, window or off of a machine; one that is not known yet is added.

    A machine that is plain again (speed 1, round the clock, no days without power) is taken out.
    """
    machines = list(project.machines or ())
    place = next((n for n, m in enumerate(machines) if m.name == name), len(machines))
    where = f"machines[{place}]"
    if place == len(machines):
        machines.append(made(Machine, where, {"name": name}))
    new = changed(machines[place], where, **changes)
    plain = new.speed == 1 and new.window is None and not new.off and not new.unknown
    machines[place : place + 1] = [] if plain else [new]
    return check_project(project.but(machines=tuple(machines) or None))


def set_machines(project: Project, job_id: str, names: Sequence[str]) -> Project:
    """The machines that a job runs on, the first of them its own. Raises BadInput for none."""
    chosen = [n.strip() for n in names if n.strip()]
    if not chosen:
        raise BadInput.at("machine", "", tr("name at least one machine"))
    return change_job(project, job_id, machine=chosen[0], also_on=tuple(chosen[1:]) or None)


# --- starts and folders ---------------------------------------------------------------------------


def start_job(project: Project, job_id: str, now: dt.datetime) -> Project:
    """The job runs from now (aware) on; frames that are older do not count."""
    return change_job(project, job_id, started=now.astimezone(UTC).replace(tzinfo=None, microsecond=0), seen=None)


def stop_job(project: Project, job_id: str) -> Project:
    """The job does not run: what was seen of it is forgotten."""
    return change_job(project, job_id, started=None, seen=None)


def point_at_folder(project: Project, job_id: str, folder: str) -> Project:
    """Where the frames of a job appear; empty for nowhere. What was seen elsewhere is forgotten.

    Raises:
        BadInput: an unknown job, or one that is not measured in frames.
    """
    job = job_of(project, job_id)
    folder = folder.strip()
    if folder and job.frames is None:
        raise BadInput(tr("{job} is not measured in frames; only a job of frames has a folder of them", job=job.name))
    if (job.folder or "") == folder:
        return project
    return change_job(project, job_id, folder=folder or None, seen=None)


def look_at(job: Job, now: dt.datetime) -> FramesFound:
    """One look into the folder of a job; ``now`` is aware.

    Raises:
        BadInput: the job has no folder, or the folder says nothing for certain (``files.frames``).
    """
    if not job.folder:
        raise BadInput(tr("{job} has no folder of frames; point it at one first", job=job.name))
    since = None if job.started is None else job.started.replace(tzinfo=UTC)
    several = bool(job.also_on) or (job.ranges or 1) > 1
    return look(job.folder, now, since=since, several=several)


def take_in(project: Project, job_id: str, found: FramesFound) -> Project:
    """The project with what a look found: its frames left and its measured minutes become the estimate.

    Where the times are in doubt, or no whole frame is there, nothing is taken over. The very project
    where nothing new was found.
    """
    job = job_of(project, job_id)
    if found.doubts or not found.whole or found.oldest is None or found.newest is None:
        return project
    seen = FramesSeen(oldest=_stored(found.oldest), newest=_stored(found.newest), frames=found.whole)
    megabytes = round(found.megabytes_per_frame or 0.0, 3)
    if job.seen == seen:
        return project
    return change_job(project, job_id, seen=seen, megabytes_per_frame=megabytes)


def _stored(moment: dt.datetime) -> dt.datetime:
    return moment.astimezone(UTC).replace(tzinfo=None, microsecond=0)


# --- room on the disk -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Room:
    """Decimal gigabytes: what the frames still to come need, and what is free."""

    need_gigabytes: float
    free_gigabytes: float

    @property
    def enough(self) -> bool:
        """Whether the frames still to come fit."""
        return self.need_gigabytes <= self.free_gigabytes


def needed_gigabytes(job: Job) -> float | None:
    """Frames still to come × size of one; None where the size is not known."""
    if job.whole_frames is None or job.megabytes_per_frame is None:
        return None
    there = job.seen.frames if job.seen is not None else 0
    return max(0, job.whole_frames - there) * job.megabytes_per_frame / 1000.0


def room_for(job: Job) -> Room | None:
    """Room on the disk of the job's folder; None without a folder or a size.

    Raises:
        BadInput: the drive is not there.
    """
    need = needed_gigabytes(job)
    if need is None or not job.folder:
        return None
    return Room(need, free_bytes(job.folder) / 1e9)
