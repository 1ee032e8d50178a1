# SPDX-License-Identifier: GPL-3.0-or-later
"""A job that runs already: what is left of it, from what was seen in its folder."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np

from nightplan.engine.nights_clock import WorkClock
from nightplan.evenings.zones import UTC
from nightplan.model.project import Job, Span

_FRAME_KEYS = (
    "frames",
    "minutes_per_frame",
    "test_frames",
    "samples",
    "tested_samples",
    "picture",
    "tested_picture",
    "frame_step",
    "failed_share",
    "seen",
    "also_on",
)


def runs_since(job: Job) -> dt.datetime | None:
    """The instant from which what is left is counted: the newest frame seen, or the start; None: not started."""
    moment = job.seen.newest if job.seen is not None else job.started
    return None if moment is None else moment.replace(tzinfo=UTC)


def measured_minutes(job: Job, clock: WorkClock | None, zero: dt.datetime) -> float | None:
    """Minutes per frame of the frames on disk: (newest − oldest) ÷ (n − 1).

    Only time in which the machine works counts, in minutes of a machine of speed 1. None for fewer than
    two frames, or where no time passed between them.
    """
    seen = job.seen
    if seen is None or seen.frames < 2:
        return None
    hours = (seen.newest - seen.oldest).total_seconds() / 3600.0
    if clock is not None:
        ends = [(m.replace(tzinfo=UTC) - zero).total_seconds() / 3600.0 for m in (seen.oldest, seen.newest)]
        first, last = clock.done(np.array(ends))
        # frames that came while the machine should have stood still: the window does not hold, the wall clock does
        hours = float(last - first) if last > first else hours
    return hours * 60.0 / (seen.frames - 1) if hours > 0 else None


def what_is_left(job: Job, clock: WorkClock | None, zero: dt.datetime) -> Job:
    """The job with the frames that are left, at the measured minutes.

    likely: as measured. high: as far above it as in the artist's estimate, less by the square root of
    the share of the frames that is left (common practice, no source).
    """
    if job.seen is None or job.frames is None or job.minutes_per_frame is None:
        return job
    total = job.whole_frames or 0
    left = max(0, total - job.seen.frames)
    if not left:
        return job.but(**dict.fromkeys(_FRAME_KEYS), hours=Span.sure(0.0))
    minutes = job.minutes_per_frame
    ratio = minutes.high / minutes.likely if minutes.likely > 0 else 1.0
    likely = measured_minutes(job, clock, zero)
    if likely is None:
        likely = minutes.likely * job.scale
    high = likely * ratio ** math.sqrt(left / total)
    keep = {k: None for k in _FRAME_KEYS if k not in ("failed_share", "seen", "also_on")}
    return job.but(**{**keep, "frames": left, "minutes_per_frame": Span(likely=likely, high=max(high, likely))})
