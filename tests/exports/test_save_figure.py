# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures as files: the same bytes each time, no date within (PNG, SVG and PDF signatures: their specifications)."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import export_cases as cases
import pytest
from matplotlib.figure import Figure

from nightplan.exports.figures import burn_down
from nightplan.exports.save import figure_bytes, inline_svg, save_figure
from nightplan.exports.strip import evening_strip
from nightplan.model.errors import BadInput

SIGNATURES = {"png": b"\x89PNG\r\n\x1a\n", "svg": b"<?xml", "pdf": b"%PDF-"}


def picture() -> Figure:
    return burn_down(cases.project(), cases.forecast())


@pytest.mark.parametrize("kind", SIGNATURES)
def test_the_ending_says_as_what(kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"picture.{kind.upper()}"
    save_figure(picture(), path)
    assert path.read_bytes().startswith(SIGNATURES[kind])
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("kind", SIGNATURES)
def test_same_figure_same_bytes_and_no_date(kind: str) -> None:
    one, two = figure_bytes(picture(), kind), figure_bytes(picture(), kind)
    assert one == two
    assert not re.search(rb"CreationDate|dc:date|tIME|20[2-9]\d-\d\d-\d\dT", one)


def test_same_bytes_in_another_process() -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); import hashlib, test_save_figure as t; "
        "print(hashlib.sha256(t.figure_bytes(t.picture(), 'svg')).hexdigest())"
    )
    here = str(Path(__file__).parent)
    hashes = {
        subprocess.run(
            [sys.executable, "-c", code, here],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(hashes) == 1


@pytest.mark.parametrize("name", ["plan.gif", "plan", "plan.svgz", ".png"])
def test_another_ending_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"ends with \.png, \.svg or \.pdf"):
        save_figure(Figure(), tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot be written"):
        save_figure(Figure(), tmp_path / "none" / "plan.png")


def test_an_older_file_is_replaced_whole_and_keeps_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "plan.svg"
    path.write_text("old")
    path.chmod(0o640)
    link = tmp_path / "link.svg"
    link.symlink_to(path)
    save_figure(Figure(figsize=(1, 1)), link)
    assert link.is_symlink()
    assert path.read_bytes().startswith(b"<?xml")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_svg_for_a_page_stands_alone() -> None:
    text = inline_svg(evening_strip(cases.project(), cases.plan()), "strip", 'a "label" & <more>')
    assert text.startswith("<svg")
    for gone in ("<?xml", "<!DOCTYPE", "<style", "<metadata", "<!--", "<script"):
        assert gone not in text
    root = ET.fromstring(text)
    assert root.get("aria-label") == 'a "label" & <more>'
    assert root.get("role") == "img"
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert all(re.fullmatch(r"strip-[A-Za-z0-9_.-]+", i or "") for i in ids)
    pointed = set(re.findall(r'(?:href="|url\()#([^")]*)', text))
    assert pointed
    assert pointed <= set(ids)


def test_names_in_any_script_and_formula_signs_are_letters(tmp_path: Path) -> None:
    stages = [
        {"id": "model", "name": "$\\frac{1}{0}$", "items": [{"id": "body", "name": "模型", "likely": 1, "high": 2}]},
        {
            "id": "motion",
            "name": "_x^y{",
            "items": [
                {"id": "swim", "name": "$", "likely": 1, "high": 2},
                {"id": "fins", "name": "🦑", "likely": 1, "high": 2},
            ],
        },
    ]
    project = cases.project(
        stages=stages,
        jobs=[],
        gates=[
            {"id": "lock", "name": "模型 $a$ \u0007", "on": "2027-03-19"},
            {"id": "deadline", "name": "$$", "on": "2027-03-22"},
        ],
    )
    for kind in SIGNATURES:
        assert figure_bytes(evening_strip(project, cases.plan(), cases.forecast()), kind)
        assert figure_bytes(burn_down(project, cases.forecast()), kind)


def test_pyplot_and_qt_are_never_loaded() -> None:
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); import test_save_figure as t; import nightplan.exports.report; "
        "t.figure_bytes(t.picture(), 'png'); t.figure_bytes(t.picture(), 'pdf'); "
        "print([m for m in sys.modules if m == 'matplotlib.pyplot' or m.startswith(('PySide6', 'pandas'))])"
    )
    here = str(Path(__file__).parent)
    done = subprocess.run([sys.executable, "-c", code, here], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
