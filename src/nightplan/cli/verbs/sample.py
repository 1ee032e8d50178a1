# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan sample``: copy the sample projects and show the first."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from nightplan.actions.second_opinion import second_opinion
from nightplan.actions.today import as_it_stands
from nightplan.cli.context import GOOD, Context
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.files.data import SAMPLES, data_folder
from nightplan.files.errors import cannot_save
from nightplan.files.store import SUFFIX, load, write_atomically
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr

HELP = tr("Copy the sample projects and open the first; without a screen, print its plan and write a report.")


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "dir",
        nargs="?",
        default="nightplan-samples",
        metavar="DIR",
        help=tr("where to; ./nightplan-samples unless given"),
    )
    parser.add_argument("--no-window", action="store_true", help=tr("print the plan also where a screen is there"))


def run(given: Any, context: Context) -> int:
    folder = Path(given.dir)
    copied, kept = _copy(folder)
    first = folder / f"{SAMPLES[0]}{SUFFIX}"
    if context.has_screen and context.out.isatty() and not given.json and not given.no_window:
        from nightplan.cli.desk import open_desk

        try:
            return open_desk(str(first), context)
        except BadInput as error:
            sys.stderr.write(f"nightplan: {error.sentence}\n")
    project = load(first)
    # a sample is shown on the day on which it stands, whatever the calendar on the wall says
    day = as_it_stands(project)
    planned, found = plan(project, day), forecast(project, day)
    report = folder / "report.html"
    if given.json:
        from nightplan.cli import values

        _report(project, found, planned, report)
        context.print_json(
            {
                "copied": [str(p) for p in copied],
                "kept": [str(p) for p in kept],
                "report": str(report),
                "plan": values.plan_values(project, planned),
                "odds": values.odds_values(project, found),
            }
        )
        return GOOD
    from nightplan.cli.tell import tell_odds, tell_plan

    console = context.console()
    tell_plan(console, project, planned)
    console.print()
    tell_odds(console, project, found)
    console.print()
    _report(project, found, planned, report)
    lines = [tr("Samples: {files}", files=", ".join(str(p) for p in (*copied, *kept)))]
    if kept:
        lines.append(tr("Files that were there already were left as they are."))
    lines.append(tr("Report with charts: {file}", file=report))
    lines.append(tr("Open a sample with: {command}", command=f"nightplan {first}"))
    context.out.writelines(f"{line}\n" for line in lines)
    return GOOD


def _report(project: Project, found: Forecast, planned: Plan, path: Path) -> None:
    # after the plan: charts take a second to load
    from nightplan.exports.report import write_report

    write_report(project, found, planned, path, earned=second_opinion(project, found.as_of))


def _copy(folder: Path) -> tuple[list[Path], list[Path]]:
    """Copy every sample that is not there yet; what was copied, and what was kept as it is."""
    copied, kept = [], []
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise cannot_save(folder, error) from None
    for name in SAMPLES:
        target = folder / f"{name}{SUFFIX}"
        if target.exists():
            kept.append(target)
            continue
        write_atomically(target, (data_folder("sample_projects") / target.name).read_bytes())
        copied.append(target)
    return copied, kept
