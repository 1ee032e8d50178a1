# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan desktop-entry``: what it lays down is found by others, and goes away again."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from nightplan.cli import desktop_entry
from nightplan.cli.context import Context
from nightplan.cli.main import main

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_projects" / "still-harbour.nightplan"

#: asks Qt, which reads the database of file types itself: by name and content, by content alone
_ASK = """
import sys
from PySide6.QtCore import QMimeDatabase
types = QMimeDatabase()
print(types.mimeTypeForFile(sys.argv[1]).name())
print(types.mimeTypeForData(open(sys.argv[1], "rb").read()).name())
print(types.mimeTypeForFile(sys.argv[1]).inherits("application/json"))
"""


def call(*argv: str | Path) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = main([str(a) for a in argv], out, err, Context(out, lambda: pytest.fail("no clock is asked")))
    return code, out.getvalue(), err.getvalue()


def below(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


@pytest.fixture
def laid(tmp_path: Path) -> Path:
    folder = tmp_path / "share"
    code, out, err = call("desktop-entry", "--install", "--to", folder)
    assert (code, err) == (0, "")
    count = len(below(ROOT / "assets" / "share"))
    assert out == f"{count} files written below {folder}\n"
    return folder


def test_every_file_of_the_folder_is_laid_down(laid: Path) -> None:
    source = ROOT / "assets" / "share"
    assert below(source) <= below(laid)
    entry = str(desktop_entry.ENTRY)
    assert all((laid / n).read_bytes() == (source / n).read_bytes() for n in below(source) if n != entry)


@pytest.mark.skipif(shutil.which("desktop-file-validate") is None, reason="desktop-file-validate is not installed")
def test_the_entry_names_a_program_and_stays_valid(laid: Path) -> None:
    done = subprocess.run(["desktop-file-validate", laid / desktop_entry.ENTRY], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (0, "")


def test_a_file_of_ours_is_known_by_name_and_by_content(laid: Path, tmp_path: Path) -> None:
    pytest.importorskip("PySide6.QtCore")
    other = tmp_path / "piece.txt"
    other.write_text('{"format": "something else"}', encoding="utf-8")
    env = {**os.environ, "XDG_DATA_HOME": str(laid), "HOME": str(tmp_path)}
    told = subprocess.run(
        [sys.executable, "-c", _ASK, str(SAMPLE)], env=env, capture_output=True, text=True, check=True, timeout=60
    )
    assert told.stdout.split() == ["application/x-nightplan+json", "application/x-nightplan+json", "True"]
    told = subprocess.run(
        [sys.executable, "-c", _ASK, str(other)], env=env, capture_output=True, text=True, check=True, timeout=60
    )
    assert "nightplan" not in told.stdout


def test_it_goes_away_without_a_trace_of_ours(laid: Path) -> None:
    foreign = laid / "applications" / "another.desktop"
    foreign.write_text("[Desktop Entry]\n", encoding="utf-8")
    code, out, _ = call("desktop-entry", "--remove", "--to", laid)
    assert code == 0
    assert out.endswith(f"files taken away from {laid}\n")
    assert foreign.is_file()
    # what is left are the indexes that the desktop's own programs keep
    assert not [name for name in below(laid) if "ightplan" in name]
    assert call("desktop-entry", "--remove", "--to", laid) == (0, f"0 files taken away from {laid}\n", "")


def test_json_names_the_files(tmp_path: Path) -> None:
    code, out, _ = call("desktop-entry", "--install", "--to", tmp_path, "--json")
    assert code == 0
    assert {str(Path(p).relative_to(tmp_path).as_posix()) for p in json.loads(out)["written"]} == below(
        ROOT / "assets" / "share"
    )


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    code, out, err = call("desktop-entry", "--install", "--to", tmp_path / "file")
    assert (code, out) == (2, "")
    assert str(tmp_path / "file") in err
    assert err.count("\n") == 1


def test_without_a_flag_it_prints_the_entry() -> None:
    code, out, err = call("desktop-entry")
    assert (code, err) == (0, "")
    assert out.startswith("[Desktop Entry]\n")
    assert "\nExec=" in out


@pytest.mark.parametrize(
    ("program", "wanted"),
    [
        # Desktop Entry Specification, "The Exec key": quoted, then escaped as a string; a per cent sign is doubled
        ("/usr/bin/nightplan", '"/usr/bin/nightplan"'),
        ("/home/a b/nightplan", '"/home/a b/nightplan"'),
        ("/home/$a/nightplan", '"/home/\\\\$a/nightplan"'),
        ('/home/"a"/nightplan', '"/home/\\\\"a\\\\"/nightplan"'),
        ("/home/a\\b/nightplan", '"/home/a\\\\\\\\b/nightplan"'),
        ("/home/100%/nightplan", '"/home/100%%/nightplan"'),
    ],
)
def test_the_programs_path_is_quoted_as_the_specification_asks(program: str, wanted: str) -> None:
    assert desktop_entry.quoted(program) == wanted
    assert f"\nExec={wanted} %f\n" in desktop_entry.entry_text(program)


@pytest.mark.parametrize(
    ("named", "wanted"), [("/data/mine", "/data/mine"), ("", "~/.local/share"), ("relative", "~/.local/share")]
)
def test_the_folder_is_the_one_of_the_base_directory_specification(
    named: str, wanted: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", named)
    assert desktop_entry.share_folder() == Path(wanted).expanduser()
