# SPDX-License-Identifier: GPL-3.0-or-later
"""Frame numbers in file names: which files are one sequence, what is missing, what is there twice."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from nightplan.speech import tr, trn

_DIGITS = re.compile(r"([0-9]+)")
#: a number with more digits is a date or a hash, no frame
_MAX_DIGITS = 9


@dataclass(frozen=True, slots=True)
class Run:
    """Files whose names differ in the frame number only, in the order of the numbers."""

    before: str
    after: str
    numbers: tuple[int, ...]
    names: tuple[str, ...]
    digits: tuple[int, ...]

    @property
    def pattern(self) -> str:
        """The names with # for the digits: ``shot_####.png``."""
        return f"{self.before}{'#' * self.padding}{self.after}"

    @property
    def padding(self) -> int:
        """The fewest digits that a number is written with."""
        return min(self.digits, default=1)

    def unevenly_padded(self) -> list[str]:
        """Names whose number has a digit too few or too many for the padding of most."""
        usual = usual_padding(self)
        return [
            name
            for name, number, digits in zip(self.names, self.numbers, self.digits, strict=True)
            if digits != max(usual, len(str(number)))
        ]

    def twice(self) -> list[int]:
        """Numbers that more than one file has."""
        return sorted({a for a, b in pairwise(self.numbers) if a == b})


def usual_padding(run: Run) -> int:
    """The padding that explains most names; 1 means that numbers are not padded."""
    votes: dict[int, int] = defaultdict(int)
    for number, digits in zip(run.numbers, run.digits, strict=True):
        own = len(str(number))
        # a number that is written with zeros before it votes for its width; a full one fits any padding up to it
        if digits > own:
            votes[digits] += 1
    if votes:
        return max(votes, key=lambda d: (votes[d], d))
    return min(run.digits, default=1)


def runs(names: Iterable[str]) -> list[Run]:
    """Sequences among file names, the longest first. A name without a digit is in none of them."""
    shapes: dict[tuple[str, ...], list[tuple[str, list[str]]]] = defaultdict(list)
    split = _DIGITS.split
    for name in names:
        stem, dot, end = name.rpartition(".")
        if not dot or not stem:
            stem, end = name, ""
        parts = split(stem)
        if len(parts) > 1:
            shapes[(*parts[::2], "." + end if dot else "")].append((name, parts[1::2]))
    found: list[Run] = []
    for shape, members in shapes.items():
        found += _of_shape(shape, members)
    return sorted(found, key=lambda r: (-len(r.names), r.before, r.after))


def _of_shape(shape: tuple[str, ...], members: list[tuple[str, list[str]]]) -> list[Run]:
    columns = len(members[0][1])
    varying = [c for c in range(columns) if len({int(numbers[c][:40]) for _, numbers in members}) > 1]
    usable = [c for c in range(columns) if all(len(numbers[c]) <= _MAX_DIGITS for _, numbers in members)]
    choice = [c for c in varying if c in usable] or usable
    if not choice:
        return []
    frame = choice[-1]
    groups: dict[tuple[str, ...], list[tuple[int, int, str]]] = defaultdict(list)
    for name, numbers in members:
        rest = tuple(numbers[:frame] + numbers[frame + 1 :])
        groups[rest].append((int(numbers[frame]), len(numbers[frame]), name))
    found = []
    texts = shape[:-1]
    for rest, frames in groups.items():
        frames.sort()
        before = "".join(t + n for t, n in zip(texts[:frame], rest[:frame], strict=True)) + texts[frame]
        after = texts[frame + 1] + "".join(n + t for n, t in zip(rest[frame:], texts[frame + 2 :], strict=True))
        found.append(
            Run(
                before,
                after + shape[-1],
                tuple(f[0] for f in frames),
                tuple(f[2] for f in frames),
                tuple(f[1] for f in frames),
            )
        )
    return found


def gaps(numbers: Sequence[int], first: int, last: int, limit: int = 1_000_000) -> list[int]:
    """Numbers from first to last, both included, that are not there; at most ``limit`` of them."""
    there = set(numbers)
    missing: list[int] = []
    for n in range(first, last + 1):
        if n not in there:
            missing.append(n)
            if len(missing) >= limit:
                break
    return missing


def spans(numbers: Iterable[int], most: int = 12) -> str:
    """``41, 87-90``; the rest of a long list is counted."""
    ordered = sorted(set(numbers))
    parts: list[str] = []
    at = 0
    while at < len(ordered):
        end = at
        while end + 1 < len(ordered) and ordered[end + 1] == ordered[end] + 1:
            end += 1
        parts.append(str(ordered[at]) if end == at else f"{ordered[at]}-{ordered[end]}")
        at = end + 1
    if len(parts) > most:
        return tr("{names} and {n} more", names=", ".join(parts[:most]), n=len(parts) - most)
    return ", ".join(parts)


def frames_words(numbers: Iterable[int]) -> str:
    """``frame 41``, ``frames 41, 87``."""
    ordered = sorted(set(numbers))
    return trn("frame {numbers}", "frames {numbers}", len(ordered), numbers=spans(ordered))


def some(names: Sequence[str], most: int = 3) -> str:
    """A few names, and how many more."""
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else tr("{names} and {n} more", names=shown, n=len(names) - most)
