# SPDX-License-Identifier: GPL-3.0-or-later
"""Credits: title, author, source, licence, changes, as Markdown, as plain text, as a picture for the end titles.

The five parts are those that Creative Commons recommends for a good attribution (its wiki, "Best
practices for attribution"), the changes being asked for by the legal codes (4.0, section 3(a)(1)(B)).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlsplit

from nightplan.exports import words
from nightplan.exports.page_pdf_summary import escaped
from nightplan.model.errors import BadInput
from nightplan.speech import tr

#: pixels of the end title, and its colours
TITLE_SIZE = (1920, 1080)
_GROUND, _INK, _QUIET = "#000000", "#F2F2F2", "#B4B4B4"
MAX_PIXELS = 8192


@dataclass(frozen=True, slots=True)
class Credit:
    """What is said of one asset; texts as they came."""

    title: str
    author: str
    source: str
    licence: str
    licence_url: str
    #: what was changed; "" where it was used as it came or nothing is known
    changes: str
    #: it was used as it came
    unchanged: bool = False


def _changes(credit: Credit) -> str:
    if credit.changes.strip():
        return tr("changes: {what}", what=words.clean(credit.changes, 400))
    return tr("unchanged") if credit.unchanged else ""


def _head(title: str, author: str) -> str:
    return tr("“{title}” by {author}", title=title, author=author) if author else tr("“{title}”", title=title)


def credit_line(credit: Credit) -> str:
    """One line of plain text with every part that is known."""
    parts = [_head(words.clean(credit.title), words.clean(credit.author))]
    if credit.source.strip():
        parts.append(words.clean(credit.source, 500))
    said = words.clean(credit.licence)
    parts.append(f"{said} ({credit.licence_url})" if credit.licence_url else said)
    if _changes(credit):
        parts.append(_changes(credit))
    return "; ".join(parts)


def credits_text(title: str, credits: Sequence[Credit]) -> str:
    """All credits as plain text."""
    lines = [tr("{piece}: credits", piece=words.clean(title)), ""]
    lines += [credit_line(c) for c in credits] or [tr("Everything in it is the artist's own work.")]
    return "\n".join(lines) + "\n"


def credits_markdown(title: str, credits: Sequence[Credit]) -> str:
    """All credits as a list in Markdown (CommonMark), with links."""
    lines = ["# " + tr("{piece}: credits", piece=escaped(title)), ""]
    for c in credits:
        parts = [_head(escaped(c.title), escaped(c.author))]
        if c.source.strip():
            parts.append(_link(tr("source"), c.source) if _address(c.source) else escaped(c.source, 500))
        parts.append(_link(c.licence, c.licence_url) if c.licence_url else escaped(c.licence))
        if _changes(c):
            parts.append(escaped(_changes(c), 500))
        lines.append(f"- {'; '.join(parts)}")
    if not credits:
        lines.append(tr("Everything in it is the artist's own work."))
    return "\n".join(lines) + "\n"


def _address(text: str) -> bool:
    """Whether a source is a web address; nothing else becomes a link."""
    try:
        parts = urlsplit(text.strip())
    except ValueError:
        return False
    return parts.scheme in ("http", "https") and bool(parts.netloc) and not any(c.isspace() for c in text.strip())


def _link(name: str, address: str) -> str:
    safe = quote(words.clean(address, 1000), safe=":/?#@!$&'*+,;=%~._-[]")
    return f"[{escaped(name)}](<{safe}>)"


def credits_png(title: str, credits: Sequence[Credit], *, size: tuple[int, int] = TITLE_SIZE) -> bytes:
    """The end title as a PNG of exactly ``size`` pixels: black ground, every credit whole, letters as large as fit.

    Raises:
        BadInput: a size beyond 64 to 8192 pixels, or more credits than can be read at that size.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    from nightplan.exports.fonts import families
    from nightplan.exports.look import PRINT
    from nightplan.exports.page_pdf_sheet import wrapped
    from nightplan.exports.save import figure_bytes

    wide, tall = size
    if not (64 <= wide <= MAX_PIXELS and 64 <= tall <= MAX_PIXELS):
        raise BadInput.at("size", f"{wide}x{tall}", tr("64 to {most} pixels a side are accepted", most=MAX_PIXELS))
    dpi = 100.0
    figure: Any = Figure(figsize=(wide / dpi, tall / dpi), dpi=dpi, facecolor=_GROUND)
    FigureCanvasAgg(figure)
    margin = 0.08 * min(wide, tall) / dpi
    room, across = tall / dpi - 2 * margin, wide / dpi - 2 * margin
    # of a picture 1080 high: from 30 pixels down to 14, below which nobody can read it
    scale = tall / 1080 * 72 / dpi
    blocks = [credit_line(c) for c in credits] or [tr("Everything in it is the artist's own work.")]
    for points in range(30, 13, -1):
        letter = points * scale
        rows = [wrapped(block, across, letter) for block in blocks]
        height = _title_height(letter) + sum(len(r) for r in rows) * _line(letter) + len(rows) * 0.5 * _line(letter)
        if height <= room:
            break
    else:
        raise BadInput(
            tr(
                "credits: {n} credits do not fit on one picture of {size}; show them as text, or on a larger one",
                n=len(credits),
                size=f"{wide} × {tall}",
            )
        )
    y = tall / dpi - margin - (room - height) / 2
    style = {"fontfamily": families(PRINT.family), "parse_math": False, "va": "top"}

    def put(text: str, at: float, letter: float, colour: str) -> None:
        figure.text(margin * dpi / wide, at * dpi / tall, text, fontsize=letter, color=colour, **style)

    put(words.clean(title, 80), y, letter * 1.5, _INK)
    y -= _title_height(letter)
    for row in rows:
        for text in row:
            put(text, y, letter, _INK if text is row[0] else _QUIET)
            y -= _line(letter)
        y -= 0.5 * _line(letter)
    return figure_bytes(figure, "png", dpi=dpi)


def _line(letter: float) -> float:
    return letter * 1.35 / 72


def _title_height(letter: float) -> float:
    return 1.5 * _line(letter) * 1.8
