# SPDX-License-Identifier: GPL-3.0-or-later
"""What colours look like to eyes that lack one kind of cone, and how far two colours are apart.

Sources: G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color
Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15 (6), 2009, matrices for severity 1.0,
applied to linear RGB; IEC 61966-2-1 (sRGB) for the way to linear light and to XYZ; G. Sharma, W. Wu and E. N. Dalal,
"The CIEDE2000 Color-Difference Formula", Color Research and Application 30 (1), 2005.
"""

from __future__ import annotations

import math

import numpy as np

MACHADO = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
#: linear sRGB to XYZ, white D65
_XYZ = np.array(((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505)))
_WHITE = _XYZ.sum(axis=1)


def linear(colours: np.ndarray) -> np.ndarray:
    """sRGB, 0 to 255, any shape, as linear light 0 to 1."""
    parts = np.asarray(colours, float) / 255.0
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def simulated(colours: np.ndarray, kind: str) -> np.ndarray:
    """Colours (… x 3, 0 to 255) as ``protan``, ``deutan`` or ``tritan`` eyes see them; other words change nothing."""
    if kind not in MACHADO:
        return np.asarray(colours, np.uint8)
    light = np.clip(linear(colours) @ np.array(MACHADO[kind]).T, 0.0, 1.0)
    parts = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(parts * 255).astype(np.uint8)


def lab(colour: np.ndarray) -> tuple[float, float, float]:
    """CIE L*a*b*, white D65, of one colour (3, 0 to 255)."""
    ratio = (_XYZ @ linear(colour)) / _WHITE
    x, y, z = (float(v) ** (1 / 3) if v > 216 / 24389 else (24389 / 27 * float(v) + 16) / 116 for v in ratio)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def difference(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """CIEDE2000 of two L*a*b* colours, all weights 1; about 1 is the least that can be seen."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    g = 0.5 * (1 - math.sqrt(mean**7 / (mean**7 + 25.0**7)))
    c1, c2 = math.hypot(a1 * (1 + g), b1), math.hypot(a2 * (1 + g), b2)
    h1, h2 = (math.degrees(math.atan2(b, a * (1 + g))) % 360 for a, b in ((a1, b1), (a2, b2)))
    turn = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    # the angle between opposite hues goes the way of its sign
    if turn == -180 and h2 > h1:
        turn = 180.0
    dl, dc, dh = l2 - l1, c2 - c1, 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2))
    l, c = (l1 + l2) / 2, (c1 + c2) / 2  # noqa: E741
    if c1 * c2 == 0:
        h = h1 + h2
    elif abs(h1 - h2) <= 180:
        h = (h1 + h2) / 2
    else:
        h = (h1 + h2 + (360 if h1 + h2 < 360 else -360)) / 2

    def cos(degrees: float) -> float:
        return math.cos(math.radians(degrees))

    t = 1 - 0.17 * cos(h - 30) + 0.24 * cos(2 * h) + 0.32 * cos(3 * h + 6) - 0.20 * cos(4 * h - 63)
    sl = 1 + 0.015 * (l - 50) ** 2 / math.sqrt(20 + (l - 50) ** 2)
    sc, sh = 1 + 0.045 * c, 1 + 0.015 * c * t
    rc = 2 * math.sqrt(c**7 / (c**7 + 25.0**7))
    rt = -math.sin(math.radians(60 * math.exp(-(((h - 275) / 25) ** 2)))) * rc
    parts = dl / sl, dc / sc, dh / sh
    return math.sqrt(sum(part**2 for part in parts) + rt * parts[1] * parts[2])
