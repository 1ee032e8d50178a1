# SPDX-License-Identifier: GPL-3.0-or-later
"""The log, the plan, the futures and the hours left as tables, for people who want their own analysis.

``log_table`` and its sisters give a :class:`Table` of plain values; :func:`csv_text` writes one as CSV
(RFC 4180), :func:`frame` turns one into a pandas DataFrame with real dates. pandas is an extra and is
loaded by :func:`frame` and :func:`frames` alone. Dates are civil dates, instants are aware and in UTC,
hours are elapsed hours, odds and chances lie in 0 to 1; an empty cell means that there is no such value.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nightplan.exports.chart_numbers import burn_numbers
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import Forecast, ItemForecast, Percentiles, Plan
from nightplan.speech import tr

if TYPE_CHECKING:
    import pandas as pd

Cell = str | int | float | bool | dt.date | dt.datetime | None


@dataclass(frozen=True, slots=True)
class Table:
    """Columns by name and rows of cells, all of one length."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    #: columns of dates, for those who read cells as text
    dates: tuple[str, ...] = ()
    instants: tuple[str, ...] = ()


NAMES = ("log", "plan", "futures", "burn-down")


def log_table(project: Project) -> Table:
    """One row for each item of each logged evening; an evening without work has one row without an item."""

    def rows() -> Iterator[tuple[Cell, ...]]:
        for entry in sorted(project.log, key=lambda e: e.evening):
            head = (entry.evening, entry.happened, entry.hours)
            for work in entry.work:
                item, stage = project.items[work.item], project.stage_of[work.item]
                left = (None, None) if work.left is None else (work.left.likely, work.left.high)
                yield (*head, stage.id, item.id, item.name, work.hours, work.done, *left, entry.note)
            if not entry.work:
                yield (*head, None, None, None, None, None, None, None, entry.note)

    columns = ("evening", "happened", "evening_hours", "stage", "item", "item_name", "hours", "done")
    return Table("log", (*columns, "left_likely", "left_high", "note"), tuple(rows()), ("evening",))


def plan_table(project: Project, plan: Plan) -> Table:
    """One row for each item on each evening of the plan; an evening without work has one row without an item."""

    def rows() -> Iterator[tuple[Cell, ...]]:
        for e in plan.evenings:
            head = (e.date, e.start.strftime("%H:%M"), e.hours, e.chance, e.status)
            for work in e.work:
                item, stage = project.items[work.item], project.stage_of[work.item]
                yield (*head, stage.id, item.id, item.name, item.tier, work.hours, e.why)
            if not e.work:
                yield (*head, None, None, None, None, None, e.why)

    columns = ("evening", "start", "evening_hours", "chance", "status", "stage", "item", "item_name", "tier", "hours")
    return Table("plan", (*columns, "why"), tuple(rows()), ("evening",))


def futures_table(project: Project, forecast: Forecast) -> Table:
    """One row for each gate, item and job: odds, finish evenings, buffer, share of the lateness explained."""
    shares = {d.id: d.share for d in forecast.drivers}

    def finish(p: Percentiles) -> tuple[Cell, ...]:
        return (p.p10, p.p50, p.p80, p.p90)

    def things(kind: str, found: tuple[ItemForecast, ...], names: dict[str, str]) -> Iterator[tuple[Cell, ...]]:
        for row in found:
            share = shares.get(row.id)
            yield (kind, row.id, names.get(row.id, row.id), None, *finish(row.finish), None, None, None, None, share)

    rows: list[tuple[Cell, ...]] = [
        (
            *("gate", g.id, g.name, g.odds),
            *finish(g.finish),
            *(g.instant, g.buffer.have_hours, g.buffer.need_hours, g.buffer.used, None),
        )
        for g in forecast.gates
    ]
    rows += things("item", forecast.items, {key: item.name for key, item in project.items.items()})
    rows += things("job", forecast.jobs, {key: job.name for key, job in project.jobs_by_id.items()})
    columns = ("kind", "id", "name", "odds", "p10", "p50", "p80", "p90", "instant")
    more = ("buffer_have_hours", "buffer_need_hours", "buffer_used", "driver_share")
    return Table("futures", (*columns, *more), tuple(rows), ("p10", "p50", "p80", "p90"), ("instant",))


def burn_down_table(project: Project, forecast: Forecast) -> Table:
    """Hours of work left at the end of each evening: as accepted, so far, in the futures; hours still there."""
    numbers = burn_numbers(project, forecast)
    base, actual, there = ({p.date: p.y for p in ps} for ps in (numbers.baseline, numbers.actual, numbers.there))
    band = {b.date: b for b in numbers.band}

    def rows() -> Iterator[tuple[Cell, ...]]:
        for day in sorted({*numbers.days, *actual, *band}):
            b = band.get(day)
            futures = (None, None, None) if b is None else (b.p10, b.p50, b.p90)
            yield (day, base.get(day), actual.get(day), *futures, there.get(day))

    columns = ("evening", "baseline", "actual", "p10", "p50", "p90", "hours_there")
    return Table("burn-down", columns, tuple(rows()), ("evening",))


def table(name: str, project: Project, plan: Plan, forecast: Forecast) -> Table:
    """A table by its name, one of :data:`NAMES`. Raises BadInput for another name."""
    if name == "log":
        return log_table(project)
    if name == "plan":
        return plan_table(project, plan)
    if name == "futures":
        return futures_table(project, forecast)
    if name == "burn-down":
        return burn_down_table(project, forecast)
    raise BadInput.at("what", name, tr("a table is one of {names}", names=", ".join(NAMES)))


def csv_text(of: Table) -> str:
    """The table as CSV: a row of names, lines end as RFC 4180 wants, full precision.

    Text that a spreadsheet would take for a formula gets an apostrophe in front, as such programs do.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(of.columns)
    for row in of.rows:
        writer.writerow([_cell(value) for value in row])
    return out.getvalue()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, (dt.date, dt.datetime)):
        return value.isoformat()
    text = str(value)
    # names come from a file that somebody else may have written
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def frame(of: Table) -> pd.DataFrame:
    """The table as a DataFrame: dates as datetime64, instants as datetime64 in UTC, numbers as numbers.

    Raises:
        BadInput: pandas is not installed.
    """
    try:
        import pandas as pd
    except ImportError:
        raise BadInput(tr("pandas is not installed; CSV holds the same numbers (pip install pandas)")) from None
    made = pd.DataFrame(list(of.rows), columns=list(of.columns))
    for name in of.dates:
        made[name] = pd.to_datetime(made[name])
    for name in of.instants:
        made[name] = pd.to_datetime(made[name], utc=True)
    return made


def frames(project: Project, plan: Plan, forecast: Forecast) -> dict[str, pd.DataFrame]:
    """Every table as a DataFrame, by its name."""
    return {name: frame(table(name, project, plan, forecast)) for name in NAMES}
