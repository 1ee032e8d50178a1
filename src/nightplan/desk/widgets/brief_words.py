# SPDX-License-Identifier: GPL-3.0-or-later
"""Words of the Brief page: groups of kinds, strengths, kinds of deliverable, rows of the lists."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from nightplan.brief.findings import SIGNS
from nightplan.desk.widgets.brief_list import Row, safe, verdict_rich
from nightplan.speech import tr, trc, trn

if TYPE_CHECKING:
    from nightplan.actions.brief_paste import Proposal, Standing
    from nightplan.brief.findings import Finding
    from nightplan.brief.handin import FileState
    from nightplan.model.brief import Sheet, Verdict

#: heading: kinds of rule, in the order in which they stand on the page
GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (tr("Frames and time"), ("frame-count", "frame-range", "numbering", "padding", "fps", "duration", "slate")),
    (
        tr("Picture"),
        ("picture-size", "long-side", "aspect", "pixel-aspect", "bit-depth", "alpha", "colour", "scan", "image-format"),
    ),
    (
        tr("Movie and sound"),
        ("container", "video-codec", "audio", "audio-codec", "audio-rate", "audio-channels", "loudness"),
    ),
    (tr("Files and names"), ("file-size", "name", "tree", "text-length", "entry-count")),
    (tr("Work on the way"), ("progress-post", "kept-stage", "working-time", "publish-not-before")),
    (
        tr("Things made by others"),
        ("third-party", "result-licence", "prize", "paid-channel", "promotion", "scene-files"),
    ),
    (tr("Your word"), ("declaration", "tick")),
)
#: the headings again, as they stand behind a kind of rule
GROUPS_INSIDE = (
    # translators: groups of rules, each behind the kind of a rule: "Number of frames · frames and time"
    tr("frames and time"),
    trc("group of rules", "picture"),
    tr("movie and sound"),
    tr("files and names"),
    tr("work on the way"),
    tr("things made by others"),
    tr("your word"),
)
STRENGTHS = {
    "must": trc("strength of a rule", "must"),
    "should": trc("strength of a rule", "should"),
    "note": trc("strength of a rule", "note"),
}
CONDITIONS = {
    "always": trc("when a deliverable is asked for", "always"),
    "if selected": trc("when a deliverable is asked for", "if selected"),
}  # untranslated: keys as the file has them
#: key of a deliverable or rule -> what a step of undo calls it
CHANGED = {
    # translators: what was changed in a deliverable or a rule, behind its name: "Film: frames per second"
    "name": trc("what was changed", "name"),
    "what": trc("what was changed", "what"),
    "condition": trc("what was changed", "condition"),
    "selected": trc("what was changed", "selected"),
    "fps": trc("what was changed", "fps"),
    "kind": trc("what was changed", "kind"),
    "value": trc("what was changed", "value"),
    "strength": trc("what was changed", "strength"),
    "counts": trc("what was changed", "counts"),
    # translators: where in the film a slate stands
    "place": trc("what was changed", "place"),
    "look": trc("what was changed", "look"),
    "breach": trc("what was changed", "breach"),
    "evidence": trc("what was changed", "evidence"),
    "titles_seconds": trc("what was changed", "titles seconds"),
    "zone": trc("what was changed", "zone"),
    "due": trc("what was changed", "due"),
    "wording": trc("what was changed", "wording"),
    "ticked": trc("what was changed", "ticked"),
    "tick_note": trc("what was changed", "tick note"),
}
WHATS = {
    "sequence": tr("Frames (a sequence)"),
    "movie": tr("A movie"),
    "image": tr("A still"),
    "zip": tr("A ZIP"),
    "folder": tr("A folder"),
    "text": tr("A text"),
}
NEW_WHATS = {
    "sequence": tr("a new deliverable: frames (a sequence)"),
    "movie": tr("a new deliverable: a movie"),
    "image": tr("a new deliverable: a still"),
    "zip": tr("a new deliverable: a zip"),
    "folder": tr("a new deliverable: a folder"),
    "text": tr("a new deliverable: a text"),
}
#: a new deliverable is called so until the artist calls it otherwise
TITLES = {
    "sequence": trc("name of a deliverable", "Frames"),
    "movie": trc("name of a deliverable", "Movie"),
    "image": trc("name of a deliverable", "Still"),
    "zip": "ZIP",
    "folder": trc("name of a deliverable", "Folder"),
    "text": trc("name of a deliverable", "Text"),
}
EMPTY = tr(
    "A brief says what is handed in and what the rules ask of it. Paste the organiser's rules and take over one "
    "proposal after the other, start from a usual kind, or add a deliverable and its rules by hand. Then files are "
    "held against them here: 119 frames instead of 120 are found tonight, not by the jury."
)
PASTE = tr(
    "Paste the text of the rules (in English). Each rule that is recognised is proposed beside the sentence it came "
    "from; nothing is taken over unless you say so. Keys: A takes the proposal over, R refuses it, Z asks it again."
)
NO_FILES = tr(
    "Drop files or a folder on this page, or choose them. Nothing is changed or sent anywhere; files are only read."
)
NO_BRIEF = tr(
    "Files are held against the brief, and it has no deliverables yet. Once it has, drop the frames, the movie or the "
    "ZIP on this page: what is wrong comes first, each with what to do."
)
ADVICE_TITLE = tr("Before you hand in")


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
    # translators: what the artist said to a proposal, in a list and as a sentence
    "open": (trc("a proposal", "open"), trc("a proposal", "Open."), "accent", "○"),
    "accepted": (trc("a proposal", "taken over"), trc("a proposal", "Taken over."), "good", "✓"),
    "refused": (trc("a proposal", "refused"), trc("a proposal", "Refused."), "muted", "✗"),
}


def proposal_title(p: Proposal) -> tuple[str, str]:
    """What is proposed: a heading and its value."""
    from nightplan.brief.hold import wanted_words
    from nightplan.brief.kinds import KINDS

    if p.rule is None:
        assert p.deadline is not None
        return tr("Deadline"), p.deadline.words
    wanted = wanted_words(p.rule)
    strength = "" if p.rule.strength == "must" else f" ({STRENGTHS[p.rule.strength]})"
    return KINDS[p.rule.kind].words, wanted + strength


def proposal_row(key: int, p: Proposal, standing: Standing, home: str) -> Row:
    head, value = proposal_title(p)
    word, said, colour, sign = _STANDING[standing]
    before, mark, after = p.sentence.partition(p.part) if p.part else (p.sentence, "", "")
    quoted = f"{safe(before)}<b>{safe(mark)}</b>{safe(after)}"
    # translators: of a rule, the deliverable that it is for
    goes = tr("for: {deliverable}", deliverable=home) if home else ""
    doubts = "".join(f'<br><span style="color:{{warn}}">! {safe(d)}</span>' for d in p.doubts)
    left = f'<b>{safe(head)}</b><br>{safe(value)}<br><span style="color:{{{colour}}}">{sign}&nbsp;{word}</span>' + (
        f'<span style="color:{{muted}}"> · {safe(goes)}</span>' if goes and standing == "open" else ""
    )
    right = f'<span style="color:{{muted}}">“</span>{quoted}<span style="color:{{muted}}">”</span>{doubts}'
    if standing == "refused":
        left = f'<span style="color:{{muted}}">{left}</span>'
    plain = tr(
        "{rule}: {value}. {said} From the sentence: {sentence}", rule=head, value=value, said=said, sentence=p.sentence
    )
    if p.doubts:
        doubts_told = trc("between the parts of a sentence", "; ").join(p.doubts)
        plain = plain + " " + tr("Mind: {doubts}.", doubts=doubts_told)
    return Row(key, two_columns(left, right, 40), plain)


# ---- findings ------------------------------------------------------------------------------------
def finding_row(key: int, f: Finding) -> Row:
    from nightplan.brief.findings import VERDICT_WORDS
    from nightplan.brief.titles import title_of

    title, where = title_of(f), tr("In {file}.", file=f.where)
    lines = [f"<b>{safe(title)}:</b> {safe(f.measured)}"]
    # translators: whether a rule is kept, what the rule is about, what was measured
    told = [tr("{verdict}: {rule}: {measured}.", verdict=VERDICT_WORDS[f.verdict], rule=title, measured=f.measured)]
    if f.verdict != "pass":
        lines.append(safe(tr("wanted: {what}", what=f.wanted)))
        told.append(tr("Wanted: {what}.", what=f.wanted))
        if f.repair:
            lines.append("<b>" + safe(tr("What to do:")) + f"</b> {safe(f.repair)}")
            told.append(tr("What to do: {what}.", what=f.repair))
        if f.breach and f.verdict == "fail":
            stays = tr("If it stays so: {what}", what=f.breach)
            lines.append(f'<span style="color:{{bad}}">{safe(stays)}</span>')
            told.append(stays)
        source = tr("in {file}", file=f.where) + (f" · “{f.wording}”" if f.wording else "")
        lines.append(f'<span style="color:{{muted}}">{safe(source)}</span>')
    told.append(where)
    return Row(key, two_columns(verdict_rich(f.verdict), "<br>".join(lines), 20), " ".join(told))


# ---- sheets --------------------------------------------------------------------------------------
def sheet_row(key: int, sheet: Sheet, zone_hint: str) -> Row:
    from nightplan.brief.findings import DEPTH_WORDS, VERDICT_WORDS

    name, when = sheet.name or sheet.deliverable, zone_hint
    files = trn("{n} file", "{n} files", len(sheet.files))
    looked = DEPTH_WORDS.get(sheet.depth, sheet.depth)
    detail = trc("between the parts of a list", ", ").join(
        p for p in (when, files, tr("looked at: {depth}", depth=looked) if looked else "") if p
    )
    rich = two_columns(
        verdict_rich(sheet.verdict), f'<b>{safe(name)}</b><br><span style="color:{{muted}}">{safe(detail)}</span>', 20
    )
    return Row(key, rich, f"{VERDICT_WORDS[sheet.verdict]}: {name}, {detail}")


def states_text(states: Sequence[FileState]) -> str:
    """Files that are not the same, at most twelve of them, one to a line."""
    other = [s for s in states if s.state != "same"]
    lines = [s.words for s in other[:12]]
    if len(other) > 12:
        # translators: of files in a list, below the first of them
        lines.append(trn("and {n} more", "and {n} more", len(other) - 12))
    return "\n".join(lines)


def verdict_line(verdict: Verdict, sentence: str) -> str:
    return f"{SIGNS[verdict]}  {sentence}"
