# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether anything can be lost: ``python benchmarks/bench_reliability.py [--small] [--only PART] [--write]``.

Parts: saves that are killed, faults at every system call of a save, two processes that write the same
file; and, where their scripts lie beside this one, files made wrong (``hostile``) and long use (``soak``).
``--write`` puts the table into docs/reliability.md. Exit code 1 where anything was lost or broken.

Needs a system that can fork and has SIGKILL.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "reliability.md"
BEGIN, END = "<!-- table -->\n", "<!-- end of the table -->\n"
OWN = ("killed", "faults", "ticks")
BESIDE = {"hostile": "bench_reliability_hostile.py", "soak": "bench_reliability_soak.py"}
HEADINGS = ("what is done", "how often", "what came of it", "lost or broken")
Row = tuple[str, str, str, str]

# forked processes inherit no threads: arithmetic libraries may have none
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(HERE))


def killed_rows(small: bool, seed: int) -> list[Row]:
    """Saves that are killed."""
    from reliability_killed import STEPS, killed

    found = killed(25 if small else 1_000, seed)
    steps = ", ".join(f"{found['kills'][step]} {step}" for step in STEPS if step in found["kills"])
    return [
        (
            "a process is killed (SIGKILL) in the middle of a save",
            f"{sum(found['kills'].values()):,}",
            f"{found['old']} times the file as it was before the process began, {found['new']} times a newer one, "
            f"always whole ({steps})",
            str(found["broken"]),
        ),
        (
            "the next save, ten minutes later, clears away what they left",
            str(found["left"]),
            f"{found['left'] - found['leftovers']} cleared away",
            str(found["leftovers"]),
        ),
        (
            "earlier versions in the ring after all of it",
            str(found["versions"]),
            f"{found['versions'] - found['versions_damaged']} can be read",
            str(found["versions_damaged"]),
        ),
    ]


def faults_rows(small: bool, seed: int) -> list[Row]:
    """Faults at every system call."""
    from reliability_faults import NUMBERS, faults

    found = faults(small)
    for line in found["broken"]:
        print(line, file=sys.stderr)
    calls = ", ".join(sorted({name.removeprefix("builtins.") for name in found["calls"]}))
    return [
        (
            f"one system call of a save fails ({', '.join(NUMBERS)}; {calls}; whole and in parts; with and without a "
            "file there before; and a limit of the system itself)",
            str(found["cases"]),
            f"{found['refused']} refused in one clear sentence, the old file whole; {found['saved']} saved all the "
            "same, the new file whole",
            str(len(found["broken"])),
        )
    ]


def ticks_rows(small: bool, seed: int) -> list[Row]:
    """Two processes, one file."""
    from reliability_ticks import ticks

    found = ticks(3 if small else 200)
    wrong = found["lost"] + found["refused"] + found["changed"] + found["versions"]
    return [
        (
            "rounds of two processes that tick off an evening in the same file at the same moment",
            str(found["rounds"]),
            f"{found['ticks'] - found['lost']} of {found['ticks']} ticks there, every state in the ring",
            str(wrong),
        )
    ]


PARTS: dict[str, Callable[[bool, int], list[Row]]] = {
    "killed": killed_rows,
    "faults": faults_rows,
    "ticks": ticks_rows,
}


def table(rows: list[Row]) -> str:
    """A table in Markdown."""
    lines = [HEADINGS, tuple("---" for _ in HEADINGS), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


def beside(name: str, small: bool, seed: int) -> tuple[str, bool]:
    """What a script beside this one prints, and whether all was well."""
    command = [sys.executable, str(HERE / BESIDE[name]), *(["--small"] if small else [])]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=False)
    return done.stdout.strip() + "\n", done.returncode == 0


def page_with(text: str, told: str) -> str:
    """The page with this between its two marks."""
    before, begin, rest = text.partition(BEGIN)
    _old, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"the page lacks {BEGIN.strip()} or {END.strip()}")
    return f"{before}{BEGIN}{told}{END}{after}"


def main() -> int:
    there = [name for name, script in BESIDE.items() if (HERE / script).exists()]
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--small", action="store_true", help="a slice of each, for every change")
    parser.add_argument("--only", action="append", choices=(*OWN, *there), metavar="PART", help="may be repeated")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", action="store_true", help="put the tables into docs/reliability.md")
    given = parser.parse_args()
    if given.write and (given.small or given.only):
        parser.error("--write takes the whole bench, not a slice or a part of it")
    chosen = given.only or (*OWN, *there)
    rows: list[Row] = []
    for name in (n for n in OWN if n in chosen):
        print(f"== {name}", file=sys.stderr, flush=True)
        rows += PARTS[name](given.small, given.seed)
    well = all(row[-1] == "0" for row in rows)
    told = table(rows) if rows else ""
    for name in (n for n in there if n in chosen):
        print(f"== {name}", file=sys.stderr, flush=True)
        said, good = beside(name, given.small, given.seed)
        told, well = f"{told}\n{said}" if told else said, well and good
    print(told, end="")
    if given.write:
        PAGE.write_text(page_with(PAGE.read_text(encoding="utf-8"), told), encoding="utf-8")
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
