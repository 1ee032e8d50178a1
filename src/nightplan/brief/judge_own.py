# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with files whatever the brief says: damage, gaps, mixed frames, endings, archives."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from itertools import pairwise

from nightplan.brief.amounts import figures
from nightplan.brief.findings import OPEN, Finding, Verdict
from nightplan.brief.hold import own
from nightplan.brief.judge_looks import looks_findings
from nightplan.brief.judge_movie import movie_findings
from nightplan.brief.judge_pictures import which
from nightplan.brief.judge_whole import WHOLE, broken, by_fault
from nightplan.brief.names import frames_words, gaps, some, spans
from nightplan.brief.names_of_formats import ENDINGS
from nightplan.brief.probe_exr import WINDOW
from nightplan.brief.subject import Picture, Shape, Subject, numbers_of
from nightplan.speech import mark, tr


def own_findings(subject: Subject) -> Iterator[Finding]:
    """Every finding of the program's own checks; one pass where the files are whole as far as was looked."""
    found = list(subject.own)
    if subject.pictures:
        found += _headers(subject)
        if subject.run is not None:
            found += _numbers(subject)
        found += _mixed(subject)
        found += _endings(subject)
    if subject.movie is not None:
        found += movie_findings(subject, subject.movie)
    if subject.zip is not None:
        found += _zip(subject)
    found += looks_findings(subject)
    whole = not any(f.kind in ("whole", "readable") and f.verdict in ("fail", OPEN) for f in found)
    if whole and not subject.unreadable:
        how = {
            "headers": tr("whole, as far as headers show"),
            "integrity": tr("whole, as far as checksums, ends and counts show"),
            "deep": tr("whole, every pixel decoded"),
        }[subject.depth]
        found.append(own("whole", "pass", how, WHOLE, subject.label))
    yield from found


def _headers(subject: Subject) -> list[Finding]:
    pairs = [(p, p.facts.fault) for p in subject.pictures if p.facts.fault and p.name not in subject.faulty]
    found = list(broken(subject, by_fault(pairs)))
    cropped = [
        (p, tr("the data window is {size}, not the picture's size", size=p.facts.odd.removeprefix(WINDOW)))
        for p in subject.pictures
        if p.facts.format == "EXR" and p.facts.odd.startswith(WINDOW)
    ]
    for words, pictures in by_fault(cropped).items():
        where = which(subject, pictures, len(pictures) == len(subject.pictures))
        repair = tr("render without a border, or without overscan")
        found.append(own("whole-window", "warn", words, tr("pixels for the whole picture and no more"), where, repair))
    odd = [p for p in subject.pictures if p.facts.more_pictures]
    if odd:
        words = tr("more than one picture in a file")
        where = which(subject, odd, len(odd) == len(subject.pictures))
        found.append(
            own(
                "one-picture", "warn", words, tr("one picture in each file"), where, tr("save one picture to each file")
            )
        )
    return found


def _numbers(subject: Subject) -> list[Finding]:
    run = subject.run
    assert run is not None
    found = []
    numbers = sorted(set(run.numbers))
    asked = any(r.kind == "frame-range" for r in subject.deliverable.rules)
    missing = gaps(numbers, numbers[0], numbers[-1], 1_000_000)
    if missing and not asked:
        steps = {b - a for a, b in pairwise(numbers)}
        even = len(steps) == 1 and len(numbers) > 2
        words = (
            tr("every {n}th frame only", n=steps.pop())
            if even
            else tr("{frames} missing", frames=frames_words(missing))
        )
        repair = tr("{frames} missing: render range {range}", frames=frames_words(missing), range=spans(missing))
        found.append(
            own("no-gaps", "warn" if even else "fail", words, tr("no gaps in the frame numbers"), subject.label, repair)
        )
    twice = run.twice()
    if twice:
        words = tr("{frames} there twice, with different padding", frames=frames_words(twice))
        repair = tr("keep one file of {frames}", frames=frames_words(twice))
        found.append(own("no-doubles", "fail", words, tr("each frame once"), subject.label, repair))
    uneven = run.unevenly_padded()
    if uneven and not twice:
        strict = any(r.kind in ("padding", "name") for r in subject.deliverable.rules)
        words = tr("uneven padding: {names}", names=some(uneven))
        found.append(
            own(
                "even-padding",
                "fail" if strict else "warn",
                words,
                tr("all numbers padded alike"),
                subject.label,
                tr("rename them"),
            )
        )
    return found


_DIFFER: tuple[tuple[Callable[[Shape], str], Verdict, str], ...] = (
    (lambda s: f"{s.width}x{s.height}", "fail", mark("picture size {value}")),
    (lambda s: s.format, "fail", mark("image format {value}")),
    (lambda s: tr("{n} bits", n=s.bits), "warn", mark("bit depth {value}")),
    (lambda s: tr("alpha") if s.alpha else tr("no alpha"), "warn", mark("alpha channel {value}")),
    (lambda s: f"{figures(s.pixel_aspect, 3)} : 1", "warn", mark("pixel shape {value}")),
    (lambda s: s.colour or tr("untagged"), "warn", mark("colour tag {value}")),
)


def _mixed(subject: Subject) -> list[Finding]:
    """Frames of one sequence that are not alike."""
    groups = subject.shapes()
    found: list[Finding] = []
    if len(groups) < 2 or subject.run is None:
        return found
    for read, verdict, words in _DIFFER:
        alike: dict[str, list[Picture]] = defaultdict(list)
        for shape, pictures in groups:
            alike[read(shape)] += pictures
        if len(alike) < 2:
            continue
        usual = max(alike, key=lambda k: len(alike[k]))
        for value, pictures in alike.items():
            if value != usual:
                repair = tr(
                    "render {frames} again like the others ({usual})",
                    frames=frames_words(numbers_of(pictures)),
                    usual=usual,
                )
                where = which(subject, pictures, False)
                found.append(
                    own(
                        "alike",
                        verdict,
                        tr(words, value=value),
                        tr("{what}, like the others", what=tr(words, value=usual)),
                        where,
                        repair,
                    )
                )
    return found


def _endings(subject: Subject) -> list[Finding]:
    wrong: dict[str, list[Picture]] = defaultdict(list)
    for picture in subject.pictures:
        endings = ENDINGS.get(picture.facts.format)
        if endings and not picture.facts.fault and not picture.name.lower().endswith(endings):
            wrong[picture.facts.format].append(picture)
    return [
        own(
            "ending",
            "fail",
            tr("{format} inside", format=kind),
            tr("a name that says what is inside"),
            which(subject, pictures, False),
            tr("save it as what its name says, or rename it to {ending}", ending=ENDINGS[kind][0]),
        )
        for kind, pictures in wrong.items()
    ]


def _zip(subject: Subject) -> list[Finding]:
    facts, label = subject.zip, subject.label
    assert facts is not None
    if facts.fault:
        subject.unreadable = True
        return [own("readable", "fail", facts.fault, tr("a ZIP that opens"), label, tr("pack it again"))]
    found = []
    if facts.hostile:
        repair = tr("pack it again from plain files and folders")
        found.append(
            own(
                "safe-zip", "fail", some(list(facts.hostile), 2), tr("nothing that harms who unpacks it"), label, repair
            )
        )
    if facts.encrypted:
        words = tr("locked with a password: {names}", names=some(list(facts.encrypted)))
        found.append(
            own(
                "open-zip",
                "fail",
                words,
                tr("files that the organiser can open"),
                label,
                tr("pack it without a password"),
            )
        )
    if facts.damaged:
        found.append(
            own(
                "whole",
                "fail",
                tr("damaged: {names}", names=some(list(facts.damaged))),
                WHOLE,
                label,
                tr("pack it again"),
            )
        )
    if facts.unread:
        words = tr("packed in a way that cannot be read here: {names}", names=some(list(facts.unread)))
        found.append(own("whole", OPEN, words, WHOLE, label, tr("pack it with the usual method (deflate)")))
    if facts.odd:
        found.append(
            own(
                "tidy",
                "warn",
                some(list(facts.odd)),
                tr("no litter, no doubles"),
                label,
                tr("pack it again without them"),
            )
        )
    if not facts.entries:
        found.append(own("whole", "fail", tr("the ZIP is empty"), WHOLE, label, tr("pack it again")))
    return found
