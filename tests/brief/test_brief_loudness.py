# SPDX-License-Identifier: GPL-3.0-or-later
"""Loudness against EBU Tech 3341, the coefficients of ITU-R BS.1770, and FFmpeg's ebur128 filter."""

from __future__ import annotations

import math
from fractions import Fraction

import av
import numpy as np
import pytest
from media_files import tone

from nightplan.brief.loudness import biquads, integrated, weighted


def test_coefficients_at_48_khz() -> None:
    """Tables 1 and 2 of ITU-R BS.1770-5."""
    (b1, a1), (b2, a2) = biquads(48_000)
    assert b1 == pytest.approx((1.53512485958697, -2.69169618940638, 1.19839281085285), abs=1e-9)
    assert a1 == pytest.approx((1.0, -1.69065929318241, 0.73248077421585), abs=1e-9)
    assert b2 == (1.0, -2.0, 1.0)
    assert a2 == pytest.approx((1.0, -1.99004745483398, 0.99007225036621), abs=1e-9)


def stereo(*parts: tuple[float, float], rate: int = 48_000) -> np.ndarray:
    """Seconds and dBFS of a 1 kHz sine in both channels, one after the other."""
    wave = np.concatenate([tone(seconds, rate, level, 1000.0) for seconds, level in parts])
    return np.stack([wave, wave])


@pytest.mark.parametrize(
    ("parts", "lufs"),
    [
        # EBU Tech 3341, minimum requirements, cases 1 to 5, shortened where the length does not matter; ± 0.1 LU
        (((20, -23.0),), -23.0),
        (((20, -33.0),), -33.0),
        (((10, -36.0), (60, -23.0), (10, -36.0)), -23.0),
        (((10, -72.0), (10, -36.0), (60, -23.0), (10, -36.0), (10, -72.0)), -23.0),
        (((20, -26.0), (20.1, -20.0), (20, -26.0)), -23.0),
    ],
)
def test_ebu_tech_3341(parts: tuple[tuple[float, float], ...], lufs: float) -> None:
    assert integrated(stereo(*parts), 48_000) == pytest.approx(lufs, abs=0.1)


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_against_the_filter_of_ffmpeg(rate: int) -> None:
    """Noise that swells, at two rates; the filter prints a tenth."""
    rng = np.random.default_rng(3)
    n = 8 * rate
    swell = 10 ** (np.linspace(-40, -12, n) / 20)
    samples = (rng.standard_normal((2, n)) * swell * 0.3).astype(np.float32)
    assert integrated(samples, rate) == pytest.approx(_ebur128(samples, rate), abs=0.1)


def _ebur128(samples: np.ndarray, rate: int) -> float:
    graph = av.filter.Graph()
    source = graph.add_abuffer(sample_rate=rate, format="fltp", layout="stereo", time_base=Fraction(1, rate))
    meter = graph.add("ebur128", "metadata=1")
    sink = graph.add("abuffersink")
    source.link_to(meter)
    meter.link_to(sink)
    graph.configure()
    frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout="stereo")
    frame.sample_rate, frame.pts, frame.time_base = rate, 0, Fraction(1, rate)
    source.push(frame)
    source.push(None)
    level = -math.inf
    while True:
        try:
            out = sink.pull()
        except (av.error.EOFError, av.error.BlockingIOError):
            return level
        level = float(out.metadata.get("lavfi.r128.I", level))


def test_filtering_by_blocks_is_filtering() -> None:
    """Against the two recursive filters, sample by sample (scipy.signal.lfilter)."""
    from scipy.signal import lfilter

    rng = np.random.default_rng(5)
    samples = rng.standard_normal((1, 70_000))
    direct = samples
    for b, a in biquads(48_000):
        direct = lfilter(b, a, direct, axis=1)
    assert np.abs(weighted(samples, 48_000) - direct).max() < 1e-8


def test_silence_and_a_blink_have_no_loudness() -> None:
    assert integrated(np.zeros((2, 48_000)), 48_000) == -math.inf
    assert integrated(stereo((0.2, -10.0)), 48_000) == -math.inf
