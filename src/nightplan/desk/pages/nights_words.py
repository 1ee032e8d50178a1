# SPDX-License-Identifier: GPL-3.0-or-later
"""The sentences of the Nights page."""

from __future__ import annotations

import datetime as dt
import math

from nightplan.actions.jobs import Room
from nightplan.desk import words
from nightplan.desk.widgets.watch_list import sentence
from nightplan.engine.nights import NightEstimate
from nightplan.evenings.zones import to_local, zone_info
from nightplan.files.frames import FramesFound
from nightplan.model.project import Job, Machine, Project
from nightplan.speech import tr, trc, trn
from nightplan.speech.dates import decimal

_COMMA = trc("between the parts of a list", ", ")


def measure_words(job: Job) -> str:
    """``1440 frames · 0.5 to 0.8 min each``"""
    if job.frames is not None and job.minutes_per_frame is not None:
        minutes = job.minutes_per_frame
        told = [trn("{n} frame", "{n} frames", job.whole_frames or 0)]
        if (job.frame_step or 1) > 1:
            told[0] = tr("{frames}, {step}", frames=told[0], step=_nth(job.frame_step or 1))
        likely, high = _three(minutes.likely * job.scale), _three(minutes.high * job.scale)
        if minutes.certain:
            told.append(tr("{minutes} min each", minutes=likely))
        else:
            told.append(tr("{likely} to {high} min each", likely=likely, high=high))
        if job.failed_share:
            told.append(tr("{share}% done again", share=decimal(100 * job.failed_share, 0)))
        return " · ".join(told)
    if job.gigabytes is not None and job.megabits_per_second is not None:
        told = [f"{_three(job.gigabytes.likely)} GB"]
        rate = _three(job.megabits_per_second.likely)
        if job.line_share:
            # translators: the speed of a line, and the share of it that is used
            told.append(tr("{rate} Mbit/s, {share}% of it", rate=rate, share=decimal(100 * job.line_share, 0)))
        else:
            told.append(f"{rate} Mbit/s")
        if job.retries:
            told.append(trn("time for {n} retry", "time for {n} retries", job.retries))
        return " · ".join(told)
    return tr("hours as given")


def _three(value: float) -> str:
    """Three digits that count: ``0.05``, ``1.25``, ``1440``."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    return decimal(value, max(0, 2 - math.floor(math.log10(abs(value)))), least=0)


def _nth(step: int) -> str:
    if step in (2, 3):
        return tr("every second") if step == 2 else tr("every third")
    # translators: of the frames of a sequence, for example "every 4th"
    return tr("every {step}th", step=step)


def machine_words(project: Project, job: Job) -> str:
    """``desk, 23:00 to 07:00 · laptop, speed 0.5``"""
    return " · ".join(_machine(project.machines_by_name.get(n) or Machine(name=n)) for n in job.machines)


def _machine(machine: Machine) -> str:
    told = [machine.name]
    if machine.window is not None:
        first, last = words.clock(machine.window.from_), words.clock(machine.window.to)
        told.append(tr("{start} to {end}", start=first, end=last))
    else:
        told.append(tr("round the clock"))
    if machine.speed != 1:
        told.append(tr("speed {speed}", speed=decimal(machine.speed, 3, least=0)))
    if machine.off:
        told.append(tr("power off {days}", days=_off(machine)))
    return _COMMA.join(told)


def _off(machine: Machine) -> str:
    spans = [
        words.day(o.from_) if o.from_ == o.to else tr("{start} to {end}", start=words.day(o.from_), end=words.day(o.to))
        for o in machine.off
    ]
    return _few(spans, 2)


def _few(parts: list[str], most: int) -> str:
    """The first of them; the rest are counted."""
    told = _COMMA.join(parts[:most])
    rest = len(parts) - most
    return trn("{told} and {n} more", "{told} and {n} more", rest, told=told) if rest > 0 else told


def estimate_words(project: Project, night: NightEstimate, running: bool) -> str:
    """``2 nights, ready Wed 22 Sep 03:00 · at worst 3 nights, Thu 23 Sep 01:00``"""
    if night.start is None:
        return tr("The plan does not get to it before its last evening.")
    told = [] if running else [tr("Begins {moment}.", moment=_moment(project, night.start))]
    if night.likely_ready is None:
        return " ".join([*told, tr("Its machines do not work long enough for it to end.")])
    nights = trn("{n} night left", "{n} nights left", night.likely_nights) if running else _nights(night.likely_nights)
    told.append(
        tr(
            "{nights} ({hours} of work), ready {moment}.",
            nights=nights,
            hours=words.hours(night.likely_hours),
            moment=_moment(project, night.likely_ready),
        )
    )
    if night.high_hours > night.likely_hours * 1.001:
        if night.high_ready is None:
            told.append(tr("With high hours it does not end."))
        else:
            told.append(
                tr(
                    "Nine times in ten no more than {nights}, {moment}.",
                    nights=_nights(night.high_nights),
                    moment=_moment(project, night.high_ready),
                )
            )
    return " ".join(told)


def _nights(n: int) -> str:
    return trn("{n} night", "{n} nights", n)


def risk_words(project: Project, job: Job, odds: float | None) -> str:
    """``Done by Personal lock: 83 in 100.``"""
    if odds is None:
        return ""
    return tr("Done by {gate}: {odds}.", gate=project.gates_by_id[job.gate].name, odds=words.in_100(odds))


def blocks_words(night: NightEstimate) -> str:
    if not night.blocks:
        return ""
    return tr("What waits for it cannot go on {days}.", days=_few([words.day(d) for d in night.blocks], 3))


def hands_words(job: Job) -> str:
    told = []
    if job.start_minutes and not job.running:
        told.append(tr("{minutes} min to start it", minutes=decimal(job.start_minutes, 2, least=0)))
    if job.check_minutes:
        minutes = decimal(job.check_minutes, 2, least=0)
        told.append(tr("{minutes} min to look it over on a later evening", minutes=minutes))
    # translators: what a person does for a machine job
    return tr("Hands: {work}.", work=words.listed(told)) if told else ""


def found_words(project: Project, job: Job, found: FramesFound | str, measured: float | None) -> str:
    """What the folder holds."""
    if isinstance(found, str):
        return found
    frames, name = job.whole_frames or 0, found.pattern
    told = [
        trn("{whole} of {n} frame in {name}", "{whole} of {n} frames in {name}", frames, whole=found.whole, name=name)
    ]
    if found.gaps:
        spans = [str(a) if a == b else f"{a}–{b}" for a, b in found.gaps[:3]]
        gaps, rest = _COMMA.join(spans), len(found.gaps) - 3
        if rest > 0:
            told.append(trn("missing {gaps} and {n} more gaps", "missing {gaps} and {n} more gaps", rest, gaps=gaps))
        else:
            told.append(tr("missing {gaps}", gaps=gaps))
    if found.placeholders:
        told.append(trn("{n} empty placeholder", "{n} empty placeholders", found.placeholders))
    if found.before_start:
        told.append(trn("{n} older than the start", "{n} older than the start", found.before_start))
    if found.newest is not None:
        told.append(tr("newest {moment}", moment=_moment(project, found.newest)))
    if measured is not None and not found.doubts:
        told.append(tr("{minutes} min a frame", minutes=_three(measured)))
    return sentence(_COMMA.join(told), capital=False)


def doubt_words(found: FramesFound | str | None) -> str:
    """Why nothing was taken over from the folder; empty where it was."""
    if found is None or isinstance(found, str) or not found.doubts:
        return ""
    return " ".join([*map(sentence, found.doubts), tr("Nothing is taken over from this look.")])


def room_words(room: Room | None) -> str:
    if room is None:
        return ""
    told = tr(
        "Still to come: {need} GB; free on this disk: {free} GB.",
        need=decimal(room.need_gigabytes, 1),
        free=decimal(room.free_gigabytes, 1),
    )
    return told if room.enough else told + " " + tr("Too little room.")


def _moment(project: Project, instant: dt.datetime) -> str:
    return words.moment(to_local(instant, zone_info(project.zone)))
