# SPDX-License-Identifier: GPL-3.0-or-later
"""Damaged files in words: what several findings share, whatever the brief says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from nightplan.brief.findings import Finding
from nightplan.brief.hold import own
from nightplan.brief.judge_pictures import which
from nightplan.brief.names import frames_words, some
from nightplan.brief.subject import Picture, Subject, numbers_of
from nightplan.speech import tr

WHOLE = tr("files that are whole")


def by_fault(pairs: Iterable[tuple[Picture, str]]) -> dict[str, list[Picture]]:
    """Pictures by their fault, in the order in which faults come."""
    groups: dict[str, list[Picture]] = defaultdict(list)
    for picture, fault in pairs:
        groups[fault].append(picture)
    return groups


def broken(subject: Subject, faults: dict[str, list[Picture]]) -> Iterator[Finding]:
    """One finding for each kind of fault, with the frames that have it."""
    for fault, pictures in faults.items():
        subject.faulty |= {p.name for p in pictures}
        numbers = numbers_of(pictures)
        if numbers:
            repair = tr("render {frames} again", frames=frames_words(numbers))
        else:
            repair = tr("save {names} again", names=some([p.name for p in pictures]))
        where = which(subject, pictures, len(subject.pictures) == 1)
        yield own("whole", "fail", fault, WHOLE, where, repair)
