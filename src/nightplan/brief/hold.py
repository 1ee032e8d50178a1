# SPDX-License-Identifier: GPL-3.0-or-later
"""Measured against wanted: comparisons with their tolerances, and the words for both."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from nightplan.brief import amounts
from nightplan.brief.findings import OPEN, YOURS, Finding, Verdict, ticked_words
from nightplan.brief.kinds import AT_LEAST, AT_MOST, KINDS, LESS_THAN
from nightplan.brief.names import some
from nightplan.brief.rules import Rule, Wanted, wanted_of
from nightplan.speech import mark, tr, trn


def holds(wanted: Wanted, measured: Fraction, slack: Fraction = Fraction(0), *, binary: bool = False) -> bool:
    """Whether a number is what is wanted. ``less than`` stays strict; every other bound gives way by the slack."""
    numbers = wanted.binary if binary else wanted.numbers
    first = numbers[0]
    match wanted.comparison:
        case "at least":  # untranslated: value of the file
            return measured >= first - slack
        case "at most":  # untranslated: value of the file
            return measured <= first + slack
        case "less than":  # untranslated: value of the file
            return measured < first
        case "between":
            return first - slack <= measured <= numbers[1] + slack
        case "within":
            return abs(measured - first) <= wanted.tolerance + slack
        case _:
            return any(abs(measured - n) <= slack for n in numbers)


def nearest(wanted: Wanted, measured: Fraction | float) -> Fraction:
    """The number to go to: of two ends or several alternatives the one that is nearest to what was measured."""
    return min(wanted.numbers, key=lambda n: abs(n - Fraction(measured)))


#: an amount with its unit
_UNITS: dict[str, Callable[[str, int], str]] = {
    "frames": lambda amount, n: trn("{amount} frame", "{amount} frames", n, amount=amount),
    "digits": lambda amount, n: trn("{amount} digit", "{amount} digits", n, amount=amount),
    "bits": lambda amount, n: trn("{amount} bit", "{amount} bits", n, amount=amount),
    "channels": lambda amount, n: trn("{amount} channel", "{amount} channels", n, amount=amount),
    "words": lambda amount, n: trn("{amount} word", "{amount} words", n, amount=amount),
    "entries": lambda amount, n: trn("{amount} entry", "{amount} entries", n, amount=amount),
    "posts": lambda amount, n: trn("{amount} post", "{amount} posts", n, amount=amount),
    "fps": lambda amount, n: tr("{amount} fps", amount=amount),
    "s": lambda amount, n: tr("{amount} s", amount=amount),
    "px": lambda amount, n: tr("{amount} px", amount=amount),
}
_COMPARED = {
    "exactly": mark("exactly {value}"),
    AT_LEAST: mark("at least {value}"),
    AT_MOST: mark("at most {value}"),
    LESS_THAN: mark("less than {value}"),
}
#: values of the file that are words
_VALUES = {  # untranslated: keys
    "progressive": tr("progressive"),
    "interlaced": tr("interlaced"),
    "allowed": tr("allowed"),
    "credited": tr("credited"),
    "free only": tr("free only"),
    # translators: things made by others in the piece: none may be there
    "none": tr("none"),
}


def value_words(value: str) -> str:
    """A value of the file as people read it; names of formats stay."""
    return _VALUES.get(value, value)


def wanted_words(rule: Rule) -> str:
    """``exactly 120 frames``, ``at most 100 MB``, ``one of H.264, H.265``."""
    kind, wanted = KINDS[rule.kind], wanted_of(rule)
    match kind.form:
        case "yes-no":
            return tr("{what}: yes", what=kind.within) if wanted.flag else tr("{what}: no", what=kind.within)
        case "word" | "pattern":
            shown = [value_words(w) for w in wanted.words]
        case "patterns":
            shown = [some(wanted.words, 4)]
        case "picture":
            shown = [f"{w}x{h}" for w, h in wanted.pairs]
        case "range":
            return tr("frames {first} to {last}", first=int(wanted.numbers[0]), last=int(wanted.numbers[1]))
        case "fps":
            shown = [amounts.rate_words(n) for n in wanted.numbers]
        case "bytes":
            raw = rule.value if isinstance(rule.value, list) else [rule.value]
            shown = [v if isinstance(v, str) else tr("{n} bytes", n=v) for v in raw]
        case "moment":
            return tr("not before {moment} {zone}", moment=rule.value, zone=rule.zone or "UTC")
        case "text":
            text = " ".join(rule.value.split())[:200] if isinstance(rule.value, str) else ""
            return text or kind.within
        case "frames-or-seconds":
            shown = [_at_an_end(wanted, rule.place)]
        case "ratio":
            raw = rule.value if isinstance(rule.value, list) else [rule.value]
            shown = [v if isinstance(v, str) else f"{v}:1" for v in raw]
        case _:
            shown = [amounts.plain(n) for n in wanted.numbers]

    def with_unit(amount: str) -> str:
        if not kind.unit or kind.form == "ratio":
            return amount
        known = _UNITS.get(kind.unit)
        return known(amount, 1 if shown == ["1"] else 2) if known else f"{amount} {kind.unit}"

    match rule.comparison:
        case "between":
            return tr("between {least} and {most}", least=shown[0], most=with_unit(shown[1]))
        case "one of":  # untranslated: value of the file
            return tr("one of {values}", values=", ".join((*shown[:-1], with_unit(shown[-1]))))
        case "within":
            return tr("{value} ± {tolerance}", value=shown[0], tolerance=with_unit(amounts.plain(wanted.tolerance)))
        case comparison:
            return tr(_COMPARED[comparison], value=with_unit(shown[0]))


def _at_an_end(wanted: Wanted, place: str) -> str:
    number = wanted.numbers[0]
    if wanted.in_frames:
        n = int(number)
        if place == "start":
            return trn("{n} frame at the start", "{n} frames at the start", n)
        return trn("{n} frame at the end", "{n} frames at the end", n)
    if place == "start":
        return tr("{seconds} s at the start", seconds=amounts.plain(number))
    return tr("{seconds} s at the end", seconds=amounts.plain(number))


def finding(rule: Rule, verdict: Verdict, measured: str, where: str, repair: str = "") -> Finding:
    """A finding of a rule, softened by the rule's strength: only a must can fail or leave the answer open."""
    if rule.strength == "should":
        verdict = {"fail": "warn", OPEN: "warn"}.get(verdict, verdict)  # type: ignore[assignment]
    elif rule.strength == "note":
        verdict = {"fail": YOURS, OPEN: YOURS}.get(verdict, verdict)  # type: ignore[assignment]
    if verdict == YOURS and rule.ticked:
        # what the files do not say, the person does
        verdict, measured = "pass", f"{measured}; {ticked_words(rule.tick_note)}"
    return Finding(
        rule.id,
        verdict,
        measured,
        wanted_words(rule),
        where,
        repair if verdict != "pass" else "",
        rule.kind,
        rule.wording,
        rule.breach if verdict != "pass" else "",
    )


def own(name: str, verdict: Verdict, measured: str, wanted: str, where: str, repair: str = "") -> Finding:
    """A finding of one of the program's own checks."""
    return Finding(name, verdict, measured, wanted, where, repair, name, own=True)
