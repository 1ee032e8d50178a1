# SPDX-License-Identifier: GPL-3.0-or-later
"""The three charts in words, for someone who does not see them."""

from __future__ import annotations

from nightplan.exports import words
from nightplan.exports.chart_numbers import BufferNumbers, BurnNumbers, SlipNumbers

ZONES = ("all is well", "think of a way back", "take a way back")


def zone(used: float) -> int:
    """Third of the buffer: 0, 1 or 2 (thirds as published: Goldratt, Critical Chain; Leach)."""
    return 0 if used < 1 / 3 else 1 if used < 2 / 3 else 2


def burn_down_words(data: BurnNumbers) -> str:
    """Where the work stands, what the evenings hold, and where the futures end."""
    now = data.actual[-1]
    text = f"{words.hours(now.y)} of work are left after {now.x:.0f} of {len(data.days)} evenings."
    there = next((p.y for p in data.there if p.x == now.x), None)
    if there is not None:
        text += f" You still have {words.hours(there)} of evenings."
    planned = [p.y for p in data.baseline if p.x <= now.x]
    if planned:
        apart = now.y - planned[-1]
        if abs(apart) < 0.05:
            text += " That is as the baseline has it."
        else:
            text += f" That is {words.hours(abs(apart))} {'more' if apart > 0 else 'less'} than the baseline has."
    if len(data.band) > 1:
        end = data.band[-1]
        if end.p90 < 0.05:
            text += f" By {words.day(end.date)} nothing is left in 9 of 10 futures."
        else:
            between = f"{words.hours(end.p10)} and {words.hours(end.p90)}"
            text += f" After {words.day(end.date)} between {between} are left in 8 of 10 futures."
    return text


def slip_words(data: SlipNumbers) -> str:
    """Risk per gate, how it has moved, and the first evening that holds in enough futures."""
    parts = []
    for gate in data.gates:
        if not gate.so_far:
            continue
        first, last = gate.so_far[0], gate.so_far[-1]
        text = f"{gate.name}: met in {words.in_100(last.y)} futures, missed in {words.in_100(1 - last.y)}"
        if len(gate.so_far) > 1:
            text += f" (met in {words.in_100(first.y)} on {words.day(first.date)})"
        enough = next((p for p in gate.by_date if p.y >= data.target), None)
        if enough is not None:
            text += f"; its work is done by {words.day(enough.date)} in {words.in_100(data.target)}"
        parts.append(text + ".")
    return " ".join(parts) or "No risk can be told yet."


def buffer_words(data: BufferNumbers) -> str:
    """Hours there and hours needed, the share that is used, and what that asks for."""
    need = words.hours(data.need_hours)
    if data.have_hours < 0:
        have = f"{words.hours(-data.have_hours)} short before {data.name}; a buffer of {need} is needed."
    else:
        have = f"{words.hours(data.have_hours)} of buffer before {data.name}, {need} are needed."
    if not data.points:
        return f"{have} There was no buffer to begin with, so no share of it can be used."
    last = data.points[-1]
    return (
        f"{have} {words.percent(last.used)} of the buffer is used with {words.percent(last.done)} of the work done: "
        f"{ZONES[zone(last.used)]}."
    )
