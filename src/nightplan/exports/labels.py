# SPDX-License-Identifier: GPL-3.0-or-later
"""Words on axes: written as they are (never as formulas), placed where they cover the least."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from unicodedata import east_asian_width

import numpy as np

from nightplan.exports.fonts import families
from nightplan.exports.look import Look
from nightplan.exports.words import clean

#: width of an average letter and height of a line, in parts of the type size; DejaVu Sans runs wide
_LETTER, _LINE = 0.62, 1.35
_STEPS = 60

Box = tuple[float, float, float, float]


def put(axes: Any, x: float, y: float, text: str, look: Look, **style: Any) -> Any:
    """One line of text; a dollar sign in a name is a dollar sign."""
    style.setdefault("color", look.text)
    style.setdefault("fontsize", look.size)
    return axes.text(x, y, clean(text), fontfamily=families(look.family), parse_math=False, **style)


def backing(colour: str, alpha: float = 1.0) -> dict[str, Any]:
    """A plain ground for words that stand on hatching, on guides or on lines."""
    return {"facecolor": colour, "edgecolor": "none", "pad": 1.5 if alpha == 1.0 else 0.5, "alpha": alpha}


def text_inches(text: str, size: float) -> tuple[float, float]:
    """Width and height that a line of text takes, roughly, without a renderer."""
    letters = float(len(text))
    if not text.isascii():
        # a Japanese letter is as wide as it is high
        letters += (1 / _LETTER - 1) * sum(east_asian_width(c) in "WF" for c in text)
    return letters * size * _LETTER / 72, size * _LINE / 72


class Placer:
    """Finds room for the direct labels of an axes, once its limits and size are final."""

    def __init__(self, axes: Any, look: Look) -> None:
        figure = axes.figure
        width, height = figure.get_size_inches()
        place = axes.get_position()
        self.axes, self.look = axes, look
        self.wide, self.tall = width * place.width, height * place.height
        (self.x0, self.x1), (self.y0, self.y1) = axes.get_xlim(), axes.get_ylim()
        #: points that labels should not lie upon, each (n, 2), in inches
        self._lines: list[np.ndarray] = []
        self._points = np.empty((0, 2))
        self.boxes: list[Box] = []

    def _inches(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.x0) / (self.x1 - self.x0) * self.wide, (y - self.y0) / (self.y1 - self.y0) * self.tall

    def keep_clear(self, xs: Sequence[float], ys: Sequence[float]) -> None:
        """A line that labels should not lie upon."""
        ends = np.array([self._inches(x, y) for x, y in zip(xs, ys, strict=True)], dtype=float).reshape(-1, 2)
        start, step = ends[:-1, None], np.diff(ends, axis=0)[:, None]
        self._lines.append((start + step * np.arange(_STEPS + 1)[:, None] / _STEPS).reshape(-1, 2))

    def label(
        self, text: str, xs: Sequence[float], ys: Sequence[float], color: str, *, below: bool = False, back: str = ""
    ) -> None:
        """Write the label beside its own line, where there is the most room."""
        size = self.look.size - 0.5
        wide, tall = text_inches(text, size)
        best: tuple[float, Box] | None = None
        for n, (x, y) in enumerate(_along(xs, ys)):
            px, py = self._inches(x, y)
            for k, (dx, dy) in enumerate(_around(wide, tall, below)):
                box = (px + dx, py + dy, px + dx + wide, py + dy + tall)
                if box[0] < 0.02 or box[1] < 0.02 or box[2] > self.wide - 0.02 or box[3] > self.tall - 0.02:
                    continue
                # near the middle of the line, and as first offered, where nothing else decides
                cost = self._covered(box) + 0.004 * abs(n - 8) + 0.01 * k
                if best is None or cost < best[0]:
                    best = (cost, box)
        if best is None:
            return
        _, box = best
        self.boxes.append(box)
        x = self.x0 + box[0] / self.wide * (self.x1 - self.x0)
        y = self.y0 + (box[1] + tall / 2) / self.tall * (self.y1 - self.y0)
        put(
            self.axes,
            x,
            y,
            text,
            self.look,
            color=color,
            fontsize=size,
            ha="left",
            va="center",
            zorder=6,
            # a line may still run behind it: where there is no room, the words are read first
            bbox=backing(back) if back else backing(self.look.panel, 0.85),
        )

    def _covered(self, box: Box) -> float:
        x0, y0, x1, y1 = box
        if self._lines:
            self._points = np.concatenate([self._points, *self._lines])
            self._lines = []
        x, y = self._points[:, 0], self._points[:, 1]
        hits = int(np.count_nonzero((x0 - 0.03 < x) & (x < x1 + 0.03) & (y0 - 0.02 < y) & (y < y1 + 0.02)))
        clash = sum(x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1 for b in self.boxes)
        return hits + 1000.0 * clash


def _along(xs: Sequence[float], ys: Sequence[float]) -> list[tuple[float, float]]:
    """Seventeen places along a line, evenly by x."""
    if len(xs) < 2:
        return list(zip(xs, ys, strict=True))
    places = []
    for n in range(17):
        x = xs[0] + (xs[-1] - xs[0]) * n / 16
        i = next((i for i in range(1, len(xs)) if xs[i] >= x), len(xs) - 1)
        span = xs[i] - xs[i - 1]
        share = (x - xs[i - 1]) / span if span else 0.0
        places.append((x, ys[i - 1] + (ys[i] - ys[i - 1]) * share))
    return places


def _around(wide: float, tall: float, below: bool) -> list[tuple[float, float]]:
    """Offsets of a box from the point that it belongs to, in the order of preference."""
    places = []
    for gap in (0.06, 0.14):
        over = [(gap, gap), (-wide / 2, gap), (-wide, gap)]
        under = [(gap - wide, -tall - gap), (-wide / 2, -tall - gap), (gap, -tall - gap)]
        places += [*under, *over] if below else [*over, *under]
    return places
