# SPDX-License-Identifier: GPL-3.0-or-later
"""A chart that is drawn again and again: what stayed the same is kept, as artists and as a picture.

A chart is drawn by the functions of ``exports.figures``, which are given axes. To make axes, ticks and artists
takes longer than to draw them, and most of what is drawn is letters at the edges that do not change. So the
functions are given a :class:`LiveAxes` in their place: an artist of the drawing before that has the same style is
given the new data, a setting that is the same is not made again. :func:`live_canvas` keeps a picture of the still
part (ticks, guides, zones) and draws lines, bands and words over it.
"""

from __future__ import annotations

from functools import cache
from typing import Any


class LiveAxes:
    """What ``exports.figures`` uses of axes; one for each axes of a figure.

    A drawing is ``begin()``, the calls, ``finish()``.
    """

    def __init__(self, axes: Any) -> None:
        self.axes = axes
        #: the still part differs from the one that was drawn last
        self.changed = True
        #: lines, bands and words, in the order of drawing
        self.moving: list[Any] = []
        self._first = True
        self._settings: dict[tuple[str, int], Any] = {}
        self._counts: dict[str, int] = {}
        self._pool: dict[str, list[tuple[Any, Any]]] = {}
        self._used: dict[str, list[tuple[Any, Any]]] = {}
        self.xaxis, self.yaxis = _LiveAxis(self, axes.xaxis, "x"), _LiveAxis(self, axes.yaxis, "y")

    def begin(self) -> None:
        self._counts = {}
        self._pool, self._used = self._used, {}
        self.moving = []

    def finish(self) -> None:
        """Take away what this drawing did not ask for."""
        for rows in self._pool.values():
            for _place, artist in rows:
                artist.remove()
                self.changed = self.changed or not artist.get_animated()
        self._pool = {}
        self._first = False
        self.moving.sort(key=lambda artist: float(artist.get_zorder()))

    # ---- what is read ------------------------------------------------------------------------
    @property
    def figure(self) -> Any:
        return self.axes.figure

    @property
    def spines(self) -> Any:
        """Their style is that of the first drawing."""
        return self.axes.spines if self._first else {}

    def get_xlim(self) -> Any:
        return self.axes.get_xlim()

    def get_ylim(self) -> Any:
        return self.axes.get_ylim()

    def get_position(self) -> Any:
        return self.axes.get_position()

    # ---- settings: made where they differ from those of the drawing before ---------------------
    def setting(self, name: str, make: Any, value: Any) -> bool:
        """Whether it had to be made."""
        count = self._counts[name] = self._counts.get(name, 0) + 1
        if self._settings.get((name, count)) == value:
            return False
        make()
        self._settings[name, count] = value
        self.changed = True
        return True

    def forget(self, name: str) -> None:
        for key in [key for key in self._settings if key[0] == name]:
            del self._settings[key]

    def _set(self, name: str, *values: Any, **style: Any) -> None:
        self.setting(name, lambda: getattr(self.axes, name)(*values, **style), (values, style))

    def set_xlim(self, *ends: float) -> None:
        self._set("set_xlim", *ends)

    def set_ylim(self, *ends: float) -> None:
        self._set("set_ylim", *ends)

    def set_facecolor(self, colour: str) -> None:
        self._set("set_facecolor", colour)

    def set_axisbelow(self, below: bool) -> None:
        self._set("set_axisbelow", below)

    def grid(self, **style: Any) -> None:
        self._set("grid", **style)

    def tick_params(self, **style: Any) -> None:
        self._set("tick_params", **style)

    def set_xlabel(self, text: str, **style: Any) -> None:
        self._set("set_xlabel", text, **style)

    def set_ylabel(self, text: str, **style: Any) -> None:
        self._set("set_ylabel", text, **style)

    def set_title(self, text: str, **style: Any) -> None:
        self._set("set_title", text, **style)

    # ---- still artists: made anew where they moved ----------------------------------------------
    def _still(self, name: str, *place: float, **style: Any) -> Any:
        key = f"{name} {style!r}"
        rows = self._pool.get(key, [])
        found = next((row for row in rows if row[0] == place), None)
        if found is not None:
            rows.remove(found)
        else:
            found = (place, getattr(self.axes, name)(*place, **style))
            self.changed = True
        self._used.setdefault(key, []).append(found)
        return found[1]

    def axhline(self, y: float, **style: Any) -> Any:
        return self._still("axhline", y, **style)

    def axvline(self, x: float, **style: Any) -> Any:
        return self._still("axvline", x, **style)

    def axhspan(self, low: float, high: float, **style: Any) -> Any:
        return self._still("axhspan", low, high, **style)

    # ---- moving artists: given the new data -----------------------------------------------------
    def _kept(self, key: str) -> Any:
        rows = self._pool.get(key)
        return rows.pop(0)[1] if rows else None

    def _move(self, key: str, artist: Any) -> Any:
        artist.set_animated(True)
        self._used.setdefault(key, []).append((None, artist))
        self.moving.append(artist)
        return artist

    def plot(self, xs: Any, ys: Any, kind: str = "", **style: Any) -> list[Any]:
        key = f"plot {kind} {style!r}"
        line = self._kept(key)
        if line is None:
            (line,) = self.axes.plot(xs, ys, *([kind] if kind else []), **style)
        else:
            line.set_data(xs, ys)
        return [self._move(key, line)]

    def fill_between(self, xs: Any, low: Any, high: Any, **style: Any) -> Any:
        key = f"fill_between {style!r}"
        band = self._kept(key)
        if band is not None and not hasattr(band, "set_data"):
            # before matplotlib 3.10 a band could not be given other edges
            band.remove()
            band = None
        if band is None:
            band = self.axes.fill_between(xs, low, high, **style)
        else:
            band.set_data(xs, low, high)
        return self._move(key, band)

    def text(self, x: float, y: float, text: str, **style: Any) -> Any:
        key = f"text {style!r}"
        words = self._kept(key)
        if words is None:
            words = self.axes.text(x, y, text, **style)
        else:
            words.set_position((x, y))
            words.set_text(text)
        return self._move(key, words)


class _LiveAxis:
    """The ticks of one side."""

    def __init__(self, owner: LiveAxes, axis: Any, name: str) -> None:
        self._owner, self._axis, self._name = owner, axis, name

    def set_ticks(self, places: list[float]) -> None:
        if self._owner.setting(f"{self._name} ticks", lambda: self._axis.set_ticks(places), list(places)):
            # new ticks have no words yet
            self._owner.forget(f"{self._name} words")

    def set_ticklabels(self, texts: list[str], **style: Any) -> None:
        self._owner.setting(
            f"{self._name} words", lambda: self._axis.set_ticklabels(texts, **style), (list(texts), style)
        )


def live_canvas(figure: Any) -> Any:
    """A canvas for the window; ``canvas.live`` are the figure's :class:`LiveAxes`."""
    return _canvas_class()(figure)


@cache
def _canvas_class() -> Any:
    # matplotlib is loaded with the first chart
    from matplotlib.backends.backend_qtagg import FigureCanvasQTAgg
    from PySide6.QtGui import QAccessible

    base: Any = FigureCanvasQTAgg

    class LiveCanvas(base):  # type: ignore[misc]
        """Draws the still part only where it changed."""

        told_as = QAccessible.Role.Chart

        def __init__(self, figure: Any) -> None:
            self.live: list[LiveAxes] = []
            self._still: Any = None
            self._still_size: tuple[float, ...] = ()
            super().__init__(figure)

        def draw(self) -> None:
            size = (*self.figure.bbox.size, self.figure.dpi)
            if self._still is None or size != self._still_size or any(axes.changed for axes in self.live):
                super().draw()
                self._still, self._still_size = self.copy_from_bbox(self.figure.bbox), size
                for axes in self.live:
                    axes.changed = False
            else:
                self.restore_region(self._still)
            for axes in self.live:
                for artist in axes.moving:
                    axes.axes.draw_artist(artist)
            self.update()

        def forget(self) -> None:
            """The figure was cleared."""
            self.live = []
            self._still = None

        @property
        def waits(self) -> bool:
            """A drawing was asked for that has not been made yet."""
            return bool(self._draw_pending)

    return LiveCanvas
