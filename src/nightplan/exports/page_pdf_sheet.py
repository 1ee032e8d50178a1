# SPDX-License-Identifier: GPL-3.0-or-later
"""Pages of paper: text that wraps, tables that go on over the page, pictures; A4 or Letter, as PDF.

Lengths are inches, type sizes points. Everything is drawn by matplotlib's object interface, so that no
other program is needed; the same input gives the same bytes.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any
from unicodedata import east_asian_width

from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from nightplan.exports.fonts import families
from nightplan.exports.look import PRINT, Look
from nightplan.exports.words import clean
from nightplan.model.errors import BadInput
from nightplan.speech import tr

#: width and height in inches (ISO 216; ANSI/ASME Y14.1 A)
PAPERS = {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}
_LEADING = 1.32
#: width of a letter in parts of the type size, of a text of narrow ones
_NARROW = 0.4


def paper(name: str) -> tuple[float, float]:
    """Width and height in inches. Raises BadInput for a paper that is neither A4 nor Letter."""
    try:
        return PAPERS[name.lower()]
    except KeyError:
        raise BadInput.at("paper", name, tr("a4 or letter is accepted")) from None


@lru_cache(maxsize=4096)
def inches(text: str, size: float, bold: bool = False, family: str = PRINT.family) -> float:
    """Width of a line of text."""
    with warnings.catch_warnings():
        # a letter that the font lacks is drawn as a box and is as wide as one
        warnings.filterwarnings("ignore", message=r"Glyph .* missing from")  # untranslated: a pattern
        warnings.filterwarnings(
            "ignore", message=r"Matplotlib currently does not support .* natively"
        )  # untranslated: a pattern
        width, _, _ = _measure().get_text_width_height_descent(text, _font(size, bold, family), False)
    # a text path is measured at 72 units an inch
    return float(width) / 72


@cache
def _measure() -> Any:
    from matplotlib.textpath import TextToPath

    return TextToPath()


@cache
def _font(size: float, bold: bool, family: str) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=families(family), size=size, weight="bold" if bold else "normal")


def wrapped(text: str, width: float, size: float, bold: bool = False, most: int = 99) -> list[str]:
    """Lines of at most ``width`` inches; a word that is longer is broken; more than ``most`` lines end with an …"""
    text = clean(text, 4000)
    # most are short: measured once instead of word by word
    if len(text) * _NARROW * size / 72 <= width and inches(text, size, bold) <= width:
        return [text]
    lines: list[str] = []
    line = ""
    for word in text.split():
        for n, piece in enumerate(_pieces(word)):
            between = "" if n else " "
            for part in _parts(piece, width, size, bold):
                longer = f"{line}{between}{part}" if line else part
                if not line or inches(longer, size, bold) <= width:
                    line = longer
                else:
                    lines.append(line)
                    line = part
    if line:
        lines.append(line)
    if len(lines) > most:
        last = lines[most - 1]
        while last and inches(f"{last}…", size, bold) > width:
            last = last[:-1]
        lines = [*lines[: most - 1], f"{last.rstrip()}…"]
    return lines or [""]


#: a line does not begin with these, or end with those (the plainest rules of JIS X 4051)
_CLOSES, _OPENS = "、。，．・：；？！）」』】〕〉》ーぁぃぅぇぉっゃゅょァィゥェォッャュョ々)%,.:;", "（「『【〔〈《("


def _pieces(word: str) -> list[str]:
    """A word where a line may be broken within it: Japanese, which has no spaces, between almost any two letters."""
    if word.isascii():
        return [word]
    pieces: list[str] = []
    wide = False
    for letter in word:
        before, wide = wide, east_asian_width(letter) in "WF"
        if pieces and (not (wide or before) or letter in _CLOSES or pieces[-1][-1] in _OPENS):
            pieces[-1] += letter
        else:
            pieces.append(letter)
    return pieces


def _parts(word: str, width: float, size: float, bold: bool) -> Iterator[str]:
    while inches(word, size, bold) > width and len(word) > 1:
        fits = 1
        while fits < len(word) - 1 and inches(word[: fits + 1], size, bold) <= width:
            fits += 1
        yield word[:fits]
        word = word[fits:]
    yield word


@dataclass(frozen=True, slots=True)
class Column:
    """Of a table: its heading, its share of the width, and the side its cells stand on."""

    head: str
    share: float
    right: bool = False


#: the share that is done, 0 to 1
Progress = Callable[[float], None]


class Pages:
    """A stack of pages and the place on the last one where the next thing goes."""

    def __init__(
        self,
        size: tuple[float, float] = PAPERS["a4"],
        *,
        look: Look = PRINT,
        margin: float = 0.7,
        title: str = "",
        foot: str = "",
    ) -> None:
        self.width, self.height = size
        self.look, self.margin, self.title, self.foot = look, margin, clean(title), clean(foot)
        self.figures: list[Figure] = []
        self.y = 0.0
        self.new_page()

    @property
    def wide(self) -> float:
        """Inches between the margins."""
        return self.width - 2 * self.margin

    @property
    def room(self) -> float:
        """Inches left on this page."""
        return self.y - self.margin - 0.25

    @property
    def whole(self) -> float:
        """Inches of an empty page."""
        return self.height - 2 * self.margin - 0.25

    @property
    def figure(self) -> Figure:
        """The page at hand."""
        return self.figures[-1]

    def new_page(self) -> None:
        """Begin another page at its top."""
        figure = Figure(figsize=(self.width, self.height), dpi=100, facecolor="#FFFFFF")
        FigureCanvasPdf(figure)
        self.figures.append(figure)
        self.y = self.height - self.margin

    def need(self, tall: float) -> None:
        """A new page where this much does not fit on the one at hand."""
        if tall > self.room and self.room < self.whole - 1e-6:
            self.new_page()

    def gap(self, tall: float) -> None:
        """Leave some inches free."""
        self.y -= tall

    def write(self, x: float, y: float, text: str, size: float, **style: Any) -> None:
        """One line at a place of the page, in inches from the lower left; a dollar sign is a dollar sign."""
        style.setdefault("color", self.look.text)
        style.setdefault("va", "baseline")
        self.figure.text(
            x / self.width,
            y / self.height,
            clean(text, 400),
            fontsize=size,
            fontfamily=families(self.look.family),
            parse_math=False,
            **style,
        )

    def rule(self, x0: float, x1: float, y: float, *, colour: str | None = None, weight: float = 0.6) -> None:
        """A level line, in inches from the lower left."""
        self.figure.add_artist(
            Line2D(
                (x0 / self.width, x1 / self.width),
                (y / self.height, y / self.height),
                color=colour or self.look.muted,
                linewidth=weight,
            )
        )

    def heading(self, text: str, *, size: float = 12.5, keep: float = 1.2) -> None:
        """A heading that is not left alone at the foot of a page."""
        self.gap(0.14 if self.room < self.whole - 1e-6 else 0.0)
        self.need(keep)
        self.text(text, size=size, bold=True)
        self.gap(0.05)

    def text(
        self, text: str, *, size: float = 9.5, bold: bool = False, colour: str | None = None, indent: float = 0.0
    ) -> None:
        """A paragraph."""
        line = size * _LEADING / 72
        for row in wrapped(text, self.wide - indent, size, bold):
            self.need(line)
            self.y -= line
            self.write(
                self.margin + indent,
                self.y + 0.25 * size / 72,
                row,
                size,
                color=colour or self.look.text,
                fontweight="bold" if bold else "normal",
            )

    def table(self, columns: Sequence[Column], rows: Sequence[Sequence[str]], *, size: float = 8.0) -> None:
        """A table; its heads are said again on each page that it goes on to, no row is cut in two."""
        total = sum(c.share for c in columns)
        widths = [self.wide * c.share / total for c in columns]
        line, pad = size * _LEADING / 72, 0.12
        heads = [wrapped(c.head, w - pad, size, True) for c, w in zip(columns, widths, strict=True)]
        cells = [[wrapped(cell, w - pad, size, most=12) for cell, w in zip(row, widths, strict=True)] for row in rows]

        def put(row: list[list[str]], bold: bool) -> None:
            tall = max(len(lines) for lines in row) * line
            x = self.margin
            for lines, column, wide in zip(row, columns, widths, strict=True):
                for n, text in enumerate(lines):
                    side = {"ha": "right"} if column.right else {}
                    self.write(
                        x + (wide - pad if column.right else 0.0),
                        self.y - line * (n + 1) + 0.3 * size / 72,
                        text,
                        size,
                        fontweight="bold" if bold else "normal",
                        **side,
                    )
                x += wide
            self.y -= tall + 0.03

        def head() -> None:
            put(heads, True)
            self.rule(self.margin, self.width - self.margin, self.y)
            self.y -= 0.03

        tall_head = max(len(h) for h in heads) * line + 0.06
        self.need(tall_head + line * 2)
        head()
        for row in cells:
            tall = max(len(lines) for lines in row) * line + 0.03
            if tall > self.room:
                self.new_page()
                head()
            put(row, False)
            self.rule(self.margin, self.width - self.margin, self.y + 0.012, colour=self.look.line, weight=0.4)
        self.gap(0.08)

    def picture(self, tall: float, draw: Callable[[Any], None], *, sides: tuple[float, float] = (0.0, 0.0)) -> None:
        """Axes over the width of the page, ``tall`` inches high, with room left at both ``sides``."""
        self.need(tall)
        self.y -= tall
        left, right = sides
        axes = self.figure.add_axes(
            (
                (self.margin + left) / self.width,
                self.y / self.height,
                (self.wide - left - right) / self.width,
                tall / self.height,
            )
        )
        draw(axes)

    def pdf(self, progress: Progress | None = None) -> bytes:
        """The pages as one PDF without a date within; raises nothing that input can cause.

        Args:
            progress: told the share that is drawn before each page; what it raises ends the drawing.
        """
        import matplotlib

        from nightplan.exports.save import DRAWING

        count = len(self.figures)
        for n, figure in enumerate(self.figures, 1):
            said = self.foot
            if count > 1 and said:
                said = tr("{foot} · page {n} of {count}", foot=said, n=n, count=count)
            figure.text(
                self.margin / self.width,
                (self.margin - 0.12) / self.height,
                said,
                fontsize=7,
                fontfamily=families(self.look.family),
                color=self.look.muted,
                parse_math=False,
            )
        out = io.BytesIO()
        about = {"Title": self.title or None, "Creator": None, "Producer": None, "CreationDate": None}
        settings: dict[Any, Any] = {"pdf.fonttype": 42, "hatch.linewidth": 0.7}
        with DRAWING, matplotlib.rc_context(settings), warnings.catch_warnings():
            warnings.filterwarnings("ignore", message=r"Glyph .* missing from")  # untranslated: a pattern
            warnings.filterwarnings(
                "ignore", message=r"Matplotlib currently does not support .* natively"
            )  # untranslated: a pattern
            with PdfPages(out, metadata=about) as pages:
                for n, figure in enumerate(self.figures):
                    if progress is not None:
                        progress(n / (count + 1))
                    pages.savefig(figure, facecolor="#FFFFFF")
                if progress is not None:
                    # the letters of all pages come last
                    progress(count / (count + 1))
        return out.getvalue()
