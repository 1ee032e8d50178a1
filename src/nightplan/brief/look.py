# SPDX-License-Identifier: GPL-3.0-or-later
"""How a decoded picture looks: a signature of its pixels, and which cells of a 16 × 16 grid are black.

Samples for black are every fourth line: a frame with one lit line between them counts as black, which is a warning,
never a failure. The signature takes every pixel.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from nightplan.brief.facts import ALL_BLACK, Look

if TYPE_CHECKING:
    import numpy as np
    from av import VideoFrame

    Array = np.ndarray[Any, np.dtype[Any]]

GRID = 16
#: of the full scale; dark film grain and dithering stay below it (common practice, no source)
BLACK = 8 / 255
#: bytes of a picture that are summed at a time
_PART = 1 << 18
#: limited range: black is 16 of 255 (ITU-R BT.709, 4.6)
_FOOT = 16 / 255


def look_of(planes: list[Array], cells: int, opaque: bool | None = None) -> Look:
    """A look from the raw lines of every plane, padding cut off, and its black cells.

    Args:
        planes: uint8 arrays of shape (lines, bytes of a line).
    """
    return Look(signature(planes), cells, opaque=opaque)


def signature(planes: list[Array], seen: Callable[[int, Array], None] | None = None) -> bytes:
    """The same for the same pixels.

    Args:
        planes: as for :func:`look_of`.
        seen: given the number of a plane and some of its lines, as 8 bytes at a time, while they lie in the processor's
            cache; all of them where the bytes of a line can be divided by 8, else the rest of each line is left out.
    """
    digest = hashlib.blake2b(digest_size=12)
    for number, plane in enumerate(planes):
        digest.update(str(plane.shape).encode())
        for sums in _sums(plane, number, seen):
            digest.update(sums.tobytes())
    return digest.digest()


def _sums(plane: Array, number: int, seen: Callable[[int, Array], None] | None) -> list[Array]:
    """Sums along lines and along columns, 8 bytes at a time, that wrap around: together as good as the pixels for
    telling frames apart, and as fast as memory is."""
    import numpy as np

    _, length = plane.shape
    whole = length // 8 * 8
    if not whole:
        return [plane]
    wide = plane[:, :whole]
    if plane.strides[0] % 8 or plane.strides[1] != 1:
        wide = np.ascontiguousarray(wide)
    wide = wide.view(np.uint64)
    lines, columns = np.empty(len(wide), np.uint64), np.zeros(wide.shape[1], np.uint64)
    # everything about some lines before the next ones: memory is read once
    part = max(1, _PART // whole)
    for start in range(0, len(wide), part):
        rows = wide[start : start + part]
        rows.sum(axis=1, dtype=np.uint64, out=lines[start : start + part])
        columns += rows.sum(axis=0, dtype=np.uint64)
        if seen is not None:
            seen(number, rows)
    return [lines, columns, plane[:, whole:].sum(axis=1)]


def black_cells(lines: Array, black: float, step: int = 1, skip: tuple[int, ...] = (), every: int = 4) -> int:
    """The cells of the grid whose largest sample is black, as bits, row by row.

    Args:
        lines: samples of shape (lines, columns × step), of any byte order.
        step: samples of a pixel that stand beside each other.
        skip: which of them are no colour.
        every: one line of so many is looked at.
    """
    import numpy as np

    thin = lines[::every] if lines.shape[0] >= every * GRID else lines
    if not thin.dtype.isnative:
        thin = thin.astype(thin.dtype.newbyteorder("="))
    count = thin.shape[0]
    rows = []
    for n in range(GRID):
        start = n * count // GRID
        rows.append(thin[start : max((n + 1) * count // GRID, start + 1)].max(axis=0))
    width = thin.shape[1] // step
    grid = np.stack(rows)[:, : width * step]
    for k in skip:
        grid[:, k::step] = 0
    cells = np.maximum.reduceat(grid, np.arange(GRID) * width // GRID * step, axis=1)
    return int.from_bytes(np.packbits((cells <= black).ravel()).tobytes(), "big")


def missing_part(look: Look, usual: int) -> float:
    """Share of the picture that is black here and not usually, where it reaches from an edge; else 0.

    Args:
        usual: cells that are black in most frames (bars above and below stay out of it).
    """
    if look.fault or look.unknown or look.black_cells == ALL_BLACK:
        return 0.0
    odd = look.black_cells & ~usual
    best = 0
    lines = [(odd >> (GRID * (GRID - 1 - r))) & 0xFFFF for r in range(GRID)]
    expected = [(usual >> (GRID * (GRID - 1 - r))) & 0xFFFF for r in range(GRID)]
    open_lines = [e != 0xFFFF for e in expected]
    for order in (range(GRID), range(GRID - 1, -1, -1)):
        run = 0
        for r in order:
            if not open_lines[r]:
                continue
            if lines[r] | expected[r] != 0xFFFF:
                break
            run += 1
        best = max(best, run)
    columns = [sum(1 for r in range(GRID) if (lines[r] | expected[r]) >> (GRID - 1 - c) & 1) for c in range(GRID)]
    usual_columns = [sum(1 for r in range(GRID) if expected[r] >> (GRID - 1 - c) & 1) for c in range(GRID)]
    for order in (range(GRID), range(GRID - 1, -1, -1)):
        run = 0
        for c in order:
            if usual_columns[c] == GRID:
                continue
            if columns[c] != GRID:
                break
            run += 1
        best = max(best, run)
    return best / GRID


def usual_cells(looks: list[Look]) -> int:
    """Cells that are black in more than half of the frames that are not black as a whole."""
    counted = [look.black_cells for look in looks if not look.fault and not look.unknown and not look.black]
    if not counted:
        return 0
    usual = 0
    need = len(counted) / 2
    alike: dict[int, int] = {}
    for cells in counted:
        alike[cells] = alike.get(cells, 0) + 1
    for bit in range(GRID * GRID):
        if sum(n for cells, n in alike.items() if cells >> bit & 1) > need:
            usual |= 1 << bit
    return usual


#: layouts whose samples are packed into bits, mixed or mapped
_INDIRECT = frozenset(("pal8", "rgb4", "bgr4", "rgb4_byte", "bgr4_byte", "rgb8", "bgr8"))
_NO_DIRECT = (
    *(
        "mono",
        "bayer",
        "rgb5",
        "bgr5",
        "rgb444",
        "bgr444",
        "x2",
        "y2",
        "v30",
        "v21",
        "xyz",
        "p0",
        "yuyv",
        "uyvy",
        "yvyu",
    ),
)
_FULL_RANGE = ("yuvj", "rgb", "bgr", "gbr", "argb", "abgr", "gray", "ya", "0")


def look_of_frame(frame: VideoFrame, *, alpha: bool = False) -> Look:
    """The look of a decoded frame, without a copy of its pixels where its layout allows.

    ``alpha``: also say whether its alpha channel is opaque everywhere.
    """
    import numpy as np

    name = frame.format.name
    if (
        name in _INDIRECT
        or name.startswith(_NO_DIRECT)
        or "f32" in name
        or "f16" in name
        or not frame.format.components
    ):
        frame = frame.reformat(format="rgb24")
        name = frame.format.name
    components = frame.format.components
    bits = components[0].bits
    size = 2 if bits > 8 else 1
    planar = len(frame.planes) > 1
    step = 1 if planar else len(components)
    planes: list[Array] = []
    for number, plane in enumerate(frame.planes):
        raw = np.frombuffer(memoryview(plane), np.uint8)
        line = abs(plane.line_size)
        lines = min(len(raw) // line, plane.height) if line else 0
        samples = 2 if name.startswith("nv") and number else step
        planes.append(raw[: lines * line].reshape(lines, line)[:, : min(line, plane.width * size * samples)])
    dtype = np.dtype(">u2" if name.endswith("be") else "<u2") if size == 2 else np.dtype(np.uint8)
    most = float((1 << bits) - 1)
    full = frame.color_range == 2 or name.startswith(_FULL_RANGE)
    black = (BLACK if full else _FOOT + BLACK * 219 / 255) * most

    def typed(plane: Array, every: int = 1) -> Array:
        part = plane[::every]
        return part if size == 1 else np.ascontiguousarray(part).view(dtype)

    opaque: bool | None = None
    if planar:
        # a copy of every fourth line, already thinned, stands for the plane
        thin = 4 if planes[0].shape[0] >= 4 * GRID and (size == 2 or name.startswith("gbr")) else 1
        samples_of = typed(planes[0], thin)
        if name.startswith("gbr"):
            for other in planes[1:3]:
                samples_of = np.maximum(samples_of, typed(other, thin))
        cells = black_cells(samples_of, black, every=4 // thin)
        if alpha and len(planes) == 4:
            opaque = bool((typed(planes[3]) >= most).all())
    else:
        first = name.startswith(("argb", "abgr", "0"))
        skip = (0 if first else step - 1,) if step in (2, 4) else ()
        thin = 4 if size == 2 and planes[0].shape[0] >= 4 * GRID else 1
        cells = black_cells(typed(planes[0], thin), black, step, skip, 4 // thin)
        if alpha and skip:
            opaque = _opaque(planes[0], size * step, size, skip[0] * size)
    return look_of(planes, cells, opaque)


def _opaque(plane: Array, pixel: int, size: int, at: int) -> bool:
    """Whether one sample of every pixel has all its bits set: one pass over whole pixels as numbers."""
    import numpy as np

    wide = np.ascontiguousarray(plane).view({2: np.uint16, 4: np.uint32, 8: np.uint64}[pixel])
    together = np.bitwise_and.reduce(wide, axis=None)
    return bool(together.tobytes()[at : at + size] == b"\xff" * size)
