# SPDX-License-Identifier: GPL-3.0-or-later
"""Workers: what crashes, hangs, fails or eats memory in one takes neither the caller nor the other jobs down."""

from __future__ import annotations

import platform
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import worker_jobs as jobs

from nightplan.brief.limits import Limits
from nightplan.brief.worker import Lost, Workers
from nightplan.model.errors import Cancelled


@pytest.fixture(scope="module")
def crew() -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def test_every_answer_comes_once(crew: Workers) -> None:
    answers = dict(crew.run(jobs.double, [(n,) for n in range(40)], seconds=60))
    assert answers == {n: 2 * n for n in range(40)}
    assert list(crew.run(jobs.double, [], seconds=60)) == []


def test_a_crash_loses_one_job(crew: Workers) -> None:
    answers = dict(crew.run(jobs.crash_on, [(n, 5) for n in range(10)], seconds=60))
    assert answers.pop(5) == Lost("the decoder crashed on it")
    assert answers == {n: n for n in range(10) if n != 5}


@pytest.mark.skipif(sys.platform == "win32", reason="signals of that kind are no thing there")
@pytest.mark.parametrize("name", ["SIGKILL", "SIGSEGV", "SIGBUS"])
def test_a_worker_that_is_killed_loses_one_job(crew: Workers, name: str) -> None:
    number = int(getattr(signal, name))
    answers = dict(crew.run(jobs.killed_on, [(n, 3, number) for n in range(8)], seconds=60))
    assert answers.pop(3) == Lost("the decoder crashed on it")
    assert answers == {n: n for n in range(8) if n != 3}


def test_a_hang_loses_one_job(crew: Workers) -> None:
    # a worker that has started gets the time that is given and no more
    dict(crew.run(jobs.double, [(n,) for n in range(4)], seconds=60))
    answers = dict(crew.run(jobs.hang_on, [(n, 1) for n in range(4)], seconds=0.3))
    lost = answers.pop(1)
    assert isinstance(lost, Lost)
    assert "longer than" in lost.why
    assert {n for n, a in answers.items() if a == n} == {0, 2, 3}


def test_an_exception_is_an_answer(crew: Workers) -> None:
    answers = dict(crew.run(jobs.fail_on, [(n, 2) for n in range(4)], seconds=60))
    assert answers[2] == Lost("it cannot be looked into (RuntimeError: as asked)")


def test_progress_goes_up_and_a_job_tells_of_its_own(crew: Workers) -> None:
    seen: list[float] = []
    dict(crew.run(jobs.double, [(n,) for n in range(20)], seconds=60, progress=seen.append))
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)
    told: list[float] = []
    assert dict(crew.run(jobs.counting, [(50,)], seconds=60, progress=told.append)) == {0: 50}
    assert any(0 < share < 1 for share in told)


def test_cancel_ends_what_runs(crew: Workers) -> None:
    calls = 0

    def stop(share: float) -> None:
        nonlocal calls
        calls += 1
        if calls > 3:
            raise Cancelled

    with pytest.raises(Cancelled):
        # none of them would ever end by itself
        list(crew.run(jobs.hang_on, [(n, n) for n in range(8)], seconds=3600, progress=stop))
    assert dict(crew.run(jobs.double, [(4,)], seconds=60)) == {0: 8}


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux bounds the address space of a process")
def test_memory_is_bounded() -> None:
    with Workers(1, Limits(memory_bytes=500_000_000)) as small:
        answers = dict(small.run(jobs.eat, [(8_000_000_000,), (1000,)], seconds=60))
    assert answers == {0: Lost("there is not enough memory for it"), 1: 1000}


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no bound on files that a process writes")
def test_a_worker_writes_no_file(tmp_path: Path) -> None:
    with Workers(1) as one:
        answer = dict(one.run(jobs.write, [(str(tmp_path / "x"),)], seconds=60))[0]
    assert isinstance(answer, Lost)
    assert not (tmp_path / "x").exists() or (tmp_path / "x").stat().st_size == 0


def test_the_caller_keeps_its_signals() -> None:
    def mine(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, mine)
    try:
        with Workers(1) as one:
            dict(one.run(jobs.eat, [(1000,)], seconds=60))
            assert signal.getsignal(signal.SIGINT) is mine
        assert signal.getsignal(signal.SIGINT) is mine
    finally:
        signal.signal(signal.SIGINT, before)


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="the C library of GNU alone is told to")
def test_memory_of_one_picture_is_kept_for_the_next() -> None:
    with Workers(1) as one:
        _, *later = dict(one.run(jobs.pages_of, [(24 << 20,)] * 4, seconds=60)).values()
    # 24 MB are 6,144 pages of 4 KB
    assert max(later) < 600
