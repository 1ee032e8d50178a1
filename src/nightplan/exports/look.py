# SPDX-License-Identifier: GPL-3.0-or-later
"""How a figure looks: colours and letter sizes for night, for daylight, and for a printer without colour."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Look:
    """Colours as ``#RRGGBB``, sizes in points.

    ``text``, ``muted`` and every colour that words are written in have at least 4.5:1 on ``panel``,
    marks at least 3:1; ``line`` is for guides that carry no meaning (see the tests).
    """

    name: str
    panel: str
    text: str
    muted: str
    line: str
    #: what really happened, and the futures that follow from it
    now: str
    #: the plan as accepted
    plan: str
    #: hours that are there
    there: str
    #: outline of blocks
    edge: str
    #: hatching of the buffer
    hatch: str
    #: one colour for each gate in time order; the last one serves the rest
    gates: tuple[str, ...]
    #: zones of the buffer, from quiet to serious; told apart by hatching and words as well
    zones: tuple[str, str, str]
    family: str = "DejaVu Sans"  # untranslated: a font
    size: float = 9.0
    #: stage colours as greys
    grey: bool = False

    @property
    def small(self) -> float:
        """Size of small text, points."""
        return self.size - 1.5

    def gate(self, place: int) -> str:
        """Colour of a gate by its place in time."""
        return self.gates[min(place, len(self.gates) - 1)]


NIGHT = Look(
    name="night",
    panel="#1A1D3A",
    text="#ECEBF5",
    muted="#ABADCF",
    line="#343866",
    now="#FFD07A",
    plan="#8FA5FF",
    there="#ABADCF",
    edge="#ECEBF5",
    hatch="#7F83B8",
    gates=("#FFB066", "#78E3AE", "#8CC8F5", "#E7A9CB"),
    zones=("#20254A", "#2C3161", "#3C3A70"),
)

LIGHT = Look(
    name="light",
    panel="#FFFFFF",
    text="#1B1B24",
    muted="#565869",
    line="#DDDEE7",
    now="#9A4A00",
    plan="#0F5FA8",
    there="#565869",
    edge="#33343F",
    hatch="#7A7C8D",
    gates=("#A84300", "#00694C", "#0F5FA8", "#8A3B68"),
    zones=("#F3F6FB", "#E4EAF4", "#D3DBEB"),
)

PRINT = Look(
    name="print",
    panel="#FFFFFF",
    text="#000000",
    muted="#404040",
    line="#D0D0D0",
    now="#000000",
    plan="#595959",
    there="#595959",
    edge="#000000",
    hatch="#6B6B6B",
    gates=("#000000", "#404040", "#595959", "#6B6B6B"),
    zones=("#FFFFFF", "#F0F0F0", "#E0E0E0"),
    grey=True,
)

LOOKS = {look.name: look for look in (NIGHT, LIGHT, PRINT)}
