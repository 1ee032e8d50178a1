# SPDX-License-Identifier: GPL-3.0-or-later
"""Two processes that tick off evenings in the same file at the same time: every tick is there afterwards."""

from __future__ import annotations

import datetime as dt
import io
import os
import tempfile
from pathlib import Path
from typing import Any

from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.evenings.dated import calendar
from nightplan.files.data import data_folder
from nightplan.files.store import load
from nightplan.files.versions import listed
from nightplan.model.project import Project

SAMPLE = "still-harbour"
WRITERS = 2


def ticks(rounds: int) -> dict[str, Any]:
    """So many rounds; in each, two processes begin at once and tick off an evening each in a fresh file.

    Returns:
        ``rounds``, ``ticks``, ``lost`` (ticks that are not there), ``refused`` (calls that did not end well),
        ``changed`` (rounds in which anything else of the project is another), ``versions`` (rounds whose ring
        lacks a state).
    """
    source = data_folder("sample_projects") / f"{SAMPLE}.nightplan"
    start = load(source)
    free = sorted({e.date for e in calendar(start).evenings} - set(start.log_by_date))
    found = {"rounds": rounds, "ticks": 0, "lost": 0, "refused": 0, "changed": 0, "versions": 0}
    with tempfile.TemporaryDirectory() as place:
        os.environ["NIGHTPLAN_LOG_DIR"] = os.path.join(place, "log")
        for n in range(rounds):
            path, ring = Path(place, f"piece-{n}.nightplan"), Path(place, f"versions-{n}")
            path.write_bytes(source.read_bytes())
            dates = [free[(n * WRITERS + k) % len(free)] for k in range(WRITERS)]
            found["refused"] += sum(code != 0 for code in _at_once(path, ring, dates))
            after = load(path)
            found["ticks"] += len(dates)
            found["lost"] += sum(date not in after.log_by_date for date in dates)
            found["changed"] += _rest(after) != _rest(start)
            # the state before, after the first and after the second tick
            found["versions"] += len(listed(path, ring)) != WRITERS + 1
            path.unlink()
    return found


def _rest(project: Project) -> Project:
    return project.but(log=(), forecasts=())


def _at_once(path: Path, ring: Path, dates: list[dt.date]) -> list[int]:
    """Exit codes of processes that were held back until all of them were there."""
    gate, opener = os.pipe()
    processes = []
    for date in dates:
        process = os.fork()
        if process == 0:
            os.close(opener)
            os.read(gate, 1)
            code = 99
            try:
                out, err = io.StringIO(), io.StringIO()
                context = Context(out, lambda: dates[0], versions=lambda: ring)
                code = main(["tick", str(path), date.isoformat(), "--hours", "1"], out, err, context)
                if code:
                    os.write(2, err.getvalue().encode())
            finally:
                os._exit(code)
        processes.append(process)
    os.close(gate)
    # the end of the pipe is what they wait for
    os.close(opener)
    return [os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]) for process in processes]
