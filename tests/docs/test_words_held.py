# SPDX-License-Identifier: GPL-3.0-or-later
"""One word for one thing, in the docs and in what the program says: no second word for those of the design."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from docs_pages import PAGES, ROOT, name

SOURCE = ROOT / "src" / "nightplan"
#: word of the design -> words that would be a second one for it
SECOND = {
    "item": r"tasks?|to-?dos?|activit(?:y|ies)",
    "gate": r"milestones?|checkpoints?",
    "stage": r"phases?",
    "future": r"scenarios?|monte.?carlo|simulation runs?",
    "odds": r"probabilit(?:y|ies)|likelihood of",
    "buffer": r"slack|contingenc(?:y|ies)",
    "baseline": r"snapshots?|accepted plans?",
    "evenings": r"timelines?|workloads?",
}
WORDS = re.compile(rf"\b(?:{'|'.join(SECOND.values())})\b", re.I)
#: names of published methods, and what is said of the words themselves
ALLOWED = ("ranked probability", "of probability", "of nine activities", "accepted plans, oldest first")


def second_words(text: str) -> list[str]:
    """Second words in a text, published names apart."""
    for allowed in ALLOWED:
        text = text.replace(allowed, "")
    return WORDS.findall(text)


def said(module: Path) -> Iterator[str]:
    """Every text of a module that a person may read; docstrings are for those who read the code."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
            yield node.value


@pytest.mark.parametrize("page", [p for p in PAGES if p.name != "DEVELOPERS.md"], ids=name)
def test_pages(page: Path) -> None:
    text = re.sub(r"`[^`\n]*`", "", page.read_text(encoding="utf-8"))
    assert second_words(text) == []


def test_what_the_program_says() -> None:
    found = {
        f"{module.relative_to(SOURCE)}: {text[:80]!r}": words
        for module in sorted(SOURCE.rglob("*.py"))
        for text in said(module)
        # a sentence, not a key of something else
        if " " in text and (words := second_words(text))
    }
    assert found == {}


def test_the_words_are_found() -> None:
    assert second_words("a task for each milestone, by a Monte Carlo method") == ["task", "milestone", "Monte Carlo"]
    assert second_words("items, gates and futures") == []
