# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with files whatever the brief says: damage, gaps, mixed frames, contradictions, black frames."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise

from nightplan.brief.amounts import figures
from nightplan.brief.facts import Look, MovieFacts
from nightplan.brief.findings import OPEN, Finding, Verdict
from nightplan.brief.hold import own
from nightplan.brief.judge_frames import contradiction, ordered_looks
from nightplan.brief.judge_pictures import which
from nightplan.brief.look import missing_part, usual_cells
from nightplan.brief.names import frames_words, gaps, some, spans
from nightplan.brief.names_of_formats import ENDINGS
from nightplan.brief.probe_exr import WINDOW
from nightplan.brief.rules import Rule, wanted_of
from nightplan.brief.subject import Picture, Shape, Subject, numbers_of
from nightplan.speech import mark, tr, trn
from nightplan.speech.dates import decimal

#: share of a picture that has to be black from an edge, where it is not usually (common practice, no source)
_HALF_BLACK = 1 / 8
_WHOLE = tr("files that are whole")


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
        found += _movie(subject, subject.movie)
    if subject.zip is not None:
        found += _zip(subject)
    found += _looks(subject)
    whole = not any(f.kind in ("whole", "readable") and f.verdict in ("fail", OPEN) for f in found)
    if whole and not subject.unreadable:
        how = {
            "headers": tr("whole, as far as headers show"),
            "integrity": tr("whole, as far as checksums, ends and counts show"),
            "deep": tr("whole, every pixel decoded"),
        }[subject.depth]
        found.append(own("whole", "pass", how, _WHOLE, subject.label))
    yield from found


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
        yield own("whole", "fail", fault, _WHOLE, where, repair)


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


def _movie(subject: Subject, movie: MovieFacts) -> list[Finding]:
    label = subject.label
    again = tr("export the movie again")
    or_copy = tr("export the movie again, or copy it again")
    if movie.fault:
        subject.unreadable = True
        return [own("readable", "fail", movie.fault, tr("a movie that opens"), label, again)]
    found = []
    if movie.cut_off:
        found.append(
            own(
                "whole",
                "fail",
                tr("the file ends before its last frame"),
                _WHOLE,
                label,
                or_copy,
            )
        )
    damage = []
    if movie.undecodable:
        damage.append(trn("{n} piece does not decode", "{n} pieces do not decode", movie.undecodable))
    if movie.corrupt:
        damage.append(trn("{n} frame is flagged corrupt", "{n} frames are flagged corrupt", movie.corrupt))
    if not damage and movie.complaints and not movie.cut_off:
        damage.append(tr("the decoder complains: {complaint}", complaint=movie.complaints[0]))
    if damage:
        found.append(own("whole", "fail", ", ".join(damage), _WHOLE, label, or_copy))
    if movie.packets is not None and movie.decoded == 0:
        found.append(own("whole", "fail", tr("not one frame decodes"), _WHOLE, label, again))
    wrong = contradiction(movie)
    if wrong:
        asked = [r for r in subject.deliverable.rules if r.kind in ("frame-count", "duration")]
        verdict: Verdict = "fail" if movie.packets is not None and not asked else OPEN
        lost = movie.decoded is not None and movie.packets is not None and movie.decoded < movie.packets
        shorter = movie.packets is not None and movie.header_seconds is not None
        if lost or (shorter and movie.container in ("MKV", "WebM", "AVI")):
            verdict = "fail"
        found.append(own("counts-agree", verdict, wrong, tr("all counts of frames agree"), label, again))
    if movie.resized:
        words = trn(
            "{n} frame is of another size than the first",
            "{n} frames are of another size than the first",
            movie.resized,
        )
        found.append(own("alike", "fail", words, tr("one picture size all through"), label, again))
    if movie.hidden:
        words = trn(
            "an edit list hides {n} frame that is in the file",
            "an edit list hides {n} frames that are in the file",
            movie.hidden,
        )
        found.append(
            own(
                "no-edit-list",
                "warn",
                words,
                tr("what plays is what is stored"),
                label,
                tr("export the movie again without trimming it in place"),
            )
        )
    if movie.variable and not any(r.kind == "fps" for r in subject.deliverable.rules):
        words = tr(
            "{slowest} to {fastest} frames per second",
            slowest=figures(movie.slowest or 0, 3),
            fastest=figures(movie.fastest or 0, 3),
        )
        found.append(
            own(
                "steady-rate",
                "warn",
                words,
                tr("a constant frame rate"),
                label,
                tr("export with a constant frame rate"),
            )
        )
    if movie.pictures > 1:
        found.append(
            own(
                "one-picture",
                "warn",
                tr("{n} picture streams", n=movie.pictures),
                tr("one"),
                label,
                tr("export with one picture stream"),
            )
        )
    if movie.stopped:
        found.append(own("limits", OPEN, movie.stopped, tr("a movie of a size that can be checked"), label))
    shape = subject.shapes()[0][0] if subject.shapes() else None
    asked_kinds = {r.kind for r in subject.deliverable.rules}
    if movie.rotation and not asked_kinds & {"picture-size", "aspect"}:
        words = tr("turned by {n} degrees by a flag", n=movie.rotation)
        found.append(own("upright", "warn", words, tr("stored as it is shown"), label, tr("turn the picture itself")))
    if shape and shape.pixel_aspect != 1 and not asked_kinds & {"picture-size", "aspect", "pixel-aspect"}:
        words = tr("pixels of {shape} : 1", shape=figures(shape.pixel_aspect, 4))
        found.append(own("square-pixels", "warn", words, tr("square pixels"), label, tr("export with square pixels")))
    seconds = movie.stamped_seconds or movie.header_seconds
    for sound in movie.sound:
        if sound.seconds is not None and seconds is not None and abs(sound.seconds - float(seconds)) > 0.25:
            words = tr(
                "sound of {sound} s, picture of {picture} s",
                sound=decimal(sound.seconds, 2),
                picture=decimal(float(seconds), 2),
            )
            found.append(
                own(
                    "sound-length",
                    "warn",
                    words,
                    tr("sound and picture of one length"),
                    label,
                    tr("cut both to one length"),
                )
            )
        if sound.faults:
            found.append(
                own(
                    "whole",
                    "fail",
                    trn("{n} piece of sound does not decode", "{n} pieces of sound do not decode", sound.faults),
                    _WHOLE,
                    label,
                    again,
                )
            )
    endings = ENDINGS.get(movie.container, ())
    if endings and not label.lower().endswith(endings):
        repair = tr("rename it to {ending}, or export as what its name says", ending=endings[0])
        found.append(
            own(
                "ending",
                "fail",
                tr("{format} inside", format=movie.container),
                tr("a name that says what is inside"),
                label,
                repair,
            )
        )
    return found


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
                _WHOLE,
                label,
                tr("pack it again"),
            )
        )
    if facts.unread:
        words = tr("packed in a way that cannot be read here: {names}", names=some(list(facts.unread)))
        found.append(own("whole", OPEN, words, _WHOLE, label, tr("pack it with the usual method (deflate)")))
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
        found.append(own("whole", "fail", tr("the ZIP is empty"), _WHOLE, label, tr("pack it again")))
    return found


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


def _looks(subject: Subject) -> list[Finding]:
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
            found.append(own("whole", OPEN, why, _WHOLE, where, tr("look at it with your own eyes")))
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
