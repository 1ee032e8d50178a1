# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules about the picture: size, shape, depth, alpha, format, colour tags, scan."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from nightplan.brief import amounts
from nightplan.brief.findings import OPEN, Finding, Verdict
from nightplan.brief.hold import finding, holds, nearest, value_words
from nightplan.brief.kinds import ONE_OF
from nightplan.brief.names import frames_words, some
from nightplan.brief.rules import Rule, Wanted, wanted_of
from nightplan.brief.subject import Picture, Shape, Subject, numbers_of
from nightplan.speech import tr, trn

#: 2048 × 858 is 2.387 and is called 2.39
ASPECT_SLACK = Fraction(5, 1000)

Answer = tuple[Verdict, str, str]


def which(subject: Subject, pictures: list[Picture], all_of_them: bool) -> str:
    """How a finding names some of the pictures."""
    if all_of_them or not pictures:
        return subject.label
    numbers = numbers_of(pictures)
    return f"{subject.label}: {frames_words(numbers) if numbers else some([p.name for p in pictures])}"


def _each(rule: Rule, subject: Subject, answer: Callable[[Shape], Answer]) -> list[Finding]:
    """One finding for each kind of picture that does not pass; one in all where every one does."""
    groups = subject.shapes()
    if not groups:
        return [finding(rule, OPEN, tr("no picture that can be read"), subject.label, tr("see the other findings"))]
    unread = sum(1 for p in subject.pictures if p.facts.fault)
    found = []
    passed: list[str] = []
    for shape, pictures in groups:
        verdict, measured, repair = answer(shape)
        if verdict == "pass":
            passed.append(measured)
        else:
            where = which(subject, pictures, len(groups) == 1 and not unread)
            found.append(finding(rule, verdict, measured, where, repair))
    if found:
        return found
    words = ", ".join(dict.fromkeys(passed))
    if unread:
        return [
            finding(
                rule,
                OPEN,
                trn("{told}; {n} cannot be read", "{told}; {n} cannot be read", unread, told=words),
                subject.label,
                tr("see the other findings"),
            )
        ]
    return [finding(rule, "pass", words, subject.label)]


def _fits(wanted: Wanted, size: tuple[int, int]) -> bool:
    width, height = size
    first = wanted.pairs[0]
    match wanted.comparison:
        case "at least":  # untranslated: value of the file
            return width >= first[0] and height >= first[1]
        case "at most":  # untranslated: value of the file
            return width <= first[0] and height <= first[1]
        case "between":
            low, high = wanted.pairs
            return low[0] <= width <= high[0] and low[1] <= height <= high[1]
        case _:
            return size in wanted.pairs


def picture_size(rule: Rule, subject: Subject) -> list[Finding]:
    """Width and height as shown, in pixels."""
    wanted = wanted_of(rule)

    def answer(shape: Shape) -> Answer:
        shown = (shape.width, shape.height)
        measured = f"{shape.width}x{shape.height}"
        goal = f"{wanted.pairs[0][0]}x{wanted.pairs[0][1]}"
        if shown != shape.stored:
            measured = tr(
                "{shown} shown, {stored} stored and turned by a flag",
                shown=measured,
                stored=f"{shape.stored[0]}x{shape.stored[1]}",
            )
        if not _fits(wanted, shown):
            if wanted.comparison in ("exactly", ONE_OF) and shown[::-1] in wanted.pairs:
                return "fail", measured, tr("width and height are swapped: turn the picture itself")
            return "fail", measured, tr("render or export at {goal}", goal=goal)
        if shown != shape.stored:
            return "warn", measured, tr("turn the picture itself: not every player heeds the flag")
        if shape.pixel_aspect != 1:
            return (
                "warn",
                tr("{measured} with pixels of {shape} : 1", measured=measured, shape=amounts.plain(shape.pixel_aspect)),
                tr("export with square pixels"),
            )
        return "pass", measured, ""

    return _each(rule, subject, answer)


def long_side(rule: Rule, subject: Subject) -> list[Finding]:
    """The longer side as shown, in pixels."""
    wanted = wanted_of(rule)

    def answer(shape: Shape) -> Answer:
        side = max(shape.width, shape.height)
        good = holds(wanted, Fraction(side))
        return (
            "pass" if good else "fail",
            tr("{n} px", n=side),
            tr("scale it to {n} px", n=amounts.plain(nearest(wanted, side))),
        )

    return _each(rule, subject, answer)


def aspect(rule: Rule, subject: Subject) -> list[Finding]:
    """Width to height as shown, held to 0.5 %."""
    wanted = wanted_of(rule)

    def answer(shape: Shape) -> Answer:
        slack = max(wanted.numbers) * ASPECT_SLACK
        good = holds(wanted, shape.aspect, slack)
        measured = f"{amounts.figures(shape.aspect, 4)} : 1 ({shape.width}x{shape.height})"
        if shape.pixel_aspect != 1:
            pixels = amounts.plain(shape.pixel_aspect)
            measured = tr("{measured} with pixels of {shape} : 1", measured=measured, shape=pixels)
            if good:
                return "warn", measured, tr("export with square pixels: not every player heeds their shape")
        height = round(shape.width / wanted.numbers[0])
        return (
            "pass" if good else "fail",
            measured,
            tr("crop or render to {width}x{height}", width=shape.width, height=height),
        )

    return _each(rule, subject, answer)


def pixel_aspect(rule: Rule, subject: Subject) -> list[Finding]:
    """Width to height of one pixel."""
    wanted = wanted_of(rule)

    def answer(shape: Shape) -> Answer:
        good = holds(wanted, shape.pixel_aspect, Fraction(1, 100))
        return (
            "pass" if good else "fail",
            f"{amounts.plain(shape.pixel_aspect)} : 1",
            tr("export with the pixel shape that is asked for"),
        )

    return _each(rule, subject, answer)


def bit_depth(rule: Rule, subject: Subject) -> list[Finding]:
    """Bits of a channel."""
    wanted = wanted_of(rule)

    def answer(shape: Shape) -> Answer:
        if not shape.bits:
            return OPEN, tr("the file does not say"), ""
        good = holds(wanted, Fraction(shape.bits))
        odd = shape.odd == "palette"
        bits = tr("{n} bits (palette)", n=shape.bits) if odd else trn("{n} bit", "{n} bits", shape.bits)
        if good and odd:
            return "warn", bits, tr("a palette has at most 256 colours: save it without one")
        return (
            "pass" if good else "fail",
            bits,
            tr("save with {n} bits per channel", n=amounts.plain(nearest(wanted, shape.bits))),
        )

    return _each(rule, subject, answer)


def alpha(rule: Rule, subject: Subject) -> list[Finding]:
    """Whether there is an alpha channel, and whether it holds anything."""
    wanted = wanted_of(rule).flag
    seen = [look.opaque for look in subject.looks.values() if look.opaque is not None]

    def answer(shape: Shape) -> Answer:
        if shape.alpha == wanted:
            if wanted and seen and all(seen):
                return (
                    "warn",
                    tr("an alpha channel that is opaque everywhere"),
                    tr("render with a transparent background"),
                )
            return "pass", tr("yes") if shape.alpha else tr("no"), ""
        repair = tr("render and save with an alpha channel") if wanted else tr("save without an alpha channel")
        return "fail", tr("yes") if shape.alpha else tr("no"), repair

    return _each(rule, subject, answer)


def image_format(rule: Rule, subject: Subject) -> list[Finding]:
    """Format of the picture files."""
    wanted = wanted_of(rule)
    if subject.movie is not None:
        return [
            finding(
                rule,
                "fail",
                subject.movie.container or tr("a movie"),
                subject.label,
                tr("hand in {format} pictures", format=wanted.words[0]),
            )
        ]

    def answer(shape: Shape) -> Answer:
        return (
            "pass" if shape.format in wanted.words else "fail",
            shape.format,
            tr("save as {format}", format=wanted.words[0]),
        )

    return _each(rule, subject, answer)


#: what an untagged picture is taken for by most programs (common practice, no source)
_UNTAGGED = ("sRGB", "Rec.709")


def colour(rule: Rule, subject: Subject) -> list[Finding]:
    """Colour tags of the header."""
    wanted = wanted_of(rule)

    def answer(shape: Shape) -> Answer:
        if shape.colour in wanted.words:
            return "pass", shape.colour, ""
        repair = tr("export with the tag {tag}", tag=wanted.words[0])
        if not shape.colour:
            usual = any(w in _UNTAGGED for w in wanted.words)
            return "warn" if usual else OPEN, tr("untagged"), repair
        if shape.format == "EXR" and shape.colour == "linear" and {"ACES", "ACEScg"} & set(wanted.words):
            return OPEN, tr("linear, primaries untagged"), repair
        return "fail", shape.colour, repair

    return _each(rule, subject, answer)


def scan(rule: Rule, subject: Subject) -> list[Finding]:
    """Progressive or interlaced."""
    wanted, movie = wanted_of(rule).words[0], subject.movie
    if movie is None:
        return [finding(rule, OPEN, tr("pictures have no scan"), subject.label, tr("hand in a movie"))]
    repair = tr("export progressive") if wanted == "progressive" else tr("export interlaced")
    interlaced = movie.scan == "interlaced" or movie.interlaced_frames > 0
    if movie.scan == "progressive" and movie.interlaced_frames:
        words = tr(
            "progressive by the header, {n} frames interlaced",
            n=movie.interlaced_frames,
        )
        return [finding(rule, "fail", words, subject.label, repair)]
    if not movie.scan and movie.decoded is None:
        return [
            finding(
                rule,
                OPEN,
                tr("the header does not say"),
                subject.label,
                tr("check the file itself, not only its header"),
            )
        ]
    measured = "interlaced" if interlaced else "progressive"
    return [finding(rule, "pass" if measured == wanted else "fail", value_words(measured), subject.label, repair)]
