# SPDX-License-Identifier: GPL-3.0-or-later
"""Project files and calendars that were made wrong: each is read, and what can be read is planned and shown.

``python benchmarks/bench_reliability_hostile.py [--small] [--seed N] [--only project|calendar] [--case N]``

Each case runs in a worker process: 500 MB of memory in all, 2 s of processor time for each answer (the
file read; each verb), 60 s by the clock. What
comes out must be an answer or one sentence. A case that fails is saved beside the figures, and
``--case N`` runs it again alone.
"""

from __future__ import annotations

import argparse
import contextlib
import datetime as dt
import faulthandler
import io
import json
import multiprocessing
import multiprocessing.connection
import os
import re
import sys
import tempfile
import time
import traceback
import unicodedata
import warnings
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

SECONDS, MEGABYTES, CLOCK_SECONDS = 2.0, 500, 60.0
FULL = {"project": 20_000, "calendar": 5_000}
SMALL = {"project": 60, "calendar": 30}
FUTURES = "64"
#: items and jobs; the search for the cheapest ways back is exact, tells how far it is and can be stopped
MOST_FOR_RECOVER = 60
#: a verb for a case, beside plan and odds
VERBS: tuple[tuple[str, ...], ...] = (
    ("recover", "FILE", "--futures", FUTURES),
    ("nights", "FILE", "--futures", FUTURES),
    ("lookback", "FILE"),
    ("plan", "FILE", "--json"),
    ("odds", "FILE", "--json", "--futures", FUTURES),
    ("export", "FILE", "--to", "OUT.ics", "--futures", FUTURES),
    ("export", "FILE", "--to", "OUT.csv", "--futures", FUTURES),
    ("export", "FILE", "--to", "OUT.md", "--futures", FUTURES),
    ("tick", "FILE", "--hours", "1"),
)


class Wrong(Exception):
    """What a case did that it must not do."""


def run_project(data: bytes, number: int, folder: Path) -> str:
    """Read one project file and, where it can be read, plan it and show it. Returns how it went; raises Wrong."""
    from nightplan.files.store import dumps, parse
    from nightplan.model.errors import BadInput

    path = folder / "case.nightplan"
    path.write_bytes(data)
    try:
        with _in_time("reading"):
            project = parse(data, path.name)
    except BadInput as error:
        _sentence(error.sentence)
        return "refused"
    text = dumps(project)
    if dumps(parse(text.encode("utf-8"), path.name)) != text:
        raise Wrong("it is written in another way than it is read")
    answers = 0
    third = VERBS[number % len(VERBS)]
    if third[0] == "recover" and len(project.items) + len(project.jobs) > MOST_FOR_RECOVER:
        third = VERBS[-1]
    for verb in (("plan", "FILE"), ("odds", "FILE", "--futures", FUTURES), third):
        answers += _verb(verb, path, folder, project.announced) < 2
    return "shown" if answers else "read, not planned"


def _verb(verb: tuple[str, ...], path: Path, folder: Path, day: dt.date) -> int:
    from nightplan.cli.context import Context
    from nightplan.cli.main import main

    words = [w.replace("FILE", str(path)).replace("OUT", str(folder / "out")) for w in verb]
    out, err = io.StringIO(), io.StringIO()
    noon = dt.datetime.combine(day, dt.time(12), dt.UTC)
    with _in_time(verb[0]):
        code = main(words, out, err, Context(out, lambda: day, False, lambda: noon))
    said = out.getvalue() + err.getvalue()
    if code not in (0, 1, 2):
        raise Wrong(f"{verb[0]} ends with {code}: {err.getvalue()}")
    if code == 2:
        _sentence(err.getvalue())
    steering = {c for c in said if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co") and c != "\n"}
    if "--json" in verb:
        json.loads(out.getvalue() or "null")
        steering -= {c for c in steering if unicodedata.category(c) != "Cc"}
    if steering:
        raise Wrong(f"{verb[0]} writes characters that steer a terminal: {sorted(map(ascii, steering))}")
    return code


#: the slowest answer of the case that runs
_slowest = 0.0


@contextlib.contextmanager
def _in_time(what: str) -> Iterator[None]:
    global _slowest
    begun = time.process_time()
    try:
        yield
    finally:
        seconds = time.process_time() - begun
        _slowest = max(_slowest, seconds)
    if seconds > SECONDS:
        raise Wrong(f"{what} takes {seconds:.1f} s of processor time")


def _sentence(text: str) -> None:
    if not text.strip() or len(text) > 2_000 or "Traceback" in text:
        raise Wrong(f"not one sentence: {text[:300]!r}")


def run_calendar(data: bytes, number: int, folder: Path) -> str:
    """Take busy times out of one calendar into a sample project. Returns how it went; raises Wrong."""
    from nightplan.actions.busy import import_busy
    from nightplan.engine.plan import plan
    from nightplan.files.data import SAMPLES, data_folder
    from nightplan.files.store import dumps, load, parse
    from nightplan.model.errors import BadInput

    project = load(data_folder("sample_projects") / f"{SAMPLES[number % len(SAMPLES)]}.nightplan")
    try:
        with _in_time("reading"):
            found = import_busy(project, data, "case.ics")
        for one in found.left_out[:50]:
            _sentence(f"{one.what} {one.reason}")
        plan(found.project, found.project.announced)
    except BadInput as error:
        _sentence(error.sentence)
        return "refused"
    text = dumps(found.project)
    if dumps(parse(text.encode("utf-8"), "case.nightplan")) != text:
        raise Wrong("it is written in another way than it is read")
    return "shown"


RUNS = {"project": run_project, "calendar": run_calendar}


def case_bytes(kind: str, seed: int, number: int) -> bytes:
    import hostile_cases

    make = {"project": hostile_cases.project_bytes, "calendar": hostile_cases.calendar_bytes}[kind]
    return make(seed, number)


# ---- one worker ----------------------------------------------------------------------------------
def _peak_megabytes() -> float:
    """The most memory that this process held since :func:`_forget_peak`; 0 where the system does not say."""
    try:
        found = re.search(r"VmHWM:\s*(\d+) kB", Path("/proc/self/status").read_text())
    except OSError:
        return 0.0
    return int(found[1]) / 1000 if found else 0.0


def _forget_peak() -> None:
    with contextlib.suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _bounded_memory() -> None:
    """A second line: what asks for far too much at once is told that there is none."""
    try:
        import resource

        status = Path("/proc/self/status").read_text()
    except (ImportError, OSError):
        return
    mapped = re.search(r"VmSize:\s*(\d+) kB", status)
    if mapped:
        limit = int(mapped[1]) * 1024 + MEGABYTES * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))


def run_case(kind: str, seed: int, number: int, folder: Path) -> dict[str, Any]:
    """One case with what it took."""
    try:
        data = case_bytes(kind, seed, number)
    except Exception:
        return {"n": number, "outcome": "not made", "seconds": 0.0, "peak": 0.0, "wrong": traceback.format_exc()}
    _forget_peak()
    global _slowest
    _slowest = 0.0
    wrong = ""
    outcome = "failed"
    try:
        outcome = RUNS[kind](data, number, folder)
    except Wrong as error:
        wrong = f"{error}\n{_log(folder)}"
    except Exception:
        wrong = traceback.format_exc()
    peak = _peak_megabytes()
    if not wrong and peak > MEGABYTES:
        wrong = f"{peak:.0f} MB"
    return {"n": number, "outcome": outcome, "seconds": _slowest, "peak": peak, "wrong": wrong}


def _log(folder: Path) -> str:
    path = folder / "log" / "faults.log"
    if not path.exists():
        return ""
    text = path.read_text("utf-8")
    path.unlink()
    return text


def work(kind: str, seed: int, numbers: list[int], results: Any, folder_text: str) -> None:
    """Cases one after the other; a case that is stuck ends the process, its stacks in ``stuck.txt``."""
    folder = Path(folder_text)
    # a warning of arithmetic that reaches the terminal is no answer
    warnings.simplefilter("error", RuntimeWarning)
    os.environ["NIGHTPLAN_LOG_DIR"] = str(folder / "log")
    # what every run loads once belongs to no case
    with contextlib.suppress(Exception):
        RUNS[kind](case_bytes(kind, seed, 0), 0, folder)
    for verb in VERBS if kind == "project" else ():
        sample = folder / "warm.nightplan"
        from nightplan.files.data import data_folder

        sample.write_bytes((data_folder("sample_projects") / "still-harbour.nightplan").read_bytes())
        _verb(verb, sample, folder, dt.date(2027, 10, 4))
    _bounded_memory()
    with (folder / "stuck.txt").open("w") as stuck:
        for number in numbers:
            results.send({"begun": number})
            faulthandler.dump_traceback_later(CLOCK_SECONDS, exit=True, file=stuck)
            found = run_case(kind, seed, number, folder)
            faulthandler.cancel_dump_traceback_later()
            results.send(found)
    results.send(None)


# ---- the run -------------------------------------------------------------------------------------
def run(kind: str, seed: int, count: int, processes: int, keep: Path) -> dict[str, Any]:
    """All cases of a kind; failing ones are saved in ``keep``."""
    context = multiprocessing.get_context("spawn")
    left = [list(range(p, count, processes)) for p in range(processes)]
    outcomes: Counter[str] = Counter()
    failed: list[dict[str, Any]] = []
    slowest = peak = 0.0
    live: dict[int, tuple[Any, Any, str]] = {}
    current: dict[int, int] = {}
    with tempfile.TemporaryDirectory(prefix="nightplan-hostile-") as base:

        def start(p: int) -> None:
            folder = Path(base) / f"{p}"
            folder.mkdir(exist_ok=True)
            mine, theirs = context.Pipe(duplex=False)
            process = context.Process(target=work, args=(kind, seed, left[p], theirs, str(folder)))
            process.start()
            theirs.close()
            live[p] = (process, mine, str(folder))

        for p in range(processes):
            start(p)
        while live:
            ready = multiprocessing.connection.wait([pipe for _, pipe, _ in live.values()])
            for p, (process, pipe, folder) in list(live.items()):
                if pipe not in ready:
                    continue
                try:
                    said = pipe.recv()
                except EOFError:
                    # the process is gone: by its own clock, for want of memory, or it fell over
                    process.join()
                    if p not in current:
                        raise SystemExit("a worker did not get to its first case") from None
                    number = current[p]
                    stacks = (Path(folder) / "stuck.txt").read_text() if (Path(folder) / "stuck.txt").exists() else ""
                    said = {
                        "n": number, "outcome": "failed", "seconds": 0.0, "peak": 0.0,
                        "wrong": f"the process ended with {process.exitcode}\n{stacks}",
                    }  # fmt: skip
                    del live[p]
                    left[p] = [n for n in left[p] if n > number]
                    if left[p]:
                        start(p)
                if said is None:
                    process.join()
                    del live[p]
                    continue
                if "begun" in said:
                    current[p] = said["begun"]
                    continue
                outcomes[said["outcome"]] += 1
                slowest, peak = max(slowest, said["seconds"]), max(peak, said["peak"])
                if said["wrong"]:
                    failed.append(said)
                    keep.mkdir(parents=True, exist_ok=True)
                    ending = "nightplan" if kind == "project" else "ics"
                    (keep / f"{kind}-{seed}-{said['n']}.{ending}").write_bytes(case_bytes(kind, seed, said["n"]))
                    print(f"{kind} {said['n']}: {said['wrong'].strip()[-1500:]}", file=sys.stderr, flush=True)
    return {
        "kind": kind, "cases": count, "outcomes": dict(outcomes), "failed": failed, "slowest": slowest, "peak": peak,
    }  # fmt: skip


def main(
    small: bool = False, seed: int = 1, only: str | None = None, processes: int = 2, count: int | None = None
) -> list[tuple[str, ...]]:
    """Rows of (what, how many, what came out, slowest, most memory, failed)."""
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    keep = Path(__file__).parent / "hostile-failed"
    rows: list[tuple[str, ...]] = []
    for kind, cases in (SMALL if small else FULL).items():
        if only not in (None, kind):
            continue
        found = run(kind, seed, count or cases, processes, keep)
        came = ", ".join(f"{n:,} {what}" for what, n in sorted(found["outcomes"].items()))
        rows.append(
            (
                f"{kind} files, made wrong",
                f"{found['cases']:,}",
                came,
                f"{found['slowest']:.2f} s",
                f"{found['peak']:.0f} MB",
                str(len(found["failed"])),
            )
        )
    return rows


HEADINGS = ("input", "cases", "what came of them", "slowest", "most memory", "failed")


def table(rows: list[tuple[str, ...]], headings: tuple[str, ...] = HEADINGS) -> str:
    """A table in Markdown."""
    lines = [headings, tuple("---" for _ in headings), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=tuple(FULL))
    parser.add_argument("--case", type=int, help="one case, here and now")
    parser.add_argument("--count", type=int, help="so many cases of each kind")
    parser.add_argument("--processes", type=int, default=2)
    return parser.parse_args()


if __name__ == "__main__":
    given = _arguments()
    if given.case is not None:
        with tempfile.TemporaryDirectory() as place:
            os.environ["NIGHTPLAN_LOG_DIR"] = os.path.join(place, "log")
            faulthandler.dump_traceback_later(CLOCK_SECONDS, exit=True)
            print(json.dumps(run_case(given.only or "project", given.seed, given.case, Path(place)), indent=1))
            sys.exit()
    made = main(given.small, given.seed, given.only, given.processes, given.count)
    print(table(made))
    sys.exit(any(row[-1] != "0" for row in made))
