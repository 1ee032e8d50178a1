# SPDX-License-Identifier: GPL-3.0-or-later
"""A project whose every text is markup, a formula and mathematics: everything that leaves shows it as it stands.

Common practice, no source; the pages are read by html5lib, an independent reader.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import html5lib
import pytest

from nightplan.actions.leaving import PARTS, Wanted, leave
from nightplan.files.data import data_folder
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

#: mathematics that cannot be set, markup in both kinds, a formula, an escape
MARK = "=$\\undefined{<b>x</b><img src='file:///etc/hostname'>&amp;]]>\x1b[31m$"
KEYS = frozenset(
    [
        "title",
        "piece",
        "name",
        "why",
        "note",
        "wording",
        "source",
        "author",
        "changes",
        "text",
        "terms",
        "receipt",
        "reason",
        "quote",
        "said",
        "caption",
        "where",
    ]
)
FORBIDDEN = {"b", "img", "script", "iframe", "object", "embed", "image"}


def marked(value: Any) -> Any:
    if isinstance(value, list):
        return [marked(inner) for inner in value]
    if isinstance(value, dict):
        return {
            key: MARK + str(value.get("id", "")) if key in KEYS and isinstance(inner, str) and inner else marked(inner)
            for key, inner in value.items()
        }
    return value


@pytest.fixture(scope="module")
def project() -> Project:
    raw = json.loads((data_folder("sample_projects") / "moth-and-lantern.nightplan").read_text("utf-8"))
    return project_from_raw(marked(raw))


def names(html: str) -> set[str]:
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    return {e.tag for e in tree.iter() if isinstance(e.tag, str)}


@pytest.mark.parametrize(
    ("ending", "part"),
    [(ending, part) for ending, parts in PARTS.items() for part in parts if part != "contact-sheet"],
    ids=str,
)
def test_everything_that_leaves_shows_texts_as_they_stand(
    ending: str, part: str, project: Project, tmp_path: Path
) -> None:
    day = dt.date(2027, 10, 12)
    wanted = Wanted(day, dt.datetime(2027, 10, 12, tzinfo=dt.UTC), part, "a4", "light", 200, 1, 2.0)
    place = tmp_path / f"out{ending}"
    leave(project, place, wanted, folder=tmp_path, remember=lambda _project: None)
    data = place.read_bytes()
    assert data
    if ending == ".html":
        assert names(data.decode("utf-8")) & FORBIDDEN <= ({"img"} if part == "making-of" else set())
        assert "file:///etc/hostname'>" not in data.decode("utf-8")
    if ending == ".svg":
        tags = {e.tag.rpartition("}")[2] for e in ElementTree.fromstring(data).iter()}
        assert tags & FORBIDDEN == set()
    if part == "burn-down" and ending == ".csv":
        return
    if ending == ".csv":
        # data, as it stands but for what a spreadsheet would work out
        cells = [cell for row in csv.reader(io.StringIO(data.decode("utf-8"), newline="")) for cell in row]
        assert [c for c in cells if MARK in c]
        assert not [c for c in cells if c.startswith("=")]
    if ending in (".html", ".svg", ".md", ".txt", ".ics"):
        assert b"\x1b" not in data
