# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with how frames look whatever the brief says: black, half black, repeated, no numbers."""

from __future__ import annotations

from nightplan.brief.facts import Look
from nightplan.brief.findings import OPEN, Finding
from nightplan.brief.hold import own
from nightplan.brief.judge_frames import ordered_looks
from nightplan.brief.judge_pictures import which
from nightplan.brief.judge_whole import WHOLE, broken, by_fault
from nightplan.brief.look import missing_part, usual_cells
from nightplan.brief.names import frames_words
from nightplan.brief.rules import Rule, wanted_of
from nightplan.brief.subject import Subject
from nightplan.speech import tr

#: share of a picture that has to be black from an edge, where it is not usually (common practice, no source)
_HALF_BLACK = 1 / 8


def _slate_frames(subject: Subject, count: int) -> set[int]:
    """Places, from 0, that a slate takes: black and still frames belong there."""
    places: set[int] = set()
    for rule in subject.deliverable.rules:
        if rule.kind == "slate":
            frames = _frames_of(rule, subject)
            places |= (
                set(range(min(frames, count))) if rule.place == "start" else set(range(max(0, count - frames), count))
            )
    return places


def _frames_of(rule: Rule, subject: Subject) -> int:
    wanted, rate = wanted_of(rule), subject.rate()
    if wanted.in_frames:
        return int(wanted.numbers[0])
    return int(wanted.numbers[0] * rate) if rate else 0


def looks_findings(subject: Subject) -> list[Finding]:
    """Findings of frames whose pixels were looked at; a slate may be black and still."""
    looks = ordered_looks(subject)
    if not looks:
        return []
    found: list[Finding] = []
    if subject.movie is None:
        seen = [p for p in subject.pictures if p.name in subject.looks]
        pairs = [(p, subject.looks[p.name].fault) for p in seen if subject.looks[p.name].fault]
        found += broken(subject, by_fault([(p, f) for p, f in pairs if p.name not in subject.faulty]))
        unknown = [(p, subject.looks[p.name].unknown) for p in seen if subject.looks[p.name].unknown]
        for why, pictures in by_fault(unknown).items():
            where = which(subject, pictures, len(pictures) == len(seen))
            found.append(own("whole", OPEN, why, WHOLE, where, tr("look at it with your own eyes")))
        names = [p.number if p.number is not None else n + 1 for n, p in enumerate(seen)]
    else:
        names = list(range(1, len(looks) + 1))
    slate = _slate_frames(subject, len(looks))
    places = [n for n in range(len(looks)) if n not in slate]

    def warn(kind: str, which_ones: list[int], words: str, wanted: str, *, by_eye: bool = True) -> None:
        if which_ones:
            numbers = [names[n] for n in which_ones]
            single = len(looks) == 1
            shown = words if single else f"{frames_words(numbers)}: {words}"
            frames = frames_words(numbers)
            if by_eye:
                again = tr("look at {frames}; render again if not meant", frames=frames)
                repair = tr("look at it; render again if not meant") if single else again
            else:
                repair = tr("render it again") if single else tr("render {frames} again", frames=frames)
            found.append(own(kind, "warn", shown, wanted, subject.label, repair))

    warn(
        "black",
        [n for n in places if looks[n].black],
        tr("black"),
        tr("no black frames"),
    )
    usual = usual_cells(looks) if len(looks) > 2 else 0
    least = _HALF_BLACK if len(looks) > 2 else 0.3
    half = [n for n in places if missing_part(looks[n], usual) >= least]
    warn(
        "half-black",
        half,
        tr("a part is black, as if it was not finished"),
        tr("whole pictures"),
    )
    again = [n for n in places if n and _same(looks[n - 1], looks[n])]
    warn(
        "repeated",
        again,
        tr("the same picture as the frame before"),
        tr("no repeated frames"),
    )
    warn(
        "numbers",
        [n for n in range(len(looks)) if looks[n].not_numbers],
        tr("values that are no numbers (NaN or endless)"),
        tr("numbers in every pixel"),
        by_eye=False,
    )
    return found


def _same(a: Look, b: Look) -> bool:
    # black frames are named as black already
    return bool(a.signature) and a.signature == b.signature and not b.black
