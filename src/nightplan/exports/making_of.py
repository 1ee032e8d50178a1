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
            raise BadInput.at(f"weights.{key}", weight, "must be a number of 0 or more")
    total = sum(weights.values())
    if total <= 0:
        raise BadInput("weights: no stage has any hours yet, and none was given a weight")
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
        return "not begun"
    days = words.day(chapter.first, year=True)
    if chapter.last != chapter.first:
        days = f"{words.day(chapter.first)} to {words.day(chapter.last, year=True)}"
    count = f"{chapter.evenings} evening{'' if chapter.evenings == 1 else 's'}"
    return f"{days}, {count}, {words.exact_hours(chapter.hours)} (likely was {words.exact_hours(chapter.likely_hours)})"


def outline_markdown(outline: Outline) -> str:
    """The outline in CommonMark."""
    lines = [f"# The making of {escaped(outline.title)}", ""]
    lines += [f"{escaped(outline.piece)}. Suggested length: {clock(outline.seconds)}.".removeprefix(". "), ""]
    at = 0
    for n, chapter in enumerate(outline.chapters, 1):
        lines += [
            f"## {n}. {escaped(chapter.name)} ({clock(chapter.seconds)}, from {clock(at)})",
            "",
            _when(chapter),
            "",
        ]
        at += chapter.seconds
        if chapter.captures:
            lines += ["Show:", ""]
            for shown in chapter.captures:
                note = f": {escaped(shown.note, 400)}" if shown.note.strip() else ""
                lines.append(f"- {escaped(shown.path, 500)} ({words.day(shown.date)}){note}")
            lines.append("")
        if chapter.turns:
            lines += ["Tell:", ""]
            lines += [f"- {_dated(day)}{escaped(text, 600)}" for day, text in chapter.turns]
            lines.append("")
    if outline.credits:
        lines += ["## Credits", "", *(f"- {escaped(line, 900)}" for line in outline.credits), ""]
    return "\n".join(lines)


def _dated(day: dt.date | None) -> str:
    return "" if day is None else f"{words.day(day)}: "


def outline_html(outline: Outline, pictures: Mapping[str, bytes] | None = None) -> str:
    """The outline as a page of HTML 5 with everything in it.

    Args:
        pictures: path of a capture -> JPEG bytes of its thumbnail, set into the page.
    """
    have = pictures or {}
    title = escape(words.clean(outline.title))
    body = [f"<header><h1>The making of {title}</h1>"]
    piece = f"{escape(words.clean(outline.piece))} · " if outline.piece.strip() else ""
    body.append(f"<p>{piece}suggested length {clock(outline.seconds)}</p></header>")
    at = 0
    for n, chapter in enumerate(outline.chapters, 1):
        name = f"chapter-{n}"
        body.append(
            f'<section aria-labelledby="{name}"><h2 id="{name}">{n}. {escape(words.clean(chapter.name))} '
            f"({clock(chapter.seconds)}, from {clock(at)})</h2>"
        )
        at += chapter.seconds
        body.append(f"<p>{escape(_when(chapter))}</p>")
        body += [_figure(shown, have.get(shown.path)) for shown in chapter.captures]
        if chapter.turns:
            rows = "".join(f"<li>{_dated(d)}{escape(words.clean(t, 600))}</li>" for d, t in chapter.turns)
            body.append(f"<ul>{rows}</ul>")
        body.append("</section>")
    if outline.credits:
        rows = "".join(f"<li>{escape(words.clean(line, 900))}</li>" for line in outline.credits)
        body.append(f'<section aria-labelledby="credits"><h2 id="credits">Credits</h2><ul>{rows}</ul></section>')
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>The making of {title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n"
        + "\n".join(body)
        + "\n</main>\n</body>\n</html>\n"
    )


def _figure(shown: Shown, data: bytes | None) -> str:
    from base64 import b64encode

    note = escape(words.clean(shown.note, 400))
    caption = f"{words.day(shown.date)}: {note}" if note else words.day(shown.date)
    path = escape(words.clean(shown.path, 500))
    if data is None:
        return f"<p>{caption} ({path})</p>"
    alt = note or f"capture of {words.day(shown.date)}"
    source = b64encode(data).decode("ascii")
    return (
        f'<figure><img src="data:image/jpeg;base64,{source}" alt="{alt}">'
        f"<figcaption>{caption} ({path})</figcaption></figure>"
    )
