# SPDX-License-Identifier: GPL-3.0-or-later
"""Values of rules as people type them: ``5 and 10``, ``PNG, JPEG``, ``yes``, ``24 ± 0.5``; and back."""

from __future__ import annotations

import json
import re
from typing import Any

from pydantic import ValidationError

from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import Rule
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trc

_UNITS = re.compile(r"\s*(?:frames?|digits?|px|bits?|words?|posts?|entries|hz|channels?|lufs)$", re.I)
#: as they are shown; read in English and in the artist's language alike
YES, NO = tr("yes"), tr("no")
_YES_NO = {
    "yes": True,
    "true": True,
    "with": True,
    "no": False,
    "false": False,
    "without": False,
    "none": False,
    YES.lower(): True,
    NO.lower(): False,
}
# translators: between the two numbers of a value: "3 and 15"
_AND = trc("between two numbers", "and")
#: comparison as the file has it -> as people read it
COMPARED: dict[str, str] = {
    "exactly": trc("comparison", "exactly"),
    "at least": trc("comparison", "at least"),
    "at most": trc("comparison", "at most"),
    "less than": trc("comparison", "less than"),
    # translators: "between 3 and 15"
    "between": trc("comparison", "between"),
    "within": trc("comparison", "within"),
    "one of": trc("comparison", "one of"),
}  # untranslated: keys as the file has them
_ONE_OF = "one of"  # untranslated: value of the file


def value_from_text(kind: str, comparison: str, text: str) -> dict[str, Any]:
    """The keys ``value`` and ``tolerance`` of a rule.

    Raises:
        BadInput: a yes or no that is neither, a ± without its two numbers, an unknown kind. What the kind itself
            accepts is told when the rule is made.
    """
    if kind not in KINDS:
        raise BadInput.at("kind", kind, tr("must be one of {values}", values=", ".join(KINDS)))
    text, form, tolerance = text.strip(), KINDS[kind].form, None
    if comparison == "within":
        match = re.fullmatch(r"(.+?)\s*(?:±|\+/?-)\s*(\d+(?:[.,]\d+)?)\D*", text)
        if match is None:
            raise BadInput.at("value", text, tr("must be a value and how far off it may be, for example 24 ± 0.5"))
        text, tolerance = match[1].strip(), float(match[2].replace(",", "."))
    value: Any
    if form == "patterns":
        value = _split(text)
    elif comparison == "between" and form != "range":
        value = [_one(form, part) for part in _BETWEEN.split(text) if part]
    elif comparison == _ONE_OF:
        value = [_one(form, part) for part in _split(re.sub(r"\s+or\s+", "; " if ";" in text else ", ", text))]
    else:
        value = _one(form, text)
    return {"value": value, "tolerance": tolerance}


def _split(text: str) -> list[str]:
    # a name may hold a comma; then semicolons or lines stand between them
    mark = r"[;\n]" if re.search(r"[;\n]", text) else ","
    return [part.strip() for part in re.split(mark, text) if part.strip()]


def _one(form: str, text: str) -> Any:
    text = text.strip()
    if form == "yes-no":
        if text.lower() not in _YES_NO:
            raise BadInput.at("value", text, tr("must be {yes} or {no}", yes=YES, no=NO))
        return _YES_NO[text.lower()]
    if form == "text":
        return text or None
    if form in ("count", "number", "seconds", "fps", "ratio"):
        plain = _UNITS.sub("", re.sub(r"(?<=\d),(?=\d{3}\b)", "", text) if form == "count" else text)
        if re.fullmatch(r"[+-]?\d{1,15}", plain):
            return int(plain)
        if form in ("number", "seconds") and re.fullmatch(r"[+-]?\d{1,9}[.,]\d{1,6}", plain):
            return float(plain.replace(",", "."))
        return plain
    return text


def value_text(rule: Rule) -> str:
    """What :func:`value_from_text` reads back."""
    value, form = rule.value, KINDS[rule.kind].form
    if value is None:
        return ""
    if isinstance(value, list) and form == "picture" and rule.comparison not in ("between", _ONE_OF):
        return "x".join(str(n) for n in value)
    if isinstance(value, list):
        parts = [_shown(part) for part in value]
        if rule.comparison == "between":
            return f" {_AND} ".join(parts)
        return ("; " if any("," in p or " or " in p for p in parts) else ", ").join(parts)
    if rule.comparison == "within":
        return f"{_shown(value)} ± {rule.tolerance or 0:g}"
    return _shown(value)


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, list):
        return "x".join(str(n) for n in value)
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)


_BETWEEN = re.compile(rf"\s*(?:,|;|–|\band\b|\bto\b|(?<=\s){re.escape(_AND)}(?=\s))\s*", re.I)
#: words in front of a value: the comparison; the artist's language first, longer ones first
_WORDS: tuple[tuple[str, str], ...] = (
    *((re.escape(COMPARED[c]), c) for c in sorted(COMPARED, key=lambda c: -len(COMPARED[c]))),
    (r"at least|min(?:imum)?\.?|no(?:t)? less than|≥|>=", "at least"),
    (r"at most|max(?:imum)?\.?|no(?:t)? more than|up to|no longer than|≤|<=", "at most"),
    (r"less than|under|below|<", "less than"),
    (r"between|from", "between"),
    (r"one of|either|any of", "one of"),
    (r"about|within|±", "within"),
    (r"exactly|is|=", "exactly"),
)  # untranslated: how rules are typed in English


def wanted_text(rule: Rule) -> str:
    """Comparison and value of a rule in one line, as :func:`wanted_from_text` reads it back."""
    value = value_text(rule)
    if rule.comparison == "within":
        return value
    alone = KINDS[rule.kind].comparisons == ("exactly",) or KINDS[rule.kind].form in ("text", "pattern", "word")
    if not value or (rule.comparison == "exactly" and alone):
        return value
    return f"{COMPARED[rule.comparison]} {value}"


def wanted_from_text(kind: str, text: str) -> dict[str, Any]:
    """The keys comparison, value and tolerance: ``at most 100 MB``, ``between 3 and 15``, ``PNG or EXR``, ``120``.

    Raises:
        BadInput: like :func:`value_from_text`; a comparison that the kind does not have.
    """
    if kind not in KINDS:
        raise BadInput.at("kind", kind, tr("must be one of {values}", values=", ".join(KINDS)))
    known, text = KINDS[kind].comparisons, text.strip()
    comparison = None
    for words, meant in _WORDS:
        match = re.match(rf"(?:{words})(?=[\s\d]|$)\s*", text, re.I)
        if match and meant in known:
            comparison, text = meant, text[match.end() :]
            break
        if match and known != ("exactly",) and KINDS[kind].form != "text":
            raise BadInput(
                tr(
                    "{kind}: {word!r} is not known here; {words} are accepted",
                    kind=KINDS[kind].words,
                    word=COMPARED[meant],
                    words=", ".join(COMPARED[c] for c in known),
                )
            )
    if comparison is None:
        several = KINDS[kind].form not in ("patterns", "text", "range") and re.search(r",\s|;|\sor\s", text)
        if "within" in known and re.search(r"±|\+/?-", text):
            comparison = "within"
        elif several and _ONE_OF in known:
            comparison = _ONE_OF
        else:
            comparison = "exactly"
    return {"comparison": comparison, **value_from_text(kind, comparison, text)}


def start_of(kind: str, rule: Rule | None = None) -> dict[str, Any]:
    """comparison, value and tolerance for a rule of a kind: those of ``rule`` where they fit, else its example."""
    example = {"comparison": KINDS[kind].comparisons[0], "value": json.loads(KINDS[kind].example), "tolerance": None}
    if rule is None or KINDS[rule.kind].form != KINDS[kind].form:
        return example
    kept = {"comparison": rule.comparison, "value": rule.value, "tolerance": rule.tolerance}
    try:
        Rule.model_validate({"id": "r", "kind": kind, **kept})
    except ValidationError:
        return example
    return kept
