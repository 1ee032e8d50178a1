# SPDX-License-Identifier: GPL-3.0-or-later
"""The strip in plain words: for tooltips, the line under the strip, screen readers and the table twin."""

from __future__ import annotations

import datetime as dt

from nightplan.desk.widgets.strip_model import Block, Column, Flag, JobBar, StripData
from nightplan.desk.words import moment
from nightplan.exports.words import day, exact_hours, hours, known_hours, month, weekday
from nightplan.exports.words import in_100 as odds
from nightplan.model.project import PLANNED_CHANCE
from nightplan.model.results import COMING
from nightplan.speech import dates, tr, trc, trn

STATUS_WORDS = {
    "worked": trc("of an evening", "worked"),
    "lost": trc("of an evening", "lost"),
    "unlogged": tr("not logged yet"),
    "planned": trc("of an evening", "planned"),
    "relied": tr("relied upon"),
    "buffer": trc("of an evening", "buffer"),
    "late": tr("after the last gate"),
    "off": trc("of an evening", "off"),
    "busy": tr("taken by the calendar"),
}


def long_day(date: dt.date) -> str:
    """``Tuesday 26 January`` would be long on a small screen: ``Tuesday 26 Jan 2027``."""
    # translators: Tuesday, and 26 Jan 2027
    return tr("{weekday} {date}", weekday=dates.long_weekday(date), date=dates.date(date, year=True, weekday=False))


def chance(value: float) -> str:
    """A chance as the artist says it: ``sure (9 in 10)``, ``maybe (5 in 10)``."""
    if value >= 1.0:
        return trc("of an evening", "certain")
    sure = value >= PLANNED_CHANCE
    tenths = value * 10
    if abs(tenths - round(tenths)) < 1e-9:
        n = round(tenths)
        return tr("sure ({n} in 10)", n=n) if sure else tr("maybe ({n} in 10)", n=n)
    n = round(value * 100)
    return tr("sure ({n} in 100)", n=n) if sure else tr("maybe ({n} in 100)", n=n)


def clock(start: dt.time, length: float) -> str:
    """``20:30 to 23:00``, by the wall clock of an ordinary night."""
    minutes = round(start.hour * 60 + start.minute + length * 60)
    end = f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
    # translators: times of the clock
    return tr("{start} to {end}", start=f"{start:%H:%M}", end=end)


def work(block: Block) -> str:
    text = f"{block.name}, {exact_hours(block.hours)} ({block.stage_name})"
    return tr("{work}, too late for {gate}", work=text, gate=block.late_for) if block.late_for else text


def status(column: Column) -> str:
    """One or two words for the state of an evening."""
    text = STATUS_WORDS[column.status]
    if column.status == "planned" and not column.blocks:
        text = trc("of an evening", "free")
    if any(b.late_for for b in column.blocks) and column.status != "late":
        text = tr("{state}, after a gate", state=text)
    return text


def explain(column: Column) -> str:
    """What the state of the evening means, as one sentence."""
    sentences = {
        "worked": tr("This evening happened and is logged."),
        "lost": tr("This evening did not happen.") if column.logged else tr("You marked this evening as lost."),
        "unlogged": tr("Nothing is logged here yet. It counts as not happened until you say otherwise."),
        "planned": tr("The plan puts work here."),
        "relied": tr("A maybe evening that the plan needs: without it a gate is missed."),
        "buffer": tr("Kept free: it catches work that runs over."),
        "late": tr("After the last gate: this work comes too late."),
        "off": tr("A day off."),
        "busy": tr("Your calendar has something else at this time."),
    }
    text = sentences[column.status]
    return f"{text} ({column.why})" if column.why else text


def column_lines(column: Column) -> list[str]:
    """The evening in a few lines: when, how sure, what for."""
    day_of = long_day(column.date)
    lines = [tr("{day}, tonight", day=day_of) if column.tonight else day_of]
    if column.status in ("off", "busy"):
        lines.append(
            tr("would be {times}, {hours}", times=clock(column.start, column.hours), hours=hours(column.hours))
        )
    elif column.status in ("worked", "lost", "unlogged"):
        lines.append(f"{column.start:%H:%M}, {hours(column.hours)}")
    else:
        lines.append(f"{clock(column.start, column.hours)}, {hours(column.hours)}, {chance(column.chance)}")
    lines.append(explain(column))
    lines += [work(b) for b in column.blocks]
    if column.blocks and column.free_hours > 0.05 and column.status in ("planned", "relied"):
        lines.append(tr("{hours} free", hours=hours(column.free_hours)))
    return lines


def sentence(column: Column) -> str:
    """The same on one line."""
    # translators: the full stop of a sentence
    told = [tr("{sentence}.", sentence=line.rstrip(".。")) for line in column_lines(column)]
    return ("" if told[0].endswith("。") else " ").join(told)


def flag_lines(flag: Flag) -> list[str]:
    lines = [flag.name]
    if flag.whole_evening:
        lines.append(tr("{day}, that whole evening counts", day=day(flag.date, year=True)))
    else:
        lines.append(tr("{day}, {time} your time", day=day(flag.local.date(), year=True), time=f"{flag.local:%H:%M}"))
    if flag.uncertain:
        reading = flag.reading or tr("the wording allows several readings; the earliest is planned on")
        lines.append(tr("Uncertain: {reading}.", reading=reading))
    if flag.odds is not None:
        lines.append(tr("Odds: {odds}.", odds=odds(flag.odds)))
    if not flag.met:
        lines.append(
            tr("The plan does not meet it. {hours} of work lie after it.", hours=hours(flag.short_hours))
            if flag.short_hours > 0.05
            else tr("The plan does not meet it.")
        )
    return lines


def job_lines(job: JobBar) -> list[str]:
    # not at the top: a window that is opened needs nothing of the report
    from nightplan.exports.report_words import JOB_KINDS

    return [
        f"{job.name} ({JOB_KINDS[job.kind]})",
        # translators: days with times
        tr("{start} to {end}", start=moment(job.start_local), end=moment(job.end_local)),
        tr("{hours} on {machine}; it runs alone and needs no evening.", hours=hours(job.hours), machine=job.machine),
        *([tr("Done in time for {gate}: {odds}", gate=job.gate, odds=odds(job.odds))] if job.odds is not None else []),
        *(
            [tr("What waits for it cannot go on on {days}", days=", ".join(day(d) for d in job.blocks))]
            if job.blocks
            else []
        ),
    ]


def job_label(job: JobBar) -> str:
    """The words beside a job on the strip; its odds only where they are below the asked ones."""
    if job.at_risk and job.odds is not None:
        return tr("{job}, {hours}, {odds} in time", job=job.name, hours=hours(job.hours), odds=odds(job.odds))
    return f"{job.name}, {hours(job.hours)}"


def summary(data: StripData) -> str:
    """The whole strip in two sentences, for a screen reader that lands on it."""
    if not data.columns:
        return tr("No evenings yet.")
    worked = sum(c.status == "worked" for c in data.columns)
    coming = [c for c in data.columns if c.status in COMING]
    sure = sum(not c.maybe for c in coming)
    gates = "; ".join(f"{f.name} {day(f.date)}" for f in data.flags)
    return trn(
        "{n} evening from {first} to {last}: {worked} worked, {sure} sure and {maybe} maybe still to come. "
        "Gates: {gates}.",
        "{n} evenings from {first} to {last}: {worked} worked, {sure} sure and {maybe} maybe still to come. "
        "Gates: {gates}.",
        len(data.columns),
        first=day(data.columns[0].date),
        last=day(data.columns[-1].date, year=True),
        worked=worked,
        sure=sure,
        maybe=len(coming) - sure,
        gates=gates,
    )


__all__ = [
    "chance",
    "clock",
    "column_lines",
    "day",
    "exact_hours",
    "explain",
    "flag_lines",
    "hours",
    "job_label",
    "job_lines",
    "known_hours",
    "long_day",
    "month",
    "odds",
    "sentence",
    "status",
    "summary",
    "weekday",
    "work",
]
