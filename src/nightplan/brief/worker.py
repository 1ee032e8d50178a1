# SPDX-License-Identifier: GPL-3.0-or-later
"""Worker processes for work that may crash, hang or eat memory: decoders on files from anywhere.

Each worker does one job at a time and is replaced when it dies or takes too long; the job that it had is answered with
:class:`Lost`, the others go on. A caller's ``progress`` that raises stops everything at once.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import sys
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import Any

from nightplan.brief.limits import LIMITS, Limits
from nightplan.speech import tr

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Lost:
    """A job without an answer, and why in plain words."""

    why: str


def cores() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return max(1, os.cpu_count() or 1)


class Workers:
    """Worker processes that are started when they are first needed. A context manager; not shared between threads.

    Args:
        count: at most this many; as many as there are processors unless given.
    """

    def __init__(self, count: int | None = None, limits: Limits = LIMITS) -> None:
        self._count = count or min(cores(), 16)
        self._limits = limits
        self._idle: list[_Worker] = []
        self._busy: list[_Worker] = []

    def __enter__(self) -> Workers:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End every worker."""
        for worker in [*self._idle, *self._busy]:
            worker.end()
        self._idle.clear()
        self._busy.clear()

    def run(
        self,
        job: Callable[..., Any],
        arguments: Sequence[tuple[Any, ...]],
        *,
        seconds: float,
        progress: Progress | None = None,
    ) -> Iterator[tuple[int, Any]]:
        """Answers of ``job(*arguments[i])`` as ``(i, answer)``, in the order that they come.

        Args:
            job: a function of a module, so that a worker finds it. One with the attribute ``tells`` gets a ``tell``
                function as first argument, for its own progress 0..1.
            seconds: time for one job; what takes longer is :class:`Lost`.
            progress: called with 0..1, also while nothing is ready; it may raise to stop.
        """
        total, done, parts = len(arguments), 0, 0.0
        waiting = deque(range(total))
        if progress:
            progress(0.0)
        try:
            while done < total:
                self._hand_out(waiting, job, arguments, seconds)
                ready = wait([w.pipe for w in self._busy], timeout=0.1)
                for worker in list(self._busy):
                    answer = worker.answer(worker.pipe in ready, seconds)
                    if answer is None:
                        continue
                    kind, value = answer
                    if kind == "tell":
                        parts = value
                        continue
                    number = worker.numbers.popleft()
                    if kind == "lost":
                        # what it had not begun goes to another one
                        waiting.extendleft(reversed(worker.numbers))
                        worker.numbers.clear()
                        worker.end()
                        self._busy.remove(worker)
                    elif not worker.numbers:
                        self._busy.remove(worker)
                        self._idle.append(worker)
                    done, parts = done + 1, 0.0
                    yield number, value
                if progress:
                    progress(min(1.0, (done + parts) / total))
        finally:
            # a caller that stops in the middle leaves no work behind
            for worker in self._busy:
                worker.end()
            self._busy.clear()

    def _hand_out(
        self, waiting: deque[int], job: Callable[..., Any], arguments: Sequence[tuple[Any, ...]], seconds: float
    ) -> None:
        """One job to each worker, then a second one that it finds when it is done with the first."""
        for worker in self._busy:
            if waiting and len(worker.numbers) == 1 and len(self._busy) == self._count:
                number = waiting.popleft()
                worker.give(number, job, arguments[number], seconds)
        while waiting and len(self._busy) < self._count:
            worker = self._idle.pop() if self._idle else _Worker(self._limits)
            self._busy.append(worker)
            number = waiting.popleft()
            worker.give(number, job, arguments[number], seconds)


class _Worker:
    def __init__(self, limits: Limits) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, limits), daemon=True, name="nightplan-check")
        self._process.start()
        theirs.close()
        #: jobs that it has, the one it works on first
        self.numbers: deque[int] = deque()
        self._until = 0.0

    def give(self, number: int, job: Callable[..., Any], arguments: tuple[Any, ...], seconds: float) -> None:
        if not self.numbers:
            # the first job also waits for the process to start
            self._until = time.monotonic() + seconds + (0.0 if self._until else 30.0)
        self.numbers.append(number)
        with contextlib.suppress(OSError):
            # a dead worker is seen at its pipe
            self.pipe.send((job, arguments))

    def answer(self, ready: bool, seconds: float) -> tuple[str, Any] | None:
        """What came from it: ("done", answer), ("tell", share), ("lost", why); None where it is still at work."""
        if not ready:
            late = time.monotonic() > self._until
            return ("lost", Lost(tr("it takes longer than {seconds} s", seconds=f"{seconds:.0f}"))) if late else None
        try:
            answer: tuple[str, Any] = self.pipe.recv()
        except (EOFError, OSError):
            return "lost", Lost(tr("the decoder crashed on it"))
        except Exception:
            return "lost", Lost(tr("the decoder's answer cannot be read"))
        if answer[0] == "done":
            self._until = time.monotonic() + seconds
        return answer

    def end(self) -> None:
        self.pipe.close()
        self._process.kill()
        self._process.join()
        self._process.close()


def _serve(pipe: Connection, limits: Limits) -> None:
    """The life of a worker: jobs from the pipe, answers into it, nothing else."""
    # the caller stops us; Ctrl-C goes to the caller
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _fence(limits)
    while True:
        try:
            job, arguments = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            if getattr(job, "tells", False):
                answer = job(lambda share: pipe.send(("tell", share)), *arguments)
            else:
                answer = job(*arguments)
        except MemoryError:
            answer = Lost(tr("there is not enough memory for it"))
        except Exception as error:
            answer = Lost(
                tr(
                    "it cannot be looked into ({kind}: {why})",
                    kind=type(error).__name__,
                    why=str(error)[:100],
                )
            )
        pipe.send(("done", answer))


def _fence(limits: Limits) -> None:
    """Nothing on the terminal, no files written, memory bounded (where the system can)."""
    quiet = os.open(os.devnull, os.O_WRONLY)
    for fd in (1, 2):
        os.dup2(quiet, fd)
    if sys.platform == "win32":
        return
    import resource

    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    if sys.platform == "linux":
        with contextlib.suppress(OSError, ValueError):
            _, most = resource.getrlimit(resource.RLIMIT_AS)
            bound = limits.memory_bytes + 2_000_000_000  # address space is more than memory: libraries, stacks
            resource.setrlimit(resource.RLIMIT_AS, (bound if most < 0 else min(bound, most), most))
        _keep_memory()


#: of mallopt(3): the least block that the system is asked for, and what may stay free at the top
_MMAP_THRESHOLD, _TRIM_THRESHOLD = -3, -1


def _keep_memory() -> None:
    """What one picture needed is kept for the next one.

    The C library gives large blocks back to the system and gets them anew, zeroed page by page: a tenth of the time
    that it takes to decode an EXR frame.
    """
    import ctypes

    # only the C library of GNU has it
    with contextlib.suppress(OSError, AttributeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(_MMAP_THRESHOLD, 32 << 20)
        mallopt(_TRIM_THRESHOLD, 256 << 20)


def warm() -> bool:
    """A job that loads what the others need."""
    import av  # noqa: F401
    import numpy  # noqa: F401

    return True
