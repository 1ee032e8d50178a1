# SPDX-License-Identifier: GPL-3.0-or-later
"""The rows of the evening strip: which evenings stand side by side, and where an instant lies among them. Inches."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise

from nightplan.exports.strip_numbers import StripColumn

#: outline of a maybe evening
DASH = (0, (3, 2))
MARGIN, GAP, WEEK_GAP = 0.12, 0.07, 0.2
WIDEST, NARROWEST = 0.46, 0.27


@dataclass(frozen=True)
class Row:
    """Columns of one row with their left edges, and what lies beneath and above."""

    columns: tuple[StripColumn, ...]
    lefts: tuple[float, ...]
    wide: float
    begin: dt.datetime | None
    end: dt.datetime | None

    def x(self, instant: dt.datetime) -> float:
        """Place of an instant: linear within an evening, and through the gap between two."""
        places: list[tuple[float, float]] = []
        for column, left in zip(self.columns, self.lefts, strict=True):
            places += [(column.start_at.timestamp(), left), (column.end_at.timestamp(), left + self.wide)]
        at = instant.timestamp()
        if at <= places[0][0]:
            return places[0][1] - GAP / 2
        for (t0, x0), (t1, x1) in pairwise(places):
            if at <= t1:
                return x0 + (x1 - x0) * (at - t0) / (t1 - t0) if t1 > t0 else x1
        # beyond the last evening a gap is a day wide
        return min(places[-1][1] + WEEK_GAP, places[-1][1] + WEEK_GAP * (at - places[-1][0]) / 86_400)

    def edge(self, instant: dt.datetime) -> float:
        """Place of a gate: in the gap before the next evening, or within the evening that it cuts."""
        for column, left in zip(self.columns, self.lefts, strict=True):
            if instant <= column.start_at:
                return left - GAP / 2
            if instant < column.end_at:
                return self.x(instant)
        return self.lefts[-1] + self.wide + GAP / 2

    def holds(self, instant: dt.datetime) -> bool:
        """Whether it lies after the row's begin, and not after its end."""
        return (self.begin is None or instant > self.begin) and (self.end is None or instant <= self.end)


def laid_rows(columns: tuple[StripColumn, ...], width: float) -> list[Row]:
    """Whole weeks side by side as far as they fit."""
    weeks: list[list[StripColumn]] = []
    for column in columns:
        if weeks and weeks[-1][-1].week == column.week:
            weeks[-1].append(column)
        else:
            weeks.append([column])
    groups: list[list[list[StripColumn]]] = [[]]
    used = 2 * MARGIN
    for week in weeks:
        need = len(week) * (NARROWEST + GAP) + WEEK_GAP
        if groups[-1] and used + need > width:
            groups.append([])
            used = 2 * MARGIN
        groups[-1].append(week)
        used += need
    rows = []
    wide = WIDEST
    for group in groups:
        count = sum(len(w) for w in group)
        room = width - 2 * MARGIN - WEEK_GAP * (len(group) + 0.5) - GAP * count
        wide = min(wide, room / max(1, count))
    begin: dt.datetime | None = None
    for n, group in enumerate(groups):
        lefts, shown, x = [], [], MARGIN + GAP
        for week in group:
            for column in week:
                lefts.append(x)
                shown.append(column)
                x += wide + GAP
            x += WEEK_GAP
        end = shown[-1].end_at if shown and n + 1 < len(groups) else None
        # what falls between two rows belongs to the end of the first
        if end is not None:
            end = groups[n + 1][0][0].start_at
        if shown:
            rows.append(Row(tuple(shown), tuple(lefts), wide, begin, end))
        begin = end
    return rows
