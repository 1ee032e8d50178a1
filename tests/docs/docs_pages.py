# SPDX-License-Identifier: GPL-3.0-or-later
"""The pages of the docs as the tests see them: files, links, blocks of code."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = (ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.rglob("*.md")))

_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
_FENCE = re.compile(r"^```(\w*)[^\n]*\n(.*?)^```$", re.M | re.S)


@dataclass(frozen=True)
class Block:
    """Fenced code: its language, its text, the line of the page on which the text begins (from 0)."""

    language: str
    text: str
    line: int


def blocks(page: Path, language: str) -> list[Block]:
    """Every fenced block of a language, in order."""
    text = page.read_text(encoding="utf-8")
    found = (Block(m[1], m[2], text.count("\n", 0, m.start(2))) for m in _FENCE.finditer(text))
    return [b for b in found if b.language == language]


def links(page: Path) -> list[str]:
    """Targets of every link and picture outside of fenced code."""
    return _LINK.findall(_FENCE.sub("", page.read_text(encoding="utf-8")))


def anchors(page: Path) -> set[str]:
    """Names under which the headings of a page can be linked, made as code hosts make them."""
    heads = re.findall(r"^#+ +(.*?) *$", _FENCE.sub("", page.read_text(encoding="utf-8")), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def name(page: Path) -> str:
    """The path of a page as a test is called."""
    return page.relative_to(ROOT).as_posix()
