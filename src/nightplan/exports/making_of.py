# SPDX-License-Identifier: GPL-3.0-or-later
"""The making-of as an outline: a chapter for each stage, from the log; Markdown and HTML.

The words in it are the artist's own notes; the numbers are the log's. Lengths are a suggestion.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape

from nightplan.exports import words
from nightplan.exports.page_pdf_summary import escaped
from nightplan.exports.report_style import STYLE
from nightplan.model.errors import BadInput
from nightplan.speech import language, tr
from nightplan.speech.words import evenings


@dataclass(frozen=True, slots=True)
class Shown:
    """A capture worth showing."""

    date: dt.date
    #: as it stands in the project file
    path: str
    note: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """One stage in the making-of; hours of evenings, seconds of film."""

    stage: str
    name: str
    first: dt.date | None
    last: dt.date | None
    evenings: int
    hours: float
    likely_hours: float
    captures: tuple[Shown, ...]
    #: what went wrong and what fixed it, in the order of time: (date or None, sentence)
    turns: tuple[tuple[dt.date | None, str], ...]
    #: suggested length
    seconds: int = 0


@dataclass(frozen=True, slots=True)
class Outline:
    """The making-of as chapters; ``seconds`` are those of the whole film."""

    title: str
    piece: str
    seconds: int
    chapters: tuple[Chapter, ...]
    #: credits, each one line, for the end
    credits: tuple[str, ...] = ()


def lengths(seconds: int, weights: Mapping[str, float]) -> dict[str, int]:
    """Whole seconds in proportion to the weights, by largest remainders: they add up to ``seconds``.

    Raises:
        BadInput: a weight below 0, or none above it.
    """
    for key, weight in weights.items():
        if not 0 <= weight < float("inf"):
            raise BadInput.at(f"weights.{key}", weight, tr("must be a number of 0 or more"))
    total = sum(weights.values())
    if total <= 0:
        raise BadInput(tr("weights: no stage has any hours yet, and none was given a weight"))
    exact = {key: seconds * weight / total for key, weight in weights.items()}
    whole = {key: int(share) for key, share in exact.items()}
    rest = seconds - sum(whole.values())
    # of equal remainders the earlier chapter first
    order = sorted(exact, key=lambda key: whole[key] - exact[key])
    for key in order[:rest]:
        whole[key] += 1
    return whole


def clock(seconds: int) -> str:
    """``2:05``."""
    return f"{seconds // 60}:{seconds % 60:02d}"


def _when(chapter: Chapter) -> str:
    if chapter.first is None or chapter.last is None:
        return tr("not begun")
    days = words.day(chapter.first, year=True)
    if chapter.last != chapter.first:
        days = tr("{first} to {last}", first=words.day(chapter.first), last=words.day(chapter.last, year=True))
    return tr(
        "{days}, {evenings}, {hours} (likely was {likely})",
        days=days,
        evenings=evenings(chapter.evenings),
        hours=words.exact_hours(chapter.hours),
        likely=words.exact_hours(chapter.likely_hours),
    )


def _times(chapter: Chapter, begin: int) -> str:
    return tr("({length}, from {begin})", length=clock(chapter.seconds), begin=clock(begin))


def outline_markdown(outline: Outline) -> str:
    """The outline in CommonMark."""
    lines = ["# " + tr("The making of {piece}", piece=escaped(outline.title)), ""]
    length = tr("Suggested length: {length}.", length=clock(outline.seconds))
    kind = escaped(outline.piece)
    # translators: what kind of piece it is, then a sentence
    lines += [tr("{kind}. {sentence}", kind=kind, sentence=length) if kind else length, ""]
    at = 0
    for n, chapter in enumerate(outline.chapters, 1):
        lines += [
            f"## {n}. {escaped(chapter.name)} {_times(chapter, at)}",
            "",
            _when(chapter),
            "",
        ]
        at += chapter.seconds
        if chapter.captures:
            lines += [tr("Show:"), ""]
            for shown in chapter.captures:
                note = f": {escaped(shown.note, 400)}" if shown.note.strip() else ""
                lines.append(f"- {escaped(shown.path, 500)} ({words.day(shown.date)}){note}")
            lines.append("")
        if chapter.turns:
            lines += [tr("Tell:"), ""]
            lines += [f"- {_dated(day)}{escaped(text, 600)}" for day, text in chapter.turns]
            lines.append("")
    if outline.credits:
        lines += ["## " + tr("Credits"), "", *(f"- {escaped(line, 900)}" for line in outline.credits), ""]
    return "\n".join(lines)


def _dated(day: dt.date | None) -> str:
    return "" if day is None else f"{words.day(day)}: "


def outline_html(outline: Outline, pictures: Mapping[str, bytes] | None = None) -> str:
    """The outline as a page of HTML 5 with everything in it.

    Args:
        pictures: path of a capture -> JPEG bytes of its thumbnail, set into the page.
    """
    have = pictures or {}
    name = escape(tr("The making of {piece}", piece=words.clean(outline.title)))
    body = [f"<header><h1>{name}</h1>"]
    piece = f"{escape(words.clean(outline.piece))} · " if outline.piece.strip() else ""
    length = escape(tr("suggested length {length}", length=clock(outline.seconds)))
    body.append(f"<p>{piece}{length}</p></header>")
    at = 0
    for n, chapter in enumerate(outline.chapters, 1):
        key = f"chapter-{n}"
        body.append(
            f'<section aria-labelledby="{key}"><h2 id="{key}">{n}. {escape(words.clean(chapter.name))} '
            f"{escape(_times(chapter, at))}</h2>"
        )
        at += chapter.seconds
        body.append(f"<p>{escape(_when(chapter))}</p>")
        body += [_figure(shown, have.get(shown.path)) for shown in chapter.captures]
        if chapter.turns:
            rows = "".join(f"<li>{escape(_dated(d))}{escape(words.clean(t, 600))}</li>" for d, t in chapter.turns)
            body.append(f"<ul>{rows}</ul>")
        body.append("</section>")
    if outline.credits:
        rows = "".join(f"<li>{escape(words.clean(line, 900))}</li>" for line in outline.credits)
        head = escape(tr("Credits"))
        body.append(f'<section aria-labelledby="credits"><h2 id="credits">{head}</h2><ul>{rows}</ul></section>')
    return (
        f'<!DOCTYPE html>\n<html lang="{language()}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{name}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n"
        + "\n".join(body)
        + "\n</main>\n</body>\n</html>\n"
    )


def _figure(shown: Shown, data: bytes | None) -> str:
    from base64 import b64encode

    note = escape(words.clean(shown.note, 400))
    day = escape(words.day(shown.date))
    caption = f"{day}: {note}" if note else day
    path = escape(words.clean(shown.path, 500))
    if data is None:
        return f"<p>{caption} ({path})</p>"
    alt = note or escape(tr("capture of {day}", day=words.day(shown.date)))
    source = b64encode(data).decode("ascii")
    return (
        f'<figure><img src="data:image/jpeg;base64,{source}" alt="{alt}">'
        f"<figcaption>{caption} ({path})</figcaption></figure>"
    )
