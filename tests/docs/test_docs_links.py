# SPDX-License-Identifier: GPL-3.0-or-later
"""Every page of the docs can be reached, and every link leads somewhere. Common practice, no source."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from docs_pages import DOCS, PAGES, ROOT, anchors, links, name

GUIDE = DOCS / "guide"


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_links_lead_somewhere(page: Path) -> None:
    for link in links(page):
        if "://" in link:
            continue
        path, _, anchor = link.partition("#")
        target = (page.parent / path).resolve() if path else page
        assert target.is_relative_to(ROOT), link
        assert target.exists(), link
        if anchor:
            assert anchor in anchors(target), link


def test_the_contents_name_every_page() -> None:
    there = {page for page in DOCS.glob("*.md") if page.name != "README.md"}
    named = {(DOCS / link.partition("#")[0]).resolve() for link in links(DOCS / "README.md")}
    assert there - named == set(), "name the page in docs/README.md"
    assert GUIDE / "README.md" in named


def test_the_readme_leads_to_the_contents() -> None:
    assert "docs/README.md" in links(ROOT / "README.md")


def test_keys_of_pages_are_those_of_the_window() -> None:
    pytest.importorskip("PySide6.QtWidgets", exc_type=ImportError)
    from nightplan.desk.pages import PAGES as IN_THE_WINDOW

    place = {title.replace("&", ""): n + 1 for n, (title, *_) in enumerate(IN_THE_WINDOW.values())}
    told = [
        (page.name, title, int(key))
        for page in sorted(GUIDE.glob("*.md"))
        for title, key in re.findall(r"\*\*([^*]+)\*\* \(Ctrl\+(\d)\)", page.read_text(encoding="utf-8"))
    ]
    assert told
    assert [row for row in told if place[row[1]] != row[2]] == []
