# SPDX-License-Identifier: GPL-3.0-or-later
"""The sentences of the Nights page."""

from __future__ import annotations

import datetime as dt

from nightplan.actions.jobs import Room
from nightplan.desk import words
from nightplan.engine.nights import NightEstimate
from nightplan.evenings.zones import to_local, zone_info
from nightplan.files.frames import FramesFound
from nightplan.model.project import Job, Machine, Project


def measure_words(job: Job) -> str:
    """``1440 frames · 0.5 to 0.8 min each``"""
    if job.frames is not None and job.minutes_per_frame is not None:
        minutes = job.minutes_per_frame
        each = f"{minutes.likely * job.scale:.3g}"
        if not minutes.certain:
            each += f" to {minutes.high * job.scale:.3g}"
        step = f", every {_nth(job.frame_step)}" if (job.frame_step or 1) > 1 else ""
        again = f" · {job.failed_share:.0%} done again" if job.failed_share else ""
        return f"{words.count(job.whole_frames or 0, 'frame')}{step} · {each} min each{again}"
    if job.gigabytes is not None and job.megabits_per_second is not None:
        share = f", {job.line_share:.0%} of it" if job.line_share else ""
        retry = f" · time for {words.count(job.retries, 'retry', 'retries')}" if job.retries else ""
        return f"{job.gigabytes.likely:.3g} GB · {job.megabits_per_second.likely:.3g} Mbit/s{share}{retry}"
    return "hours as given"


def _nth(step: int | None) -> str:
    return {2: "second", 3: "third"}.get(step or 1, f"{step}th")


def machine_words(project: Project, job: Job) -> str:
    """``desk, 23:00 to 07:00 · laptop, speed 0.5``"""
    return " · ".join(_machine(project.machines_by_name.get(n) or Machine(name=n)) for n in job.machines)


def _machine(machine: Machine) -> str:
    told = machine.name
    if machine.window is not None:
        told += f", {words.clock(machine.window.from_)} to {words.clock(machine.window.to)}"
    else:
        told += ", round the clock"
    if machine.speed != 1:
        told += f", speed {machine.speed:g}"
    if machine.off:
        told += f", power off {_off(machine)}"
    return told


def _off(machine: Machine) -> str:
    spans = [
        words.day(o.from_) if o.from_ == o.to else f"{words.day(o.from_)} to {words.day(o.to)}" for o in machine.off
    ]
    return ", ".join(spans[:2]) + (f" and {len(spans) - 2} more" if len(spans) > 2 else "")


def estimate_words(project: Project, night: NightEstimate, running: bool) -> str:
    """``2 nights, ready Wed 22 Sep 03:00 · at worst 3 nights, Thu 23 Sep 01:00``"""
    if night.start is None:
        return "The plan does not get to it before its last evening."
    begins = "" if running else f"Begins {_moment(project, night.start)}. "
    if night.likely_ready is None:
        return f"{begins}Its machines do not work long enough for it to end."
    left = " left" if running else ""
    told = (
        f"{begins}{words.count(night.likely_nights, 'night')}{left} ({words.hours(night.likely_hours)} of work), "
        f"ready {_moment(project, night.likely_ready)}."
    )
    if night.high_hours <= night.likely_hours * 1.001:
        return told
    if night.high_ready is None:
        return f"{told} With high hours it does not end."
    return (
        f"{told} Nine times in ten no more than {words.count(night.high_nights, 'night')}, "
        f"{_moment(project, night.high_ready)}."
    )


def risk_words(project: Project, job: Job, odds: float | None) -> str:
    """``Done by Personal lock: 83 in 100.``"""
    if odds is None:
        return ""
    return f"Done by {project.gates_by_id[job.gate].name}: {words.in_100(odds)}."


def blocks_words(night: NightEstimate) -> str:
    if not night.blocks:
        return ""
    told = ", ".join(words.day(d) for d in night.blocks[:3])
    more = f" and {len(night.blocks) - 3} more" if len(night.blocks) > 3 else ""
    return f"What waits for it cannot go on {told}{more}."


def hands_words(job: Job) -> str:
    told = []
    if job.start_minutes and not job.running:
        told.append(f"{job.start_minutes:g} min to start it")
    if job.check_minutes:
        told.append(f"{job.check_minutes:g} min to look it over on a later evening")
    return f"Hands: {' and '.join(told)}." if told else ""


def found_words(project: Project, job: Job, found: FramesFound | str, measured: float | None) -> str:
    """What the folder holds."""
    if isinstance(found, str):
        return found
    told = [f"{found.whole} of {words.count(job.whole_frames or 0, 'frame')} in {found.pattern}"]
    if found.gaps:
        spans = [str(a) if a == b else f"{a}–{b}" for a, b in found.gaps[:3]]
        more = f" and {len(found.gaps) - 3} more gaps" if len(found.gaps) > 3 else ""
        told.append(f"missing {', '.join(spans)}{more}")
    if found.placeholders:
        told.append(words.count(found.placeholders, "empty placeholder"))
    if found.before_start:
        told.append(f"{found.before_start} older than the start")
    if found.newest is not None:
        told.append(f"newest {_moment(project, found.newest)}")
    if measured is not None and not found.doubts:
        told.append(f"{measured:.3g} min a frame")
    return ", ".join(told) + "."


def doubt_words(found: FramesFound | str | None) -> str:
    """Why nothing was taken over from the folder; empty where it was."""
    if found is None or isinstance(found, str) or not found.doubts:
        return ""
    return " ".join(_upper(d) + "." for d in found.doubts) + " Nothing is taken over from this look."


def room_words(room: Room | None) -> str:
    if room is None:
        return ""
    told = f"Still to come: {room.need_gigabytes:.1f} GB; free on this disk: {room.free_gigabytes:.1f} GB."
    return told if room.enough else f"{told} Too little room."


def _moment(project: Project, instant: dt.datetime) -> str:
    local = to_local(instant, zone_info(project.zone))
    return f"{words.day(local.date())} {local:%H:%M}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
