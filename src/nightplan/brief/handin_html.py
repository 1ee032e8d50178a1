# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in sheet as one page of HTML 5: no script, nothing loaded, readable in black and white."""

from __future__ import annotations

from html import escape

from nightplan.brief.findings import DEPTH_WORDS, SIGNS, VERDICT_WORDS, Verdict
from nightplan.brief.handin import ADVICE, Sheet
from nightplan.brief.titles import title_of
from nightplan.model.project import Project
from nightplan.speech import language, tr, trn
from nightplan.speech.dates import whole

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
"""  # untranslated: CSS


def sheet_html(sheet: Sheet, project: Project | None = None) -> str:
    """The page; every text of the sheet is escaped."""
    title = tr("Hand-in sheet: {name}", name=sheet.name or sheet.deliverable)
    lines = [
        "<!DOCTYPE html>",
        f'<html lang="{language()}"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_text(title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{_text(title)}</h1>",
    ]
    if project is not None:
        lines.append(f"<p>{_text(project.title)}{', ' + _text(project.piece) if project.piece else ''}</p>")
    depth = DEPTH_WORDS.get(sheet.depth, sheet.depth)
    told = (
        tr("checked {moment}, depth: {depth}", moment=sheet.checked_at, depth=depth)
        if sheet.checked_at
        else tr("depth: {depth}", depth=depth)
    )
    lines.append(f"<p><strong>{_verdict(sheet.verdict)}</strong>, {_text(told)}</p>")
    head = tr("Findings")
    lines.append(f"<h2>{_text(head)}</h2><table><thead><tr>")
    lines += [
        f'<th scope="col">{_text(head)}</th>'
        for head in (tr("Verdict"), tr("What"), tr("Measured"), tr("Wanted"), tr("Where"), tr("Repair"))
    ]
    lines.append("</tr></thead><tbody>")
    for finding in sheet.findings:
        wording = f"<br><q>{_text(finding.wording)}</q>" if finding.wording else ""
        breach = tr("On a breach: {words}", words=finding.breach)
        breach = f"<br>{_text(breach)}" if finding.breach else ""
        kind = "fail" if finding.verdict == "fail" else ""
        lines.append(
            f"<tr{f' class={chr(34)}{kind}{chr(34)}' if kind else ''}><td>{_verdict(finding.verdict)}</td>"
            f"<td>{_text(title_of(finding))}</td><td>{_text(finding.measured)}</td>"
            f"<td>{_text(finding.wanted)}{wording}{breach}</td><td>{_text(finding.where)}</td>"
            f"<td>{_text(finding.repair)}</td></tr>"
        )
    head = tr("Files")
    lines.append(f"</tbody></table><h2>{_text(head)}</h2><table><thead><tr>")
    lines += [f'<th scope="col">{_text(head)}</th>' for head in (tr("Name"), tr("Bytes"), tr("Written"), "SHA-256")]
    lines.append("</tr></thead><tbody>")
    for file in sheet.files[:_MOST_FILES]:
        lines.append(
            f"<tr><td>{_text(file.name)}</td><td>{whole(file.bytes)}</td><td>{_text(file.modified)}</td>"
            f"<td><code>{file.sha256}</code></td></tr>"
        )
    lines.append("</tbody></table>")
    if len(sheet.files) > _MOST_FILES:
        more = trn("and {n} more file", "and {n} more files", len(sheet.files) - _MOST_FILES)
        lines.append(f"<p>{_text(more)}</p>")
    lines += [f"<p>{_text(line)}</p>" for line in ADVICE]
    lines.append(f"<p>{_text(sheet.made_by)}</p></body></html>")
    return "\n".join(lines) + "\n"


def _verdict(verdict: Verdict) -> str:
    return f"{SIGNS[verdict]} {escape(VERDICT_WORDS[verdict])}"


def _text(text: str | None) -> str:
    shown = "".join(c if c.isprintable() or c in "\n\t" else "\ufffd" for c in text or "")
    return escape(shown)
