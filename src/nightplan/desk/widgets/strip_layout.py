# SPDX-License-Identifier: GPL-3.0-or-later
"""Where everything on the evening strip lies, in pixels. Evenings are the axis: nights between them have no width
of their own, but where a machine works through one the gap is wider by its hours, so that jobs differ in length.
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from nightplan.desk.widgets.strip_model import StripData
from nightplan.speech import tr, trc

#: no evening is drawn higher than so many times the width of its column per hour
_MAX_HOUR = 52.0
MIN_ZOOM, MAX_ZOOM = 0.18, 3.0


_Span = tuple[dt.datetime, dt.datetime]


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    w: float
    h: float

    def holds(self, x: float, y: float) -> bool:
        return self.x <= x < self.x + self.w and self.y <= y < self.y + self.h

    @property
    def middle(self) -> float:
        return self.x + self.w / 2


@dataclass(frozen=True, slots=True)
class Measures:
    """What the layout must know of the font, in pixels."""

    line: float
    #: width of the widest date under a column, such as ``30 Sep``
    date: float
    #: width of the widest weekday or number of a day
    narrow: float
    #: width of some text in the small and in the bold font
    small: Callable[[str], float]
    bold: Callable[[str], float]


@dataclass(frozen=True, slots=True)
class JobPlace:
    bar: Box
    label: str
    #: where the label begins; to the right of the bar
    label_x: float
    #: its odds are below the asked ones
    at_risk: bool = False


class Layout:
    """The geometry of one strip at one zoom and one height. ``x`` runs over the whole content, not the window."""

    def __init__(self, data: StripData, measures: Measures, zoom: float, height: float) -> None:
        self.data = data
        self.measures = m = measures
        self.zoom = zoom
        self.gutter = max([m.small("10 h"), *(min(m.small(name), m.line * 5) for name in data.machines)]) + m.line * 0.9
        self.column = max(6.0, (m.date + m.line * 0.5) * zoom)
        self.gap = max(2.0, m.line * 0.55 * zoom)
        self.week_gap = self.gap + max(5.0, m.line * 1.3 * zoom)
        #: every column has room for its own date
        self.roomy = self.column >= m.narrow
        self._starts = [c.start_at for c in data.columns]
        #: what a machine's hour between two evenings adds to the gap
        self.per_machine_hour = max(0.5, m.line * 0.22 * zoom)
        #: column before a gap -> when machines work in it, no two spans overlap
        self._nights = self._machine_nights()
        self.left = self._lefts()
        #: little height: flags have one line only
        self.low = height < m.line * 16
        self.flags = self._flags()
        self._vertical(height)
        self.jobs = self._jobs()
        end = self.left[-1] + self.column + self._machine_width(len(self.left) - 1) if self.left else self.gutter
        ends = [end, *(b.x + b.w for b in self.flags), *(self._label_end(p) for p in self.jobs)]
        self.width = max(ends) + m.line

    def _machine_nights(self) -> dict[int, list[_Span]]:
        columns = self.data.columns
        nights: dict[int, list[_Span]] = {}
        for job in sorted(self.data.jobs, key=lambda j: j.start):
            for n in range(max(0, bisect_right(self._starts, job.start) - 1), len(columns)):
                begin = max(job.start, columns[n].end_at)
                end = min(job.end, columns[n + 1].start_at) if n + 1 < len(columns) else job.end
                spans = nights.setdefault(n, [])
                if spans and begin <= spans[-1][1]:
                    spans[-1] = (spans[-1][0], max(end, spans[-1][1]))
                elif begin < end:
                    spans.append((begin, end))
                if n + 1 < len(columns) and job.end <= columns[n + 1].start_at:
                    break
        return {n: spans for n, spans in nights.items() if spans}

    def _machine_width(self, n: int) -> float:
        """What the machines' hours take of the gap behind a column."""
        hours = sum((end - begin).total_seconds() for begin, end in self._nights.get(n, ())) / 3600.0
        return min(hours * self.per_machine_hour, self.column * 1.5)

    def _gap_after(self, n: int) -> float:
        columns = self.data.columns
        same = n + 1 < len(columns) and columns[n + 1].week == columns[n].week
        usual = self.gap if same or n + 1 == len(columns) else self.week_gap
        return max(usual, self._machine_width(n) + usual / 2)

    def _lefts(self) -> list[float]:
        lefts: list[float] = []
        x = self.gutter + self.measures.line * 0.5
        for n in range(len(self.data.columns)):
            lefts.append(x)
            x += self.column + self._gap_after(n)
        return lefts

    def _vertical(self, height: float) -> None:
        line = self.measures.line
        rows = 1 + max(self._flag_row, default=0)
        self.flag_height = line * (1 if self.low else 2) + (4 if self.low else 6)
        self.lane_height = line + 4
        self.flags_top = 2.0
        self.marks_top = self.flags_top + rows * (self.flag_height + 3) + 2 if self.data.flags else 4.0
        self.bars_top = self.marks_top + line + 5
        self.lanes = len(self.data.machines)
        dates = line * 2 + 4
        self.floor = max(self.bars_top + line * 2, height - dates - self.lanes * self.lane_height - 6)
        self.dates_top = self.floor + 4
        self.lanes_top = self.dates_top + dates
        self.height = self.lanes_top + self.lanes * self.lane_height + 2
        longest = max((c.hours for c in self.data.columns), default=4.0)
        self.per_hour = min((self.floor - self.bars_top) / longest, max(_MAX_HOUR, line * 3.4))
        self.flags = [
            Box(b.x, self.flags_top + row * (self.flag_height + 3), b.w, self.flag_height)
            for b, row in zip(self.flags, self._flag_row, strict=True)
        ]

    # ---- time and place ----------------------------------------------------------------------
    def x_of(self, instant: dt.datetime) -> float:
        """Where an instant lies: within its evening by the hour, between two evenings in the gap by the share."""
        columns = self.data.columns
        if not columns:
            return self.gutter
        n = bisect_right(self._starts, instant) - 1
        if n < 0:
            return self.left[0] - self.gap / 2
        inside = (instant - columns[n].start_at).total_seconds() / 3600.0
        if inside <= columns[n].hours:
            return self.left[n] + self.column * (inside / columns[n].hours if columns[n].hours else 1.0)
        return self.left[n] + self.column + self._into_gap(n, instant)

    def _into_gap(self, n: int, instant: dt.datetime) -> float:
        """How far behind a column: machine hours count by themselves, the rest of the night by its share."""
        columns, spans = self.data.columns, self._nights.get(n, [])
        end, width, machine = columns[n].end_at, self._gap_after(n), self._machine_width(n)
        last = n + 1 == len(columns)
        if last and not spans:
            # no end to share by
            return self.gap / 2
        begin = spans[-1][1] if last else columns[n + 1].start_at
        worked = sum(((e - b) for b, e in spans), dt.timedelta())
        past = sum((max(min(e, instant) - b, dt.timedelta()) for b, e in spans), dt.timedelta())
        idle = (begin - end) - worked
        free = self.gap / 2 if last else width - machine
        if idle > dt.timedelta():
            share = (min(instant, begin) - end - past) / idle
        else:
            share = float(last and instant > begin) if spans else 0.5
        return (machine * (past / worked) if worked else 0.0) + free * share

    def visible(self, x0: float, x1: float) -> range:
        """Indices of the columns that meet [x0, x1]."""
        first = max(0, bisect_left(self.left, x0 - self.column))
        last = bisect_right(self.left, x1)
        return range(first, last)

    def column_at(self, x: float) -> int | None:
        n = bisect_right(self.left, x) - 1
        return n if n >= 0 and x < self.left[n] + self.column + self.gap / 2 else None

    def bar(self, n: int) -> Box:
        """The whole evening, as high as its hours."""
        h = max(3.0, self.data.columns[n].hours * self.per_hour)
        return Box(self.left[n], self.floor - h, self.column, h)

    def blocks(self, n: int) -> list[Box]:
        """The work in it, the first at the bottom; the same order as the column's blocks."""
        boxes = []
        y = self.floor
        for block in self.data.columns[n].blocks:
            h = block.hours * self.per_hour
            boxes.append(Box(self.left[n], y - h, self.column, h))
            y -= h
        return boxes

    def slot(self, n: int) -> Box:
        """The evening with its mark and its date: what is framed, pressed and hovered."""
        pad = min(self.gap / 2, 4.0)
        bar = self.bar(n)
        top = bar.y - self.measures.line - 5
        return Box(bar.x - pad, top, bar.w + 2 * pad, self.lanes_top - top)

    # ---- flags -------------------------------------------------------------------------------
    def flag_lines(self, n: int) -> tuple[str, str]:
        """The two lines on a flag; the second is empty where there is little height."""
        from nightplan.desk.widgets import strip_words as words

        f = self.data.flags[n]
        first = f.name if f.odds is None else f"{f.name}  {words.odds(f.odds)}"
        second = words.day(f.date) if f.whole_evening else f"{words.day(f.local.date())}, {f.local:%H:%M}"
        more = "  " + trc("gate", "uncertain") if f.uncertain else ""
        if not f.met:
            late = f.short_hours > 0.05
            said = tr("{hours} late", hours=words.hours(f.short_hours)) if late else trc("gate", "missed")
            more += f"  {said}"
        return (first + more, "") if self.low else (first, second + more)

    def pole(self, n: int) -> float:
        """Where the flag of a gate stands."""
        f = self.data.flags[n]
        x = self.x_of(f.instant)
        k = self.column_at(x)
        if k is not None and f.instant >= self.data.columns[k].end_at:
            # the evening counts as a whole: the flag stands behind it
            x = self.left[k] + self.column + self.gap / 2
        return x

    def _flags(self) -> list[Box]:
        """Boxes of the flags; flags that would cover each other hang on different rows."""
        boxes: list[Box] = []
        self._flag_row: list[int] = []
        ends: list[float] = []
        for n in range(len(self.data.flags)):
            first, second = self.flag_lines(n)
            w = max(self.measures.bold(first), self.measures.small(second)) + self.measures.line * 1.1
            x = self.pole(n)
            row = next((r for r, end in enumerate(ends) if end + 4 <= x), len(ends))
            if row == len(ends):
                ends.append(0.0)
            ends[row] = x + w
            self._flag_row.append(row)
            boxes.append(Box(x, 0.0, w, 0.0))
        return boxes

    # ---- jobs --------------------------------------------------------------------------------
    def _jobs(self) -> list[JobPlace]:
        from nightplan.desk.widgets import strip_words as words

        places = []
        least = max(8.0, self.measures.line * 0.8, self.gap + 4)
        for job in self.data.jobs:
            x0, x1 = self.x_of(job.start), self.x_of(job.end)
            if x1 - x0 < least:
                x0, x1 = (x0 + x1 - least) / 2, (x0 + x1 + least) / 2
            y = self.lanes_top + job.lane * self.lane_height
            bar = Box(x0, y + 3, x1 - x0, self.lane_height - 6)
            places.append(JobPlace(bar, words.job_label(job), x1 + 5, job.at_risk))
        # a label that would run into the next bar of its lane is left out; the tooltip has it
        for n, place in enumerate(places):
            lane = self.data.jobs[n].lane
            later = [p.bar.x for p, j in zip(places[n + 1 :], self.data.jobs[n + 1 :], strict=True) if j.lane == lane]
            if later and self._label_end(place) > min(later) - 3:
                places[n] = JobPlace(place.bar, "", place.label_x, place.at_risk)
        return places

    def _label_end(self, place: JobPlace) -> float:
        return place.label_x + (self.measures.small(place.label) if place.label else 0.0)

    # ---- what is under the pointer -----------------------------------------------------------
    def hit(self, x: float, y: float) -> tuple[str, int, int] | None:
        """``("flag", n, -1)``, ``("job", n, -1)`` or ``("evening", n, block or -1)`` at a place of the content."""
        for n, box in enumerate(self.flags):
            if box.holds(x, y):
                return "flag", n, -1
        for n, place in enumerate(self.jobs):
            bar = place.bar
            if Box(bar.x - 2, bar.y - 2, max(bar.w + 4, self._label_end(place) - bar.x), bar.h + 4).holds(x, y):
                return "job", n, -1
        k = self.column_at(x)
        if k is None or not self.bars_top - self.measures.line <= y < self.lanes_top:
            return None
        for b, block in enumerate(self.blocks(k)):
            if block.holds(x, y):
                return "evening", k, b
        return "evening", k, -1
