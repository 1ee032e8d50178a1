# SPDX-License-Identifier: GPL-3.0-or-later
"""The guide: every link leads somewhere, every picture is small and used. Common practice, no source."""

from __future__ import annotations

import re
import struct
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"
PAGES = sorted((DOCS / "guide").glob("*.md"))
PICTURES = sorted([*(DOCS / "guide" / "pictures").iterdir(), *(DOCS / "pictures").iterdir()])
MOST_BYTES = 200_000


def links(page: Path) -> list[str]:
    return re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8"))


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_every_link_leads_somewhere_in_the_repository(page: Path) -> None:
    found = links(page)
    assert found
    for link in found:
        assert "://" not in link
        assert (page.parent / link).is_file(), link


def test_the_index_names_every_page() -> None:
    assert set(links(DOCS / "guide" / "README.md")) == {p.name for p in PAGES} - {"README.md"}


@pytest.mark.parametrize("picture", PICTURES, ids=lambda p: p.name)
def test_pictures_are_small_png(picture: Path) -> None:
    data = picture.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    assert len(data) < MOST_BYTES
    width, height = struct.unpack(">II", data[16:24])
    if picture.parent == DOCS / "pictures":
        assert (width, height) == (1360, 860)
    else:
        assert width >= 1000
        assert height >= 700


def test_every_picture_of_the_guide_is_used_and_described() -> None:
    shown = {
        target: words
        for page in PAGES
        for words, target in re.findall(r"!\[([^]]*)\]\(pictures/([^)]+)\)", page.read_text(encoding="utf-8"))
    }
    assert set(shown) == {p.name for p in PICTURES if p.parent.parent == DOCS / "guide"}
    assert all(shown.values())
