# SPDX-License-Identifier: GPL-3.0-or-later
"""Paths, pictures and lists out of a project that somebody else made. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from nightplan.actions.assets import MAX_CSV_BYTES, MAX_CSV_ROWS, assets_csv, files_without_asset, import_assets
from nightplan.brief.assets import MAX_ASSETS
from nightplan.files.captures import compared, contact_sheet, placed, thumbnail
from nightplan.files.data import data_folder
from nightplan.files.frames import look
from nightplan.files.store import load, parse
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

NOON = dt.datetime(2027, 10, 10, 12, tzinfo=dt.UTC)


def picture(path: Path, size: tuple[int, int] = (64, 48)) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.new("RGB", size, "#335577").save(path)
    return path


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder of a project, and a picture beside it that is none of its business."""
    folder = tmp_path / "piece"
    folder.mkdir()
    picture(tmp_path / "private.png")
    picture(folder / "captures" / "one.png")
    return folder


@pytest.fixture
def project() -> Project:
    return load(data_folder("sample_projects") / "still-harbour.nightplan")


def test_a_capture_below_the_folder_and_one_with_its_whole_path_are_found(home: Path) -> None:
    assert placed("captures/one.png", home) == home / "captures" / "one.png"
    assert placed("captures/../captures/one.png", home).exists()
    assert placed(str(home.parent / "private.png"), home) == home.parent / "private.png"


@pytest.mark.parametrize(
    "path",
    [
        "../private.png",
        "captures/../../private.png",
        "",
        "a\0b.png",
        "a\nb.png",
        "\x1b[2J.png",
        "\\\\server\\share\\x.png",
        "//server/share/x.png",
        "x" * 5_000,
    ],
)
def test_a_path_that_leads_elsewhere_is_refused(path: str, home: Path) -> None:
    with pytest.raises(BadInput) as caught:
        thumbnail(placed(path, home), home)
    assert len(caught.value.sentence) < 300
    assert not (home / ".captures").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_no_link_is_followed_out_of_the_folder(home: Path) -> None:
    (home / "link.png").symlink_to(home.parent / "private.png")
    (home / "door").symlink_to(home.parent)
    (home / "ring").symlink_to(home / "ring")
    (home / "inside.png").symlink_to(home / "captures" / "one.png")
    for path in ("link.png", "door/private.png", "ring/x.png"):
        with pytest.raises(BadInput):
            thumbnail(placed(path, home), home)
    assert thumbnail(placed("inside.png", home), home).exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name")
def test_a_pipe_or_a_device_is_not_waited_for(home: Path) -> None:
    os.mkfifo(home / "pipe.png")
    for path in ("pipe.png", "/dev/zero"):
        with pytest.raises(BadInput, match="no ordinary file"):
            thumbnail(placed(path, home), home)
        with pytest.raises(BadInput, match="no ordinary file"):
            compared(placed(path, home), home / "captures" / "one.png")


def test_a_line_of_one_pixel_is_not_blown_up(home: Path) -> None:
    thin = picture(home / "thin.png", (60_000, 1))
    with pytest.raises(BadInput, match="eight times as wide"):
        compared(thin, home / "captures" / "one.png")
    assert thumbnail(thin, home).exists()


def test_a_sheet_says_why_a_capture_is_not_there(home: Path) -> None:
    refused = BadInput("'../x': leads out of the folder of the project")
    made = contact_sheet([(home / "captures" / "one.png", "one"), (refused, "two")])
    other = contact_sheet([(home / "captures" / "one.png", "one"), (home / "captures" / "one.png", "two")])
    assert made[:4] == other[:4] == b"\x89PNG"
    assert made != other


@pytest.mark.parametrize("folder", ["a\0b", "/dev/null", "", "../" * 2_000, "CON", "\x1b[2J"])
def test_a_folder_of_frames_that_cannot_be(folder: str) -> None:
    with pytest.raises(BadInput):
        look(folder or "/nonexistent", NOON)


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_files_that_no_asset_covers_stay_in_the_folder(home: Path, project: Project) -> None:
    (home / "door").symlink_to(home.parent)
    seen = files_without_asset(project, home)
    assert [p for p in seen.uncovered if "private" in p or "door" in p] == []


# ---- a list of assets --------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("make", "word"),
    [
        (lambda: b"title\n" + b"x" * MAX_CSV_BYTES, "MB"),
        (lambda: "title\n" + "same\n" * MAX_CSV_ROWS, f"at most {MAX_CSV_ROWS} are read"),
        (lambda: "title\n" + "".join(f"t{n}\n" for n in range(MAX_ASSETS + 1)), f"at most {MAX_ASSETS} assets"),
        (lambda: 'title\n"' + "x" * 200_000, "no CSV"),
        (lambda: "title\n" + "x" * 30_000, "at most"),
        (lambda: b"\xff\xfet\0i\0t\0l\0e\0", "UTF-8"),
        (lambda: "\0", "heading"),
        (lambda: "," * 100_000, "heading"),
    ],
)
def test_a_hostile_list_is_refused_in_one_sentence(
    make: Callable[[], str | bytes], word: str, project: Project
) -> None:
    with pytest.raises(BadInput, match=word) as caught:
        import_assets(project, make())
    assert len(caught.value.sentence) < 500


def test_as_many_rows_as_may_be_are_read_at_once(project: Project) -> None:
    # every row updates the last of many assets: a search through all of them for each would take minutes
    rows = [f"t{n},src" for n in range(1_900)] + ["t1899,src"] * (MAX_CSV_ROWS - 1_901)
    read = import_assets(project, "title,source\n" + "\n".join(rows))
    assert (read.added, read.updated) == (1_900, MAX_CSV_ROWS - 1_901)


@pytest.mark.parametrize("cell", ["=cmd|'/C calc'!A0", "+1", "-1+1", "@SUM(1)", "\t=1", "\r=1", "=1\n=2"])
def test_a_formula_goes_out_as_text_and_comes_back_as_it_was(cell: str, project: Project) -> None:
    # a spreadsheet works out what begins with one of these (common practice, no source)
    given = import_assets(project, 'title,author\n"x","a"').project
    import csv
    import io

    from nightplan.actions.assets import assets_of, change_asset

    given = change_asset(given, assets_of(given)[-1].id, author=cell)
    text = assets_csv(given)
    cells = [c for row in csv.reader(io.StringIO(text, newline="")) for c in row]
    assert not [c for c in cells if c.lstrip().startswith(("=", "+", "@"))]
    back = import_assets(project, text).project
    assert assets_of(back)[-1].author.strip() == cell.strip()


# ---- the file itself -----------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["__class__", "__proto__", "model_config", "model_fields", "unknown", "items", "but"])
def test_a_key_that_is_a_name_inside_stays_a_key(name: str, project: Project) -> None:
    raw = json.loads((data_folder("sample_projects") / "still-harbour.nightplan").read_text("utf-8"))
    raw[name] = {"x": 1}
    try:
        made = parse(json.dumps(raw).encode(), "x.nightplan")
    except BadInput:
        return
    assert made.unknown[name] == {"x": 1}
    assert made.items.keys() == project.items.keys()
    assert callable(made.but)
