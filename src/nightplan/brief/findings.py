# SPDX-License-Identifier: GPL-3.0-or-later
"""What a check answers: findings and the verdict over them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final, Literal, NamedTuple

from nightplan.model.brief import Verdict as Verdict
from nightplan.speech import tr, trc

Depth = Literal["headers", "integrity", "deep"]
#: how closely was looked, as people read it
DEPTH_WORDS: dict[str, str] = {
    "headers": trc("depth of a check", "headers"),
    "integrity": trc("depth of a check", "whole files"),
    "deep": trc("depth of a check", "every pixel"),
}
OPEN: Final = "cannot tell"  # untranslated: value of the file
YOURS: Final = "your tick"  # untranslated: value of the file
#: worst first
ORDER: tuple[Verdict, ...] = ("fail", OPEN, YOURS, "warn", "pass")
#: verdicts as people read them
VERDICT_WORDS: dict[Verdict, str] = {
    "fail": trc("verdict of a check", "fail"),
    OPEN: trc("verdict of a check", "cannot tell"),
    YOURS: trc("verdict of a check", "your tick"),
    "warn": trc("verdict of a check", "warn"),
    "pass": trc("verdict of a check", "pass"),
}
#: a sign beside each word, so that nothing hangs on colour
SIGNS: dict[Verdict, str] = {"pass": "✓", "warn": "!", "fail": "✗", OPEN: "?", YOURS: "☐"}
#: in what was measured, where a person's tick decides; a tick that is given later is told by them
TICKED = tr("ticked by you")
NOT_TICKED = tr("not ticked yet")
NOT_COUNTED = tr("not counted: only you know what you entered before")


def ticked_words(note: str) -> str:
    """``ticked by you: seen``, or without the note."""
    return f"{TICKED}: {note}" if note else TICKED


@dataclass(frozen=True, slots=True)
class Finding:
    """One answer. ``rule`` is the id of a rule, or the name of one of the program's own checks (``own`` is true)."""

    rule: str
    verdict: Verdict
    measured: str
    wanted: str
    #: file, or folder
    where: str
    #: what to do, in plain words; empty where nothing is to do
    repair: str = ""
    kind: str = ""
    wording: str = ""
    breach: str = ""
    own: bool = False


class FileSeen(NamedTuple):
    """A file as it was when it was checked."""

    #: absolute
    path: str
    #: relative to what was given, with / between folders
    name: str
    bytes: int
    modified_ns: int


@dataclass(frozen=True, slots=True)
class Report:
    """The findings of one deliverable."""

    deliverable: str
    name: str
    depth: Depth
    #: aware, or None where the caller gave no clock
    checked_at: dt.datetime | None
    findings: tuple[Finding, ...]
    files: tuple[FileSeen, ...]
    #: what was given to the check
    paths: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The worst of the findings; nothing found at all is no pass."""
        found = {f.verdict for f in self.findings}
        return next((v for v in ORDER if v in found), OPEN)

    def of(self, rule: str) -> tuple[Finding, ...]:
        """The findings of one rule."""
        return tuple(f for f in self.findings if f.rule == rule)


def report_values(report: Report) -> dict[str, Any]:
    """The report as JSON values."""
    return {
        "deliverable": report.deliverable,
        "name": report.name,
        "depth": report.depth,
        "checked_at": report.checked_at.isoformat(timespec="seconds") if report.checked_at else None,
        "verdict": report.verdict,
        "findings": [finding_values(f) for f in report.findings],
    }


def finding_values(finding: Finding) -> dict[str, Any]:
    """A finding as JSON values."""
    return {
        "rule": finding.rule,
        "kind": finding.kind,
        "verdict": finding.verdict,
        "measured": finding.measured,
        "wanted": finding.wanted,
        "where": finding.where,
        "repair": finding.repair,
        "wording": finding.wording,
        "breach": finding.breach,
    }
