# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds files against the rules of a deliverable.

Three depths: "headers" reads names and headers, "integrity" also checksums, ends and every packet of a movie (which is
decoded to be counted), "deep" also looks at pixels. Decoders run in worker processes; pictures' headers are read here,
by readers that cannot crash. The organiser's rules decide, not this check.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Sequence

from nightplan.brief import judge_files, judge_frames, judge_pictures
from nightplan.brief.asset_rules import DECIDES, licence_findings
from nightplan.brief.findings import OPEN, Depth, FileSeen, Finding, Report
from nightplan.brief.hold import finding, own
from nightplan.brief.judge_own import own_findings
from nightplan.brief.limits import LIMITS, Limits
from nightplan.brief.read import subjects_of
from nightplan.brief.rules import Deliverable, Rule, What
from nightplan.brief.subject import Subject
from nightplan.brief.worker import Progress, Workers
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trn

Judge = Callable[[Rule, Subject], list[Finding]]

JUDGES: dict[str, Judge] = {
    "frame-count": judge_frames.frame_count,
    "frame-range": judge_frames.frame_range,
    "numbering": judge_frames.numbering,
    "padding": judge_frames.padding,
    "fps": judge_frames.fps,
    "duration": judge_frames.duration,
    "slate": judge_frames.slate,
    "picture-size": judge_pictures.picture_size,
    "long-side": judge_pictures.long_side,
    "aspect": judge_pictures.aspect,
    "pixel-aspect": judge_pictures.pixel_aspect,
    "bit-depth": judge_pictures.bit_depth,
    "alpha": judge_pictures.alpha,
    "image-format": judge_pictures.image_format,
    "colour": judge_pictures.colour,
    "scan": judge_pictures.scan,
    "container": judge_files.container,
    "video-codec": judge_files.video_codec,
    "audio": judge_files.audio,
    "audio-codec": judge_files.audio_codec,
    "audio-rate": judge_files.audio_rate,
    "audio-channels": judge_files.audio_channels,
    "loudness": judge_files.loudness,
    "file-size": judge_files.file_size,
    "name": judge_files.name,
    "tree": judge_files.tree,
    "text-length": judge_files.text_length,
    "entry-count": judge_files.entry_count,
    "progress-post": judge_files.ticked,
    "kept-stage": judge_files.ticked,
    "working-time": judge_files.ticked,
    "declaration": judge_files.ticked,
    "tick": judge_files.ticked,
}

_ONE: dict[What, str] = {
    "sequence": tr("one sequence"),
    "movie": tr("one movie"),
    "image": tr("one image"),
    "zip": tr("one zip"),
    "folder": tr("one folder"),
    "text": tr("one text"),
}
#: rules that need no file
_PERSON = frozenset(
    ("entry-count", "progress-post", "kept-stage", "working-time", "declaration", "tick", "publish-not-before")
)


def check(
    deliverable: Deliverable,
    paths: Sequence[str | os.PathLike[str]],
    *,
    depth: Depth = "integrity",
    progress: Progress | None = None,
    now: dt.datetime | None = None,
    workers: Workers | None = None,
    limits: Limits = LIMITS,
    project: Project | None = None,
) -> Report:
    """Findings of a deliverable about files, a folder, or several of them.

    Args:
        paths: for a sequence its folder or its files; for others files, each of which is checked.
        progress: called with 0..1; it may raise :class:`nightplan.model.errors.Cancelled`.
        now: aware; kept in the report, and what publish-not-before is held against.
        workers: worker processes to use and to leave running; own ones are started and ended otherwise.
        project: whose assets are held against the licences and the rules about them.

    Raises:
        BadInput: no path, or one that is not there or cannot be read.
    """
    given = [os.fspath(p) for p in paths]
    if not given:
        raise BadInput(tr("PATH: say which files or which folder to check"))
    if now is not None and now.tzinfo is None:
        raise BadInput.at("now", now, tr("must be a time with a zone"))
    if progress:
        progress(0.0)
    mine = workers is None
    crew = workers or Workers(limits=limits)
    try:
        subjects = subjects_of(deliverable, given, depth, progress, crew, limits)
    finally:
        if mine:
            crew.close()
    findings: list[Finding] = []
    for n, subject in enumerate(subjects):
        findings += judged(subject, now, people=n == 0)
    findings += licence_findings(deliverable, project)
    findings += _how_many(deliverable, subjects)
    files: dict[str, FileSeen] = {f.path: f for s in subjects for f in s.files}
    findings += _clock(now, list(files.values()))
    if progress:
        progress(1.0)
    return Report(deliverable.id, deliverable.name, depth, now, tuple(findings), tuple(files.values()), tuple(given))


def judged(subject: Subject, now: dt.datetime | None = None, *, people: bool = True) -> list[Finding]:
    """Findings of one subject: the rules in the brief's order, then the program's own checks.

    ``people``: also the rules that ask a person, which stand once for all files of a deliverable.
    """
    own_ones = list(own_findings(subject))
    found: list[Finding] = []
    for rule in subject.deliverable.rules:
        if rule.kind in DECIDES:
            # stand once for all files, see licence_findings
            continue
        if rule.kind in _PERSON:
            if people:
                found += (
                    judge_files.publish_not_before(rule, subject, now)
                    if rule.kind == "publish-not-before"
                    else JUDGES[rule.kind](rule, subject)
                )
        elif subject.unreadable and rule.kind not in ("name", "file-size"):
            found.append(finding(rule, OPEN, tr("not measured"), subject.label, tr("see the other findings")))
        else:
            found += JUDGES[rule.kind](rule, subject)
    return found + own_ones


def _how_many(deliverable: Deliverable, subjects: list[Subject]) -> list[Finding]:
    """Several files where the brief speaks of one."""
    if len(subjects) < 2:
        return []
    words = trn("{n} file", "{n} files", len(subjects))
    repair = tr("hand in one, or see whether the brief asks for several")
    where = ", ".join(s.label for s in subjects[:3])
    return [own("one-file", "warn", words, _ONE[deliverable.what], where, repair)]


def _clock(now: dt.datetime | None, files: list[FileSeen]) -> list[Finding]:
    """Files that are still being written, by their time."""
    if now is None or not files:
        return []
    newest = max(files, key=lambda f: f.modified_ns)
    age = now.timestamp() - newest.modified_ns / 1e9
    if -60 <= age < 5:
        words = tr("{name} was written {seconds} s ago", name=newest.name, seconds=f"{max(age, 0):.0f}")
        return [
            own(
                "finished",
                "warn",
                words,
                tr("files that nothing writes to any more"),
                newest.name,
                tr("check again when it is done"),
            )
        ]
    return []
