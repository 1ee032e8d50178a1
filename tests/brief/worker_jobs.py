# SPDX-License-Identifier: GPL-3.0-or-later
"""Jobs that behave badly, for worker processes."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable


def double(n: int) -> int:
    return 2 * n


def crash_on(n: int, bad: int) -> int:
    if n == bad:
        os.abort()
    return n


def killed_on(n: int, bad: int, number: int) -> int:
    if n == bad:
        os.kill(os.getpid(), number)
        threading.Event().wait()
    return n


def hang_on(n: int, bad: int) -> int:
    if n == bad:
        threading.Event().wait()
    return n


def fail_on(n: int, bad: int) -> int:
    if n == bad:
        raise RuntimeError("as asked")
    return n


def eat(size: int) -> int:
    return len(bytearray(size))


def pages_of(size: int) -> int:
    """Pages that the system had to give for a block of memory."""
    import resource

    before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
    block = bytearray(b"x") * size
    del block
    return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before


def crash(*_: object) -> None:
    os.abort()


def no_memory(*_: object) -> None:
    raise MemoryError


def write(path: str) -> str:
    with open(path, "wb") as file:
        file.write(b"x" * 10_000)
    return path


def counting(tell: Callable[[float], None], steps: int) -> int:
    for n in range(steps):
        tell(n / steps)
    return steps


counting.tells = True  # type: ignore[attr-defined]
