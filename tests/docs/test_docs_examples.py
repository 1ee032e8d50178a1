# SPDX-License-Identifier: GPL-3.0-or-later
"""Every example of code in the docs gives what the page says it gives."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest
from docs_pages import DOCS, PAGES, blocks, name

WITH_EXAMPLES = [page for page in PAGES if blocks(page, "python")]


def examples(page: Path) -> doctest.DocTest:
    """All blocks of one page as one conversation, so that a later block knows what an earlier one made."""
    parser = doctest.DocTestParser()
    found: list[doctest.Example] = []
    for block in blocks(page, "python"):
        mine = parser.get_examples(block.text, name(page))
        assert mine, f"{name(page)}, line {block.line}: a block of Python without >>> is never run"
        for example in mine:
            example.lineno += block.line
            found.append(example)
    return doctest.DocTest(found, {"__name__": "__main__"}, name(page), name(page), 0, None)


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=name)
def test_examples_hold(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # examples write files where they stand
    monkeypatch.chdir(tmp_path)
    said: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.REPORT_NDIFF)
    result = runner.run(examples(page), out=said.append)
    assert result.attempted > 0
    assert not result.failed, "".join(said)


@pytest.mark.parametrize("page", ["numbers.md"])
def test_these_pages_have_examples(page: str) -> None:
    assert DOCS / page in WITH_EXAMPLES
