# SPDX-License-Identifier: GPL-3.0-or-later
"""The strip in plain words: for tooltips, the line under the strip, screen readers and the table twin."""

from __future__ import annotations

import datetime as dt

from nightplan.desk.widgets.strip_model import Block, Column, Flag, JobBar, StripData
from nightplan.exports.words import day, hours, month, weekday
from nightplan.exports.words import in_100 as odds
from nightplan.model.project import PLANNED_CHANCE

_LONG_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

STATUS_WORDS = {
    "worked": "worked",
    "lost": "lost",
    "unlogged": "not logged yet",
    "planned": "planned",
    "relied": "relied upon",
    "buffer": "buffer",
    "late": "after the last gate",
    "off": "off",
    "busy": "taken by the calendar",
}


def long_day(date: dt.date) -> str:
    """``Tuesday 26 January`` would be long on a small screen: ``Tuesday 26 Jan 2027``."""
    return f"{_LONG_DAYS[date.weekday()]} {date.day} {month(date)} {date.year}"


def chance(value: float) -> str:
    """A chance as the artist says it: ``sure (9 in 10)``, ``maybe (5 in 10)``."""
    kind = "sure" if value >= PLANNED_CHANCE else "maybe"
    if value >= 1.0:
        return "certain"
    tenths = value * 10
    return (
        f"{kind} ({tenths:.0f} in 10)" if abs(tenths - round(tenths)) < 1e-9 else f"{kind} ({value * 100:.0f} in 100)"
    )


def clock(start: dt.time, length: float) -> str:
    """``20:30 to 23:00``, by the wall clock of an ordinary night."""
    minutes = round(start.hour * 60 + start.minute + length * 60)
    return f"{start:%H:%M} to {minutes // 60 % 24:02d}:{minutes % 60:02d}"


def work(block: Block) -> str:
    text = f"{block.name}, {hours(block.hours)} ({block.stage_name})"
    return f"{text}, too late for {block.late_for}" if block.late_for else text


def status(column: Column) -> str:
    """One or two words for the state of an evening."""
    text = STATUS_WORDS[column.status]
    if column.status == "planned" and not column.blocks:
        text = "free"
    if any(b.late_for for b in column.blocks) and column.status != "late":
        text += ", after a gate"
    return text


def explain(column: Column) -> str:
    """What the state of the evening means, as one sentence."""
    sentences = {
        "worked": "This evening happened and is logged.",
        "lost": "This evening did not happen." if column.logged else "You marked this evening as lost.",
        "unlogged": "Nothing is logged here yet. It counts as not happened until you say otherwise.",
        "planned": "The plan puts work here.",
        "relied": "A maybe evening that the plan needs: without it a gate is missed.",
        "buffer": "Kept free: it catches work that runs over.",
        "late": "After the last gate: this work comes too late.",
        "off": "A day off.",
        "busy": "Your calendar has something else at this time.",
    }
    text = sentences[column.status]
    return f"{text} ({column.why})" if column.why else text


def column_lines(column: Column) -> list[str]:
    """The evening in a few lines: when, how sure, what for."""
    title = long_day(column.date) + (", tonight" if column.tonight else "")
    lines = [title]
    if column.status in ("off", "busy"):
        lines.append(f"would be {clock(column.start, column.hours)}, {hours(column.hours)}")
    elif column.status in ("worked", "lost", "unlogged"):
        lines.append(f"{column.start:%H:%M}, {hours(column.hours)}")
    else:
        lines.append(f"{clock(column.start, column.hours)}, {hours(column.hours)}, {chance(column.chance)}")
    lines.append(explain(column))
    lines += [work(b) for b in column.blocks]
    if column.blocks and column.free_hours > 0.05 and column.status in ("planned", "relied"):
        lines.append(f"{hours(column.free_hours)} free")
    return lines


def sentence(column: Column) -> str:
    """The same on one line."""
    return "; ".join(line.rstrip(".") for line in column_lines(column)) + "."


def flag_lines(flag: Flag) -> list[str]:
    lines = [flag.name]
    if flag.whole_evening:
        lines.append(f"{day(flag.date, year=True)}, that whole evening counts")
    else:
        lines.append(f"{day(flag.local.date(), year=True)}, {flag.local:%H:%M} your time")
    if flag.uncertain:
        reading = flag.reading or "the wording allows several readings; the earliest is planned on"
        lines.append(f"Uncertain: {reading}.")
    if flag.odds is not None:
        lines.append(f"Odds: {odds(flag.odds)}.")
    if not flag.met:
        short = f" {hours(flag.short_hours)} of work lie after it." if flag.short_hours > 0.05 else ""
        lines.append(f"The plan does not meet it.{short}")
    return lines


def job_lines(job: JobBar) -> list[str]:
    return [
        f"{job.name} ({job.kind})",
        f"{day(job.start_local.date())} {job.start_local:%H:%M} to {day(job.end_local.date())} {job.end_local:%H:%M}",
        f"{hours(job.hours)} on {job.machine}; it runs alone and needs no evening.",
        *([f"Done in time for {job.gate}: {odds(job.odds)}"] if job.odds is not None else []),
        *([f"What waits for it cannot go on on {', '.join(day(d) for d in job.blocks)}"] if job.blocks else []),
    ]


def job_label(job: JobBar) -> str:
    """The words beside a job on the strip; its odds only where they are below the asked ones."""
    risk = f", {odds(job.odds)} in time" if job.at_risk and job.odds is not None else ""
    return f"{job.name}, {hours(job.hours)}{risk}"


def summary(data: StripData) -> str:
    """The whole strip in two sentences, for a screen reader that lands on it."""
    if not data.columns:
        return "No evenings yet."
    count = len(data.columns)
    worked = sum(c.status == "worked" for c in data.columns)
    coming = [c for c in data.columns if c.status in ("planned", "relied", "buffer", "late")]
    sure = sum(not c.maybe for c in coming)
    gates = "; ".join(f"{f.name} {day(f.date)}" for f in data.flags)
    return (
        f"{count} evenings from {day(data.columns[0].date)} to {day(data.columns[-1].date, year=True)}: "
        f"{worked} worked, {sure} sure and {len(coming) - sure} maybe still to come. Gates: {gates}."
    )


__all__ = [
    "chance",
    "clock",
    "column_lines",
    "day",
    "explain",
    "flag_lines",
    "hours",
    "job_label",
    "job_lines",
    "long_day",
    "month",
    "odds",
    "sentence",
    "status",
    "summary",
    "weekday",
    "work",
]
