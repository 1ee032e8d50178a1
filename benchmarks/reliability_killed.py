# SPDX-License-Identifier: GPL-3.0-or-later
"""Saves that are killed in the middle: the old file or the new one, whole, every time."""

from __future__ import annotations

import datetime as dt
import mmap
import os
import random
import signal
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from nightplan.files.data import data_folder
from nightplan.files.errors import FilesError
from nightplan.files.store import dumps, load, save
from nightplan.files.versions import Ring, listed, read, save_and_keep
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

SAMPLE = "still-harbour"
#: steps of a save, as they are told through shared memory
STEPS = (
    "outside of a save",
    "before the new file is made",
    "writing",
    "flushing the file",
    "before the new name",
    "after the new name",
    "flushing the folder",
    "keeping the version",
)
_OUTSIDE, _BEGUN, _WRITE, _FSYNC, _DRESS, _REPLACED, _FOLDER, _RING = range(len(STEPS))
#: of the time that saves take when nobody kills them: kills fall anywhere in the first saves of a process
_SPREAD = 2.5


def sides() -> list[Project]:
    """Two projects whose files differ in size and in every part."""
    project = load(data_folder("sample_projects") / f"{SAMPLE}.nightplan")
    short = project.but(title="A" * 150, forecasts=())
    return [short, project.but(title="B" * 200)]


def _told(step: Any, name: str, number: int) -> None:
    """Let a function of ``os`` say that it is at work."""
    real = getattr(os, name)

    def telling(*given: Any, **keys: Any) -> Any:
        if step[0] != _RING:
            step[0] = number if not (name == "fsync" and step[0] == _REPLACED) else _FOLDER
        answer = real(*given, **keys)
        if name == "replace" and step[0] != _RING:
            step[0] = _REPLACED
        elif name == "fsync" and step[0] == _FSYNC:
            step[0] = _DRESS
        return answer

    setattr(os, name, telling)


def _save_for_ever(path: Path, ring: Path, step: Any, ready: int, first: int) -> None:
    """The child: saves one side and the other until it is killed."""
    from nightplan.files import versions

    for name, number in (("write", _WRITE), ("fsync", _FSYNC), ("replace", _DRESS)):
        _told(step, name, number)
    keep: Callable[..., None] = versions.keep

    def keeping(*given: Any, **keys: Any) -> None:
        step[0] = _RING
        keep(*given, **keys)
        step[0] = _BEGUN

    versions.keep = keeping
    both = sides()
    os.write(ready, b"x")
    for n in range(first, first + 1_000_000):
        step[0] = _BEGUN
        moment = dt.datetime(2027, 10, 10, tzinfo=dt.UTC) + dt.timedelta(minutes=n)
        save_and_keep(both[n % 2], path, Ring(ring, moment))
        step[0] = _OUTSIDE


def killed(wanted: int, seed: int = 1) -> dict[str, Any]:
    """So many saves killed at random moments.

    Returns:
        ``kills``: by the step that was under way; ``old``, ``new``: what stood there afterwards;
        ``broken``: neither; ``leftovers``: files of killed saves that the next save did not clear away;
        ``versions_damaged``: earlier versions that could not be read.
    """
    random_ = random.Random(seed)
    wholes = [dumps(project).encode() for project in sides()]
    step = mmap.mmap(-1, 1)
    kills: Counter[str] = Counter()
    found = {"old": 0, "new": 0, "broken": 0}
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place, "work")
        folder.mkdir()
        path, ring = folder / "piece.nightplan", Path(place, "versions")
        save(sides()[0], path)
        seconds = _seconds_of_a_save(path, ring)
        n = 0
        while sum(kills.values()) < wanted:
            n += 1
            before = path.read_bytes()
            process = _begun(path, ring, step, n * 1000 + random_.randrange(2))
            time.sleep(random_.uniform(0, _SPREAD * seconds))
            os.kill(process, signal.SIGKILL)
            os.waitpid(process, 0)
            if step[0] == _OUTSIDE:
                continue
            kills[STEPS[step[0]]] += 1
            after = path.read_bytes()
            if after not in wholes:
                found["broken"] += 1
                path.write_bytes(wholes[0])
            else:
                found["old" if after == before else "new"] += 1
        left = [p for p in folder.iterdir() if p.suffix == ".part"]
        for part in left:
            os.utime(part, (1_000_000_000, 1_000_000_000))
        save(sides()[1], path)
        leftovers = len([p for p in folder.iterdir() if p.suffix == ".part"])
        versions = listed(path, ring)
        damaged = sum(not _readable(version) for version in versions)
    return {
        "kills": dict(kills),
        **found,
        "left": len(left),
        "leftovers": leftovers,
        "versions": len(versions),
        "versions_damaged": damaged,
    }


def _begun(path: Path, ring: Path, step: Any, first: int) -> int:
    """The id of a child that has begun to save."""
    awake, ready = os.pipe()
    step[0] = _OUTSIDE
    process = os.fork()
    if process == 0:
        try:
            _save_for_ever(path, ring, step, ready, first)
        finally:
            os._exit(1)
    os.close(ready)
    os.read(awake, 1)
    os.close(awake)
    return process


def _seconds_of_a_save(path: Path, ring: Path) -> float:
    both = sides()
    begun = time.perf_counter()
    for n in range(10):
        save_and_keep(both[n % 2], path, Ring(ring, dt.datetime(2027, 10, 9, 0, n, tzinfo=dt.UTC)))
    return (time.perf_counter() - begun) / 10


def _readable(version: Any) -> bool:
    try:
        read(version)
    except (BadInput, FilesError):
        return False
    return True
