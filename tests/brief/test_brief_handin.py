# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in sheet: kept in the project, still true of its files, and safe to show."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
import re
from pathlib import Path
from typing import Any

import html5lib
import pytest
from media_files import frames, picture, png

from nightplan.actions.brief_check import write_sheet
from nightplan.actions.handin_pdf import sheet_lines
from nightplan.brief.check import check
from nightplan.brief.findings import Finding
from nightplan.brief.handin import ADVICE, KEEP, Sheet, handins_of, make_sheet, store, verify
from nightplan.brief.handin_html import sheet_html
from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import deliverables_from_raw
from nightplan.brief.titles import OWN_WORDS, title_of
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw

NOW = dt.datetime(2027, 10, 31, 20, tzinfo=dt.UTC)


def project() -> Any:
    sample = Path(__file__).parents[2] / "sample_projects" / "still-harbour.nightplan"
    return project_from_raw(json.loads(sample.read_text(encoding="utf-8")))


def sheet_of(folder: Path, name: str = "Piece", wording: str = "") -> Sheet:
    rule = {"id": "n", "kind": "frame-count", "value": 3, "wording": wording}
    piece = deliverables_from_raw([{"id": "piece", "name": name, "what": "sequence", "rules": [rule]}])[0]
    return make_sheet(check(piece, [folder], now=NOW))


def test_hashes_sizes_and_times(tmp_path: Path) -> None:
    folder = frames(tmp_path / "shot", range(1, 4))
    sheet = sheet_of(folder)
    assert [f.name for f in sheet.files] == ["shot_0001.png", "shot_0002.png", "shot_0003.png"]
    for file in sheet.files:
        data = (folder / file.name).read_bytes()
        assert (file.sha256, file.bytes) == (hashlib.sha256(data).hexdigest(), len(data))
    assert sheet.checked_at == "2027-10-31T20:00:00+00:00"


def test_is_it_still_that_file(tmp_path: Path) -> None:
    folder = frames(tmp_path / "shot", range(1, 4))
    sheet = sheet_of(folder)
    assert {s.state for s in verify(sheet)} == {"same"}
    (folder / "shot_0001.png").write_bytes(png(picture(9)))
    (folder / "shot_0002.png").unlink()
    assert [s.state for s in verify(sheet)] == ["changed", "missing", "same"]
    moved = tmp_path / "moved"
    os.rename(folder, moved)
    assert [s.state for s in verify(sheet, str(moved))] == ["changed", "missing", "same"]
    assert {s.state for s in verify(sheet)} == {"missing"}


def test_a_file_that_changed_after_the_check_gets_no_sheet(tmp_path: Path) -> None:
    folder = frames(tmp_path / "shot", range(1, 4))
    piece = deliverables_from_raw([{"id": "piece", "name": "Piece", "what": "sequence"}])[0]
    report = check(piece, [folder])
    (folder / "shot_0002.png").write_bytes(b"other")
    with pytest.raises(BadInput, match=r"^shot_0002\.png: is not the file that was checked any more"):
        make_sheet(report)


def test_kept_in_the_project(tmp_path: Path) -> None:
    sheet = sheet_of(frames(tmp_path / "shot", range(1, 4)))
    before = project()
    held = store(before, sheet)
    again = project_from_raw(json.loads(json.dumps(project_to_raw(held))))
    assert handins_of(again) == (sheet,)
    assert handins_of(before) == ()
    other = Sheet.model_validate({"deliverable": "other", "verdict": "warn"})
    held = store(held, other)
    for _ in range(KEEP + 3):
        held = store(held, sheet)
    assert [s.deliverable for s in handins_of(held)].count("piece") == KEEP
    assert [s.deliverable for s in handins_of(held)].count("other") == 1


def test_a_broken_sheet_names_its_place() -> None:
    raw = project_to_raw(project())
    with pytest.raises(BadInput, match=r"^handins\[0\]\.verdict = 'great': must be "):
        project_from_raw({**raw, "handins": [{"deliverable": "a", "verdict": "great"}]})
    with pytest.raises(BadInput, match=r"^handins = 'x': must be a list"):
        project_from_raw({**raw, "handins": "x"})


def test_html_is_valid_and_escapes_everything(tmp_path: Path) -> None:
    evil = "<script>alert(1)</script>\"'&"
    folder = frames(tmp_path / "a<b>&'c", range(1, 4))
    page = sheet_html(sheet_of(folder, evil, evil), project())
    parser = html5lib.HTMLParser(strict=True)
    tree = parser.parse(page)
    names = {element.tag.rpartition("}")[2] for element in tree.iter() if isinstance(element.tag, str)}
    assert not names & {"script", "img", "link", "iframe", "object"}
    assert "b" not in names
    assert "alert(1)" in "".join(tree.itertext())
    assert "src=" not in page
    assert "href=" not in page
    for line in ADVICE:
        assert line.split(";")[0][:40] in page


def test_pdf(tmp_path: Path) -> None:
    sheet = sheet_of(frames(tmp_path / "shot", range(1, 40)), "Piece $x^2$")
    out = tmp_path / "sheet.pdf"
    write_sheet(sheet, out, project())
    data = out.read_bytes()
    assert data.startswith(b"%PDF")
    assert data.rstrip().endswith(b"%%EOF")
    write_sheet(sheet, tmp_path / "again.pdf", project())
    assert (tmp_path / "again.pdf").read_bytes() == data
    text = "\n".join(line.text for line in sheet_lines(sheet))
    assert all(f.sha256 in text for f in sheet.files)
    with pytest.raises(BadInput, match="cannot be written"):
        write_sheet(sheet, tmp_path / "none" / "sheet.pdf")


def test_rules_are_told_by_name_and_kept_by_id(tmp_path: Path) -> None:
    sheet = sheet_of(frames(tmp_path / "shot", range(1, 4)))
    assert "frame-count" in {f.kind for f in sheet.findings}
    lines = "\n".join(line.text for line in sheet_lines(sheet))
    page = "".join(html5lib.parse(sheet_html(sheet)).itertext())
    for text in (lines, page):
        assert KINDS["frame-count"].words in text
        assert not any(f.kind in text for f in sheet.findings if "-" in f.kind)


@pytest.mark.parametrize("name", sorted(OWN_WORDS))
def test_an_own_check_has_one_name(name: str) -> None:
    assert name not in KINDS
    told = title_of(Finding(name, "pass", "", "", "", own=True))
    assert told == OWN_WORDS[name]


def test_every_own_check_has_a_name() -> None:
    """What the sources of the checks call a check of their own."""
    source = Path(check.__code__.co_filename).parent
    named = {m for path in source.glob("*.py") for m in re.findall(r"\bown\(\s*\"([a-z-]+)\"", path.read_text("utf-8"))}
    assert len(named) > 10
    assert named <= set(OWN_WORDS) | set(KINDS)


def test_the_paper_has_letters_of_the_language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where Japanese is spoken, its font is among those of every line, as in the report."""
    from matplotlib.figure import Figure

    from nightplan.exports import page_pdf_sheet

    asked: list[Any] = []
    monkeypatch.setattr(page_pdf_sheet, "families", lambda first: (first, "DejaVu Serif"))
    page_pdf_sheet._font.cache_clear()
    page_pdf_sheet.inches.cache_clear()
    write = Figure.text

    def text(self: Figure, *args: Any, **keys: Any) -> Any:
        asked.append(keys.get("fontfamily"))
        return write(self, *args, **keys)

    monkeypatch.setattr(Figure, "text", text)
    write_sheet(sheet_of(frames(tmp_path / "shot", range(1, 4)), "作品"), tmp_path / "sheet.pdf")
    monkeypatch.undo()
    page_pdf_sheet._font.cache_clear()
    page_pdf_sheet.inches.cache_clear()
    assert len(asked) > 10
    assert all("DejaVu Serif" in fonts for fonts in asked)
