# SPDX-License-Identifier: GPL-3.0-or-later
"""Words of the Brief page: groups of kinds, strengths, kinds of deliverable, rows of the lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from nightplan.desk.widgets.brief_list import SIGNS, Row, safe, verdict_rich

if TYPE_CHECKING:
    from nightplan.actions.brief_paste import Proposal, Standing
    from nightplan.brief.findings import Finding
    from nightplan.brief.handin import FileState
    from nightplan.model.brief import Sheet

#: heading: kinds of rule, in the order in which they stand on the page
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Frames and time", ("frame-count", "frame-range", "numbering", "padding", "fps", "duration", "slate")),
    (
        "Picture",
        ("picture-size", "long-side", "aspect", "pixel-aspect", "bit-depth", "alpha", "colour", "scan", "image-format"),
    ),
    (
        "Movie and sound",
        ("container", "video-codec", "audio", "audio-codec", "audio-rate", "audio-channels", "loudness"),
    ),
    ("Files and names", ("file-size", "name", "tree", "text-length", "entry-count")),
    ("Work on the way", ("progress-post", "kept-stage", "working-time", "publish-not-before")),
    ("Things made by others", ("third-party", "result-licence", "prize", "paid-channel", "promotion", "scene-files")),
    ("Your word", ("declaration", "tick")),
)
STRENGTHS = ("must", "should", "note")
WHATS = {
    "sequence": "Frames (a sequence)",
    "movie": "A movie",
    "image": "A still",
    "zip": "A ZIP",
    "folder": "A folder",
    "text": "A text",
}
#: a new deliverable is called so until the artist calls it otherwise
TITLES = {"sequence": "Frames", "movie": "Movie", "image": "Still", "zip": "ZIP", "folder": "Folder", "text": "Text"}
EMPTY = (
    "A brief says what is handed in and what the rules ask of it. Paste the organiser's rules and take over one "
    "proposal after the other, start from a usual kind, or add a deliverable and its rules by hand. Then files are "
    "held against them here: 119 frames instead of 120 are found tonight, not by the jury."
)
PASTE = (
    "Paste the text of the rules (in English). Each rule that is recognised is proposed beside the sentence it came "
    "from; nothing is taken over unless you say so. Keys: A takes the proposal over, R refuses it, Z asks it again."
)
NO_FILES = (
    "Drop files or a folder on this page, or choose them. Nothing is changed or sent anywhere; files are only read."
)
NO_BRIEF = (
    "Files are held against the brief, and it has no deliverables yet. Once it has, drop the frames, the movie or the "
    "ZIP on this page: what is wrong comes first, each with what to do."
)
ADVICE_TITLE = "Before you hand in"


def group_of(kind: str) -> int:
    return next((n for n, (_title, kinds) in enumerate(GROUPS) if kind in kinds), len(GROUPS) - 1)


def two_columns(left: str, right: str, share: int) -> str:
    """A row of two cells; ``share`` is the left one's width in percent."""
    return (
        '<table width="100%" cellspacing="0" cellpadding="0"><tr>'
        f'<td width="{share}%" style="padding-right:10px">{left}</td><td>{right}</td></tr></table>'
    )


# ---- proposals -----------------------------------------------------------------------------------
_STANDING = {
    "open": ("open", "accent", "○"),
    "accepted": ("taken over", "good", "✓"),
    "refused": ("refused", "muted", "✗"),
}


def proposal_title(p: Proposal) -> tuple[str, str]:
    """What is proposed: a heading and its value."""
    from nightplan.brief.hold import wanted_words
    from nightplan.brief.kinds import KINDS

    if p.rule is None:
        assert p.deadline is not None
        return "Deadline", p.deadline.words
    wanted = wanted_words(p.rule)
    strength = "" if p.rule.strength == "must" else f" ({p.rule.strength})"
    return KINDS[p.rule.kind].words, wanted + strength


def proposal_row(key: int, p: Proposal, standing: Standing, home: str) -> Row:
    head, value = proposal_title(p)
    word, colour, sign = _STANDING[standing]
    before, mark, after = p.sentence.partition(p.part) if p.part else (p.sentence, "", "")
    quoted = f"{safe(before)}<b>{safe(mark)}</b>{safe(after)}"
    goes = f"for: {home}" if home else ""
    doubts = "".join(f'<br><span style="color:{{warn}}">! {safe(d)}</span>' for d in p.doubts)
    left = f'<b>{safe(head)}</b><br>{safe(value)}<br><span style="color:{{{colour}}}">{sign}&nbsp;{word}</span>' + (
        f'<span style="color:{{muted}}"> · {safe(goes)}</span>' if goes and standing == "open" else ""
    )
    right = f'<span style="color:{{muted}}">“</span>{quoted}<span style="color:{{muted}}">”</span>{doubts}'
    if standing == "refused":
        left = f'<span style="color:{{muted}}">{left}</span>'
    plain = f"{head}: {value}. {word.capitalize()}. From the sentence: {p.sentence}"
    if p.doubts:
        plain += f" Mind: {'; '.join(p.doubts)}."
    return Row(key, two_columns(left, right, 40), plain)


# ---- findings ------------------------------------------------------------------------------------
def finding_row(key: int, f: Finding) -> Row:
    from nightplan.actions.brief_check import title_of

    title = title_of(f)
    lines = [f"<b>{safe(title)}:</b> {safe(f.measured)}"]
    told = [f"{f.verdict}: {title}: {f.measured}."]
    if f.verdict != "pass":
        lines.append(f"wanted: {safe(f.wanted)}")
        told.append(f"Wanted: {f.wanted}.")
        if f.repair:
            lines.append(f"<b>What to do:</b> {safe(f.repair)}")
            told.append(f"What to do: {f.repair}.")
        if f.breach and f.verdict == "fail":
            lines.append(f'<span style="color:{{bad}}">If it stays so: {safe(f.breach)}</span>')
            told.append(f"If it stays so: {f.breach}")
        told.append(f"In {f.where}.")
        source = f"in {f.where}" + (f" · “{f.wording}”" if f.wording else "")
        lines.append(f'<span style="color:{{muted}}">{safe(source)}</span>')
    if f.verdict == "pass":
        told.append(f"In {f.where}.")
    return Row(key, two_columns(verdict_rich(f.verdict), "<br>".join(lines), 20), " ".join(told))


# ---- sheets --------------------------------------------------------------------------------------
def sheet_row(key: int, sheet: Sheet, zone_hint: str) -> Row:
    from nightplan.actions.brief_check import DEPTH_WORDS

    name, when = sheet.name or sheet.deliverable, zone_hint
    files = f"{len(sheet.files)} {'file' if len(sheet.files) == 1 else 'files'}"
    looked = DEPTH_WORDS.get(sheet.depth, sheet.depth)
    detail = ", ".join(p for p in (when, files, f"looked at: {looked}" if looked else "") if p)
    rich = two_columns(
        verdict_rich(sheet.verdict), f'<b>{safe(name)}</b><br><span style="color:{{muted}}">{safe(detail)}</span>', 20
    )
    return Row(key, rich, f"{sheet.verdict}: {name}, {detail}")


def states_text(states: Sequence[FileState]) -> str:
    """Files that are not the same, at most twelve of them, one to a line."""
    other = [s for s in states if s.state != "same"]
    lines = [s.words for s in other[:12]]
    if len(other) > 12:
        lines.append(f"and {len(other) - 12} more")
    return "\n".join(lines)


def verdict_line(verdict: str, sentence: str) -> str:
    return f"{SIGNS[verdict]}  {sentence}"
