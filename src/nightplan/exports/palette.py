# SPDX-License-Identifier: GPL-3.0-or-later
"""Stage colours with letters beside them, and the contrast that text and marks have.

Colours: M. Okabe and K. Ito, Color Universal Design (2008), eight colours that colour-blind readers
can tell apart. Contrast: WCAG 2.2, definitions of relative luminance and contrast ratio; text needs
4.5:1 (1.4.3, level AA), marks need 3:1 (1.4.11).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from nightplan.model.project import Project
from nightplan.speech import tr

BLACK, ORANGE, SKY_BLUE, BLUISH_GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, REDDISH_PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
OKABE_ITO = (BLACK, ORANGE, SKY_BLUE, BLUISH_GREEN, YELLOW, BLUE, VERMILLION, REDDISH_PURPLE)

#: order of stages; black is left for text, neighbours differ in lightness as well as in hue
STAGE_COLOURS = (SKY_BLUE, ORANGE, BLUISH_GREEN, REDDISH_PURPLE, YELLOW, VERMILLION, BLUE)
#: relative luminance of the stage greys for a printer without colour, neighbours far apart
_STAGE_GREYS = ("#F2F2F2", "#A6A6A6", "#D4D4D4", "#7A7A7A", "#E4E4E4", "#8F8F8F", "#BFBFBF")

TEXT_CONTRAST = 4.5
MARK_CONTRAST = 3.0


def rgb(colour: str) -> tuple[int, int, int]:
    """``#RRGGBB`` as three numbers from 0 to 255. Raises ValueError for anything else."""
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
        raise ValueError(tr("colour = {colour}: must be written #RRGGBB", colour=repr(colour)))
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: str) -> float:
    """Relative luminance, 0 (black) to 1 (white); WCAG 2.2."""
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in (c / 255 for c in rgb(colour))]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    """Contrast ratio, 1 to 21; the order of the two does not matter."""
    lighter, darker = sorted((luminance(one), luminance(two)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def ink_on(fill: str) -> str:
    """Black or white, whichever reads better on the fill: at least 4.58:1 on any colour."""
    return max(("#000000", "#FFFFFF"), key=lambda ink: contrast(ink, fill))


def mix(one: str, two: str, share: float) -> str:
    """``share`` of the second colour in the first, by sRGB values."""
    pairs = zip(rgb(one), rgb(two), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02X}" for a, b in pairs)


@dataclass(frozen=True, slots=True)
class StageInk:
    """The colour of a stage and the letters that say the same without colour."""

    fill: str
    letters: str
    #: for text on the fill
    ink: str


def stage_inks(project: Project, *, grey: bool = False) -> dict[str, StageInk]:
    """Stage id -> colour and letters, in the artist's order; letters are unique within the project.

    Stages beyond the seventh take the same colours again, half way to white: letters tell them apart.
    """
    colours = _STAGE_GREYS if grey else STAGE_COLOURS
    taken: set[str] = set()
    inks = {}
    for n, stage in enumerate(project.stages):
        fill = colours[n % len(colours)]
        if n >= len(colours):
            fill = mix(fill, "#FFFFFF", 0.5)
        letters = _letters(stage.name, taken)
        taken.add(letters)
        inks[stage.id] = StageInk(fill, letters, ink_on(fill))
    return inks


def _letters(name: str, taken: set[str]) -> str:
    """Up to three letters of the name that no other stage has."""
    plain = "".join(c for c in name.lower() if c.isalnum()) or "s"
    options = [plain[:3]]
    options += [plain[:2] + c for c in plain[3:]]
    options += [plain[:1] + c for c in plain[2:]]
    options += [f"{plain[:2]}{n}" for n in range(2, len(taken) + 3)]
    return next(o for o in options if o not in taken)
