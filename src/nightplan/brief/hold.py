# SPDX-License-Identifier: GPL-3.0-or-later
"""Measured against wanted: comparisons with their tolerances, and the words for both."""

from __future__ import annotations

from fractions import Fraction

from nightplan.brief import amounts
from nightplan.brief.findings import Finding, Verdict, ticked_words
from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import Rule, Wanted, wanted_of


def holds(wanted: Wanted, measured: Fraction, slack: Fraction = Fraction(0), *, binary: bool = False) -> bool:
    """Whether a number is what is wanted. ``less than`` stays strict; every other bound gives way by the slack."""
    numbers = wanted.binary if binary else wanted.numbers
    first = numbers[0]
    match wanted.comparison:
        case "at least":
            return measured >= first - slack
        case "at most":
            return measured <= first + slack
        case "less than":
            return measured < first
        case "between":
            return first - slack <= measured <= numbers[1] + slack
        case "within":
            return abs(measured - first) <= wanted.tolerance + slack
        case _:
            return any(abs(measured - n) <= slack for n in numbers)


#: of one
_ONE = {"entries": "entry", **{f"{n}s": n for n in ("frame", "digit", "bit", "channel", "word", "post")}}


def wanted_words(rule: Rule) -> str:
    """``exactly 120 frames``, ``at most 100 MB``, ``one of H.264, H.265``."""
    kind, wanted = KINDS[rule.kind], wanted_of(rule)
    match kind.form:
        case "yes-no":
            return f"{kind.words.lower()}: {'yes' if wanted.flag else 'no'}"
        case "word" | "pattern":
            shown = list(wanted.words)
        case "patterns":
            rest = f" and {len(wanted.words) - 4} more" if len(wanted.words) > 4 else ""
            shown = [", ".join(wanted.words[:4]) + rest]
        case "picture":
            shown = [f"{w}x{h}" for w, h in wanted.pairs]
        case "range":
            return f"frames {int(wanted.numbers[0])} to {int(wanted.numbers[1])}"
        case "fps":
            shown = [amounts.rate_words(n) for n in wanted.numbers]
        case "bytes":
            raw = rule.value if isinstance(rule.value, list) else [rule.value]
            shown = [v if isinstance(v, str) else f"{v} bytes" for v in raw]
        case "moment":
            return f"not before {rule.value} {rule.zone or 'UTC'}"
        case "text":
            text = " ".join(rule.value.split())[:200] if isinstance(rule.value, str) else ""
            return text or kind.words.lower()
        case "frames-or-seconds":
            shown = [f"{amounts.plain(wanted.numbers[0])} {'frames' if wanted.in_frames else 's'} at the {rule.place}"]
        case "ratio":
            raw = rule.value if isinstance(rule.value, list) else [rule.value]
            shown = [v if isinstance(v, str) else f"{v}:1" for v in raw]
        case _:
            shown = [amounts.plain(n) for n in wanted.numbers]
    unit = f" {_ONE.get(kind.unit, kind.unit) if shown == ['1'] else kind.unit}"
    if not kind.unit or kind.form == "ratio":
        unit = ""
    match rule.comparison:
        case "between":
            return f"between {shown[0]} and {shown[1]}{unit}"
        case "one of":
            return f"one of {', '.join(shown)}{unit}"
        case "within":
            return f"{shown[0]} ± {amounts.plain(wanted.tolerance)}{unit}"
        case comparison:
            return f"{comparison} {shown[0] if shown else ''}{unit}"


def finding(rule: Rule, verdict: Verdict, measured: str, where: str, repair: str = "") -> Finding:
    """A finding of a rule, softened by the rule's strength: only a must can fail or leave the answer open."""
    if rule.strength == "should":
        verdict = {"fail": "warn", "cannot tell": "warn"}.get(verdict, verdict)  # type: ignore[assignment]
    elif rule.strength == "note":
        verdict = {"fail": "your tick", "cannot tell": "your tick"}.get(verdict, verdict)  # type: ignore[assignment]
    if verdict == "your tick" and rule.ticked:
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
