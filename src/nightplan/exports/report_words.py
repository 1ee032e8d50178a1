# SPDX-License-Identifier: GPL-3.0-or-later
"""The sentences of the report: verdict, what the strip shows, drivers, what the numbers mean."""

from __future__ import annotations

import datetime as dt
import math

from nightplan.exports import words
from nightplan.exports.strip_numbers import StripNumbers
from nightplan.model.project import Project
from nightplan.model.results import Driver, EarnedSchedule, Forecast, Plan
from nightplan.speech import mark, tr, trc, trn
from nightplan.speech.dates import decimal
from nightplan.speech.words import evenings, listed

#: odds short of what was asked for by less than this are close to it (common practice, no source)
_CLOSE = 0.1
#: odds are said in hundredths, so less than half of one is no difference
_SAME = 0.005
_DRIVERS = 5

MEANING = mark(
    "{futures} times the rest of the piece was played through: each evening happens or not by its chance, each "
    "item takes as long as its estimate allows, and what was learned from finished items shifts the rest. "
    "“{example} in 100” means that in {example} of 100 such futures all the work of that gate is done by its moment. "
    "Likely is as often too little as too much, high is enough nine times in ten. A “9 in 10 by” date is the evening "
    "by which the work is done in nine of ten futures. The buffer is the evening time between the likely work and the "
    "gate; it is needed because things run over and evenings fall out, so a used buffer is no fault as long as the "
    "work moves on as well."
)
CAUTION = tr(
    "The organiser’s rules decide, not this page: read deadlines, zones and formats there. Estimates are not promises, "
    "and odds are only as good as the estimates and the log behind them. Sleep is no buffer."
)
EARNED = tr(
    "This is earned schedule, a published way to hold work done against a plan. It counts hours of the baseline "
    "and knows nothing of chance; where it and the odds disagree, the odds know more about what may still happen."
)

STATUS = {
    "worked": tr("worked"),
    "lost": tr("lost"),
    "unlogged": tr("not logged, counts as lost"),
    "planned": tr("planned"),
    "relied": tr("maybe, and relied upon"),
    "buffer": tr("buffer"),
    "late": tr("after the last gate"),
    "off": tr("off or taken"),
}
TIERS = {"primary": tr("primary"), "secondary": tr("secondary"), "tertiary": tr("tertiary")}
JOB_KINDS = {
    "render": trc("kind of machine job", "render"),
    "simulation": trc("kind of machine job", "simulation"),
    "download": trc("kind of machine job", "download"),
    "upload": trc("kind of machine job", "upload"),
    "other": trc("kind of machine job", "other"),
}


def verdict(project: Project, forecast: Forecast, plan: Plan) -> str:
    """Where the piece stands, in two or three sentences."""
    if not forecast.items and not forecast.jobs and all(g.odds >= 1 for g in forecast.gates):
        return tr("All work is done, every gate is met.")
    said = [_course(project.target_odds, forecast)]
    missed = [g for g in plan.gates if not g.met and g.short_hours >= 0.05]
    if missed:
        names = {g.id: words.clean(g.name) for g in forecast.gates}
        short = [tr("{gate} ({hours})", gate=names.get(g.id, g.id), hours=words.hours(g.short_hours)) for g in missed]
        said.append(tr("Even by the likely hours, work lies after {gates}.", gates=listed(short)))
    elif plan.relied_on:
        said.append(
            trn(
                "The plan leans on {n} maybe evening: {days}.",
                "The plan leans on {n} maybe evenings: {days}.",
                len(plan.relied_on),
                days=listed([words.day(d) for d in plan.relied_on]),
            )
        )
    return " ".join(said)


def _course(target: float, forecast: Forecast) -> str:
    asked = decimal(target * 100, 0)
    tight = [g for g in forecast.gates if g.odds < target - _SAME]
    if not tight:
        return tr(
            "On course: every gate holds in at least {odds} of 100 futures, and you asked for {asked}.",
            odds=words.per_100(min(g.odds for g in forecast.gates)),
            asked=asked,
        )
    worst = min(tight, key=lambda g: g.odds)
    told = {"gate": words.clean(worst.name), "odds": words.per_100(worst.odds), "asked": asked}
    if worst.odds <= 0:
        text = tr("Out of reach as things stand: {gate} is met in none of the futures; you asked for {asked}.", **told)
    elif worst.odds >= target - _CLOSE:
        text = tr("Close, but not there: {gate} holds in {odds} of 100 futures; you asked for {asked}.", **told)
    else:
        text = tr("At risk: {gate} holds in {odds} of 100 futures; you asked for {asked}.", **told)
    rest = [
        # translators: a gate and its odds, for example "Hand-in 71 in 100"
        tr("{gate} {odds}", gate=words.clean(g.name), odds=words.in_100(g.odds))
        for g in forecast.gates
        if g is not worst
    ]
    # translators: a sentence that is nothing but gates and their odds
    more = tr("{gates}.", gates=listed(rest))
    return f"{text} {more}" if rest else text


def strip_words(numbers: StripNumbers) -> str:
    """The strip for someone who does not see it; the table of evenings has the rest."""
    if not numbers.columns:
        return tr("No evenings.")
    count = {s: sum(c.status == s for c in numbers.columns) for s in STATUS}
    parts = [trn("{n} evening worked", "{n} evenings worked", count["worked"])]
    # translators: of evenings, after "2 evenings worked"
    more = (
        ("lost", trn("{n} lost", "{n} lost", count["lost"])),
        ("unlogged", trn("{n} not logged", "{n} not logged", count["unlogged"])),
        ("planned", trn("{n} planned", "{n} planned", count["planned"])),
        ("relied", trn("{n} relied upon", "{n} relied upon", count["relied"])),
        ("buffer", trn("{n} kept as buffer", "{n} kept as buffer", count["buffer"])),
        ("late", trn("{n} too late", "{n} too late", count["late"])),
    )
    parts += [text for status, text in more if count[status]]
    gates = [tr("{gate} on {day}", gate=words.clean(f.name), day=words.day(f.date)) for f in numbers.flags]
    return tr(
        "Evenings from {first} to {last}: {parts}. Gates: {gates}.",
        first=words.day(numbers.columns[0].date),
        last=words.day(numbers.columns[-1].date, year=True),
        parts=trc("between the parts of a list", ", ").join(parts),
        gates=listed(gates),
    )


def earned_words(earned: EarnedSchedule) -> str:
    """Progress by earned schedule, in plain words."""
    pace = round(earned.performance, 2)
    # translators: of work that is held against a baseline
    side = tr("as planned") if pace == 1 else tr("ahead of it") if earned.performance > 1 else tr("behind it")
    text = tr(
        "After {evenings} of the baseline, the work done is what the baseline had after {earned}: "
        "{side} (SPI(t) {pace})",
        evenings=evenings(earned.evenings),
        earned=decimal(earned.earned_evenings, 1),
        side=side,
        pace=decimal(earned.performance, 2),
    )
    if not math.isfinite(earned.evenings_at_end):
        return tr("{said}.", said=text)
    if earned.earned_evenings >= earned.planned_evenings:
        return tr("{said}; all of it is done.", said=text)
    return tr(
        "{said}; at this pace its {planned} become {evenings}.",
        said=text,
        planned=evenings(earned.planned_evenings),
        evenings=decimal(earned.evenings_at_end, 1),
    )


def driver_words(project: Project, drivers: tuple[Driver, ...]) -> list[tuple[str, str]]:
    """What lateness hangs on most: the name, and its share in words."""
    # translators: follows the name of an item, or "whether the evening of … happens"
    return [
        (_driver_name(project, d), tr("explains {share} of how late it may get", share=words.percent(d.share)))
        for d in _telling(drivers)
    ]


def driver_lines(project: Project, drivers: tuple[Driver, ...]) -> list[str]:
    """The same, each as a line of its own."""
    lines = []
    for driver in _telling(drivers):
        share = words.percent(driver.share)
        day = _evening(project, driver)
        if day is not None:
            text = tr(
                "Whether the evening of {day} happens explains {share} of how late it may get", day=day, share=share
            )
        else:
            name = _driver_name(project, driver)
            # the artist's own word begins a line
            name = name[:1].upper() + name[1:]
            text = tr("{name} explains {share} of how late it may get", name=name, share=share)
        lines.append(text)
    return lines


def _telling(drivers: tuple[Driver, ...]) -> list[Driver]:
    return [d for d in drivers[:_DRIVERS] if d.share >= 0.005]


def _evening(project: Project, driver: Driver) -> str | None:
    """The day of a driver that is an evening."""
    if driver.kind == "item" and driver.id in project.items:
        return None
    if driver.kind == "job" and driver.id in project.jobs_by_id:
        return None
    try:
        return words.day(dt.date.fromisoformat(driver.id[:10]))
    except ValueError:
        return None


def _driver_name(project: Project, driver: Driver) -> str:
    day = _evening(project, driver)
    if day is not None:
        return tr("whether the evening of {day} happens", day=day)
    if driver.kind == "item" and driver.id in project.items:
        stage = words.clean(project.stage_of[driver.id].name)
        return tr("{item} ({stage})", item=words.clean(project.items[driver.id].name), stage=stage)
    if driver.kind == "job" and driver.id in project.jobs_by_id:
        return tr("{job} (machine job)", job=words.clean(project.jobs_by_id[driver.id].name))
    return words.clean(driver.id)
