# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in sheet on A4 paper: the words of the page of HTML, on the pages that the report is drawn on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from nightplan.brief.findings import DEPTH_WORDS, SIGNS, VERDICT_WORDS
from nightplan.brief.handin import ADVICE
from nightplan.brief.titles import title_of
from nightplan.model.brief import Sheet
from nightplan.model.project import Project
from nightplan.speech import tr, trn
from nightplan.speech.dates import whole

#: inches
_INDENT = 0.25


class Line(NamedTuple):
    """A paragraph: its type size in points, and how many steps it is set in."""

    text: str
    size: float = 9.0
    bold: bool = False
    indent: int = 0


def sheet_pdf(sheet: Sheet, project: Project | None = None) -> bytes:
    """The pages; the same bytes for the same sheet."""
    from nightplan.exports.page_pdf_sheet import Pages

    title = tr("Hand-in sheet: {name}", name=sheet.name or sheet.deliverable)
    pages = Pages(title=title, foot=title)
    for line in sheet_lines(sheet, project):
        if line.text:
            pages.text(line.text, size=line.size, bold=line.bold, indent=_INDENT * line.indent)
        else:
            pages.gap(0.12)
    return pages.pdf()


def sheet_lines(sheet: Sheet, project: Project | None = None) -> Iterator[Line]:
    """The sheet, paragraph by paragraph; an empty one is a gap."""
    yield Line(tr("Hand-in sheet: {name}", name=sheet.name or sheet.deliverable), 15, True)
    if project is not None:
        yield Line(project.title)
    yield Line("")
    depth = tr("depth: {depth}", depth=DEPTH_WORDS.get(sheet.depth, sheet.depth))
    told = [f"{SIGNS[sheet.verdict]} {VERDICT_WORDS[sheet.verdict]}", sheet.checked_at or "", depth]
    yield Line(" · ".join(part for part in told if part), 10.5, True)
    for f in sheet.findings:
        yield Line("")
        yield Line(f"{SIGNS[f.verdict]} {VERDICT_WORDS[f.verdict]}", bold=f.verdict == "fail")
        found = tr(
            "{what}: {measured}; wanted: {wanted}; {where}",
            what=title_of(f),
            measured=f.measured,
            wanted=f.wanted,
            where=f.where,
        )
        yield Line(found, indent=1)
        if f.wording:
            yield Line(f"“{f.wording}”", indent=1)
        if f.breach:
            yield Line(tr("On a breach: {words}", words=f.breach), indent=1)
        if f.repair:
            yield Line(f"→ {f.repair}", indent=1)
    yield Line("")
    yield Line(trn("{n} file", "{n} files", len(sheet.files)), 10.5, True)
    for file in sheet.files:
        size = trn("{bytes} byte", "{bytes} bytes", file.bytes, bytes=whole(file.bytes))
        yield Line(" · ".join(part for part in (file.name, size, file.modified) if part), 7.5)
        yield Line(file.sha256, 7.5, indent=1)
    yield Line("")
    for text in ADVICE:
        yield Line(text)
    if sheet.made_by:
        yield Line(sheet.made_by, 7.5)


__all__ = ["Line", "sheet_lines", "sheet_pdf"]
