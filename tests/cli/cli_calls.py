# SPDX-License-Identifier: GPL-3.0-or-later
"""One call of the command line inside the test's process."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.files.store import content_hash

SAMPLES = Path(__file__).parents[2] / "sample_projects"
TODAY = dt.date(2027, 9, 20)


@dataclass(frozen=True)
class Answer:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def call(*argv: str | Path, today: dt.date = TODAY) -> Answer:
    out, err = io.StringIO(), io.StringIO()
    code = main([str(a) for a in argv], out, err, Context(out, lambda: today))
    return Answer(code, out.getvalue(), err.getvalue())


def refused(path: Path, *argv: str | Path, today: dt.date = TODAY) -> str:
    """The sentence of a call that must be refused: code 2, one line, nothing printed, the file as before."""
    before = content_hash(path), beside(path)
    answer = call(*argv, today=today)
    assert answer.code == 2, answer
    assert answer.out == ""
    assert answer.err.startswith("nightplan: ")
    assert answer.err.endswith("\n")
    assert answer.err.count("\n") == 1
    assert "Traceback" not in answer.err
    assert (content_hash(path), beside(path)) == before
    return answer.err.removeprefix("nightplan: ").rstrip("\n")


def beside(path: Path) -> list[str]:
    # the lock file is empty and may stay: taking it away would let two writers hold two locks of one name
    return sorted(n for n in os.listdir(path.parent) if not n.endswith(".lock")) if path.parent.is_dir() else []


def sample(folder: Path, name: str = "still-harbour") -> Path:
    path = folder / f"{name}.nightplan"
    path.write_bytes((SAMPLES / path.name).read_bytes())
    return path


def raw_sample(name: str = "still-harbour") -> Any:
    return json.loads((SAMPLES / f"{name}.nightplan").read_text(encoding="utf-8"))


def written(folder: Path, raw: Any) -> Path:
    path = folder / "piece.nightplan"
    path.write_text(json.dumps(raw), encoding="utf-8")
    return path
