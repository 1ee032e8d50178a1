# SPDX-License-Identifier: GPL-3.0-or-later
"""The hours of machine jobs: frames, transfers, repeats."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nightplan.engine.estimates import Estimate
from nightplan.model.project import Job

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class JobHours:
    """Hours of one run of a machine job as amount × factor, or amount ÷ speed."""

    amount: Estimate
    speed: Estimate | None
    factor: float
    fail_chance: float
    #: so many ranges, each of which fails and is done again for itself
    ranges: int = 1

    @property
    def median(self) -> float:
        """Likely hours of one run that does not fail."""
        speed = self.speed.median if self.speed is not None else 1.0
        return self.amount.median * self.factor / speed

    def hours(self, z: Floats, repeats: Floats) -> Floats:
        """(n,) hours by the wall clock, repeats included.

        Args:
            z: (2, n) standard normal scores of amount and speed; a fast line is a high score.
            repeats: (n,) uniform numbers.
        """
        hours = self.amount.quantile_z(z[0]) * self.factor
        if self.speed is not None:
            hours /= self.speed.quantile_z(z[1])
        if self.fail_chance > 0 and self.ranges > 1:
            hours *= 1.0 + _failed_ranges(self.fail_chance, self.ranges, repeats) / self.ranges
        elif self.fail_chance > 0:
            # a run fails with this chance and is done again from the start: geometric, by inversion
            hours *= 1.0 + np.floor(np.log1p(-repeats) / np.log(self.fail_chance))
        return hours


def _failed_ranges(fail_chance: float, ranges: int, repeats: Floats) -> Floats:
    """(n,) how many ranges are done again, by inversion of the negative binomial distribution.

    The whole run gets through without a failure as often as before: each range with the k-th root of it.
    """
    good = (1.0 - fail_chance) ** (1.0 / ranges)
    mass = [good**ranges]
    total = mass[0]
    while total < 1.0 - 1e-12 and len(mass) < 20_000:
        n = len(mass)
        mass.append(mass[-1] * (n + ranges - 1) / n * (1.0 - good))
        total += mass[-1]
    return np.searchsorted(np.cumsum(mass), repeats, side="right").astype(np.float64)


#: the keys of a job that its hours depend on
HOURS_KEYS = (
    "frames",
    "minutes_per_frame",
    "samples",
    "tested_samples",
    "picture",
    "tested_picture",
    "frame_step",
    "failed_share",
    "ranges",
    "fail_chance",
    "gigabytes",
    "megabits_per_second",
    "line_share",
    "retries",
    "hours",
)


def job_hours(job: Job) -> JobHours:
    """Hours of a job on a machine of speed 1, from its frames, its gigabytes or its hours.

    hours = frames × minutes ÷ 60, times samples and pixels against those of the test, and the share of
    frames that is rendered once more. A transfer of decimal gigabytes takes 8000 × gigabytes ÷ megabits
    per second seconds, at its share of the line and with time kept for doing it again.
    """
    ranges = job.ranges or 1
    if job.whole_frames is not None and job.minutes_per_frame is not None:
        factor = job.whole_frames / 60.0 * job.scale * (1.0 + (job.failed_share or 0.0))
        return JobHours(Estimate.of(job.minutes_per_frame), None, factor, job.fail_chance, ranges)
    if job.gigabytes is not None and job.megabits_per_second is not None:
        speed = Estimate.of(job.megabits_per_second)
        factor = 8000.0 / 3600.0 / (job.line_share or 1.0) * (1 + (job.retries or 0))
        return JobHours(Estimate.of(job.gigabytes), speed, factor, job.fail_chance, ranges)
    assert job.hours is not None
    return JobHours(Estimate.of(job.hours), None, 1.0, job.fail_chance, ranges)
