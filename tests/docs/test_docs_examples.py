# SPDX-License-Identifier: GPL-3.0-or-later
"""Every example of code in the docs gives what the page says it gives."""

from __future__ import annotations

import doctest
from pathlib import Path
from typing import Any

import pytest
from docs_pages import DOCS, PAGES, blocks, name

from nightplan.actions.today import as_it_stands
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.files.data import data_folder
from nightplan.files.store import load

WITH_EXAMPLES = [page for page in PAGES if blocks(page, "python")]


def examples(page: Path) -> doctest.DocTest:
    """All blocks of one page as one conversation, so that a later block knows what an earlier one made.

    A block without ``>>>`` is run as it stands and answers nothing.
    """
    parser = doctest.DocTestParser()
    found: list[doctest.Example] = []
    for block in blocks(page, "python"):
        mine = parser.get_examples(block.text, name(page))
        if not mine:
            found.append(doctest.Example(f"exec({block.text!r})\n", "", lineno=block.line))
        for example in mine:
            example.lineno += block.line
            found.append(example)
    return doctest.DocTest(found, at_hand(), name(page), name(page), 0, None)


def at_hand() -> dict[str, Any]:
    """What every page may use without making it: a sample with its plan and forecast."""
    project = load(data_folder("sample_projects") / "moth-and-lantern.nightplan")
    as_of = as_it_stands(project)
    found = {"project": project, "as_of": as_of, "plan": plan(project, as_of)}
    return {"__name__": "__main__", **found, "forecast": forecast(project, as_of, futures=2_000)}


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=name)
def test_examples_hold(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # examples write files where they stand
    monkeypatch.chdir(tmp_path)
    said: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.REPORT_NDIFF)
    result = runner.run(examples(page), out=said.append)
    assert result.attempted > 0
    assert not result.failed, "".join(said)


@pytest.mark.parametrize("page", ["numbers.md", "file-format.md", "api.md"])
def test_these_pages_have_examples(page: str) -> None:
    assert DOCS / page in WITH_EXAMPLES
