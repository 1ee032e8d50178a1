# SPDX-License-Identifier: GPL-3.0-or-later
"""The three charts in words, for someone who does not see them."""

from __future__ import annotations

from nightplan.exports import words
from nightplan.exports.chart_numbers import BufferNumbers, BurnNumbers, SlipNumbers
from nightplan.speech import tr, trn

ZONES = (tr("all is well"), tr("think of a way back"), tr("take a way back"))


def zone(used: float) -> int:
    """Third of the buffer: 0, 1 or 2 (thirds as published: Goldratt, Critical Chain; Leach)."""
    return 0 if used < 1 / 3 else 1 if used < 2 / 3 else 2


def burn_down_words(data: BurnNumbers) -> str:
    """Where the work stands, what the evenings hold, and where the futures end."""
    now = data.actual[-1]
    told = [
        trn(
            "{hours} of work are left after {done} of {n} evening.",
            "{hours} of work are left after {done} of {n} evenings.",
            len(data.days),
            hours=words.hours(now.y),
            done=round(now.x),
        )
    ]
    there = next((p.y for p in data.there if p.x == now.x), None)
    if there is not None:
        told.append(tr("You still have {hours} of evenings.", hours=words.hours(there)))
    planned = [p.y for p in data.baseline if p.x <= now.x]
    if planned:
        apart = now.y - planned[-1]
        hours = words.hours(abs(apart))
        if abs(apart) < 0.05:
            told.append(tr("That is as the baseline has it."))
        elif apart > 0:
            told.append(tr("That is {hours} more than the baseline has.", hours=hours))
        else:
            told.append(tr("That is {hours} less than the baseline has.", hours=hours))
    if len(data.band) > 1:
        end = data.band[-1]
        if end.p90 < 0.05:
            told.append(tr("By {day} nothing is left in 9 of 10 futures.", day=words.day(end.date)))
        else:
            told.append(
                tr(
                    "After {day} between {least} and {most} are left in 8 of 10 futures.",
                    day=words.day(end.date),
                    least=words.hours(end.p10),
                    most=words.hours(end.p90),
                )
            )
    return " ".join(told)


def slip_words(data: SlipNumbers) -> str:
    """Risk per gate, how it has moved, and the first evening that holds in enough futures."""
    parts = []
    for gate in data.gates:
        if not gate.so_far:
            continue
        first, last = gate.so_far[0], gate.so_far[-1]
        odds = {"gate": gate.name, "met": words.in_100(last.y), "missed": words.in_100(1 - last.y)}
        if len(gate.so_far) > 1:
            text = tr(
                "{gate}: met in {met} futures, missed in {missed} (met in {before} on {day})",
                before=words.in_100(first.y),
                day=words.day(first.date),
                **odds,
            )
        else:
            text = tr("{gate}: met in {met} futures, missed in {missed}", **odds)
        enough = next((p for p in gate.by_date if p.y >= data.target), None)
        if enough is None:
            # translators: the full stop of a sentence
            parts.append(tr("{sentence}.", sentence=text))
        else:
            parts.append(
                tr(
                    "{risk}; its work is done by {day} in {odds}.",
                    risk=text,
                    day=words.day(enough.date),
                    odds=words.in_100(data.target),
                )
            )
    return " ".join(parts) or tr("No risk can be told yet.")


def buffer_words(data: BufferNumbers) -> str:
    """Hours there and hours needed, the share that is used, and what that asks for."""
    values = {"hours": words.hours(abs(data.have_hours)), "gate": data.name, "need": words.hours(data.need_hours)}
    if data.have_hours < 0:
        have = tr("{hours} short before {gate}; a buffer of {need} is needed.", **values)
    else:
        have = tr("{hours} of buffer before {gate}, {need} are needed.", **values)
    if not data.points:
        used = tr("There was no buffer to begin with, so no share of it can be used.")
    else:
        last = data.points[-1]
        used = tr(
            "{used} of the buffer is used with {done} of the work done: {advice}.",
            used=words.percent(last.used),
            done=words.percent(last.done),
            advice=ZONES[zone(last.used)],
        )
    return f"{have} {used}"
