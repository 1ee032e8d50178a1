# SPDX-License-Identifier: GPL-3.0-or-later
"""The legend of the evening strip: only what the strip shows. Inches."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from matplotlib.patches import Polygon, Rectangle

from nightplan.exports.labels import put, text_inches
from nightplan.exports.look import Look
from nightplan.exports.palette import StageInk, mix
from nightplan.exports.strip_numbers import StripNumbers
from nightplan.exports.strip_rows import DASH, GAP, MARGIN
from nightplan.model.results import COMING
from nightplan.speech import tr

_SWATCH = 0.3


def legend_lines(
    numbers: StripNumbers, names: Mapping[str, str], inks: Mapping[str, StageInk], look: Look, width: float
) -> list[list[tuple[float, str, str, StageInk | None]]]:
    """Entries (x, kind, words, ink) in lines as wide as the strip; only what the strip shows."""
    used = {stage for c in numbers.columns for stage, _ in c.blocks}
    entries: list[tuple[str, str, StageInk | None]] = [
        ("stage", name, inks[key]) for key, name in names.items() if key in used
    ]
    states = {c.status for c in numbers.columns}
    if any(not c.maybe and c.status in COMING for c in numbers.columns):
        entries.append(("sure", tr("sure evening"), None))
    if any(c.maybe and c.status in COMING for c in numbers.columns):
        entries.append(("maybe", tr("maybe evening"), None))
    if "buffer" in states:
        entries.append(("buffer", tr("buffer, kept free"), None))
    if "lost" in states and "unlogged" in states:
        entries.append(("lost", tr("lost, not logged (?)"), None))
    elif "lost" in states:
        entries.append(("lost", tr("lost"), None))
    elif "unlogged" in states:
        entries.append(("lost", tr("not logged (?)"), None))
    if "off" in states:
        entries.append(("off", tr("off or taken"), None))
    if any(c.following for c in numbers.columns):
        entries.append(("next", tr("next evening"), None))
    if numbers.jobs:
        entries.append(("job", tr("machine job"), None))
    lines: list[list[tuple[float, str, str, StageInk | None]]] = [[]]
    x = MARGIN + GAP
    for kind, text, ink in entries:
        wide = _SWATCH + 0.06 + text_inches(text, look.small)[0] + 0.16
        if lines[-1] and x + wide > width:
            lines.append([])
            x = MARGIN + GAP
        lines[-1].append((x, kind, text, ink))
        x += wide
    return lines


def draw_legend(axes: Any, lines: list[list[tuple[float, str, str, StageInk | None]]], top: float, look: Look) -> None:
    """The lines one below the other, from ``top`` down."""
    for n, line in enumerate(lines):
        y = top - 0.21 * n - 0.08
        for x, kind, text, ink in line:
            box: dict[str, Any] = {"xy": (x, y - 0.065), "width": _SWATCH, "height": 0.13}
            if ink is not None:
                axes.add_patch(Rectangle(**box, facecolor=ink.fill, edgecolor=look.edge, linewidth=0.6))
                put(
                    axes,
                    x + _SWATCH / 2,
                    y,
                    ink.letters,
                    look,
                    ha="center",
                    va="center",
                    color=ink.ink,
                    fontsize=look.small - 0.5,
                )
            elif kind == "next":
                axes.add_patch(
                    Polygon(
                        [(x + 0.08, y + 0.05), (x + 0.22, y + 0.05), (x + 0.15, y - 0.05)],
                        facecolor=look.now,
                        edgecolor="none",
                    )
                )
            elif kind == "job":
                axes.add_patch(Rectangle((x, y - 0.045), _SWATCH, 0.09, facecolor=look.muted, edgecolor="none"))
            else:
                if kind == "buffer":
                    axes.add_patch(
                        Rectangle(
                            **box,
                            facecolor=mix(look.panel, look.hatch, 0.12),
                            edgecolor=look.hatch,
                            hatch="////",
                            linewidth=0,
                        )
                    )
                style: Any = {"maybe": DASH, "off": (0, (1, 2))}.get(kind, "solid")
                colour = look.muted if kind in ("lost", "off") else look.text
                axes.add_patch(Rectangle(**box, facecolor="none", edgecolor=colour, linestyle=style, linewidth=0.9))
            put(axes, x + _SWATCH + 0.06, y, text, look, va="center", fontsize=look.small, color=look.muted)
