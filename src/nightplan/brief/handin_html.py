# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in sheet as one page of HTML 5: no script, nothing loaded, readable in black and white."""

from __future__ import annotations

from html import escape

from nightplan.brief.handin import ADVICE, Sheet
from nightplan.model.project import Project

#: a sign beside each word, so that nothing hangs on colour
SIGNS = {"pass": "✓", "warn": "!", "fail": "✗", "cannot tell": "?", "your tick": "☐"}
_MOST_FILES = 20_000

_STYLE = """
:root { color-scheme: light dark; }
body { font: 16px/1.5 system-ui, sans-serif; max-width: 60rem; margin: 2rem auto; padding: 0 1rem;
  background: #fff; color: #1a1a1a; }
table { border-collapse: collapse; width: 100%; margin: 1rem 0; font-size: .9rem; }
th, td { text-align: left; vertical-align: top; padding: .3rem .6rem; border-bottom: 1px solid #767676;
  overflow-wrap: anywhere; }
th { white-space: nowrap; }
.fail { font-weight: bold; }
code { font-size: .8rem; overflow-wrap: anywhere; }
@media (prefers-color-scheme: dark) { body { background: #16181d; color: #e8e8e8; } }
@media print { body { margin: 0; max-width: none; font-size: 10pt; background: #fff; color: #000; }
  tr { break-inside: avoid; } }
"""


def sheet_html(sheet: Sheet, project: Project | None = None) -> str:
    """The page; every text of the sheet is escaped."""
    title = f"Hand-in sheet: {sheet.name or sheet.deliverable}"
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_text(title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{_text(title)}</h1>",
    ]
    if project is not None:
        lines.append(f"<p>{_text(project.title)}{', ' + _text(project.piece) if project.piece else ''}</p>")
    when = f", checked {_text(sheet.checked_at)}" if sheet.checked_at else ""
    lines.append(f"<p><strong>{_verdict(sheet.verdict)}</strong>{when}, depth: {_text(sheet.depth)}</p>")
    lines.append("<h2>Findings</h2><table><thead><tr>")
    lines += [f'<th scope="col">{head}</th>' for head in ("Verdict", "What", "Measured", "Wanted", "Where", "Repair")]
    lines.append("</tr></thead><tbody>")
    for finding in sheet.findings:
        wording = f"<br><q>{_text(finding.wording)}</q>" if finding.wording else ""
        breach = f"<br>On a breach: {_text(finding.breach)}" if finding.breach else ""
        kind = "fail" if finding.verdict == "fail" else ""
        lines.append(
            f"<tr{f' class={chr(34)}{kind}{chr(34)}' if kind else ''}><td>{_verdict(finding.verdict)}</td>"
            f"<td>{_text(finding.kind or finding.rule)}</td><td>{_text(finding.measured)}</td>"
            f"<td>{_text(finding.wanted)}{wording}{breach}</td><td>{_text(finding.where)}</td>"
            f"<td>{_text(finding.repair)}</td></tr>"
        )
    lines.append("</tbody></table><h2>Files</h2><table><thead><tr>")
    lines += [f'<th scope="col">{head}</th>' for head in ("Name", "Bytes", "Written", "SHA-256")]
    lines.append("</tr></thead><tbody>")
    for file in sheet.files[:_MOST_FILES]:
        lines.append(
            f"<tr><td>{_text(file.name)}</td><td>{file.bytes:,}</td><td>{_text(file.modified)}</td>"
            f"<td><code>{file.sha256}</code></td></tr>"
        )
    lines.append("</tbody></table>")
    if len(sheet.files) > _MOST_FILES:
        lines.append(f"<p>and {len(sheet.files) - _MOST_FILES} more files</p>")
    lines += [f"<p>{_text(line)}</p>" for line in ADVICE]
    lines.append(f"<p>{_text(sheet.made_by)}</p></body></html>")
    return "\n".join(lines) + "\n"


def _verdict(verdict: str) -> str:
    return f"{SIGNS[verdict]} {escape(verdict)}"


def _text(text: str | None) -> str:
    shown = "".join(c if c.isprintable() or c in "\n\t" else "\ufffd" for c in text or "")
    return escape(shown)
