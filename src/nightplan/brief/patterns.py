# SPDX-License-Identifier: GPL-3.0-or-later
"""Patterns of names in rules: ``#`` a digit, ``*`` any letters, ``?`` one letter, ``{anything}`` a part to fill in."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from nightplan.speech import tr

_FILLED = re.compile(r"\{[^{}/]{0,60}\}|<[^<>/]{1,60}>")


def check_pattern(raw: Any, *, tree: bool = False) -> str:
    """The pattern itself. Raises ValueError with what is accepted."""
    if not isinstance(raw, str) or not 1 <= len(raw) <= 200:
        raise ValueError(
            tr("must be a name of 1 to 200 letters; # is a digit, * any letters, {name} a part to fill in")
        )
    if "\\" in raw or raw.startswith("/") or ".." in raw.split("/") or any(ord(c) < 32 for c in raw):
        raise ValueError(tr("must be a name with / between folders, without \\, a leading / or .."))
    if not tree and "/" in raw:
        raise ValueError(tr("must be a file's name without folders"))
    if raw.count("*") + len(_FILLED.findall(raw)) > 12:
        raise ValueError(tr("must have at most 12 parts that stand for any letters"))
    return raw


@lru_cache(maxsize=512)
def regex(pattern: str, *, any_case: bool = False) -> re.Pattern[str]:
    """Compiled; a run of ``#`` takes that many digits, and more where the number has outgrown them.

    A part between two stands-for-anything parts is taken where it first fits and never again (an atomic group): that is
    always right for such patterns, and keeps a hostile name from costing more than its length.
    """
    segments: list[str] = [""]
    stars: list[str] = []
    at = 0
    while at < len(pattern):
        filled = _FILLED.match(pattern, at)
        if filled or pattern[at] == "*":
            stars.append("[^/]+?" if filled else "[^/]*?")
            segments.append("")
            at = filled.end() if filled else at + 1
        elif pattern[at] == "#":
            end = at
            while end < len(pattern) and pattern[end] == "#":
                end += 1
            n = end - at
            # the shorter choice first: the earliest end has to be tried first
            segments[-1] += rf"(?:[0-9]{{{n}}}|[1-9][0-9]{{{n},}})"
            at = end
        else:
            segments[-1] += "[^/]" if pattern[at] == "?" else re.escape(pattern[at])
            at += 1
    text = segments[0]
    for n, star in enumerate(stars):
        last = n == len(stars) - 1
        text += f"{star}{segments[n + 1]}" if last else f"(?>{star}{segments[n + 1]})"
    return re.compile(text, re.IGNORECASE if any_case else 0)


def matches(pattern: str, name: str) -> bool:
    """Whether a name fits a pattern."""
    return len(name) <= 1024 and regex(pattern).fullmatch(name) is not None


def matches_but_for_case(pattern: str, name: str) -> bool:
    """The same, capitals and small letters being one."""
    return len(name) <= 1024 and regex(pattern, any_case=True).fullmatch(name) is not None
