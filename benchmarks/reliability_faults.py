# SPDX-License-Identifier: GPL-3.0-or-later
"""A fault at every system call of a save: the old file or the new one, whole, and a sentence that says why."""

from __future__ import annotations

import builtins
import errno
import fcntl
import hashlib
import json
import os
import resource
import signal
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from reliability_killed import sides

from nightplan.files.errors import FilesError
from nightplan.files.store import dumps, save

NUMBERS = ("ENOSPC", "EIO", "EACCES", "EDQUOT", "EROFS", "ESTALE")
#: where a save asks the system for something
CALLS: tuple[tuple[Any, str], ...] = (
    *((os, name) for name in ("open", "write", "fsync", "close", "replace", "chmod", "chown", "unlink")),
    *((os, name) for name in ("stat", "lstat", "fstat", "access", "scandir")),
    (fcntl, "flock"),
    (builtins, "open"),
)


class _Counted:
    """Counts the calls of a save, and lets one of them fail."""

    def __init__(self, fail_at: int | None, number: int) -> None:
        self.fail_at, self.number = fail_at, number
        self.calls: list[str] = []
        self._folders: set[int] = set()
        #: calls of the cleaning up after a fault fail no more: one fault at a time
        self._done = False

    def wrap(self) -> None:
        """Put this between a save and the system, in a process that ends afterwards."""
        for module, name in CALLS:
            setattr(module, name, self._wrapped(getattr(module, name), f"{module.__name__}.{name}"))

    def _wrapped(self, real: Callable[..., Any], name: str) -> Callable[..., Any]:
        def call(*given: Any, **keys: Any) -> Any:
            first = given[0] if given else None
            folder = first in self._folders if isinstance(first, int) else name == "os.open" and os.path.isdir(first)
            told = f"{name} folder" if folder else name
            self.calls.append(told)
            if self.fail_at == len(self.calls) - 1 and not self._done:
                self._done = True
                if name == "os.close":
                    # the handle is gone all the same, as close(2) says
                    real(*given, **keys)
                raise OSError(self.number, os.strerror(self.number))
            answer = real(*given, **keys)
            if told == "os.open folder":
                self._folders.add(answer)
            return answer

        return call


def _in_child(work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """What a function says in a process of its own."""
    reading, writing = os.pipe()
    real_write, real_exit = os.write, os._exit
    process = os.fork()
    if process == 0:
        try:
            real_write(writing, json.dumps(work()).encode())
        finally:
            real_exit(0)
    os.close(writing)
    said = b""
    while part := os.read(reading, 65_536):
        said += part
    os.close(reading)
    os.waitpid(process, 0)
    found: dict[str, Any] = json.loads(said) if said else {"end": "the process died"}
    return found


def _one(path: Path, over: str | None, fail_at: int | None, number: int, part: int | None) -> dict[str, Any]:
    """One save with one fault, in this process."""
    new = sides()[1]
    counted = _Counted(fail_at, number)
    counted.wrap()
    if part is not None:
        whole = os.write
        os.write = lambda handle, data: whole(handle, data[:part])
    try:
        save(new, path, over=over)
    except FilesError as error:
        return {"end": "refused", "sentence": error.sentence, "calls": counted.calls}
    except BaseException as error:
        return {"end": f"{type(error).__name__}: {error}", "calls": counted.calls}
    return {"end": "saved", "calls": counted.calls}


def _too_large(path: Path) -> dict[str, Any]:
    """A save under a limit of the system itself: no call is replaced."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
    try:
        save(sides()[1], path)
    except FilesError as error:
        return {"end": "refused", "sentence": error.sentence, "calls": []}
    return {"end": "saved", "calls": []}


def faults(small: bool = False) -> dict[str, Any]:
    """Every call of a save, each with every number, with a file there and with none, in one write and in many.

    Returns:
        ``cases``, ``saved`` (the new file is whole), ``refused`` (the old one is), ``calls`` (names with how many
        cases each), ``broken``: cases in which neither holds, each as a line.
    """
    old, new = (dumps(project).encode() for project in sides())
    found: dict[str, Any] = {"cases": 0, "saved": 0, "refused": 0, "calls": {}, "broken": []}
    numbers = found["numbers"] = NUMBERS[:3] if small else NUMBERS
    with tempfile.TemporaryDirectory() as place:
        path = Path(place, "piece.nightplan")
        ways = [(there, part) for there in (True, False) for part in (None, 20_000)]
        for there, part in ways[:1] if small else ways:
            over = _set(path, old if there else None)
            calls = _in_child(partial(_one, path, over, None, 0, part))["calls"]
            for at, call in enumerate(calls):
                for name in numbers:
                    over = _set(path, old if there else None)
                    number = getattr(errno, name)
                    said = _in_child(partial(_one, path, over, at, number, part))
                    _judge(found, path, old if there else None, new, said, f"{call} {name}")
                    found["calls"][call] = found["calls"].get(call, 0) + 1
        _set(path, old)
        _judge(found, path, old, new, _in_child(partial(_too_large, path)), "a limit of the system EFBIG")
    return found


def _set(path: Path, data: bytes | None) -> str:
    """The state before a case; the hash that the save is told to expect."""
    for other in path.parent.iterdir():
        other.unlink()
    if data is None:
        return ""
    path.write_bytes(data)
    return hashlib.sha256(data).hexdigest()


def _judge(found: dict[str, Any], path: Path, old: bytes | None, new: bytes, said: dict[str, Any], what: str) -> None:
    found["cases"] += 1
    there = path.read_bytes() if path.exists() else None
    left = [p.name for p in path.parent.iterdir() if p != path]
    wrong = ""
    if said["end"] == "saved":
        found["saved"] += 1
        wrong = "" if there == new else "said to be saved, but the new file is not there"
    elif said["end"] == "refused":
        found["refused"] += 1
        sentence = said["sentence"]
        if there != old:
            wrong = "refused, but the old file is not there"
        elif str(path) not in sentence or "was not saved" not in sentence or "\n" in sentence:
            wrong = f"an unclear sentence: {sentence}"
    else:
        wrong = said["end"]
    if left and not what.startswith("os.unlink"):
        wrong = wrong or f"left behind: {left}"
    if wrong:
        found["broken"].append(f"{what}: {wrong}")
