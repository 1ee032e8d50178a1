# SPDX-License-Identifier: GPL-3.0-or-later
"""Where in an English sentence a date stands, with its time and zone."""

from __future__ import annotations

import re

_I = re.IGNORECASE | re.ASCII
_MONTHS = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
DATED = re.compile(
    rf"\b\d{{4}}-\d\d-\d\d\b|\b{_MONTHS}\.?\s+\d{{1,2}}(?:st|nd|rd|th)?\b|\b\d{{1,2}}(?:st|nd|rd"
    rf"|th)?\.?\s+(?:of\s+)?{_MONTHS}\b|\b\d{{1,2}}[./]\d{{1,2}}[./]\d{{2,4}}\b",
    _I,
)
_DATE_AND_MORE = re.compile(
    rf"(?:\d{{1,2}}(?::\d\d)?\s*(?:[ap]\.?m\.?)?\s*(?:[A-Z]{{2,5}}(?:[+-]\d{{1,2}})?\s*)?(?:on"
    rf"|,)?\s*)?(?:(?:mon|tues?|wednes|thurs?|fri|satur|sun)(?:day)?,?\s+)?(?:{DATED.pattern})"
    r"(?:,?\s*\d{4}\b)?(?:,?\s*(?:at|by|,|-|–)?\s*(?:\d{1,2}(?::\d\d)(?:\s*[ap]\.?m\.?)?"
    r"|\d{1,2}\s*[ap]\.?m\.?|midnight|noon))?(?:\s*\(?[A-Z]{2,5}(?:[+-]\d{1,2}(?::\d\d)?)?\)?)?",
    re.ASCII | re.IGNORECASE,
)


def dated_parts(sentence: str) -> list[str]:
    """Parts of a sentence that are a date with its time and zone, the longest first."""
    parts = [m[0].strip(" ,.;-–") for m in _DATE_AND_MORE.finditer(sentence)]
    return sorted((p for p in parts if p), key=len, reverse=True)


def without_dates(sentence: str) -> str:
    """The sentence with dates, and clock times, replaced by blanks of the same length."""
    blank = _DATE_AND_MORE.sub(lambda m: " " * len(m[0]), sentence)
    return re.sub(r"\b\d{1,2}:\d\d(?:\s*[ap]\.?m\.?)?", lambda m: " " * len(m[0]), blank, flags=_I)
