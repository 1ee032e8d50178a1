# SPDX-License-Identifier: GPL-3.0-or-later
"""From paths to what rules are held against: reads names and headers, then has workers look further."""

from __future__ import annotations

import os
import stat
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from nightplan.brief.facts import Look
from nightplan.brief.findings import OPEN, Depth, Finding
from nightplan.brief.gather import LITTER, Listing, list_files, list_folder, shown, there
from nightplan.brief.hold import own
from nightplan.brief.judge_whole import broken, by_fault
from nightplan.brief.limits import Limits
from nightplan.brief.names import Run, runs, some
from nightplan.brief.patterns import matches
from nightplan.brief.probe_movie import movie_facts
from nightplan.brief.probe_pixels import picture_look
from nightplan.brief.probe_whole import files_faults
from nightplan.brief.probe_zip import zip_facts
from nightplan.brief.rules import Deliverable, What, wanted_of
from nightplan.brief.subject import Picture, Subject
from nightplan.brief.worker import Lost, Progress, Workers
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn

#: pictures that are held to their checksums here, without starting a worker
_FEW_BYTES = 20_000_000
_TOGETHER = 16
_MOST_TEXT = 5_000_000
_A: dict[What, str] = {
    "sequence": tr("a sequence"),
    "movie": tr("a movie"),
    "image": tr("a image"),
    "zip": tr("a zip"),
    "folder": tr("a folder"),
    "text": tr("a text"),
}
_GIVE: dict[What, str] = {
    "sequence": tr("give the sequence"),
    "movie": tr("give the movie"),
    "image": tr("give the image"),
    "zip": tr("give the zip"),
    "folder": tr("give the folder"),
    "text": tr("give the text"),
}
_LOOK_AT_IT = tr("look at it with your own eyes")


def subjects_of(
    deliverable: Deliverable, paths: list[str], depth: Depth, progress: Progress | None, crew: Workers, limits: Limits
) -> list[Subject]:
    """Everything that the rules need, one subject for each thing. Raises BadInput for a path that is not there."""
    paths = list(there(paths))
    folders = [p for p in paths if os.path.isdir(p)]
    files = [p for p in paths if p not in folders]
    tick = _part(progress, 0.0, 0.1)
    if deliverable.what == "sequence":
        subjects = [_sequence(deliverable, _label(f), list_folder(f, limits=limits, tick=tick), depth) for f in folders]
        if files:
            label = _label(files[0]) if len(files) == 1 else _label(os.path.dirname(os.path.abspath(files[0])))
            subjects.append(_sequence(deliverable, label, list_files(files), depth))
    elif deliverable.what == "folder":
        subjects = [_folder(deliverable, f, depth, limits, tick) for f in folders]
        subjects += [_wrong(deliverable, f, depth, tr("a file was given")) for f in files]
    else:
        subjects = [_wrong(deliverable, f, depth, tr("a folder was given")) for f in folders]
        subjects += [_file(deliverable, f, depth) for f in files]
    count = len(subjects)
    for n, subject in enumerate(subjects):
        _further(subject, crew, limits, _part(progress, 0.1 + 0.9 * n / count, 0.1 + 0.9 * (n + 1) / count))
    return subjects


def _part(progress: Progress | None, start: float, end: float) -> Progress | None:
    if progress is None:
        return None
    tell = progress
    return lambda share: tell(start + (end - start) * share)


def _label(path: str) -> str:
    return os.path.basename(os.path.abspath(path)) or path


def _wrong(deliverable: Deliverable, path: str, depth: Depth, words: str) -> Subject:
    subject = Subject(deliverable, _label(path), depth, unreadable=True)

    subject.own.append(
        own(
            "readable",
            "fail",
            words,
            _A[deliverable.what],
            subject.label,
            _GIVE[deliverable.what],
        )
    )
    return subject


def _file(deliverable: Deliverable, path: str, depth: Depth) -> Subject:
    listing = list_files([path])
    subject = Subject(deliverable, _label(path), depth, listing.files, names=[f.name for f in listing.files])
    if deliverable.what == "image":
        facts = listing.images[0]
        seen = listing.files[0]
        if facts is None:
            words = tr("this is no PNG, JPEG, TIFF, EXR or WebP by its name")
            subject.own.append(own("readable", "fail", words, tr("an image"), subject.label, tr("save it as an image")))
            subject.unreadable = True
        else:
            subject.pictures = [Picture(seen.name, seen.path, seen.bytes, facts, None)]
            subject.unreadable = bool(facts.fault)
    elif deliverable.what == "text":
        subject.words = _words(subject)
    return subject


def _words(subject: Subject) -> int | None:
    seen = subject.files[0]
    try:
        with open(seen.path, "rb") as file:
            return len(file.read(_MOST_TEXT).decode("utf-8-sig").split())
    except (OSError, UnicodeDecodeError):
        words = tr("this is no plain text in UTF-8")
        subject.own.append(
            own("readable", "fail", words, tr("a text"), subject.label, tr("save it as plain text (UTF-8)"))
        )
        return None


def _sequence(deliverable: Deliverable, label: str, listing: Listing, depth: Depth) -> Subject:
    images = {f.name: n for n, f in enumerate(listing.files) if listing.images[n] is not None}
    patterns = [p for r in deliverable.rules if r.kind == "name" for p in wanted_of(r).words]
    run, second = _choose(runs(images), patterns)
    subject = Subject(deliverable, label, depth)
    taken: set[str] = set()
    if run is not None:
        subject.run = run
        for name, number in zip(run.names, run.numbers, strict=True):
            n = images[name]
            seen, facts = listing.files[n], listing.images[n]
            assert facts is not None
            subject.files.append(seen)
            subject.pictures.append(Picture(name, seen.path, seen.bytes, facts, number))
        taken = set(run.names)
    else:
        words = (
            trn("{n} picture, none with a frame number", "{n} pictures, none with a frame number", len(images))
            if images
            else tr("no PNG, JPEG, TIFF, EXR or WebP")
        )
        subject.own.append(
            own("readable", "fail", words, tr("a sequence of numbered pictures"), label, tr("hand in numbered frames"))
        )
        subject.unreadable = True
    subject.names = [f.name for f in listing.files]
    subject.own += _beside(label, listing, taken, second)
    return subject


def _choose(found: list[Run], patterns: list[str]) -> tuple[Run | None, Run | None]:
    """The sequence that is meant, and another one that could be."""
    if not found:
        return None, None
    named = [r for r in found if any(matches(p, r.names[0]) for p in patterns)]
    ordered = named + [r for r in found if r not in named]
    others = [r for r in ordered[1:] if len(r.names) > 1] if not named else [r for r in named[1:] if len(r.names) > 1]
    return ordered[0], others[0] if others else None


def _beside(label: str, listing: Listing, taken: set[str], second: Run | None) -> Iterator[Finding]:
    """What lies beside the frames."""
    if second is not None:
        words = tr("a second sequence lies there: {pattern}, {n} frames", pattern=second.pattern, n=len(second.names))
        repair = tr("keep one sequence in the folder, or write the name that is asked for into the brief")
        yield own("one-sequence", OPEN, words, tr("one sequence"), label, repair)
    second_names = set(second.names) if second else set()
    others = [f.name for f in listing.files if f.name not in taken and f.name not in second_names]
    others += listing.litter + [f + "/" for f in listing.folders]
    if others:
        yield own(
            "tidy",
            "warn",
            tr("other files: {names}", names=some(others)),
            tr("nothing but the frames"),
            label,
            tr("take them out"),
        )
    if listing.links:
        words = tr("links, not followed: {names}", names=some(listing.links))
        yield own("no-links", "fail", words, tr("files, no links"), label, tr("put the files themselves there"))
    if listing.stopped:
        yield own("limits", OPEN, listing.stopped, tr("as many files as can be checked"), label)


def _folder(deliverable: Deliverable, path: str, depth: Depth, limits: Limits, tick: Progress | None) -> Subject:
    listing = list_folder(path, below=True, limits=limits, tick=tick)
    subject = Subject(deliverable, _label(path), depth, listing.files)
    subject.names = [f.name for f in listing.files] + [f + "/" for f in listing.folders]
    empty = [f.name for f in listing.files if f.bytes == 0]
    if listing.litter:
        subject.own.append(
            own(
                "tidy",
                "warn",
                tr("litter: {names}", names=some(listing.litter)),
                tr("no litter"),
                subject.label,
                tr("take it out"),
            )
        )
    if empty:
        words = tr("empty (0 bytes): {names}", names=some(empty))
        subject.own.append(
            own("whole", "fail", words, tr("files that are whole"), subject.label, tr("write them again"))
        )
    if listing.links:
        words = tr("links, not followed: {names}", names=some(listing.links))
        subject.own.append(
            own("no-links", "fail", words, tr("files, no links"), subject.label, tr("put the files themselves there"))
        )
    if listing.stopped:
        subject.own.append(own("limits", OPEN, listing.stopped, tr("as many files as can be checked"), subject.label))
    pictures = [
        Picture(f.name, f.path, f.bytes, facts, None)
        for f, facts in zip(listing.files, listing.images, strict=True)
        if facts is not None
    ]
    _inner_sequence(subject, pictures)
    return subject


def _inner_sequence(subject: Subject, pictures: list[Picture]) -> None:
    """The pictures of the folder that has most of them, numbered where they are a sequence."""
    if not pictures:
        return
    folder = Counter(p.name.rpartition("/")[0] for p in pictures).most_common(1)[0][0]
    inside = {p.name.rpartition("/")[2]: p for p in pictures if p.name.rpartition("/")[0] == folder}
    patterns = [p for r in subject.deliverable.rules if r.kind == "name" for p in wanted_of(r).words]
    run, _ = _choose(runs(inside), patterns)
    if run is not None and len(run.names) > 1:
        subject.run = run
        subject.pictures = [
            inside[name]._replace(number=number) for name, number in zip(run.names, run.numbers, strict=True)
        ]
    else:
        subject.pictures = list(inside.values())


def _further(subject: Subject, crew: Workers, limits: Limits, progress: Progress | None) -> None:
    """The part that workers do."""
    what = subject.deliverable.what
    if subject.unreadable and what != "movie":
        return
    if what in ("movie", "zip"):
        if not subject.files:
            return
        path = subject.files[0].path
        job: Callable[..., Any] = movie_facts if what == "movie" else zip_facts
        arguments: tuple[Any, ...] = (path, subject.depth)
        if what == "movie":
            heard = ("loudness", "audio", "audio-codec")
            arguments += (subject.depth == "deep" or any(r.kind in heard for r in subject.deliverable.rules),)
        answer = _one(crew, job, arguments, limits.movie_seconds, progress)
        if isinstance(answer, Lost):
            # our decoder gave up: that says nothing certain of the file
            subject.unreadable = True
            wanted = tr("a movie that can be looked into") if what == "movie" else tr("a zip that can be looked into")
            subject.own.append(own("limits", OPEN, answer.why, wanted, subject.label, _LOOK_AT_IT))
        elif what == "movie":
            subject.movie = answer
        else:
            subject.zip = answer
            _from_zip(subject)
        return
    if subject.pictures and subject.depth != "headers":
        if subject.depth == "deep":
            _deep(subject, crew, limits, progress)
        else:
            _integrity(subject, crew, limits, progress)


def _one(
    crew: Workers, job: Callable[..., Any], arguments: tuple[Any, ...], seconds: float, progress: Progress | None
) -> Any:
    for _, answer in crew.run(job, [arguments], seconds=seconds, progress=progress):
        return answer
    return Lost(tr("no answer"))


def _from_zip(subject: Subject) -> None:
    facts = subject.zip
    assert facts is not None
    subject.names = [e.name for e in facts.entries if not _litter(e.name)]
    pictures = [
        Picture(e.name, "", e.bytes, e.image, None)
        for e in facts.entries
        if e.image is not None and not _litter(e.name)
    ]
    _inner_sequence(subject, pictures)


def _litter(name: str) -> bool:
    last = name.rstrip("/").rpartition("/")[2]
    return name.startswith("__MACOSX/") or last.lower() in LITTER or last.startswith("._")


def _readable(subject: Subject) -> list[Picture]:
    return [p for p in subject.pictures if not p.facts.fault and p.path]


def _integrity(subject: Subject, crew: Workers, limits: Limits, progress: Progress | None) -> None:
    pictures = _readable(subject)
    faults: dict[str, str] = {}
    lost: list[tuple[Picture, str]] = []
    if sum(p.bytes for p in pictures) <= _FEW_BYTES:
        for n, picture in enumerate(pictures):
            faults[picture.name] = files_faults((picture.path,))[0]
            if progress and not n & 15:
                progress(n / len(pictures))
    else:
        groups = [pictures[i : i + _TOGETHER] for i in range(0, len(pictures), _TOGETHER)]
        jobs = [(tuple(p.path for p in group),) for group in groups]
        seconds = limits.picture_seconds * _TOGETHER
        for n, answer in crew.run(files_faults, jobs, seconds=seconds, progress=progress):
            for k, picture in enumerate(groups[n]):
                if isinstance(answer, Lost):
                    lost.append((picture, answer.why))
                else:
                    faults[picture.name] = answer[k]
    wrong = [(p, faults[p.name]) for p in pictures if faults.get(p.name)]
    subject.own += broken(subject, by_fault(wrong))
    for why, group in by_fault(lost).items():
        words = f"{why}: {some([p.name for p in group])}"
        subject.own.append(own("whole", OPEN, words, tr("files that are whole"), subject.label, _LOOK_AT_IT))


def _deep(subject: Subject, crew: Workers, limits: Limits, progress: Progress | None) -> None:
    pictures = _readable(subject)
    jobs = [(p.path,) for p in pictures]
    for n, answer in crew.run(picture_look, jobs, seconds=limits.picture_seconds, progress=progress):
        subject.looks[pictures[n].name] = Look(unknown=answer.why) if isinstance(answer, Lost) else answer


def guess(path: str) -> str:
    """The kind of deliverable that a path looks like. Raises BadInput where it is not there."""
    from nightplan.brief.names_of_formats import IMAGE_ENDINGS, MOVIE_ENDINGS

    try:
        mode = os.stat(path).st_mode
    except (OSError, ValueError) as error:
        raise BadInput(tr("{path}: there is no such file", path=shown(path))) from error
    if stat.S_ISDIR(mode):
        return "folder"
    ending = os.path.splitext(path)[1].lower()
    if ending in IMAGE_ENDINGS:
        return "image"
    if ending in MOVIE_ENDINGS:
        return "movie"
    return "zip" if ending == ".zip" else "text"
