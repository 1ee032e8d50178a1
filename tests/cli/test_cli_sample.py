# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan sample`` without a screen."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from types import ModuleType

import pytest
from cli_calls import SAMPLES, TODAY, call

from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.files.data import SAMPLES as NAMES
from nightplan.files.store import load
from nightplan.model.errors import BadInput

FILES = sorted(f"{name}.nightplan" for name in NAMES)


@pytest.fixture(autouse=True)
def plain_report(monkeypatch: pytest.MonkeyPatch) -> None:
    """These tests are not about the report, which takes a second to draw; that of the process draws it."""
    monkeypatch.setattr("nightplan.cli.verbs.sample._report", lambda *args: args[-1].write_text("<html>"))


def test_it_copies_prints_and_reports(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    answer = call("sample")
    assert (answer.code, answer.err) == (0, "")
    folder = tmp_path / "nightplan-samples"
    assert sorted(p.name for p in folder.iterdir()) == sorted([*FILES, "report.html"])
    for name in FILES:
        assert (folder / name).read_bytes() == (SAMPLES / name).read_bytes()
    for part in (
        "Moth and Lantern",
        "── Personal lock",
        " in 100",
        "report.html",
        "nightplan-samples/moth-and-lantern",
    ):
        assert part in answer.out


def test_it_writes_over_nothing(tmp_path: Path) -> None:
    mine = tmp_path / f"{NAMES[1]}.nightplan"
    mine.write_text("my own work")
    answer = call("sample", tmp_path)
    assert answer.code == 0
    assert mine.read_text() == "my own work"
    assert "Files that were there already were left as they are" in answer.out
    assert call("sample", tmp_path).code == 0


def test_a_first_sample_of_the_artists_own_is_shown_as_it_is(tmp_path: Path) -> None:
    mine = tmp_path / f"{NAMES[0]}.nightplan"
    mine.write_text("my own work")
    answer = call("sample", tmp_path)
    assert answer.code == 2
    assert answer.err.startswith(f"nightplan: {mine.name}: line 1, column 1: this is no JSON")
    assert mine.read_text() == "my own work"


def test_json(tmp_path: Path) -> None:
    found = call("sample", tmp_path, "--json").json
    assert sorted(Path(p).name for p in found["copied"]) == FILES
    assert found["kept"] == []
    assert found["plan"]["title"] == found["odds"]["title"] == load(tmp_path / f"{NAMES[0]}.nightplan").title
    assert Path(found["report"]).is_file()


def test_a_place_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    answer = call("sample", tmp_path / "file" / "samples")
    assert (answer.code, answer.out) == (2, "")
    assert "a part of the path is no folder" in answer.err


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


class NoScreen(BadInput):
    pass


def fake_desk(monkeypatch: pytest.MonkeyPatch, *, broken: bool = False) -> list[str | None]:
    """A stand-in for the window; the paths that it was asked to open."""
    opened: list[str | None] = []

    def open_window(path: str | None, *, throw_away: bool) -> int:
        assert not throw_away
        opened.append(path)
        if broken:
            raise NoScreen("the screen is not there after all")
        return 0

    module = ModuleType("nightplan.desk.app")
    module.__dict__.update(main=open_window, NoScreen=NoScreen)
    monkeypatch.setitem(sys.modules, "nightplan.desk.app", module)
    return opened


def on_a_screen(*argv: str) -> tuple[int, str, str]:
    out, err = Terminal(), io.StringIO()
    code = main(argv, out, err, Context(out, lambda: TODAY, has_screen=True))
    return code, out.getvalue(), err.getvalue()


def test_with_a_screen_it_opens_the_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = fake_desk(monkeypatch)
    assert on_a_screen("sample", str(tmp_path)) == (0, "", "")
    assert opened == [str(tmp_path / f"{NAMES[0]}.nightplan")]
    assert sorted(p.name for p in tmp_path.iterdir()) == FILES


def test_with_a_screen_that_fails_it_prints(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    fake_desk(monkeypatch, broken=True)
    code, out, _ = on_a_screen("sample", str(tmp_path))
    assert code == 0
    assert " in 100" in out
    assert "the screen is not there after all" in capsys.readouterr().err


def test_with_a_screen_and_json_no_window_opens(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = fake_desk(monkeypatch)
    assert on_a_screen("sample", str(tmp_path), "--json")[0] == 0
    assert on_a_screen("sample", str(tmp_path), "--no-window")[0] == 0
    assert opened == []


def test_no_verb_and_a_file_open_the_window(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = fake_desk(monkeypatch)
    assert on_a_screen() == (0, "", "")
    assert on_a_screen("piece.nightplan") == (0, "", "")
    assert opened == [None, "piece.nightplan"]
    fake_desk(monkeypatch, broken=True)
    code, out, err = on_a_screen()
    assert (code, out) == (2, "")
    assert err == "nightplan: the window cannot be opened: the screen is not there after all\n"
