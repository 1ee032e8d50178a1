# SPDX-License-Identifier: GPL-3.0-or-later
"""What one project file says for a look back, from its raw JSON.

The raw values are read as they are, without building a project: a library has a thousand files, and a
file that is not as it should be raises some error here and is then explained by the real reader.
What evenings were promised and when a gate falls is held against ``nightplan.evenings`` in the tests.
"""

from __future__ import annotations

import datetime as dt
import math
from array import array
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from operator import itemgetter
from types import SimpleNamespace
from typing import Any, cast

from nightplan.evenings.dated import TAIL_WEEKS, USUAL_START
from nightplan.evenings.gates import GateMoment, gate_moment
from nightplan.evenings.zones import to_utc, zone_info
from nightplan.model.check import MAX_YEARS
from nightplan.model.project import DAYS, PLANNED_CHANCE, SURE

#: shares of the work at which the forecast is held against what the project took
DRIFT_SHARES = (0.0, 1 / 3, 2 / 3)
#: days from the announcement to eight weeks after the last gate
_LONGEST = 366 * (MAX_YEARS + 1)
_DAY_OF = {name: n for n, name in enumerate(DAYS)}


@dataclass
class Row:
    """Everything the index keeps of one file, in the order of its tables' columns: days as ordinals, work in hours."""

    title: str = ""
    piece: str = ""
    announced: int = 0
    finished: int | None = None
    last_log: int | None = None
    #: as in SwitchFact: evenings, then sums of x, y, x², xy, y² (x switches, y minutes)
    switching: tuple[int, float, float, float, float, float] = (0, 0.0, 0.0, 0.0, 0.0, 0.0)
    #: stage, planned, high, own, actual
    items: list[tuple[str, float, float, float, float]] = field(default_factory=list)
    #: weekday, sure, promised, kept, unlogged, sum of chances
    evenings: list[tuple[int, int, int, int, int, float]] = field(default_factory=list)
    #: gate, name, due, finished, state, horizon, n, as_of, odds, p10, p50, p80, p90 (packed doubles)
    gates: list[tuple[Any, ...]] = field(default_factory=list)
    #: p10, p50, p80, p90 (None: beyond), finished, horizon
    finishes: list[tuple[Any, ...]] = field(default_factory=list)
    #: hours said to be left, hours that it then took
    left: list[tuple[float, float]] = field(default_factory=list)
    #: share of the work, hours foreseen over hours taken
    drift: list[tuple[float, float]] = field(default_factory=list)


@lru_cache(maxsize=65_536)
def ordinal(text: str) -> int:
    """A written date as its ordinal; ValueError, TypeError where it is none."""
    return dt.date.fromisoformat(text).toordinal()


def _text(value: Any) -> str:
    """Text as the index can keep it: half letters (lone surrogates) become question marks."""
    if not isinstance(value, str):
        raise TypeError("a name is text")
    return value.encode("utf-8", "replace").decode("utf-8")


@lru_cache(maxsize=4096)
def _minutes(text: str) -> int:
    hours, minutes = text.split(":")
    return int(hours) * 60 + int(minutes)


def extract(raw: dict[str, Any]) -> Row:
    """The facts of one project.

    Raises:
        KeyError, TypeError, ValueError, AttributeError, OverflowError: the file is not as it should be.
    """
    raw = _own_chances(raw)
    log = _read_log(sorted(raw.get("log") or (), key=itemgetter("evening")))
    spent, done_on = log.spent, log.done_on
    row = Row(
        _text(raw["title"]),
        _text(raw.get("piece") or ""),
        ordinal(raw["announced"]),
        last_log=max(log.hours, default=None),
        switching=log.switching,
    )
    stages = raw.get("stages") or ()
    items = {i["id"]: i for s in stages for i in s.get("items") or ()}
    state = {k: i.get("state", "open") for k, i in items.items()}
    for key in done_on:
        if state[key] == "open":
            state[key] = "done"
    planned = _planned(raw.get("baselines") or ())
    factors = _factors(raw)
    for stage in stages:
        name = _text(stage["name"])
        for item in stage.get("items") or ():
            key = item["id"]
            if state[key] != "done":
                continue
            likely, high = planned.get(key) or (float(item["likely"]), float(item["high"]))
            actual = spent.get(key, 0.0)
            if not math.isfinite(likely + high + actual):
                raise ValueError("hours must be finite numbers")  # untranslated: caught, never shown
            if likely > 0 and actual > 0:
                row.items.append((name, likely, high, likely / factors.get(key, 1.0), actual))
    row.left = [
        (said, spent[k] - before)
        for k, said, before in log.left
        if state[k] == "done" and spent[k] - before > 0 and 0 < said < math.inf
    ]
    moments = [_moment(raw, g) for g in raw["gates"]]
    _gates(row, raw, moments, state, done_on, log.job_days)
    horizon = row.gates[0][5]
    if not 0 <= horizon - row.announced <= _LONGEST:
        raise ValueError("gates and announcement are years apart")  # untranslated: caught, never shown
    end = row.finished if row.finished is not None else row.last_log
    if end is not None:
        end = min(end, horizon)
        row.evenings = _evenings(raw, end, log.hours)
    _forecasts(row, raw, state, done_on, moments)
    if row.finished is not None:
        row.drift = _drift(raw, log.hours, math.fsum(spent.values()))
    return row


@dataclass
class _Log:
    """One pass over the log: a library has a hundred thousand evenings."""

    #: item -> hours, item -> evening it was finished on, (item, said to be left, hours by then)
    spent: dict[str, float] = field(default_factory=dict)
    done_on: dict[str, int] = field(default_factory=dict)
    left: list[tuple[str, float, float]] = field(default_factory=list)
    #: evening -> hours of its items, None where it did not happen
    hours: dict[int, float | None] = field(default_factory=dict)
    job_days: dict[str, int] = field(default_factory=dict)
    switching: tuple[int, float, float, float, float, float] = (0, 0.0, 0.0, 0.0, 0.0, 0.0)


def _read_log(entries: list[Any]) -> _Log:
    log = _Log()
    spent, done_on, evenings = log.spent, log.done_on, log.hours
    n, x, y, xx, xy, yy = 0, 0.0, 0.0, 0.0, 0.0, 0.0
    for entry in entries:
        day = ordinal(entry["evening"])
        if not entry.get("happened", True):
            evenings[day] = None
            continue
        given, worked = 0.0, 0
        for work in entry.get("work") or ():
            key, hours = work["item"], work.get("hours") or 0.0
            if hours > 0:
                given += hours
                worked += 1
            total = spent[key] = spent.get(key, 0.0) + hours
            if work.get("done"):
                done_on[key] = day
            elif (said := work.get("left")) is not None:
                amount: Any = said["likely"] if isinstance(said, dict) else said
                log.left.append((key, float(amount), total))
        evenings[day] = given
        for name in entry.get("jobs_done") or ():
            log.job_days[name] = day
        if worked:
            n += 1
            lost = (entry["hours"] - given) * 60
            # rounding of typed hours is no minute
            if lost > 1e-3:
                y += lost
                yy += lost * lost
                xy += (worked - 1) * lost
            if worked > 1:
                x += worked - 1
                xx += (worked - 1) ** 2
    log.switching = n, x, y, xx, xy, yy
    return log


def _planned(baselines: Iterable[Any]) -> dict[str, tuple[float, float]]:
    """Estimates as first accepted: later baselines know how the work went."""
    found: dict[str, tuple[float, float]] = {}
    for base in baselines:
        for key, span in (base.get("estimates") or {}).items():
            if key not in found:
                both: Any = span if isinstance(span, dict) else {"likely": span}
                found[key] = float(both["likely"]), float(both.get("high", both["likely"]))
    return found


def _factors(raw: dict[str, Any]) -> dict[str, float]:
    """Item id -> the factor from past projects that the artist accepted for it."""
    found: dict[str, float] = {}
    for change in (raw.get("lookback") or {}).get("applied") or ():
        if change.get("kind") == "estimate" and 0.01 <= (factor := float(change["factor"])) <= 100:
            found.update({key: found.get(key, 1.0) * factor for key in change["items"]})
    return found


def _own_chances(raw: dict[str, Any]) -> dict[str, Any]:
    """The week with the chances that the artist gave, where learned ones were accepted in their place."""
    rows = [r for r in (raw.get("lookback") or {}).get("applied") or () if r.get("kind") == "evening"]
    if not rows:
        return raw
    # of several the first one had the artist's own
    own = {(r["day"], r["start"]): float(r["from"]) for r in reversed(rows)}
    week = [{**s, "chance": own.get((s["day"], s["start"]), s.get("chance", SURE))} for s in raw.get("week") or ()]
    return {**raw, "week": week}


def _moment(raw: dict[str, Any], gate: dict[str, Any]) -> GateMoment:
    on, at = gate.get("on"), gate.get("at")
    if (on is None) == (at is None):
        raise ValueError("a gate has either on or at")  # untranslated: caught, never shown
    stand_in = SimpleNamespace(
        id=gate["id"],
        name=gate["name"],
        on=None if on is None else dt.date.fromisoformat(on),
        at=None if at is None else dt.datetime.fromisoformat(at),
        zone=gate.get("zone"),
        wording=gate.get("wording"),
        uncertain=bool(gate.get("uncertain")),
    )
    # a project as far as a gate asks for it
    return gate_moment(cast(Any, SimpleNamespace(zone=raw["zone"], gates=())), cast(Any, stand_in))


def _gates(
    row: Row,
    raw: dict[str, Any],
    moments: list[GateMoment],
    state: dict[str, str],
    done_on: dict[str, int],
    job_days: dict[str, int],
) -> None:
    """When the work of each gate was finished, and whether in time; ``open`` where some is not done."""
    last = max(moments, key=lambda m: m.instant)
    horizon = last.date.toordinal() + 7 * TAIL_WEEKS
    for moment in moments:
        due_by = {m.id for m in moments if m.instant <= moment.instant}
        mine = [
            i["id"] for s in raw.get("stages") or () if s.get("gate", "lock") in due_by for i in s.get("items") or ()
        ]
        mine = [k for k in mine if state[k] != "cut"]
        days = [done_on[k] for k in mine if k in done_on]
        finished, outcome = None, "open"
        if mine and all(state[k] == "done" for k in mine) and days:
            day, outcome = max(days), "unknown"
            jobs = [j for j in raw.get("jobs") or () if j.get("gate", "lock") in due_by and j.get("state") != "cut"]
            # a job that nobody ticked off was done if what waited for it was
            known = all(
                j["id"] in job_days
                or j.get("state") == "done"
                or any(state.get(b) == "done" for b in j.get("before") or ())
                for j in jobs
            )
            if known:
                day = max([day, *(job_days[j["id"]] for j in jobs if j["id"] in job_days)])
                finished, outcome = day, "missed" if _after(raw, moment, day) else "met"
        elif not mine or row.last_log is None:
            outcome = "unknown"
        if moment is last:
            row.finished = finished
        row.gates.append((_text(moment.id), _text(moment.name), moment.date.toordinal(), finished, outcome, horizon))


def _after(raw: dict[str, Any], moment: GateMoment, day: int) -> bool:
    """Whether the evening of a day came after the gate."""
    if moment.whole_evening:
        return day > moment.date.toordinal()
    date = dt.date.fromordinal(day)
    if abs((date - moment.date).days) > 1:
        return date > moment.date
    slots = _slots(raw, day, day).get(day)
    start = USUAL_START if slots is None else dt.time(slots[1] // 60, slots[1] % 60)
    local = dt.datetime.combine(date, start)
    return to_utc(local, zone_info(raw["zone"])) >= moment.instant


def _slots(raw: dict[str, Any], first: int, end: int) -> dict[int, tuple[float, int, float]]:
    """Day -> chance, start in minutes and hours of its first evening, from the pattern, extras and changes."""
    changes: dict[int, dict[str, Any]] = {}
    for change in raw.get("changes") or ():
        said = {k: v for k, v in change.items() if v is not None}
        changes.setdefault(ordinal(change["on"]), {}).update(said)
    extras: dict[int, list[dict[str, Any]]] = {}
    for extra in raw.get("extra") or ():
        if first <= (day := ordinal(extra["on"])) <= end:
            extras.setdefault(day, []).append(extra)
    found: dict[int, tuple[float, int, float]] = {}

    def put(day: int, slot: dict[str, Any], new: tuple[float, int, float]) -> None:
        if day in changes:
            slot = {**slot, **{k: changes[day][k] for k in ("chance", "start", "hours") if k in changes[day]}}
            new = _slot(slot)
        old = found.get(day)
        # one entry of the log for a date: its surest evening stands for it
        found[day] = new if old is None else (max(old[0], new[0]), *min(old[1:], new[1:]))

    for slot in raw.get("week") or ():
        plain = _slot(slot)
        _, start, hours = plain
        begin = first + (_DAY_OF[slot["day"]] - (first - 1)) % 7
        for day in range(begin, end + 1, 7):
            if day in extras and any(
                start < _minutes(e["start"]) + e["hours"] * 60 and _minutes(e["start"]) < start + hours * 60
                for e in extras[day]
            ):
                continue
            put(day, slot, plain)
    for day, dated in extras.items():
        for extra in dated:
            put(day, extra, _slot(extra))
    return found


def _slot(raw: dict[str, Any]) -> tuple[float, int, float]:
    chance, hours = float(raw.get("chance", SURE)), float(raw["hours"])
    if not (0 <= chance <= 1 and 0 < hours <= 24):
        raise ValueError("a chance is a number from 0 to 1, hours are at most 24")  # untranslated: caught, never shown
    return chance, _minutes(raw["start"]), hours


def _evenings(
    raw: dict[str, Any], end: int, happened: dict[int, float | None]
) -> list[tuple[int, int, int, int, int, float]]:
    """Promised evenings from the announcement to ``end`` by weekday and kind, and which of them happened.

    Days off and busy times were never promised. An evening that the artist struck out was promised
    by the pattern and is not kept.
    """
    first = ordinal(raw["announced"])
    week = raw.get("week") or ()
    off: set[int] = set()
    for span in raw.get("off") or ():
        off.update(range(max(ordinal(span["from"]), first), min(ordinal(span["to"]), end) + 1))
    # weekday and kind -> promised, kept, unlogged, chances
    counts: dict[tuple[int, bool], tuple[int, int, int, float]] = {}
    if not (raw.get("extra") or raw.get("changes") or raw.get("busy")) and len({s["day"] for s in week}) == len(week):
        # the bare pattern, the usual case, without looking at each evening
        for slot in week:
            weekday, (chance, _, _) = _DAY_OF[slot["day"]], _slot(slot)
            days = [d for d in range(first + (weekday - (first - 1)) % 7, end + 1, 7) if d not in off]
            said = [happened[d] for d in days if d in happened]
            if days:
                came = len(said) - said.count(None)
                counts[weekday, chance >= PLANNED_CHANCE] = len(days), came, len(days) - len(said), chance * len(days)
        return [(day, int(sure), *row) for (day, sure), row in sorted(counts.items())]
    slots = _slots(raw, first, end)
    for day in off:
        slots.pop(day, None)
    lost = {ordinal(c["on"]) for c in raw.get("changes") or () if c.get("lost")}
    busy = [(_axis(b["from"]), _axis(b["to"])) for b in raw.get("busy") or ()]
    for day, (chance, start, hours) in slots.items():
        kept = happened.get(day) is not None
        if busy and not kept and day not in lost:
            begin = day * 1440 + start
            if any(a < begin + hours * 60 and begin < b for a, b in busy):
                continue
        key = (day - 1) % 7, chance >= PLANNED_CHANCE
        n, k, u, c = counts.get(key, (0, 0, 0, 0.0))
        silent = not kept and day not in happened and day not in lost
        counts[key] = n + 1, k + kept, u + silent, c + chance
    return [(day, int(sure), *row) for (day, sure), row in sorted(counts.items())]


def _axis(moment: str) -> int:
    at = dt.datetime.fromisoformat(moment)
    return at.toordinal() * 1440 + at.hour * 60 + at.minute


def _forecasts(
    row: Row, raw: dict[str, Any], state: dict[str, str], done_on: dict[str, int], moments: list[GateMoment]
) -> None:
    """Forecasts that were made while the outcome was open, by gate; the first one of each item."""
    stored = sorted(raw.get("forecasts") or (), key=lambda f: str(f["as_of"]))
    known = [(ordinal(f["as_of"]), f.get("moment", "after") == "before", f) for f in stored]
    packed = []
    for gate in row.gates:
        name, due, finished = gate[0], gate[2], gate[3]
        arrays = [array("d") for _ in range(6)]
        for day, before, forecast in known:
            # once the work is done, or the gate is past, there is nothing left to foretell
            if day > due or (finished is not None and (day > finished or (day == finished and not before))):
                continue
            odds = (forecast.get("odds") or {}).get(name)
            if odds is None:
                continue
            dates = (forecast.get("finish") or {}).get(name) or {}
            arrays[0].append(day)
            arrays[1].append(odds)
            for n, key in enumerate(("p10", "p50", "p80", "p90"), 2):
                date = dates.get(key)
                arrays[n].append(math.nan if date is None else ordinal(date))
        if not all(0 <= p <= 1 for p in arrays[1]):
            raise ValueError("odds are numbers from 0 to 1")  # untranslated: caught, never shown
        packed.append((*gate, len(arrays[0]), *(a.tobytes() for a in arrays)))
    row.gates = packed
    horizon = max(m.date.toordinal() for m in moments) + 7 * TAIL_WEEKS
    open_items = {k for k, day in done_on.items() if state[k] == "done"}
    for day, _, forecast in known:
        if not open_items:
            break
        finish = forecast.get("finish") or {}
        for key in [k for k in open_items if k in finish]:
            open_items.discard(key)
            if day <= done_on[key]:
                dates = [finish[key].get(p) for p in ("p10", "p50", "p80", "p90")]
                row.finishes.append((*(None if d is None else ordinal(d) for d in dates), done_on[key], horizon))


def _drift(raw: dict[str, Any], hours: dict[int, float | None], final: float) -> list[tuple[float, float]]:
    """Hours spent plus hours forecast, over what it took, near the beginning and after each third."""
    if final <= 0:
        return []
    nearest: dict[float, tuple[float, float]] = {}
    for forecast in raw.get("forecasts") or ():
        left = forecast.get("hours_left")
        if left is None or forecast.get("moment") == "before":
            continue
        day = ordinal(forecast["as_of"])
        # a plan is accepted before the evening of its day
        until = day - (forecast.get("moment") == "accepted")
        spent = math.fsum(h or 0.0 for d, h in hours.items() if d <= until)
        for share in DRIFT_SHARES:
            away = abs(spent / final - share)
            if (spent == 0 if share == 0 else away <= 1 / 6) and away < nearest.get(share, (1.0, 0.0))[0]:
                nearest[share] = away, (spent + float(left)) / final
    return [(share, ratio) for share, (_, ratio) in sorted(nearest.items()) if 0 < ratio < math.inf]
