# SPDX-License-Identifier: GPL-3.0-or-later
"""What a window needs around the hand-in check: which deliverable is meant, ticks given afterwards, one sentence."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from nightplan.brief.findings import (
    NOT_COUNTED,
    NOT_TICKED,
    OPEN,
    ORDER,
    TICKED,
    YOURS,
    Finding,
    Report,
    ticked_words,
)
from nightplan.brief.handin import FileState
from nightplan.brief.read import guess
from nightplan.brief.rules import Deliverable, Rule
from nightplan.model.brief import Sheet, SheetFinding, Verdict
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import mark, tr, trc, trn

#: what files can be handed in as, by what they look like
_FITS = {
    "folder": ("sequence", "folder"),
    "image": ("image", "sequence"),
    "movie": ("movie",),
    "zip": ("zip",),
    "text": ("text",),
}


def deliverable_for(deliverables: Sequence[Deliverable], paths: Sequence[str], chosen: str | None) -> str | None:
    """The deliverable that files look like: the chosen one where they fit it, else the only one that they fit.

    Raises:
        BadInput: a path that is not there.
    """
    if not deliverables or not paths:
        return chosen
    like = fitting(deliverables, paths)
    ids = [d.id for d in like]
    if chosen in ids:
        return chosen
    wanted = [d.id for d in like if d.wanted]
    if wanted:
        return wanted[0]
    return ids[0] if ids else chosen or deliverables[0].id


def fitting(deliverables: Iterable[Deliverable], paths: Sequence[str]) -> list[Deliverable]:
    """The deliverables that all these files can be handed in as; a folder with frames in it is rather a sequence.

    Raises:
        BadInput: a path that is not there.
    """
    looks = {guess(p) for p in paths}
    found = [d for d in deliverables if all(d.what in _FITS[look] for look in looks)]
    if looks == {"folder"} and len(found) > 1:
        frames = any(_has_frames(p) for p in paths)
        found = [d for d in found if (d.what == "sequence") == frames] or found
    return found


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
    before, said, _ = found.measured.partition(TICKED)
    plain = before.rstrip("; ") or NOT_TICKED
    if found.verdict == YOURS and rule.ticked:
        lead = "" if plain in (NOT_TICKED, NOT_COUNTED) else f"{plain}; "
        return replace(found, verdict="pass", measured=f"{lead}{ticked_words(rule.tick_note)}", repair="", breach="")
    if found.verdict == "pass" and said and not rule.ticked:
        repair = tr("tick it when it is so")
        return replace(found, verdict=YOURS, measured=plain, repair=repair, breach=rule.breach)
    if found.verdict == "pass" and said:
        return replace(found, measured=f"{before}{ticked_words(rule.tick_note)}")
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
        return tr("Nothing was looked at: the brief has no rules for it yet.")
    parts = [
        (count["fail"], trn("{n} is not as the brief asks", "{n} are not as the brief asks", count["fail"])),
        (count[OPEN], trn("{n} cannot be told", "{n} cannot be told", count[OPEN])),
        (count[YOURS], trn("{n} waits for your tick", "{n} wait for your tick", count[YOURS])),
        (count["warn"], trn("{n} warns", "{n} warn", count["warn"])),
    ]
    told = trc("between the parts of a list", ", ").join(said for n, said in parts if n)
    rest = trn("{n} passes", "{n} pass", count["pass"])
    if verdict == "pass":
        return tr("Everything that can be measured is as the brief asks: {rest}.", rest=rest)
    # translators: {told} is "2 are not as the brief asks, 1 waits for your tick", {rest} is "9 pass"
    sentence = {
        "fail": mark("Do not hand it in like this: {told}; {rest}."),
        OPEN: mark("This is no pass yet: {told}; {rest}."),
        YOURS: mark("Nothing fails, and you have a word to say: {told}; {rest}."),
        "warn": mark("Nothing fails; look at the warnings: {told}; {rest}."),
    }[verdict]
    return tr(sentence, told=told, rest=rest)


def still_sentence(states: Sequence[FileState]) -> str:
    """Whether the files of a sheet are still the files that were checked, in one sentence."""
    count: Counter[str] = Counter(s.state for s in states)
    if not states:
        return tr("The sheet names no file.")
    if count["same"] == len(states):
        return trn(
            "It is still the file that was checked.",
            "All {n} files are still the files that were checked.",
            len(states),
        )
    if count["missing"] == len(states):
        return tr("None of the files is where it was; say in which folder they are now.")
    changed, missing, unreadable = count["changed"], count["missing"], count["unreadable"]
    parts = [
        (changed, trn("{n} not the file that was checked", "{n} not the file that was checked", changed)),
        (missing, trn("{n} not there any more", "{n} not there any more", missing)),
        (unreadable, trn("{n} not readable", "{n} not readable", unreadable)),
    ]
    return tr(
        "Not the same any more: {told}; {same} of {n} still the same.",
        told=trc("between the parts of a list", ", ").join(said for n, said in parts if n),
        same=count["same"],
        n=len(states),
    )


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
            from nightplan.actions.handin_pdf import sheet_pdf

            write_bytes(path, sheet_pdf(sheet, project))
        case _:
            raise BadInput.at("path", str(path), tr("a hand-in sheet ends with .html or .pdf"))
