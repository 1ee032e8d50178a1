# SPDX-License-Identifier: GPL-3.0-or-later
"""Integrated loudness after ITU-R BS.1770-5 (EBU R 128), from samples, with numpy alone.

The two filters of the K weighting are given in the recommendation for 48 kHz; for other rates the same analogue
prototypes are used (parameters as in Brecht De Man, "Evaluation of implementations of the EBU R128 loudness
measurement", AES 145, 2018). They are applied as their impulse response, cut where it has died away (below -200 dB),
by blocks in the frequency domain.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, np.dtype[np.float64]]

#: gates of BS.1770-5: absolute in LUFS, relative in LU
ABSOLUTE, RELATIVE = -70.0, -10.0
_BLOCK_S, _STEP_S = 0.4, 0.1
#: weight of a channel: the surround ones count more, the low-frequency one does not count
WEIGHTS = {"LFE": 0.0, "LFE2": 0.0, "BL": 1.41, "BR": 1.41, "SL": 1.41, "SR": 1.41}


def biquads(rate: int) -> list[tuple[tuple[float, float, float], tuple[float, float, float]]]:
    """The shelf and the high pass as (b, a), a[0] = 1."""
    # shelf
    f0, gain, q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
    k = math.tan(math.pi * f0 / rate)
    vh = 10 ** (gain / 20)
    vb = vh**0.4996667741545416
    a0 = 1 + k / q + k * k
    shelf = (
        ((vh + vb * k / q + k * k) / a0, 2 * (k * k - vh) / a0, (vh - vb * k / q + k * k) / a0),
        (1.0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0),
    )
    # high pass
    f0, q = 38.13547087602444, 0.5003270373238773
    k = math.tan(math.pi * f0 / rate)
    a0 = 1 + k / q + k * k
    high = ((1.0, -2.0, 1.0), (1.0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0))
    return [shelf, high]


def _response(rate: int) -> Array:
    """Impulse response of both filters, half a second long."""
    import numpy as np

    length = rate // 2
    samples = [0.0] * length
    samples[0] = 1.0
    for b, a in biquads(rate):
        out = [0.0] * length
        x1 = x2 = y1 = y2 = 0.0
        for n, x in enumerate(samples):
            y = b[0] * x + b[1] * x1 + b[2] * x2 - a[1] * y1 - a[2] * y2
            out[n] = y
            x1, x2, y1, y2 = x, x1, y, y1
        samples = out
    return np.array(samples)


def weighted(samples: Array, rate: int) -> Array:
    """Samples of shape (channels, n) after the K weighting."""
    import numpy as np

    response = _response(rate)
    size = 1 << (4 * len(response) - 1).bit_length()
    step = size - len(response) + 1
    spectrum = np.fft.rfft(response, size)
    channels, n = samples.shape
    out = np.zeros((channels, n))
    for start in range(0, n, step):
        block = np.fft.irfft(np.fft.rfft(samples[:, start : start + step], size, axis=1) * spectrum, size, axis=1)
        end = min(n, start + size)
        out[:, start:end] += block[:, : end - start]
    return out


def integrated(samples: Array, rate: int, weights: list[float] | None = None) -> float:
    """Integrated loudness in LUFS; -inf where nothing passes the gates (silence, or less than 0.4 s).

    Args:
        samples: shape (channels, n), full scale is 1.
        weights: of each channel; 1 unless given.
    """
    import numpy as np

    channels, n = samples.shape
    block, step = round(_BLOCK_S * rate), round(_STEP_S * rate)
    if n < block or not channels:
        return -math.inf
    power = weighted(samples, rate) ** 2
    totals = np.concatenate([np.zeros((channels, 1)), np.cumsum(power, axis=1)], axis=1)
    starts = np.arange(0, n - block + 1, step)
    mean = (totals[:, starts + block] - totals[:, starts]) / block
    loud = np.asarray(weights if weights is not None else [1.0] * channels) @ np.maximum(mean, 0)
    with np.errstate(divide="ignore"):
        levels = -0.691 + 10 * np.log10(loud)
    heard = levels > ABSOLUTE
    if not heard.any():
        return -math.inf
    gate = -0.691 + 10 * math.log10(float(loud[heard].mean())) + RELATIVE
    kept = heard & (levels > gate)
    return -0.691 + 10 * math.log10(float(loud[kept].mean()))
