# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules about files and sound, and those that a person answers."""

from __future__ import annotations

import datetime as dt
import math
import os
from fractions import Fraction

from nightplan.brief import amounts
from nightplan.brief.findings import NOT_COUNTED, NOT_TICKED, OPEN, YOURS, Finding, Verdict, ticked_words
from nightplan.brief.hold import finding, holds, nearest
from nightplan.brief.kinds import AT_LEAST
from nightplan.brief.names import some
from nightplan.brief.names_of_formats import same_codec
from nightplan.brief.patterns import matches, matches_but_for_case
from nightplan.brief.rules import Rule, wanted_of
from nightplan.brief.subject import Subject
from nightplan.speech import tr, trn
from nightplan.speech.dates import whole


def file_size(rule: Rule, subject: Subject) -> list[Finding]:
    """Both meanings of MB: kept in both is a pass, kept in one a warning."""
    wanted, size = wanted_of(rule), Fraction(subject.bytes)
    decimal, binary = holds(wanted, size), holds(wanted, size, binary=True)
    measured = amounts.bytes_words(subject.bytes)
    if len(subject.files) > 1:
        measured = tr("{size} in {n} files", size=measured, n=len(subject.files))
    if decimal and binary:
        return [finding(rule, "pass", measured, subject.label)]
    if decimal or binary:
        low, high = sorted((wanted.numbers[-1], wanted.binary[-1]))
        repair = tr(
            "it depends on which MB is meant ({low} or {high} bytes): stay on the safe side of both",
            low=whole(int(low)),
            high=whole(int(high)),
        )
        return [finding(rule, "warn", measured, subject.label, repair)]
    small = wanted.comparison in (AT_LEAST,) or (wanted.comparison == "between" and size < wanted.numbers[0])
    repair = (
        tr("export with more data, or ask whether the brief means it")
        if small
        else tr("compress it further, or export it smaller")
    )
    return [finding(rule, "fail", measured, subject.label, repair)]


def name(rule: Rule, subject: Subject) -> list[Finding]:
    """File names against the patterns; those of the frames for a sequence."""
    patterns = wanted_of(rule).words
    names = [p.name.rsplit("/", 1)[-1] for p in subject.pictures] if subject.run and subject.pictures else []
    names = names or [subject.label]
    wrong = [n for n in names if not any(matches(p, n) for p in patterns)]
    if not wrong:
        return [finding(rule, "pass", some(names, 2), subject.label)]
    if all(any(matches_but_for_case(p, n) for p in patterns) for n in wrong):
        repair = tr("only capitals differ: rename {names}", names=some(wrong))
    elif any(matches(p, n.replace(" ", "_")) for p in patterns for n in wrong):
        repair = tr("there are spaces in the name: rename {names}", names=some(wrong))
    else:
        repair = tr("rename {names} after the pattern {pattern}", names=some(wrong), pattern=patterns[0])
    return [finding(rule, "fail", some(wrong), subject.label, repair)]


def tree(rule: Rule, subject: Subject) -> list[Finding]:
    """Names inside a ZIP or folder. A pattern that ends in / is a folder."""
    wanted = wanted_of(rule)
    files = [n for n in subject.names if not n.endswith("/")]
    folders = {n.rstrip("/") for n in subject.names if n.endswith("/")}
    for n in files:
        parts = n.split("/")[:-1]
        folders |= {"/".join(parts[: i + 1]) for i in range(len(parts))}
    missing: list[str] = []
    taken: set[str] = set()
    for pattern in wanted.words:
        if pattern.endswith("/"):
            hits = [f for f in folders if matches(pattern.rstrip("/"), f)]
            inside = tuple(f + "/" for f in hits)
            taken |= {n for n in files if inside and n.startswith(inside)}
        else:
            hits = [n for n in files if matches(pattern, n)]
            taken |= set(hits)
        if not hits:
            missing.append(pattern)
    extra = [n for n in files if n not in taken] if wanted.comparison == "exactly" else []
    repairs = []
    if missing:
        near = _one_folder_deep(missing, files)
        repairs.append(
            tr("missing: {names} (everything lies in a folder {folder}/ of its own)", names=some(missing), folder=near)
            if near
            else tr("missing: {names}", names=some(missing))
        )
    if extra:
        repairs.append(tr("too much: {names}", names=some(extra)))
    verdict: Verdict = "fail" if repairs else "pass"
    return [finding(rule, verdict, trn("{n} file", "{n} files", len(files)), subject.label, "; ".join(repairs))]


def _one_folder_deep(missing: list[str], files: list[str]) -> str:
    tops = {n.split("/", 1)[0] for n in files if "/" in n}
    if len(tops) != 1 or any("/" not in n for n in files):
        return ""
    stripped = [n.split("/", 1)[1] for n in files]
    return tops.pop() if all(any(matches(p.rstrip("/"), n) for n in stripped) for p in missing) else ""


def text_length(rule: Rule, subject: Subject) -> list[Finding]:
    """Words of a text."""
    if subject.words is None:
        return [finding(rule, OPEN, tr("no text that can be read"), subject.label, tr("save it as plain text (UTF-8)"))]
    good = holds(wanted_of(rule), Fraction(subject.words))
    return [
        finding(
            rule,
            "pass" if good else "fail",
            trn("{n} word", "{n} words", subject.words),
            subject.label,
            tr("shorten or lengthen it"),
        )
    ]


def entry_count(rule: Rule, subject: Subject) -> list[Finding]:
    """What was handed to the check is counted elsewhere; what was entered before only the artist knows."""
    return ticked(rule, subject, NOT_COUNTED)


def container(rule: Rule, subject: Subject) -> list[Finding]:
    """Container of a movie."""
    movie, wanted = subject.movie, wanted_of(rule).words
    if movie is None or not movie.container:
        return [finding(rule, OPEN, tr("no movie that can be read"), subject.label, tr("see the other findings"))]
    return [
        finding(
            rule,
            "pass" if movie.container in wanted else "fail",
            movie.container,
            subject.label,
            tr("export as {container}", container=wanted[0]),
        )
    ]


def video_codec(rule: Rule, subject: Subject) -> list[Finding]:
    """Codec of the picture stream."""
    movie, wanted = subject.movie, wanted_of(rule).words
    if movie is None or not movie.codec:
        return [finding(rule, OPEN, tr("no movie that can be read"), subject.label, tr("see the other findings"))]
    good = any(same_codec(movie.codec, w) for w in wanted)
    return [
        finding(
            rule, "pass" if good else "fail", movie.codec, subject.label, tr("export with {codec}", codec=wanted[0])
        )
    ]


def audio(rule: Rule, subject: Subject) -> list[Finding]:
    """Whether there is sound; a silent stream is a warning."""
    movie, wanted = subject.movie, wanted_of(rule).flag
    if movie is None:
        return [finding(rule, OPEN, tr("no movie"), subject.label, tr("hand in a movie"))]
    has = bool(movie.sound)
    if has == wanted:
        silent = has and all(s.loudness == -math.inf for s in movie.sound)
        if silent:
            return [
                finding(
                    rule,
                    "warn",
                    tr("a stream of sound that is silent"),
                    subject.label,
                    tr("listen to it before you hand it in"),
                )
            ]
        return [finding(rule, "pass", tr("yes") if has else tr("no"), subject.label)]
    repair = tr("export with sound") if wanted else tr("export without sound")
    return [finding(rule, "fail", tr("yes") if has else tr("no"), subject.label, repair)]


def _sound(rule: Rule, subject: Subject) -> list[Finding] | None:
    if subject.movie is None or not subject.movie.sound:
        return [finding(rule, "fail", tr("no sound"), subject.label, tr("export with sound"))]
    return None


def audio_codec(rule: Rule, subject: Subject) -> list[Finding]:
    """Codec of every stream of sound."""
    none = _sound(rule, subject)
    if none or subject.movie is None:
        return none or []
    wanted, codecs = wanted_of(rule).words, [s.codec for s in subject.movie.sound]
    good = all(c in wanted for c in codecs)
    return [
        finding(
            rule,
            "pass" if good else "fail",
            ", ".join(codecs),
            subject.label,
            tr("export the sound as {codec}", codec=wanted[0]),
        )
    ]


def audio_rate(rule: Rule, subject: Subject) -> list[Finding]:
    """Samples a second of every stream of sound."""
    none = _sound(rule, subject)
    if none or subject.movie is None:
        return none or []
    wanted, rates = wanted_of(rule), [s.rate for s in subject.movie.sound]
    good = all(holds(wanted, Fraction(r)) for r in rates)
    words = ", ".join(f"{r} Hz" for r in rates)
    return [
        finding(
            rule,
            "pass" if good else "fail",
            words,
            subject.label,
            tr("export the sound at {rate} Hz", rate=amounts.plain(wanted.numbers[0])),
        )
    ]


def audio_channels(rule: Rule, subject: Subject) -> list[Finding]:
    """Channels of every stream of sound."""
    none = _sound(rule, subject)
    if none or subject.movie is None:
        return none or []
    wanted, counts = wanted_of(rule), [s.channels for s in subject.movie.sound]
    good = all(holds(wanted, Fraction(c)) for c in counts)
    words = ", ".join(str(c) for c in counts)
    return [
        finding(
            rule,
            "pass" if good else "fail",
            trn("{counts} channel", "{counts} channels", 1 if words == "1" else 2, counts=words),
            subject.label,
            tr("export with {n} channels", n=amounts.plain(wanted.numbers[0])),
        )
    ]


def loudness(rule: Rule, subject: Subject) -> list[Finding]:
    """Integrated loudness (ITU-R BS.1770-5, LUFS) of the first stream, held to a twentieth of a unit."""
    none = _sound(rule, subject)
    if none or subject.movie is None:
        return none or []
    level = subject.movie.sound[0].loudness
    if level is None:
        return [
            finding(rule, OPEN, tr("not measured"), subject.label, tr("check the file itself, not only its header"))
        ]
    if level == -math.inf:
        return [finding(rule, "fail", tr("silence"), subject.label, tr("listen to it: nothing is to be heard"))]
    wanted = wanted_of(rule)
    # a tenth is what meters show (EBU Tech 3341)
    good = holds(wanted, Fraction(f"{level:.3f}"), Fraction(1, 20))
    repair = tr(
        "change the level by {change} dB", change=amounts.fixed(float(nearest(wanted, level)) - level, 1, plus=True)
    )
    return [finding(rule, "pass" if good else "fail", f"{amounts.fixed(level, 1)} LUFS", subject.label, repair)]


def ticked(rule: Rule, subject: Subject, words: str = NOT_TICKED) -> list[Finding]:
    """A person's tick, with the note."""
    if rule.ticked:
        return [finding(rule, "pass", ticked_words(rule.tick_note), subject.label)]
    repair = tr("tick it when it is so")
    if rule.evidence:
        repair = tr("tick it when it is so; it counts: {evidence}", evidence=rule.evidence)
    return [finding(rule, YOURS, words, subject.label, repair)]


def publish_not_before(rule: Rule, subject: Subject, now: dt.datetime | None) -> list[Finding]:
    """The time now against the moment; without a clock it is the artist's tick."""
    moment = dt.datetime.fromisoformat(wanted_of(rule).words[0])
    if rule.ticked:
        return ticked(rule, subject)
    if now is None:
        return [finding(rule, YOURS, tr("the time is not known here"), subject.label, tr("do not publish it before"))]
    if now >= moment:
        return [
            finding(
                rule, "pass", tr("it is {moment} UTC", moment=f"{now.astimezone(dt.UTC):%Y-%m-%d %H:%M}"), subject.label
            )
        ]
    return [
        finding(
            rule,
            "warn",
            tr("it is {moment} UTC", moment=f"{now.astimezone(dt.UTC):%Y-%m-%d %H:%M}"),
            subject.label,
            tr("keep it to yourself until then"),
        )
    ]


def base(path: str) -> str:
    """The last part of a path."""
    return os.path.basename(os.path.normpath(path)) or path
