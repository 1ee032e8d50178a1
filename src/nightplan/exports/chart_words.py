# SPDX-License-Identifier: GPL-3.0-or-later
"""The three charts in words, for someone who does not see them: on the desk and in the report. No matplotlib."""

from __future__ import annotations

from nightplan.exports import words
from nightplan.exports.chart_numbers import BufferNumbers, BurnNumbers, SlipNumbers
from nightplan.speech import tr, trn

#: what each third of the buffer asks for (thirds: E. M. Goldratt, Critical Chain, 1997; L. P. Leach,
#: Critical Chain Project Management, 2000); the words are ours
ZONE_WORDS = (tr("all is well"), tr("think of a way back"), tr("take a way back"))
#: hours that are told with one decimal: less than half of a tenth is no difference
_SAME_HOURS = 0.05
#: what is learned is told from this many hours on (common practice, no source)
_LEARNED_HOURS = 0.5


def zone(used: float) -> int:
    """Third of the buffer, 0, 1 or 2, of the share that is used."""
    return 0 if used < 1 / 3 else 1 if used < 2 / 3 else 2


def burn_words(numbers: BurnNumbers) -> str:
    """Where the work stands, what the evenings hold, what was learned, and where the futures end."""
    now = numbers.actual[-1]
    told = [
        trn(
            "{hours} of work are left after {done} of {n} evening.",
            "{hours} of work are left after {done} of {n} evenings.",
            len(numbers.days),
            hours=words.hours(now.y),
            done=round(now.x),
        )
    ]
    there = next((p.y for p in numbers.there if p.x == now.x), None)
    if there is not None:
        told.append(tr("You still have {hours} of evenings.", hours=words.hours(there)))
    learned = numbers.band[0].p50 - now.y
    hours = words.hours(abs(learned))
    if learned >= _LEARNED_HOURS:
        told.append(tr("Finished items add {hours}: so far off is the rest expected to be.", hours=hours))
    elif learned <= -_LEARNED_HOURS:
        told.append(tr("Finished items take off {hours}: so far off is the rest expected to be.", hours=hours))
    planned = next((p.y for p in reversed(numbers.baseline) if p.x <= now.x), None)
    if planned is not None:
        told.append(_baseline(planned, now.y - planned))
    if len(numbers.band) > 1:
        end = numbers.band[-1]
        if end.p90 < _SAME_HOURS:
            told.append(tr("After {day}, 9 in 10 futures have nothing left.", day=words.day(end.date)))
        else:
            told.append(
                tr(
                    "After {day}, 8 in 10 futures have between {low} and {high} left.",
                    day=words.day(end.date),
                    low=words.hours(end.p10),
                    high=words.hours(end.p90),
                )
            )
    return " ".join(told)


def _baseline(planned: float, apart: float) -> str:
    told = {"hours": words.hours(planned), "apart": words.hours(abs(apart))}
    if abs(apart) < _SAME_HOURS:
        return tr("The baseline had {hours} here, the same.", **told)
    if apart > 0:
        return tr("The baseline had {hours} here, {apart} less than now.", **told)
    return tr("The baseline had {hours} here, {apart} more than now.", **told)


def slip_words(numbers: SlipNumbers) -> str:
    """Risk per gate, how it has moved, and the first evening that holds in enough futures."""
    parts = []
    for gate in numbers.gates:
        if not gate.so_far:
            continue
        first, last = gate.so_far[0], gate.so_far[-1]
        odds = {"gate": words.clean(gate.name), "met": words.in_100(last.y), "missed": words.in_100(1 - last.y)}
        if len(gate.so_far) > 1:
            text = tr(
                "{gate}: met in {met} futures, missed in {missed} (met in {before} on {day})",
                before=words.in_100(first.y),
                day=words.day(first.date),
                **odds,
            )
        else:
            text = tr("{gate}: met in {met} futures, missed in {missed}", **odds)
        enough = next((p for p in gate.by_date if p.y >= numbers.target), None)
        if enough is None:
            # translators: the full stop of a sentence
            parts.append(tr("{sentence}.", sentence=text))
        else:
            parts.append(
                tr(
                    "{risk}; its work is done by {day} in {odds}.",
                    risk=text,
                    day=words.day(enough.date),
                    odds=words.in_100(numbers.target),
                )
            )
    return " ".join(parts) or tr("No risk can be told yet.")


def buffer_words(numbers: BufferNumbers) -> str:
    """Hours there and hours needed, the share that is used, and what that asks for."""
    told = {
        "hours": words.hours(abs(numbers.have_hours)),
        "gate": words.clean(numbers.name),
        "need": words.hours(numbers.need_hours),
    }
    if numbers.have_hours < 0:
        have = tr("{hours} short before {gate}; a buffer of {need} is needed.", **told)
    else:
        have = tr("{hours} of buffer before {gate}, {need} are needed.", **told)
    if not numbers.points:
        none = tr("There was no buffer to begin with, so no share of it can be used.")
        return f"{have} {none}"
    last = numbers.points[-1]
    done = words.percent(last.done)
    if last.used <= 0:
        # evenings were added, or work went quicker: less than none is none
        used = tr("None of it is used with {done} of the work done.", done=done)
    else:
        used = tr(
            "{used} of the buffer is used with {done} of the work done: {advice}.",
            used=words.percent(last.used),
            done=done,
            advice=ZONE_WORDS[zone(last.used)],
        )
    return f"{have} {used}"
