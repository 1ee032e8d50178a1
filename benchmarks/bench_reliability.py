# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether anything can be lost: ``python benchmarks/bench_reliability.py [--small] [--only PART] [--write]``.

Parts: saves that are killed, faults at every system call of a save, two processes that write the same
file; and, where their scripts lie beside this one, files made wrong (``hostile``) and long use (``soak``).
``--write`` puts the tables into docs/reliability.md, with ``--only hostile`` or ``--only soak`` just that one.
Exit code 1 where anything was lost or broken.

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
    whole = "neither of them" if found["broken"] else "always whole"
    steps = ", ".join(f"{found['kills'][step]} {step}" for step in STEPS if step in found["kills"])
    return [
        (
            "a process is killed (SIGKILL) in the middle of a save",
            f"{sum(found['kills'].values()):,}",
            f"{found['old']} times the file as it was before the process began, {found['new']} times a newer one, "
            f"{whole} ({steps})",
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
    from reliability_faults import faults

    found = faults(small)
    for line in found["broken"]:
        print(line, file=sys.stderr)
    calls = ", ".join(sorted({name.removeprefix("builtins.") for name in found["calls"]}))
    numbers = ", ".join(found["numbers"])
    return [
        (
            f"one system call of a save fails ({numbers}; {calls}; whole and in parts; with and without a "
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


def page_with(text: str, name: str, told: str) -> str:
    """The page with this between the two marks of a table."""
    marks = f"<!-- table: {name} -->\n", f"<!-- end of table: {name} -->\n"
    before, begin, rest = text.partition(marks[0])
    _old, end, after = rest.partition(marks[1])
    if not begin or not end:
        raise ValueError(f"the page lacks {marks[0].strip()} or {marks[1].strip()}")
    return f"{before}{begin}{told}{end}{after}"


def main() -> int:
    there = [name for name, script in BESIDE.items() if (HERE / script).exists()]
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--small", action="store_true", help="a slice of each, for every change")
    parser.add_argument("--only", action="append", choices=(*OWN, *there), metavar="PART", help="may be repeated")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", action="store_true", help="put the tables into docs/reliability.md")
    given = parser.parse_args()
    chosen = given.only or (*OWN, *there)
    some = [name for name in OWN if name in chosen]
    if given.write and (given.small or len(some) not in (0, len(OWN))):
        parser.error(f"--write takes no slice, and {', '.join(OWN)} together")
    rows: list[Row] = []
    for name in some:
        print(f"== {name}", file=sys.stderr, flush=True)
        rows += PARTS[name](given.small, given.seed)
    well = all(row[-1] == "0" for row in rows)
    tables = {"saves": table(rows)} if rows else {}
    for name in (n for n in there if n in chosen):
        print(f"== {name}", file=sys.stderr, flush=True)
        tables[name], good = beside(name, given.small, given.seed)
        well = well and good
    print("\n".join(tables.values()), end="")
    for name, told in tables.items() if given.write else ():
        PAGE.write_text(page_with(PAGE.read_text(encoding="utf-8"), name, told), encoding="utf-8")
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
