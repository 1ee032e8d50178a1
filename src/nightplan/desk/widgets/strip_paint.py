# SPDX-License-Identifier: GPL-3.0-or-later
"""Painting of the evening strip with a plain painter: only what is in sight, texts laid out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF, QStaticText

from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.strip_layout import Box, Layout, Measures
from nightplan.desk.widgets.strip_model import Column
from nightplan.exports.palette import stage_inks
from nightplan.model.project import Project
from nightplan.speech import tr, trc
from nightplan.speech.dates import date

#: status -> the word in its column
_MARKS = {
    "lost": trc("of an evening", "lost"),
    "off": trc("of an evening", "off"),
    "busy": trc("of an evening", "busy"),
    "unlogged": "?",
}


@dataclass(frozen=True)
class StageInk:
    """The colour of a stage and the letters that say the same without colour."""

    fill: QColor
    letters: str


@dataclass(frozen=True)
class Inks:
    """Colours of the strip. Text on ``panel`` has at least 4.5:1, marks at least 3:1."""

    panel: QColor
    raised: QColor
    text: QColor
    muted: QColor
    #: fine guides, no meaning of their own
    line: QColor
    accent: QColor
    good: QColor
    warn: QColor
    bad: QColor
    stages: Mapping[str, StageInk] = field(default_factory=dict)
    target: float = 0.8


def mix(one: QColor, two: QColor, share: float) -> QColor:
    """``share`` of the second colour in the first."""
    return QColor(
        round(one.red() + (two.red() - one.red()) * share),
        round(one.green() + (two.green() - one.green()) * share),
        round(one.blue() + (two.blue() - one.blue()) * share),
    )


def luminance(colour: QColor) -> float:
    """Relative luminance, WCAG 2.2."""

    def linear(v: float) -> float:
        return v / 12.92 if v <= 0.04045 else float(((v + 0.055) / 1.055) ** 2.4)

    r, g, b = linear(colour.redF()), linear(colour.greenF()), linear(colour.blueF())
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: QColor, two: QColor) -> float:
    """Contrast ratio, WCAG 2.2."""
    a, b = sorted((luminance(one), luminance(two)))
    return (b + 0.05) / (a + 0.05)


def ink_on(fill: QColor) -> QColor:
    """Near-black or white, whichever reads better."""
    dark, light = QColor("#10101c"), QColor("#ffffff")
    return dark if contrast(dark, fill) >= contrast(light, fill) else light


@cache
def hatching(w: int, h: int, step: int = 7) -> tuple[QLineF, ...]:
    """Rising diagonals within a box of this size, its lower left corner at (0, 0) and up negative."""
    lines = []
    for c in range(-h + step // 2, w + step, step):
        x0, x1 = max(0.0, float(c)), min(float(w), float(c + h))
        if x1 > x0:
            lines.append(QLineF(x0, -(x0 - c), x1, -(x1 - c)))
    return tuple(lines)


class StripPainter:
    """Paints one strip; keeps fonts, measures and laid-out texts between frames."""

    def __init__(self, font: QFont) -> None:
        self.plain = QFont(font)
        self.small = QFont(font)
        if font.pointSizeF() > 0:
            self.small.setPointSizeF(max(6.0, font.pointSizeF() * 0.9))
        self.bold = QFont(self.small)
        self.bold.setBold(True)
        self._metrics = {id(f): QFontMetricsF(f) for f in (self.small, self.bold)}
        self._texts: dict[tuple[str, bool], tuple[QStaticText, float, float]] = {}
        small, bold = QFontMetricsF(self.small), QFontMetricsF(self.bold)
        self.measures = Measures(
            small.height(),
            bold.horizontalAdvance("30 Sep") * 0.9,
            max(bold.horizontalAdvance("30"), *(small.horizontalAdvance(words.weekday(n)) for n in range(7))),
            small.horizontalAdvance,
            bold.horizontalAdvance,
        )

    # ---- texts -------------------------------------------------------------------------------
    def _laid(self, text: str, bold: bool) -> tuple[QStaticText, float, float]:
        key = (text, bold)
        if key not in self._texts:
            if len(self._texts) > 2000:
                self._texts.clear()
            static = QStaticText(text)
            static.setTextFormat(Qt.TextFormat.PlainText)
            static.setPerformanceHint(QStaticText.PerformanceHint.AggressiveCaching)
            font = self.bold if bold else self.small
            static.prepare(font=font)
            metrics = self._metrics[id(font)]
            self._texts[key] = (static, metrics.horizontalAdvance(text), metrics.height())
        return self._texts[key]

    def _write(self, p: QPainter, x: float, y: float, text: str, colour: QColor, *, bold: bool = False) -> None:
        """Text with its top left corner at a point."""
        static, _, _ = self._laid(text, bold)
        p.setFont(self.bold if bold else self.small)
        p.setPen(colour)
        p.drawStaticText(QPointF(x, y), static)

    def _centred(
        self, p: QPainter, x: float, y: float, text: str, colour: QColor, *, bold: bool = False, width: float = 1e9
    ) -> bool:
        """Text centred at x, top at y; nothing where it is wider than ``width``."""
        _, w, _ = self._laid(text, bold)
        if w > width:
            return False
        self._write(p, x - w / 2, y, text, colour, bold=bold)
        return True

    # ---- the strip ---------------------------------------------------------------------------
    def paint(
        self,
        p: QPainter,
        layout: Layout,
        inks: Inks,
        x0: float,
        width: float,
        *,
        current: tuple[int, int] | None = None,
        hover: int | None = None,
        focus: bool = False,
    ) -> None:
        """The part of the strip from x0 on.

        Args:
            x0: left edge of the window within the content.
            current: column and block (−1: the whole evening) that the keyboard is at.
            hover: column under the pointer.
            focus: the strip has the keyboard.
        """
        p.setRenderHint(QPainter.RenderHint.Antialiasing)
        p.fillRect(QRectF(0, 0, width, layout.height + 4000), inks.panel)
        self._guides(p, layout, inks, width)
        p.save()
        p.translate(-x0, 0)
        columns = layout.data.columns
        seen = layout.visible(x0 + layout.gutter * 0, x0 + width)
        if hover is not None and hover in seen:
            box = layout.slot(hover)
            p.setPen(Qt.PenStyle.NoPen)
            p.setBrush(inks.raised)
            p.drawRoundedRect(_rect(box), 4, 4)
        for n in seen:
            self._evening(p, layout, inks, n)
            self._date(p, layout, inks, n)
        for n in seen:
            if columns[n].tonight:
                p.setBrush(Qt.BrushStyle.NoBrush)
                p.setPen(QPen(inks.accent, 2))
                p.drawRoundedRect(_rect(layout.slot(n)), 6, 6)
        self._jobs(p, layout, inks, x0, width)
        for n in range(len(layout.flags)):
            self._flag(p, layout, inks, n, x0, width)
        if current is not None and current[0] in seen and focus:
            self._ring(p, layout, inks, *current)
        p.restore()
        self._gutter(p, layout, inks)

    def _guides(self, p: QPainter, layout: Layout, inks: Inks, width: float) -> None:
        if not layout.data.columns:
            return
        p.setPen(QPen(inks.line, 1))
        for _, y in self._scale(layout):
            p.drawLine(QLineF(layout.gutter, y, width, y))

    def _scale(self, layout: Layout) -> list[tuple[int, float]]:
        longest = max(c.hours for c in layout.data.columns)
        step = next(s for s in (1, 2, 4, 8, 24) if s * layout.per_hour >= layout.measures.line * 1.3 or s == 24)
        return [(h, round(layout.floor - h * layout.per_hour) + 0.5) for h in range(0, int(longest) + 1, step)]

    def _gutter(self, p: QPainter, layout: Layout, inks: Inks) -> None:
        if not layout.data.columns:
            return
        p.fillRect(QRectF(0, layout.bars_top - layout.measures.line, layout.gutter - 4, layout.height), inks.panel)
        for h, y in self._scale(layout):
            if h:
                self._write(p, 2, y - layout.measures.line / 2, tr("{hours} h", hours=h), inks.muted)
        metrics = self._metrics[id(self.small)]
        for lane, name in enumerate(layout.data.machines):
            y = layout.lanes_top + lane * layout.lane_height + 2
            shown = metrics.elidedText(name, Qt.TextElideMode.ElideRight, layout.gutter - 6)
            self._write(p, 2, y, shown, inks.muted)

    # ---- one evening -------------------------------------------------------------------------
    def _evening(self, p: QPainter, layout: Layout, inks: Inks, n: int) -> None:
        c = layout.data.columns[n]
        bar = layout.bar(n)
        rect = _rect(bar)
        radius = min(3.0, bar.w / 4)
        if c.status == "buffer" or (c.free_hours > 0.05 and c.status in ("planned", "relied", "late")):
            self._hatch(p, bar, inks, (c.blocks and layout.blocks(n)[-1].y) or layout.floor)
        for block, box in zip(c.blocks, layout.blocks(n), strict=True):
            ink = inks.stages.get(block.stage) or StageInk(inks.muted, "")
            fill = ink.fill if block.logged else mix(ink.fill, inks.panel, 0.14)
            inner = QRectF(box.x + 1, box.y + 0.75, box.w - 2, max(1.0, box.h - 1.5))
            p.setPen(QPen(mix(ink.fill, inks.text, 0.35), 1))
            p.setBrush(fill)
            p.drawRoundedRect(inner, radius, radius)
            if block.late_for:
                self._late(p, inner, inks)
            if box.h >= layout.measures.line:
                self._centred(
                    p,
                    box.middle,
                    box.y + (box.h - layout.measures.line) / 2,
                    ink.letters,
                    ink_on(fill),
                    bold=True,
                    width=box.w - 2,
                )
        p.setBrush(Qt.BrushStyle.NoBrush)
        pen = _outline(c, inks)
        if pen is not None:
            p.setPen(pen)
            p.drawRoundedRect(rect.adjusted(-0.5, -0.5, 0.5, 0.5), radius + 1, radius + 1)
        self._inside(p, layout, inks, c, bar)
        self._mark(p, layout, inks, c, bar)

    def _hatch(self, p: QPainter, bar: Box, inks: Inks, bottom: float) -> None:
        h = bottom - bar.y
        if h < 2:
            return
        p.fillRect(QRectF(bar.x, bar.y, bar.w, h), mix(inks.panel, inks.muted, 0.10))
        p.setPen(QPen(mix(inks.panel, inks.muted, 0.6), 1))
        p.translate(bar.x, bottom)
        p.drawLines(list(hatching(int(bar.w), int(h), 7 if bar.w > 14 else 4)))
        p.translate(-bar.x, -bottom)

    def _late(self, p: QPainter, rect: QRectF, inks: Inks) -> None:
        """Work behind its gate: a thick red edge, and a notch that is seen without colour."""
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setPen(QPen(inks.bad, 2.5))
        p.drawRect(rect.adjusted(1, 1, -1, -1))
        notch = min(rect.width(), rect.height(), 9.0)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(inks.bad)
        corner = rect.topRight()
        p.drawPolygon(QPolygonF([corner, corner + QPointF(-notch, 0), corner + QPointF(0, notch)]))

    def _inside(self, p: QPainter, layout: Layout, inks: Inks, c: Column, bar: Box) -> None:
        word = _MARKS.get(c.status)
        if word is None:
            return
        line = layout.measures.line
        y = bar.y + (bar.h - line) / 2
        colour = inks.warn if c.status == "unlogged" else inks.muted
        if not self._centred(p, bar.middle, y, word, colour, bold=c.status == "unlogged", width=bar.w - 1):
            p.setPen(QPen(colour, 1))
            p.drawLine(QLineF(bar.x + 2, bar.y + bar.h - 2, bar.x + bar.w - 2, bar.y + 2))

    def _mark(self, p: QPainter, layout: Layout, inks: Inks, c: Column, bar: Box) -> None:
        """What stands above a column: a tick, the word tonight, a word or a wedge for a relied-upon evening."""
        line = layout.measures.line
        top = bar.y - line - 2
        if c.status == "worked":
            s = min(line * 0.5, bar.w * 0.6)
            x, y = bar.middle, bar.y - line * 0.5 - 2
            p.setPen(QPen(inks.good, max(1.5, s / 5), Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
            p.drawPolyline(
                QPolygonF([QPointF(x - s / 2, y), QPointF(x - s / 8, y + s / 2.6), QPointF(x + s / 2, y - s / 2)])
            )
        elif c.tonight:
            if not self._centred(
                p, bar.middle, top - 1, tr("tonight"), inks.accent, bold=True, width=bar.w + layout.gap
            ):
                self._wedge(p, bar, line, inks.accent)
        elif c.status == "relied" and not self._centred(
            p, bar.middle, top, trc("of an evening", "needed"), inks.warn, bold=True, width=bar.w + layout.gap
        ):
            self._wedge(p, bar, line, inks.warn)

    def _wedge(self, p: QPainter, bar: Box, line: float, colour: QColor) -> None:
        """Points down at an evening that is too narrow for a word."""
        s = min(line * 0.3, bar.w / 2)
        p.setPen(Qt.PenStyle.NoPen)
        p.setBrush(colour)
        x, y = bar.middle, bar.y - 4
        p.drawPolygon(QPolygonF([QPointF(x - s, y - 1.6 * s), QPointF(x + s, y - 1.6 * s), QPointF(x, y)]))

    def _date(self, p: QPainter, layout: Layout, inks: Inks, n: int) -> None:
        columns = layout.data.columns
        c = columns[n]
        new_month = n == 0 or columns[n - 1].date.month != c.date.month
        new_week = n == 0 or columns[n - 1].week != c.week
        line = layout.measures.line
        middle = layout.left[n] + layout.column / 2
        colour = inks.accent if c.tonight else inks.text
        if layout.roomy:
            above, number, named = words.weekday(c.date), f"{c.date.day}", False
            if new_month:
                long = date(c.date, weekday=False)
                fits = self._laid(long, True)[1] <= layout.column + layout.gap
                above, number, named = (above, long, False) if fits else (words.month(c.date), number, True)
            self._centred(p, middle, layout.dates_top, above, inks.text if named else inks.muted, bold=named)
            self._centred(p, middle, layout.dates_top + line, number, colour, bold=True)
        elif layout.column >= self._laid("30", True)[1]:
            self._centred(p, middle, layout.dates_top, f"{c.date.day}", colour, bold=c.tonight)
            if new_month:
                self._write(p, layout.left[n], layout.dates_top + line, words.month(c.date), inks.text, bold=True)
        elif new_month:
            self._write(p, layout.left[n], layout.dates_top, words.month(c.date), inks.text, bold=True)
        elif new_week:
            p.setPen(QPen(inks.muted, 1))
            p.drawLine(QLineF(layout.left[n], layout.dates_top, layout.left[n], layout.dates_top + 4))

    # ---- gates and jobs ----------------------------------------------------------------------
    def _flag(self, p: QPainter, layout: Layout, inks: Inks, n: int, x0: float, width: float) -> None:
        box = layout.flags[n]
        if box.x + box.w < x0 or box.x > x0 + width:
            return
        flag = layout.data.flags[n]
        colour = flag_colour(flag.odds, flag.met, inks)
        p.setPen(QPen(colour, 2))
        p.drawLine(QLineF(box.x, box.y, box.x, layout.lanes_top - 4))
        rect = QRectF(box.x, box.y, box.w, box.h)
        if flag.uncertain:
            p.setPen(QPen(colour, 1.5, Qt.PenStyle.DashLine))
            p.setBrush(inks.raised)
            first, second = inks.text, inks.text
        else:
            p.setPen(Qt.PenStyle.NoPen)
            p.setBrush(colour)
            first = second = ink_on(colour)
        p.drawRoundedRect(rect, 2, 2)
        title, line = layout.flag_lines(n)
        self._write(p, box.x + layout.measures.line * 0.5, box.y + 2, title, first, bold=True)
        self._write(p, box.x + layout.measures.line * 0.5, box.y + 2 + layout.measures.line, line, second)

    def _jobs(self, p: QPainter, layout: Layout, inks: Inks, x0: float, width: float) -> None:
        colour = mix(inks.accent, inks.text, 0.45)
        for lane in range(layout.lanes):
            y = round(layout.lanes_top + lane * layout.lane_height + layout.lane_height / 2) + 0.5
            p.setPen(QPen(inks.line, 1))
            p.drawLine(QLineF(max(x0, layout.gutter), y, x0 + width, y))
        for place in layout.jobs:
            if place.bar.x > x0 + width or place.label_x + 400 < x0:
                continue
            if place.label:
                w = layout.measures.small(place.label)
                p.fillRect(QRectF(place.label_x - 3, place.bar.y - 2, w + 6, place.bar.h + 4), inks.panel)
                self._write(p, place.label_x, place.bar.y - 2, place.label, inks.warn if place.at_risk else inks.muted)
            # late risk by a thick edge as well as by the words beside it
            p.setPen(QPen(inks.warn, 2) if place.at_risk else Qt.PenStyle.NoPen)
            p.setBrush(QBrush(colour))
            p.drawRoundedRect(_rect(place.bar), place.bar.h / 2, place.bar.h / 2)

    def _ring(self, p: QPainter, layout: Layout, inks: Inks, column: int, block: int) -> None:
        """The visible focus: two lines, dark and light, so that it shows on every fill."""
        boxes = layout.blocks(column)
        on_work = 0 <= block < len(boxes)
        rect = _rect(boxes[block] if on_work else layout.slot(column))
        # around the frame of tonight, not over it
        rect = rect.adjusted(-1, -1, 1, 1) if on_work else rect.adjusted(-3, -3, 3, 3)
        p.setBrush(Qt.BrushStyle.NoBrush)
        p.setPen(QPen(inks.panel, 4))
        p.drawRoundedRect(rect, 4, 4)
        p.setPen(QPen(inks.text, 2))
        p.drawRoundedRect(rect, 4, 4)


def stage_colours(project: Project) -> dict[str, StageInk]:
    """Stage id -> colour and letters, the same as in pictures and reports."""
    return {key: StageInk(QColor(ink.fill), ink.letters) for key, ink in stage_inks(project).items()}


def flag_colour(odds: float | None, met: bool, inks: Inks) -> QColor:
    """By the odds where they are known, else by the plan; the number stands beside it."""
    if odds is None:
        return inks.muted if met else inks.warn
    if odds >= inks.target:
        return inks.good
    return inks.warn if odds >= inks.target / 2 else inks.bad


def _outline(c: Column, inks: Inks) -> QPen | None:
    style = Qt.PenStyle.DashLine if c.maybe else Qt.PenStyle.SolidLine
    if c.status in ("off", "busy"):
        return QPen(inks.muted, 1, Qt.PenStyle.DotLine)
    if c.status == "lost":
        return QPen(inks.muted, 1, Qt.PenStyle.DashLine if c.chance and c.maybe else Qt.PenStyle.SolidLine)
    if c.status == "unlogged":
        return QPen(inks.warn, 1.5, style)
    if c.status == "relied":
        return QPen(inks.warn, 1.5, Qt.PenStyle.DashLine)
    if c.status == "worked" and not c.maybe:
        return None
    return QPen(mix(inks.muted, inks.text, 0.2), 1, style)


def _rect(box: Box) -> QRectF:
    return QRectF(box.x, box.y, box.w, box.h)
