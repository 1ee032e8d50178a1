# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in sheet as a PDF of plain A4 pages, through matplotlib."""

from __future__ import annotations

import io
import os
import textwrap
from pathlib import Path

from nightplan.brief.findings import DEPTH_WORDS, VERDICT_WORDS
from nightplan.brief.handin import ADVICE, Sheet
from nightplan.brief.handin_html import SIGNS
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trn
from nightplan.speech.dates import whole

_LINES = 66
_FONT = "DejaVu Sans Mono"  # untranslated: a font
_COLUMNS = 92


def write_sheet_pdf(sheet: Sheet, path: str | os.PathLike[str], project: Project | None = None) -> None:
    """Write the pages. Raises BadInput where the file cannot be written."""
    data = sheet_pdf(sheet, project)
    try:
        Path(path).write_bytes(data)
    except OSError as error:
        raise BadInput(tr("{path}: cannot be written: {why}", path=path, why=error.strerror or error)) from None


def sheet_pdf(sheet: Sheet, project: Project | None = None) -> bytes:
    """The pages; the same bytes for the same sheet."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
    from matplotlib.figure import Figure

    lines = sheet_lines(sheet, project)
    pages = [lines[n : n + _LINES] for n in range(0, len(lines), _LINES)] or [[]]
    # dates in the file would make every export another file
    meta = {"Title": tr("Hand-in sheet: {name}", name=sheet.name or sheet.deliverable), "CreationDate": None}
    out = io.BytesIO()
    with PdfPages(out, metadata=meta) as pdf:
        for n, page in enumerate(pages):
            figure = Figure(figsize=(8.27, 11.69))
            FigureCanvasPdf(figure)
            figure.text(
                0.07, 0.96, "\n".join(page), family=_FONT, size=8.5, va="top", parse_math=False,
                linespacing=1.4,
            )  # fmt: skip
            figure.text(0.93, 0.03, f"{n + 1} / {len(pages)}", size=8, ha="right")
            pdf.savefig(figure)
    return out.getvalue()


def sheet_lines(sheet: Sheet, project: Project | None = None) -> list[str]:
    """The sheet as lines of text."""
    lines = [tr("Hand-in sheet: {name}", name=sheet.name or sheet.deliverable)]
    if project is not None:
        lines.append(project.title)
    depth = tr("depth: {depth}", depth=DEPTH_WORDS.get(sheet.depth, sheet.depth))
    lines += [f"{SIGNS[sheet.verdict]} {VERDICT_WORDS[sheet.verdict]}   {sheet.checked_at or ''}   {depth}", ""]
    for f in sheet.findings:
        lines += _wrapped(
            f"{SIGNS[f.verdict]} {VERDICT_WORDS[f.verdict]:12}"
            + tr(
                "{what}: {measured}; wanted: {wanted}; {where}",
                what=f.kind or f.rule,
                measured=f.measured,
                wanted=f.wanted,
                where=f.where,
            )
        )
        if f.wording:
            lines += _wrapped(f'"{f.wording}"', 14)
        if f.repair:
            lines += _wrapped(f"-> {f.repair}", 14)
    lines += ["", trn("{n} file", "{n} files", len(sheet.files))]
    for file in sheet.files:
        size = trn("{bytes} byte", "{bytes} bytes", file.bytes, bytes=whole(file.bytes))
        lines += _wrapped(f"{file.name}  {size}  {file.modified}")
        lines.append(f"    {file.sha256}")
    lines.append("")
    for text in ADVICE:
        lines += _wrapped(text)
    return ["".join(c if c.isprintable() else "?" for c in line) for line in lines]


def _wrapped(text: str, indent: int = 0) -> list[str]:
    pad = " " * indent
    return textwrap.wrap(text, _COLUMNS, initial_indent=pad, subsequent_indent=pad or "    ")
