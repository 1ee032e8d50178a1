# SPDX-License-Identifier: GPL-3.0-or-later
"""The sentences of the report: verdict, what the charts show, drivers, what the numbers mean."""

from __future__ import annotations

import datetime as dt
import math

from nightplan.exports import words
from nightplan.exports.chart_numbers import BufferNumbers, BurnNumbers, SlipNumbers
from nightplan.exports.figures import ZONE_WORDS
from nightplan.exports.strip_numbers import StripNumbers
from nightplan.model.project import Project
from nightplan.model.results import Driver, EarnedSchedule, Forecast, Plan

#: odds short of what was asked for by less than this are close to it (common practice, no source)
_CLOSE = 0.1
#: odds are said in hundredths, so less than half of one is no difference
_SAME = 0.005
_DRIVERS = 5

MEANING = (
    "{futures:,} times the rest of the piece was played through: each evening happens or not by its chance, each "
    "item takes as long as its estimate allows, and what was learned from finished items shifts the rest. "
    "“{example} in 100” means that in {example} of 100 such futures all the work of that gate is done by its moment. "
    "Likely is as often too little as too much, high is enough nine times in ten. A “9 in 10 by” date is the evening "
    "by which the work is done in nine of ten futures. The buffer is the evening time between the likely work and the "
    "gate; it is needed because things run over and evenings fall out, so a used buffer is no fault as long as the "
    "work moves on as well."
)
CAUTION = (
    "The organiser’s rules decide, not this page: read deadlines, zones and formats there. Estimates are not promises, "
    "and odds are only as good as the estimates and the log behind them. Sleep is no buffer."
)
EARNED = (
    "This is earned schedule, a published way to hold work done against a plan. It counts hours of the baseline "
    "and knows nothing of chance; where it and the odds disagree, the odds know more about what may still happen."
)

STATUS = {
    "worked": "worked",
    "lost": "lost",
    "unlogged": "not logged, counts as lost",
    "planned": "planned",
    "relied": "maybe, and relied upon",
    "buffer": "buffer",
    "late": "after the last gate",
    "off": "off or taken",
}


def verdict(project: Project, forecast: Forecast, plan: Plan) -> str:
    """Where the piece stands, in two or three sentences."""
    asked = project.target_odds
    if not forecast.items and not forecast.jobs and all(g.odds >= 1 for g in forecast.gates):
        return "All work is done, every gate is met."
    tight = [g for g in forecast.gates if g.odds < asked - _SAME]
    if not tight:
        least = words.per_100(min(g.odds for g in forecast.gates))
        text = f"On course: every gate holds in at least {least} of 100 futures, and you asked for {asked * 100:.0f}."
    else:
        worst = min(tight, key=lambda g: g.odds)
        name = words.clean(worst.name)
        if worst.odds <= 0:
            state = f"Out of reach as things stand: {name} is met in none of the futures"
        elif worst.odds >= asked - _CLOSE:
            state = f"Close, but not there: {name} holds in {words.per_100(worst.odds)} of 100 futures"
        else:
            state = f"At risk: {name} holds in {words.per_100(worst.odds)} of 100 futures"
        text = f"{state}; you asked for {asked * 100:.0f}."
        rest = [f"{words.clean(g.name)} {words.in_100(g.odds)}" for g in forecast.gates if g is not worst]
        if rest:
            text += f" {_join(rest)}."
    missed = [g for g in plan.gates if not g.met and g.short_hours >= 0.05]
    if missed:
        names = {g.id: words.clean(g.name) for g in forecast.gates}
        short = [f"{names.get(g.id, g.id)} ({words.hours(g.short_hours)})" for g in missed]
        text += f" Even by the likely hours, work lies after {_join(short)}."
    elif plan.relied_on:
        dates = _join([words.day(d) for d in plan.relied_on])
        text += f" The plan leans on {_count(len(plan.relied_on), 'maybe evening')}: {dates}."
    return text


def strip_words(numbers: StripNumbers) -> str:
    """The strip for someone who does not see it; the table of evenings has the rest."""
    if not numbers.columns:
        return "No evenings."
    count = {s: sum(c.status == s for c in numbers.columns) for s in STATUS}
    parts = [_count(count["worked"], "evening") + " worked"]
    parts += [
        f"{count[s]} {text}"
        for s, text in (("lost", "lost"), ("unlogged", "not logged"), ("planned", "planned"))
        if count[s]
    ]
    parts += [
        f"{count[s]} {text}"
        for s, text in (("relied", "relied upon"), ("buffer", "kept as buffer"), ("late", "too late"))
        if count[s]
    ]
    gates = _join([f"{words.clean(f.name)} on {words.day(f.date)}" for f in numbers.flags])
    first, last = numbers.columns[0].date, numbers.columns[-1].date
    return f"Evenings from {words.day(first)} to {words.day(last, year=True)}: {', '.join(parts)}. Gates: {gates}."


def burn_words(numbers: BurnNumbers) -> str:
    """The chart of hours left, in plain words."""
    now, begin = numbers.actual[-1], numbers.band[0].p50
    there = next((p.y for p in numbers.there if p.x == now.x), 0.0)
    text = f"{words.hours(now.y)} of likely work are left; the evenings still there are worth {words.hours(there)}."
    learned = begin - now.y
    if abs(learned) >= 0.5:
        way = "add" if learned > 0 else "take off"
        text += f" Finished items {way} {words.hours(abs(learned))}: so far off is the rest expected to be."
    planned = next((p.y for p in reversed(numbers.baseline) if p.x <= now.x), None)
    if planned is not None:
        apart = now.y - planned
        text += f" The baseline had {words.hours(planned)} here, {_more(apart)}."
    if len(numbers.band) > 1:
        end = numbers.band[-1]
        between = f"8 in 10 futures have between {words.hours(end.p10)} and {words.hours(end.p90)} left"
        text += f" After {words.day(end.date)}, {between if end.p90 >= 0.05 else '9 in 10 futures have nothing left'}."
    return text


def slip_words(numbers: SlipNumbers) -> str:
    """The chart of the odds, in plain words."""
    parts = []
    for gate in numbers.gates:
        text = f"{words.clean(gate.name)}: {words.in_100(gate.so_far[-1].y)}"
        if len(gate.so_far) > 1:
            text += f", {words.in_100(gate.so_far[0].y)} on {words.day(gate.so_far[0].date)}"
        by = next((p for p in gate.by_date if p.y >= numbers.target), None)
        if by is not None:
            text += f"; {words.per_100(numbers.target)} in 100 are reached by {words.day(by.date)}"
        parts.append(text + ".")
    return " ".join(parts)


def buffer_words(numbers: BufferNumbers) -> str:
    """The chart of the buffer, in plain words."""
    name = words.clean(numbers.name)
    have = numbers.have_hours
    text = (
        f"Before {name} there is a buffer of {words.hours(have)}"
        if have >= 0
        else f"Before {name} {words.hours(-have)} are missing"
    )
    text += f"; {words.hours(numbers.need_hours)} are needed."
    if numbers.points:
        last = numbers.points[-1]
        if last.used <= 0:
            text += f" None of it is used with {words.percent(last.done)} of the work done."
        else:
            zone = ZONE_WORDS[0 if last.used < 1 / 3 else 1 if last.used < 2 / 3 else 2]
            text += f" {words.percent(last.used)} is used with {words.percent(last.done)} of the work done: {zone}."
    return text


def earned_words(earned: EarnedSchedule) -> str:
    """Progress by earned schedule, in plain words."""
    pace = f"{earned.performance:.2f}"
    side = {True: "ahead of it", False: "behind it"}[earned.performance > 1] if pace != "1.00" else "as planned"
    text = (
        f"After {_count(earned.evenings, 'evening')} of the baseline, the work done is what the baseline "
        f"had after {earned.earned_evenings:.1f}: {side} (SPI(t) {pace})"
    )
    if not math.isfinite(earned.evenings_at_end):
        return f"{text}."
    if earned.earned_evenings >= earned.planned_evenings:
        return f"{text}; all of it is done."
    planned = _count(earned.planned_evenings, "evening")
    return f"{text}; at this pace its {planned} become {earned.evenings_at_end:.1f}."


def driver_words(project: Project, drivers: tuple[Driver, ...]) -> list[tuple[str, str]]:
    """What lateness hangs on most: the name, and its share in words."""
    rows = []
    for driver in drivers[:_DRIVERS]:
        if driver.share < 0.005:
            continue
        rows.append((_driver_name(project, driver), f"explains {words.percent(driver.share)} of how late it may get"))
    return rows


def _driver_name(project: Project, driver: Driver) -> str:
    if driver.kind == "item" and driver.id in project.items:
        return f"{words.clean(project.items[driver.id].name)} ({words.clean(project.stage_of[driver.id].name)})"
    if driver.kind == "job" and driver.id in project.jobs_by_id:
        return f"{words.clean(project.jobs_by_id[driver.id].name)} (machine job)"
    try:
        return f"whether the evening of {words.day(dt.date.fromisoformat(driver.id[:10]))} happens"
    except ValueError:
        return words.clean(driver.id)


def _more(apart: float) -> str:
    if abs(apart) < 0.05:
        return "the same"
    return f"{words.hours(abs(apart))} {'less' if apart > 0 else 'more'} than now"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _join(parts: list[str]) -> str:
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"
