# SPDX-License-Identifier: GPL-3.0-or-later
"""What a window needs around the hand-in check: which deliverable is meant, ticks given afterwards, one sentence."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from nightplan.brief.findings import ORDER, Finding, Report
from nightplan.brief.handin import FileState
from nightplan.brief.kinds import KINDS
from nightplan.brief.read import guess
from nightplan.brief.rules import Deliverable, Rule
from nightplan.model.brief import Sheet, SheetFinding, Verdict
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

_FITS = {
    "folder": ("sequence", "folder"),
    "image": ("image", "sequence"),
    "movie": ("movie",),
    "zip": ("zip",),
    "text": ("text",),
}
_TICKED = "ticked by you"
#: names of the program's own checks, for people
OWN_WORDS = {
    "alike": "Pictures that are alike",
    "counts-agree": "Counts of frames agree",
    "ending": "Ending of the name",
    "finished": "Written to the end",
    "licence": "Licences",
    "limits": "Within what can be looked at",
    "no-black": "Black frames",
    "no-doubles": "No frame twice",
    "no-gaps": "Gaps in the frame numbers",
    "no-links": "Links",
    "one-file": "One file",
    "one-picture": "One picture in a file",
    "one-sequence": "One sequence",
    "open-zip": "ZIP opens",
    "readable": "Can be read",
    "safe-zip": "ZIP is harmless",
    "sound-length": "Length of the sound",
    "square-pixels": "Square pixels",
    "steady-rate": "Steady rate",
    "tidy": "Tidy",
    "upright": "Upright",
    "whole": "Files are whole",
    "whole-window": "Whole picture",
}


def title_of(finding: Finding | SheetFinding) -> str:
    """What a finding is about, in words."""
    kind = KINDS.get(finding.kind or finding.rule)
    if kind is not None:
        return kind.words
    name = finding.kind or finding.rule
    return OWN_WORDS.get(name, name.replace("-", " ").capitalize())


def deliverable_for(deliverables: Sequence[Deliverable], paths: Sequence[str], chosen: str | None) -> str | None:
    """The deliverable that files look like: the chosen one where they fit it, else the only one that they fit.

    Raises:
        BadInput: a path that is not there.
    """
    if not deliverables or not paths:
        return chosen
    looks = {guess(p) for p in paths}
    fitting = [d for d in deliverables if all(d.what in _FITS[look] for look in looks)]
    if looks == {"folder"} and len(fitting) > 1:
        frames = any(_has_frames(p) for p in paths)
        fitting = [d for d in fitting if (d.what == "sequence") == frames] or fitting
    ids = [d.id for d in fitting]
    if chosen in ids:
        return chosen
    wanted = [d.id for d in fitting if d.wanted]
    if wanted:
        return wanted[0]
    return ids[0] if ids else chosen or deliverables[0].id


def _has_frames(folder: str) -> bool:
    from nightplan.brief.names_of_formats import IMAGE_ENDINGS

    try:
        with os.scandir(folder) as entries:
            return any(os.path.splitext(e.name)[1].lower() in IMAGE_ENDINGS for e in entries)
    except OSError:
        return False


# ---- ticks given after the check -----------------------------------------------------------------
def with_ticks(report: Report, deliverable: Deliverable) -> Report:
    """The report with the ticks that the rules have now; files are not looked at again."""
    rules = {r.id: r for r in deliverable.rules}
    found = tuple(_ticked(f, rules.get(f.rule)) if not f.own else f for f in report.findings)
    return replace(report, findings=found)


def _ticked(found: Finding, rule: Rule | None) -> Finding:
    if rule is None:
        return found
    before, mark, _ = found.measured.partition(_TICKED)
    plain = before.rstrip("; ") or "not ticked yet"
    if found.verdict == "your tick" and rule.ticked:
        note = f": {rule.tick_note}" if rule.tick_note else ""
        lead = "" if plain in ("not ticked yet", "not counted: only you know what you entered before") else f"{plain}; "
        return replace(found, verdict="pass", measured=f"{lead}{_TICKED}{note}", repair="", breach="")
    if found.verdict == "pass" and mark and not rule.ticked:
        return replace(found, verdict="your tick", measured=plain, repair="tick it when it is so", breach=rule.breach)
    if found.verdict == "pass" and mark:
        note = f": {rule.tick_note}" if rule.tick_note else ""
        return replace(found, measured=f"{before}{_TICKED}{note}")
    return found


def same_rules(one: Deliverable, other: Deliverable) -> bool:
    """Whether a check of the one still speaks of the other: everything but the ticks and the name is the same."""
    return _bare(one) == _bare(other)


def _bare(deliverable: Deliverable) -> Deliverable:
    rules = tuple(r.but(ticked=False, tick_note="") for r in deliverable.rules)
    return deliverable.but(rules=rules, name="x", selected=False)


# ---- words ---------------------------------------------------------------------------------------
def worst_first(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings by verdict, the worst first, else as they came."""
    return tuple(sorted(findings, key=lambda f: ORDER.index(f.verdict)))


def verdict_sentence(verdict: Verdict, findings: Sequence[Finding] | Sequence[SheetFinding]) -> str:
    """The whole answer in one sentence."""
    count = Counter(f.verdict for f in findings)
    if not findings:
        return "Nothing was looked at: the brief has no rules for it yet."
    parts = [
        (count["fail"], "is not as the brief asks", "are not as the brief asks"),
        (count["cannot tell"], "cannot be told", "cannot be told"),
        (count["your tick"], "waits for your tick", "wait for your tick"),
        (count["warn"], "warns", "warn"),
    ]
    told = [f"{n} {one if n == 1 else many}" for n, one, many in parts if n]
    rest = f"{count['pass']} pass" if count["pass"] != 1 else "1 passes"
    if verdict == "pass":
        return f"Everything that can be measured is as the brief asks: {rest}."
    start = {
        "fail": "Do not hand it in like this",
        "cannot tell": "This is no pass yet",
        "your tick": "Nothing fails, and you have a word to say",
        "warn": "Nothing fails; look at the warnings",
    }[verdict]
    return f"{start}: {', '.join(told)}; {rest}."


def still_sentence(states: Sequence[FileState]) -> str:
    """Whether the files of a sheet are still the files that were checked, in one sentence."""
    count: Counter[str] = Counter(s.state for s in states)
    if not states:
        return "The sheet names no file."
    if count["same"] == len(states):
        return (
            "It is still the file that was checked."
            if len(states) == 1
            else f"All {len(states)} files are still the files that were checked."
        )
    if count["missing"] == len(states):
        return "None of the files is where it was; say in which folder they are now."
    words = {"changed": "not the file that was checked", "missing": "not there any more", "unreadable": "not readable"}
    told = [f"{count[key]} {text}" for key, text in words.items() if count[key]]
    return f"Not the same any more: {', '.join(told)}; {count['same']} of {len(states)} still the same."


def line_of(sheet: Sheet) -> str:
    """``Final frames, 31 Oct 2027 20:00, 120 files``"""
    files = f"{len(sheet.files)} {'file' if len(sheet.files) == 1 else 'files'}"
    when = (sheet.checked_at or "").replace("T", " ")[:16]
    return ", ".join(part for part in (sheet.name or sheet.deliverable, when, files) if part)


def write_sheet(sheet: Sheet, path: Path, project: Project | None = None) -> None:
    """The sheet as a page (.html) or to print (.pdf), whole or not at all.

    Raises:
        BadInput: another ending, or the file cannot be written.
    """
    from nightplan.exports.save import write_bytes

    match path.suffix.lower():
        case ".html" | ".htm":
            from nightplan.brief.handin_html import sheet_html

            write_bytes(path, sheet_html(sheet, project).encode("utf-8"))
        case ".pdf":
            from nightplan.brief.handin_pdf import sheet_pdf

            write_bytes(path, sheet_pdf(sheet, project))
        case _:
            raise BadInput.at("path", str(path), "a hand-in sheet ends with .html or .pdf")


#: what each depth looks at
DEPTH_WORDS = {
    "headers": "names and headers",
    "integrity": "whole files, not every pixel",
    "deep": "every pixel",
}
