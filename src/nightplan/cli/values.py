# SPDX-License-Identifier: GPL-3.0-or-later
"""Results as JSON values: dates ISO, instants ISO with their offset to UTC, hours rounded to a second or so."""

from __future__ import annotations

import datetime as dt
from typing import Any

from nightplan.model.project import Project
from nightplan.model.results import Forecast, ItemForecast, Percentiles, Plan


def hours(value: float) -> float:
    return round(value, 4)


def date(value: dt.date | None) -> str | None:
    return None if value is None else value.isoformat()


def instant(value: dt.datetime | None) -> str | None:
    if value is None:
        return None
    # to the nearest second: hours are floats, and 08:59:59.999999 means 09:00
    return (value + dt.timedelta(microseconds=500_000)).replace(microsecond=0).isoformat()


def finish(p: Percentiles) -> dict[str, str | None]:
    return {"p10": date(p.p10), "p50": date(p.p50), "p80": date(p.p80), "p90": date(p.p90)}


def plan_values(project: Project, planned: Plan) -> dict[str, Any]:
    return {
        "title": project.title,
        "as_of": date(planned.as_of),
        "evenings": [
            {
                "date": date(e.date),
                "start": e.start.isoformat(timespec="minutes"),
                "hours": hours(e.hours),
                "chance": e.chance,
                "status": e.status,
                "work": [{"item": w.item, "hours": hours(w.hours)} for w in e.work],
                **(
                    {"hands": [{"job": h.job, "kind": h.kind, "hours": hours(h.hours)} for h in e.hands]}
                    if e.hands
                    else {}
                ),
                **({"why": e.why} if e.why else {}),
            }
            for e in planned.evenings
        ],
        "items": [
            {
                "id": i.id,
                "name": project.items[i.id].name,
                "stage": i.stage,
                "finish": date(i.finish),
                "hours": hours(i.hours),
                "spent": hours(i.spent),
            }
            for i in planned.items
        ],
        "jobs": [
            {
                "id": j.id,
                "name": project.jobs_by_id[j.id].name,
                "start": instant(j.start),
                "end": instant(j.end),
            }
            for j in planned.jobs
        ],
        "gates": [
            {
                "id": g.id,
                "name": project.gates_by_id[g.id].name,
                "instant": instant(g.instant),
                "met": g.met,
                "short_hours": hours(g.short_hours),
                "finish": date(g.finish),
            }
            for g in planned.gates
        ],
        "relied_on": [date(d) for d in planned.relied_on],
    }


def odds_values(project: Project, found: Forecast) -> dict[str, Any]:
    def things(rows: tuple[ItemForecast, ...]) -> list[dict[str, Any]]:
        return [{"id": row.id, "finish": finish(row.finish)} for row in rows]

    return {
        "title": project.title,
        "as_of": date(found.as_of),
        "futures": found.futures,
        "seed": found.seed,
        "gates": [
            {
                "id": g.id,
                "name": g.name,
                "instant": instant(g.instant),
                "odds": round(g.odds, 6),
                "finish": finish(g.finish),
                "work_left": g.work_left,
                "finished_on": date(g.finished_on),
                "buffer": {
                    "have_hours": hours(g.buffer.have_hours),
                    "need_hours": hours(g.buffer.need_hours),
                    "used": None if g.buffer.used is None else round(g.buffer.used, 6),
                },
                "uncertain": g.uncertain,
            }
            for g in found.gates
        ],
        "items": things(found.items),
        "jobs": things(found.jobs),
        "drivers": [{"id": d.id, "kind": d.kind, "share": round(d.share, 6)} for d in found.drivers],
        "learned": {
            "finished": found.learned.finished,
            "mean": round(found.learned.mean, 6),
            "sd": round(found.learned.sd, 6),
        },
        "hours_left": hours(found.hours_left),
    }
