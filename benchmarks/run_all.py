# SPDX-License-Identifier: GPL-3.0-or-later
"""Every benchmark, one table: ``python benchmarks/run_all.py [--quick] [--only NAME] [--write]``.

Each benchmark runs in a process of its own; what it prints goes to standard error while it works, its rows into the
table. ``--write`` puts the table into docs/speed.md. Exit code 1 where a limit is passed or a benchmark broke.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from speed_rows import Row, lines, machine

HERE = Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "speed.md"
BEGIN, END = "<!-- table -->\n", "<!-- end of the table -->\n"
#: in the order of the table
BENCHMARKS = ("desk", "engine", "recover", "strip", "check", "lookback", "nights")
AREAS = ("start-up", "odds", "recover", "tick", "strip painting", "check", "look-back", "nights", "memory")


def measured(name: str, quick: bool, folder: Path) -> list[Row] | None:
    """Rows of one benchmark; None where it broke."""
    path = folder / f"{name}.json"
    command = [sys.executable, str(HERE / f"bench_{name}.py"), "--rows", str(path), *(["--quick"] if quick else [])]
    print(f"== {name}", file=sys.stderr, flush=True)
    begun = time.perf_counter()
    subprocess.run(command, stdout=sys.stderr, check=False)
    print(f"   ({time.perf_counter() - begun:.0f} s)", file=sys.stderr, flush=True)
    if not path.exists():
        return None
    return [Row(**row) for row in json.loads(path.read_text(encoding="utf-8"))]


def page_with(text: str, table: str) -> str:
    """The page with this table between its two marks."""
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"the page lacks {BEGIN.strip()} or {END.strip()}")
    return f"{before}{BEGIN}{table}{END}{after}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="fewer and smaller rounds: some minutes less, less steady")
    parser.add_argument("--only", action="append", choices=BENCHMARKS, metavar="NAME", help=", ".join(BENCHMARKS))
    parser.add_argument("--write", action="store_true", help="put the table into docs/speed.md")
    given = parser.parse_args()
    if given.write and (given.only or given.quick):
        parser.error("--write takes the whole table, not a quick or a part of it")
    rows: list[Row] = []
    broken = []
    with tempfile.TemporaryDirectory() as folder:
        for name in given.only or BENCHMARKS:
            found = measured(name, given.quick, Path(folder))
            rows += found or []
            broken += [name] if found is None else []
    rows.sort(key=lambda row: AREAS.index(row.area))
    table = "\n".join([f"Measured on {machine()}.", "", *lines(rows)]) + "\n"
    print(table)
    for name in broken:
        print(f"BROKEN: bench_{name}.py", file=sys.stderr)
    if given.write and not broken:
        PAGE.write_text(page_with(PAGE.read_text(encoding="utf-8"), table), encoding="utf-8")
        print(f"written into {PAGE.name}")
    return 1 if broken or any(not row.good for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
