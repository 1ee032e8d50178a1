# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with a movie whatever the brief says: cut off, contradictory, unsteady, not upright."""

from __future__ import annotations

from nightplan.brief.amounts import figures
from nightplan.brief.facts import MovieFacts
from nightplan.brief.findings import OPEN, Finding, Verdict
from nightplan.brief.hold import own
from nightplan.brief.judge_frames import contradiction
from nightplan.brief.judge_whole import WHOLE
from nightplan.brief.names_of_formats import ENDINGS
from nightplan.brief.subject import Subject
from nightplan.speech import tr, trn
from nightplan.speech.dates import decimal


def movie_findings(subject: Subject, movie: MovieFacts) -> list[Finding]:
    """Findings of the whole movie; one that does not open has no other."""
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
                WHOLE,
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
        found.append(own("whole", "fail", ", ".join(damage), WHOLE, label, or_copy))
    if movie.packets is not None and movie.decoded == 0:
        found.append(own("whole", "fail", tr("not one frame decodes"), WHOLE, label, again))
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
                    WHOLE,
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
