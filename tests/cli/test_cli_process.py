# SPDX-License-Identifier: GPL-3.0-or-later
"""The command line as a process of its own: what it loads, and how it ends."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from cli_calls import sample

from nightplan.files.store import load

#: runs the verbs given as a JSON list of argument lists, then prints their codes and what was loaded
_RUN = """
import io, json, sys
{before}
from nightplan.cli.main import main
codes = [main(argv, io.StringIO(), sys.stderr) for argv in json.loads(sys.argv[1])]
print(json.dumps({{"codes": codes, "loaded": sorted(m.split(".")[0] for m in sys.modules)}}))
"""

_NO_QT = """
import importlib.abc
class NoQt(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("PySide6", "shiboken6"):
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
sys.meta_path.insert(0, NoQt())
"""


def environment() -> dict[str, str]:
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    return {k: v for k, v in os.environ.items() if k not in hidden}


def run(calls: list[list[str]], folder: Path, before: str = "") -> tuple[list[int], set[str]]:
    done = subprocess.run(
        [sys.executable, "-c", _RUN.format(before=before), json.dumps(calls)],
        capture_output=True,
        text=True,
        cwd=folder,
        env={**environment(), "NIGHTPLAN_LOG_DIR": str(folder / "logs"), "NIGHTPLAN_DATA_DIR": str(folder / "data")},
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    answer = json.loads(done.stdout)
    return answer["codes"], set(answer["loaded"])


def every_verb(folder: Path) -> list[list[str]]:
    path = str(sample(folder))
    return [
        ["plan", path],
        ["odds", path, "--futures", "200"],
        ["tick", path, "2027-03-01", "--hours", "2"],
        ["recover", path, "--futures", "200", "--target", "0.1"],
        [
            *("new", str(folder / "new.nightplan"), "--title", "T", "--zone", "UTC", "--announced", "2027-03-01"),
            *("--lock", "2027-04-20", "--deadline", "2027-04-30T12:00Z"),
        ],
        ["sample", str(folder / "samples")],
    ]


def test_no_verb_loads_qt(tmp_path: Path) -> None:
    calls = every_verb(tmp_path)
    codes, loaded = run(calls, tmp_path)
    assert codes == [0] * len(calls)
    assert not loaded & {"PySide6", "shiboken6"}
    report = (tmp_path / "samples" / "report.html").read_text(encoding="utf-8")
    assert report.lower().startswith("<!doctype html>")
    assert "<svg" in report


def test_every_verb_works_where_qt_cannot_be_loaded(tmp_path: Path) -> None:
    calls = every_verb(tmp_path)
    codes, _ = run(calls, tmp_path, _NO_QT)
    assert codes == [0] * len(calls)


def test_the_window_says_so_where_qt_cannot_be_loaded(tmp_path: Path) -> None:
    before = _NO_QT + "import os; os.environ['DISPLAY'] = ':0'; sys.stderr = io.StringIO()"
    codes, _ = run([[]], tmp_path, before)
    assert codes == [2]


def test_odds_as_json_loads_nothing_that_it_does_not_need(tmp_path: Path) -> None:
    _, loaded = run([["odds", str(sample(tmp_path)), "--json"]], tmp_path)
    assert not loaded & {"rich", "matplotlib", "dateutil", "filelock", "platformdirs", "PySide6", "pandas", "PIL"}
    assert "numpy" in loaded


@pytest.mark.skipif(sys.platform == "win32", reason="pipes end otherwise there")
@pytest.mark.parametrize("rest", [[], ["--json"]])
def test_a_closed_pipe_is_quiet(tmp_path: Path, rest: list[str]) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", "from nightplan.cli.main import run; run()", "plan", str(sample(tmp_path)), *rest],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert (process.wait(), said) == (0, b"")


@pytest.mark.parametrize(("argv", "code"), [(["plan"], 2), (["oods"], 2), ([], 2), (["--version"], 0)])
def test_the_codes_of_the_process(tmp_path: Path, argv: list[str], code: int) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from nightplan.cli.main import run; run()", *argv],
        capture_output=True,
        cwd=tmp_path,
        env=environment(),
        check=False,
    )
    assert done.returncode == code
    assert done.stderr.count(b"\n") == (1 if code else 0)


def test_a_terminal_that_knows_few_letters(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from nightplan.cli.main import run; run()", "plan", str(sample(tmp_path))],
        capture_output=True,
        env={**environment(), "PYTHONIOENCODING": "ascii"},
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"?? Personal lock" in done.stdout


def test_two_writers_at_once_lose_no_tick(tmp_path: Path) -> None:
    path = sample(tmp_path)
    for days in (("01", "03"), ("08", "10")):
        writers = [
            subprocess.Popen(
                [
                    *(sys.executable, "-c", "from nightplan.cli.main import run; run()"),
                    *("tick", str(path), f"2027-03-{day}", "--hours", "1", "--item", "ref-fog=1"),
                ],
                stdout=subprocess.DEVNULL,
                env=environment(),
            )
            for day in days
        ]
        assert [w.wait() for w in writers] == [0, 0]
    assert [e.evening.day for e in load(path).log] == [1, 3, 8, 10]
