# SPDX-License-Identifier: GPL-3.0-or-later
"""Captures, thumbnails, contact sheet, comparison, the making-of out of the log, ticks for the brief."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import os
from pathlib import Path
from typing import Any

import html5lib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from PIL import Image

from nightplan.actions.journal import (
    add_capture,
    asked_by_brief,
    change_capture,
    journal,
    making_of,
    remove_capture,
    set_note,
    set_weights,
    stored_path,
    tick_asked,
)
from nightplan.brief.check import check
from nightplan.brief.rules import deliverables_of
from nightplan.exports.making_of import clock, lengths, outline_html, outline_markdown
from nightplan.files.captures import (
    THUMBNAIL_SIDE,
    compared,
    contact_sheet,
    keep_pasted,
    pictures_since,
    thumbnail,
)
from nightplan.files.store import load
from nightplan.model.errors import BadInput, Cancelled
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

SAMPLES = Path(__file__).parents[2] / "sample_projects"
DAY = dt.date(2027, 9, 21)


@pytest.fixture
def project() -> Project:
    return load(SAMPLES / "moth-and-lantern.nightplan")


def picture(path: Path, colour: str = "#c04020", size: tuple[int, int] = (800, 600), **keys: Any) -> Path:
    Image.new("RGB", size, colour).save(path, **keys)
    return path


# ---- pictures ------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.webp", "a.tif", "a.bmp", "a.gif"])
def test_a_thumbnail_is_small_and_the_original_untouched(tmp_path: Path, name: str) -> None:
    # source: what Pillow, which wrote them, reads back
    original = picture(tmp_path / name)
    before = hashlib.sha256(original.read_bytes()).hexdigest(), original.stat().st_mtime_ns
    small = thumbnail(original, tmp_path)
    assert small.parent == tmp_path / ".captures"
    with Image.open(small) as seen:
        assert seen.size == (THUMBNAIL_SIDE, THUMBNAIL_SIDE * 3 // 4)
        assert all(abs(a - b) < 14 for a, b in zip(seen.getpixel((100, 100)), (0xC0, 0x40, 0x20), strict=True))
    assert (hashlib.sha256(original.read_bytes()).hexdigest(), original.stat().st_mtime_ns) == before
    made = small.stat().st_mtime_ns
    assert thumbnail(original, tmp_path).stat().st_mtime_ns == made
    # another picture under the same name has another thumbnail
    picture(original, "#2040c0")
    os.utime(original, ns=(1, 1))
    assert thumbnail(original, tmp_path) != small


@pytest.mark.parametrize("content", [b"", b"not a picture", b"\x89PNG\r\n\x1a\nbroken", b"%!PS-Adobe-3.0 EPSF-3.0\n"])
def test_what_is_no_picture_is_said(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.png"
    path.write_bytes(content)
    with pytest.raises(BadInput, match=r"^x\.png: "):
        thumbnail(path, tmp_path)
    with pytest.raises(BadInput, match="no such file any more"):
        thumbnail(tmp_path / "gone.png", tmp_path)
    assert not (tmp_path / ".captures").exists()


def test_a_truncated_and_an_endless_picture_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = picture(tmp_path / "a.png", size=(400, 400)).read_bytes()
    (tmp_path / "cut.png").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BadInput, match=r"^cut\.png: "):
        thumbnail(tmp_path / "cut.png", tmp_path)
    monkeypatch.setattr("nightplan.files.captures.MAX_PIXELS", 1000)
    with pytest.raises(BadInput, match="too many for a capture"):
        thumbnail(tmp_path / "a.png", tmp_path)


def test_pasted_pictures_never_overwrite(tmp_path: Path) -> None:
    data = picture(tmp_path / "a.bmp").read_bytes()
    names = [keep_pasted(data, tmp_path, DAY).name for _ in range(3)]
    assert names == ["2027-09-21-1.png", "2027-09-21-2.png", "2027-09-21-3.png"]
    with pytest.raises(BadInput, match="the pasted picture"):
        keep_pasted(b"text", tmp_path, DAY)


def test_pictures_of_a_folder_since_a_moment(tmp_path: Path) -> None:
    for n, name in enumerate(("old.png", "b.png", "a.jpg", "notes.txt", ".hidden.png")):
        (tmp_path / name).write_bytes(b"x")
        os.utime(tmp_path / name, (1000 + n, 1000 + n))
    assert [p.name for p in pictures_since(tmp_path, 1000)] == ["b.png", "a.jpg"]
    with pytest.raises(BadInput, match="cannot be looked through"):
        pictures_since(tmp_path / "none", 0)


def test_a_contact_sheet_shows_each_and_says_what_is_gone(tmp_path: Path) -> None:
    rows = [(picture(tmp_path / f"{n}.png", c), f"line {n}") for n, c in enumerate(("#ff0000", "#00ff00", "#0000ff"))]
    data = contact_sheet([*rows, (tmp_path / "gone.png", "gone " * 60)], columns=2, cell=200, title="Moth")
    with Image.open(io.BytesIO(data)) as sheet:
        colours = {c for _, c in sheet.convert("RGB").getcolors(1_000_000)}
        assert {(255, 0, 0), (0, 255, 0), (0, 0, 255)} <= colours
        assert sheet.width == 16 + 2 * 216
    with pytest.raises(BadInput, match="there is none"):
        contact_sheet([])

    def stop(_: float) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        contact_sheet(rows, progress=stop)


def test_two_captures_beside_each_other_and_their_difference(tmp_path: Path) -> None:
    one = picture(tmp_path / "a.png", "#808080", (400, 300))
    two = picture(tmp_path / "b.png", "#a08080", (800, 600))
    with Image.open(io.BytesIO(compared(one, two, tall=300))) as sheet:
        assert sheet.size == (812, 300)
        assert sheet.getpixel((10, 10)) == (0x80, 0x80, 0x80)
        assert sheet.getpixel((800, 10)) == (0xA0, 0x80, 0x80)
    with Image.open(io.BytesIO(compared(one, two, how="difference", tall=300))) as sheet:
        # 32 more red, halved, around the middle grey
        assert sheet.getpixel((10, 10)) == (144, 128, 128)


# ---- in the project ------------------------------------------------------------------------------
def test_captures_and_notes_live_in_the_log_and_in_the_file(project: Project) -> None:
    one = add_capture(project, DAY, "shots/a.png", "wings")
    two = add_capture(one, DAY, "shots/b.png")
    again = project_from_raw(project_to_raw(two))
    assert [(c.path, c.note, c.show) for c in journal(again)[0].captures] == [
        ("shots/a.png", "wings", True),
        ("shots/b.png", "", True),
    ]
    renewed = add_capture(two, DAY, "shots/a.png", "better words")
    assert [c.note for c in journal(renewed)[0].captures] == ["better words", ""]
    hidden = change_capture(two, DAY, "shots/b.png", show=False, stage="rig")
    assert (journal(hidden)[0].captures[1].show, journal(hidden)[0].captures[1].stage) == (False, "rig")
    assert remove_capture(two, DAY, "shots/b.png") == one
    assert journal(set_note(project, DAY, "other"))[0].note == "other"
    for wrong in (
        lambda: add_capture(project, dt.date(2027, 12, 1), "a.png"),
        lambda: add_capture(project, DAY, " "),
        lambda: remove_capture(project, DAY, "none.png"),
        lambda: change_capture(two, DAY, "shots/a.png", stage="none"),
        lambda: set_note(project, DAY, "x" * 20_001),
    ):
        with pytest.raises(BadInput):
            wrong()


def test_a_path_written_by_hand_is_read(project: Project) -> None:
    raw = project_to_raw(project)
    raw["log"][0]["captures"] = ["a.png"]
    assert journal(project_from_raw(raw))[0].captures[0].path == "a.png"
    raw["log"][0]["captures"] = [5]
    with pytest.raises(BadInput, match=r"log of 2027-09-21\.captures\[0\]"):
        journal(project_from_raw(raw))


def test_paths_are_kept_relative_where_they_can_be(tmp_path: Path) -> None:
    assert stored_path(tmp_path / "shots" / "a.png", tmp_path) == "shots/a.png"
    assert stored_path(tmp_path / "a.png", tmp_path / "project") == str(tmp_path / "a.png")


@given(
    st.integers(1, 36_000),
    st.dictionaries(st.text(min_size=1, max_size=3), st.floats(0, 1e6), min_size=1, max_size=20),
)
def test_lengths_add_up_and_are_in_proportion(seconds: int, weights: dict[str, float]) -> None:
    # source: the largest remainder method: whole numbers that add up, each within one of its exact share
    total = sum(weights.values())
    if total <= 0:
        with pytest.raises(BadInput, match="no stage has any hours"):
            lengths(seconds, weights)
        return
    told = lengths(seconds, weights)
    assert sum(told.values()) == seconds
    assert all(abs(told[k] - seconds * (w / total)) < 1 + 1e-6 for k, w in weights.items())


def test_the_making_of_follows_the_log(project: Project) -> None:
    outline = making_of(add_capture(project, DAY, "shots/a.png", "wings"), 3.0)
    logged = [e for e in project.log if e.evening]
    assert sum(c.seconds for c in outline.chapters) == outline.seconds == 180
    assert sum(c.hours for c in outline.chapters) == pytest.approx(sum(w.hours for e in logged for w in e.work))
    first = outline.chapters[0]
    assert (first.stage, first.first, first.hours) == ("reference", DAY, 2.5)
    assert [s.path for s in first.captures] == ["shots/a.png"]
    assert first.turns[0] == (DAY, project.log_by_date[DAY].note)
    animate = next(c for c in outline.chapters if c.stage == "animate")
    assert any("looked at anew, 0.75 h still likely after 3.5 h" in t for _, t in animate.turns)
    # no chapter for what was not begun
    assert "light" not in {c.stage for c in outline.chapters}
    # the artist's own weights
    weighted = making_of(set_weights(project, {"rig": 3, "animate": 1}), 2.0)
    assert {c.stage: c.seconds for c in weighted.chapters if c.seconds} == {"rig": 90, "animate": 30}
    assert making_of(set_weights(set_weights(project, {"rig": 3}), {}), 3.0) == making_of(project, 3.0)
    with pytest.raises(BadInput, match="up to 600 minutes"):
        making_of(project, 0)
    with pytest.raises(BadInput, match="nothing was worked on yet"):
        making_of(project.but(log=(), stages=tuple(project.stages)), 3)
    assert clock(125) == "2:05"


def test_the_outline_is_valid_and_holds_only_text_of_the_artist(project: Project) -> None:
    # source: html5lib in strict mode; CommonMark by markdown-it-py
    nasty = "<script>alert(1)</script> *bold* [x](y) “quote” \u202e"
    spoilt = set_note(add_capture(project, DAY, "a<b>.png", nasty), DAY, nasty)
    outline = making_of(spoilt, 3.0, credits=("“Oak” by Ada",))
    page = outline_html(outline, {"a<b>.png": b"\xff\xd8\xff"})
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)
    assert not list(tree.iter("script"))
    (image,) = tree.iter("img")
    assert image.get("alt", "").startswith("<script>")
    assert image.get("src") == "data:image/jpeg;base64,/9j/"
    tokens = [t for b in MarkdownIt("commonmark").parse(outline_markdown(outline)) for t in (b.children or [])]
    assert {t.type for t in tokens} <= {"text", "softbreak", "text_special"}


def test_posts_and_kept_stages_of_the_brief_are_ticked(project: Project, tmp_path: Path) -> None:
    rules = [
        {"id": "post-1", "kind": "progress-post", "value": 1, "wording": "one post", "due": ["2027-10-17"]},
        {"id": "alpha", "kind": "alpha", "value": False},
        {"id": "keep", "kind": "kept-stage", "value": "blocking"},
    ]
    film = {"id": "film", "name": "Film", "what": "image", "rules": rules}
    other = {**film, "id": "other", "condition": "if selected"}
    asking = project.but(deliverables=(film, other))
    assert [(a.deliverable, a.rule, a.ticked) for a in asked_by_brief(asking)] == [
        ("film", "post-1", False),
        ("film", "keep", False),
    ]
    assert [(a.wording, a.due) for a in asked_by_brief(asking)] == [
        ("one post", (dt.date(2027, 10, 17),)),
        ("blocking", ()),
    ]
    ticked = tick_asked(asking, "film", "keep", note="kept/blocking.mp4")
    assert [(a.rule, a.ticked, a.note) for a in asked_by_brief(ticked)][1] == ("keep", True, "kept/blocking.mp4")
    # stored, and seen by the check as evidence
    stored = project_from_raw(project_to_raw(ticked))
    still = tmp_path / "still.png"
    Image.new("RGB", (8, 8), "#808080").save(still)
    findings = check(deliverables_of(stored)[0], [still], depth="headers").findings
    assert [(f.verdict, f.measured) for f in findings if f.rule == "keep"] == [
        ("pass", "ticked by you: kept/blocking.mp4")
    ]
    assert [f.verdict for f in findings if f.rule == "post-1"] == ["your tick"]
    assert tick_asked(ticked, "film", "keep", False) == asking
    with pytest.raises(BadInput, match="no progress post or kept stage"):
        tick_asked(asking, "film", "alpha")
    spoilt = {**film, "rules": [{**rules[0], "due": ["2027-13-40"]}]}
    with pytest.raises(BadInput, match=r"deliverables\[0\].rules\[0\].due.*days of the calendar"):
        asked_by_brief(project.but(deliverables=(spoilt,)))
    with pytest.raises(BadInput, match=r"deliverables\[0\] = 'odd'"):
        asked_by_brief(project.but(deliverables=("odd",)))
