# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes docs/hand-in-check.md: every defect that was tried and what was said, and every good file.

    python benchmarks/defect_table.py [FILE]

Exit code 1 where a defect passes or a good file fails.
"""

from __future__ import annotations

import importlib.metadata
import sys
import tempfile
from pathlib import Path

from nightplan.brief.check import check
from nightplan.brief.findings import Report
from nightplan.brief.kinds import KINDS
from nightplan.brief.limits import LIMITS
from nightplan.brief.rules import deliverables_from_raw
from nightplan.brief.worker import Workers

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests" / "brief"))

from hand_in_cases import DEFECTS, GOOD, Case  # noqa: E402

HEAD = """# The hand-in check

`nightplan check FILE PATH…` holds files against the rules of a brief. Made by `python benchmarks/defect_table.py`.

| depth | reads |
|---|---|
| `--headers` | names and headers; the first frame of a movie |
| (usual) | also checksums, ends and tables of pictures and ZIPs; every packet of a movie, decoded to be counted |
| `--deep` | also every pixel: black, partly black, repeated frames, values that are no numbers, opaque alpha |

Headers of pictures are read in the program, by readers of its own that cannot crash; decoders run in worker processes.
Exit codes: 0 for pass, warn and your tick; 1 for fail and for what cannot be told; 2 for bad input.

A header that another source contradicts is never a pass. Frames of a movie are counted as header, duration × rate,
packets and decoded frames, and all have to agree within half a frame (where only the whole file has a duration: one
frame, and 0.1 s more with sound). Durations give way by half a frame, shapes by 0.5 %, and a size in MB is held to both
meanings. The organiser's rules decide.
"""

CANNOT = """
## What it cannot find
- Damage inside H.265, VP9, AV1 and uncompressed movies that still decodes: these streams carry no checksum unless their
  encoder was asked for one. Damage that breaks the stream is found.
- Damage inside the pixels of a baseline JPEG: about half of random damage is said by the decoder, the rest decodes to
  other pixels without a word. PNG, ZIP and most EXR compressions have checksums or fail to unpack.
- Pictures of another size inside a layered EXR: the display window of the first part counts.
- Whether a held frame is meant: repeated and black frames are warnings.
- A lit line in a black frame, where it lies between the lines that are looked at (every fourth).
- The rate of a sequence of pictures; durations of sequences use the rate that the brief gives.
- True peaks of sound; loudness is the integrated loudness of ITU-R BS.1770-5.
"""


def run(case: Case, crew: Workers) -> Report:
    with tempfile.TemporaryDirectory() as name:
        path = case.make(Path(name))
        deliverable = deliverables_from_raw([case.deliverable()])[0]
        return check(deliverable, [path], depth=case.depth, workers=crew)  # type: ignore[arg-type]


def cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def main() -> int:
    lines = [HEAD, "Limits: " + ", ".join(limits()) + ".", ""]
    versions = ", ".join(f"{n} {importlib.metadata.version(n)}" for n in ("av", "pillow", "OpenEXR", "numpy"))
    lines += [
        f"Measured with {versions}.",
        "",
        "## Kinds of rule",
        "",
        "| kind | says | example | decided by |",
        "|---|---|---|---|",
    ]
    how = {"file": "the file", "half": "the file and you", "tick": "your tick", "work": "your tick; proposed as work"}
    lines += [f"| {k.id} | {k.words} | `{k.example}` | {how[k.how]} |" for k in KINDS.values()]
    lines.append(CANNOT)
    wrong = 0
    with Workers() as crew:
        rows, bad = defects(crew)
        lines += [f"## {len(DEFECTS)} defects", "", f"False passes: {bad}.", "", *rows, ""]
        wrong += bad
        rows, bad = good(crew)
        lines += [f"## {len(GOOD)} good files", "", f"False fails: {bad}.", "", *rows]
        wrong += bad
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "docs" / "hand-in-check.md"
    target.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{target}: {len(DEFECTS)} defects, {len(GOOD)} good files, {wrong} wrong")
    return 1 if wrong else 0


def limits() -> list[str]:
    return [
        f"{LIMITS.files:,} files",
        f"{LIMITS.pixels:,} pixels of a picture",
        f"{LIMITS.picture_seconds:.0f} s for one picture and {LIMITS.movie_seconds / 60:.0f} minutes for one movie",
        f"{LIMITS.memory_bytes / 1e9:.0f} GB of memory for a worker (Linux)",
        f"a ZIP that unpacks to more than {LIMITS.unpacked_ratio:.0f} times its size is refused",
    ]


def defects(crew: Workers) -> tuple[list[str], int]:
    rows = ["| of | defect | depth | verdict | measured | wanted | repair |", "|---|---|---|---|---|---|---|"]
    bad = 0
    for case in DEFECTS:
        report = run(case, crew)
        named = [f for f in report.findings if (f.kind, f.verdict) == case.said]
        if not named or report.verdict == "pass":
            bad += 1
            rows.append(f"| {case.what} | {case.name} | {case.depth} | **{report.verdict}** | | | |")
            continue
        f = named[0]
        columns = (case.what, case.name, case.depth, f.verdict, f.measured, f.wanted, f.repair)
        rows.append("| " + " | ".join(cell(c) for c in columns) + " |")
    return rows, bad


def good(crew: Workers) -> tuple[list[str], int]:
    rows = ["| of | file | depth | rules | verdict |", "|---|---|---|---|---|"]
    bad = 0
    for case in GOOD:
        report = run(case, crew)
        bad += report.verdict != "pass"
        kinds = ", ".join(dict.fromkeys(r["kind"] for r in case.rules))
        rows.append(f"| {case.what} | {cell(case.name)} | {case.depth} | {kinds} | {report.verdict} |")
    return rows, bad


if __name__ == "__main__":
    raise SystemExit(main())
