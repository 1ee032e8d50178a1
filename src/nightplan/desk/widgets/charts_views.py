# SPDX-License-Identifier: GPL-3.0-or-later
"""The three views of the chart: in words, and as drawing; no widget, so that a worker can draw them as well."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nightplan.exports.chart_numbers import buffer_numbers, burn_numbers, slip_numbers
from nightplan.exports.chart_words import buffer_words, burn_words, slip_words
from nightplan.exports.look import Look
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from nightplan.model.project import Project
    from nightplan.model.results import Forecast

#: key, title, button, what it shows
VIEWS = (
    ("burn-down", tr("Hours left"), tr("&Burn-down"), tr("Hours of work left, evening by evening")),
    (
        "slip",
        tr("Odds"),
        tr("&Slip risk"),
        tr("The odds of each gate so far, and by the evening on which one might finish"),
    ),
    ("buffer", tr("Buffer"), tr("B&uffer"), tr("Buffer used against work done")),
)
FORMATS = {"png": tr("PNG picture"), "svg": tr("SVG drawing"), "pdf": tr("PDF page")}


@dataclass(frozen=True)
class Shown:
    """A view of a project and its odds."""

    view: str
    project: Project
    forecast: Forecast | None
    #: the gate of the buffer view; the first one where empty
    gate: str
    look: Look

    @property
    def title(self) -> str:
        return next(title for key, title, _, _ in VIEWS if key == self.view)

    def drawing(self, look: Look) -> tuple[str, int, Callable[..., None]]:
        """The view in words, how many axes it has, and what draws on them."""
        from nightplan.exports import figures

        if self.forecast is None or not self.forecast.gates:
            return tr("The chart comes with the first odds."), 0, _nothing
        try:
            if self.view == "burn-down":
                burn = burn_numbers(self.project, self.forecast)
                return burn_words(burn), 1, lambda axes: figures.draw_burn_down(axes, burn, look)
            if self.view == "slip":
                slip = slip_numbers(self.project, self.forecast)

                def draw_slip(so_far: Any, by_date: Any) -> None:
                    figures.draw_odds_so_far(so_far, slip, look)
                    figures.draw_odds_by_date(by_date, slip, look)

                return slip_words(slip), 2, draw_slip
            used = buffer_numbers(self.project, self.forecast, self.gate or self.forecast.gates[0].id)
            return buffer_words(used), 1, lambda axes: figures.draw_buffer_used(axes, used, look)
        except (BadInput, StopIteration, KeyError):
            # between a change of the project and its odds the two may not fit each other
            return tr("The chart comes with the next odds."), 0, _nothing

    def save(self, path: Path) -> None:
        """Write the view as PNG, SVG or PDF, by the ending of the path.

        Raises:
            BadInput: another ending.
            OSError: the file cannot be written.
        """
        from dataclasses import replace

        from matplotlib.figure import Figure

        kind = path.suffix.lower().removeprefix(".")
        if kind not in FORMATS:
            raise BadInput.at("file", path.name, tr("a name that ends in .png, .svg or .pdf is accepted"))
        figure = Figure(figsize=(9.0, 5.0), facecolor=self.look.panel)
        look = replace(self.look, size=10.0)
        text, count, draw = self.drawing(look)
        draw(*axes_for(figure, look.size, count, wide=True))
        meta: dict[str, Any] = {"Title": f"{self.project.title}: {self.title}"}
        if kind == "png":
            meta["Description"] = text
        if kind == "svg":
            meta["Description"] = text
            meta["Date"] = None
        if kind == "pdf":
            meta["Subject"] = text
        figure.savefig(path, dpi=200, metadata=meta, facecolor=self.look.panel)


def _nothing() -> None:
    pass


#: of the type size: axes lower than this do not stand one above the other, a figure lower than this is low
_STACKED, _LOW = 14.0, 17.0


def axes_for(figure: Figure, size: float, count: int, wide: bool) -> list[Any]:
    """Axes side by side or one above the other, with margins that grow with the letters.

    In a low figure two axes never stand one above the other, and there is no room for a name below the dates.

    Args:
        size: of the letters, in points.
        wide: side by side.
    """
    if not count:
        return []
    width, height = (float(v) for v in figure.get_size_inches())
    em = size / 72.0
    wide = wide or height < _STACKED * count * em
    low = height < _LOW * em
    left, right, bottom, top = (
        5.0 * em,
        1.6 * em,
        (1.9 if low else 3.4) * em,
        max(2.6 * em, 0.07 * height + 1.3 * em),
    )
    columns, rows = (count, 1) if wide else (1, count)
    w = (width - columns * (left + right)) / columns
    h = (height - rows * (bottom + top)) / rows
    made = []
    for n in range(count):
        column, row = (n, 0) if wide else (0, count - 1 - n)
        x, y = left + column * (w + left + right), bottom + row * (h + bottom + top)
        made.append(figure.add_axes((x / width, y / height, max(w, 0.2) / width, max(h, 0.2) / height)))
    return made
