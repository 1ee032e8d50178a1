# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan check``: output files held against the brief."""

from __future__ import annotations

import argparse
import datetime as dt
import os
from collections.abc import Callable
from typing import Any

from nightplan.actions.brief_check import fitting
from nightplan.brief.asset_rules import DECIDES
from nightplan.brief.check import check
from nightplan.brief.findings import OPEN, ORDER, VERDICT_WORDS, YOURS, Depth, Report, Verdict, report_values
from nightplan.brief.gather import shown
from nightplan.brief.rules import Deliverable, deliverables_of
from nightplan.brief.titles import title_of
from nightplan.brief.worker import Workers
from nightplan.cli import options
from nightplan.cli.context import ANSWER_IS_NO, GOOD, Context
from nightplan.cli.words import plain
from nightplan.files.store import load
from nightplan.model.errors import BadInput, shorten
from nightplan.speech import tr

HELP = tr(
    "Hold output files against the rules of the brief: 0 nothing speaks against them, 1 a rule is broken or open."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    parser.add_argument("path", nargs="+", metavar="PATH", help=tr("a file, or the folder of a sequence"))
    parser.add_argument("--deliverable", metavar="ID", help=tr("which of the brief's deliverables it is"))
    depth = parser.add_mutually_exclusive_group()
    depth.add_argument(
        "--deep", action="store_true", help=tr("also look at every pixel: black, repeated, unfinished frames")
    )
    depth.add_argument("--headers", action="store_true", help=tr("only names and headers, at once"))


def run(given: Any, context: Context) -> int:
    project = load(given.file)
    deliverables = deliverables_of(project)
    if not deliverables:
        raise BadInput(
            tr(
                "{file}: the brief has no deliverables yet, so there is nothing to check against; open it with "
                "nightplan {file} and paste the rules on the page Brief",
                file=os.path.basename(given.file),
            )
        )
    jobs = _assigned(deliverables, list(given.path), given.deliverable)
    depth: Depth = "deep" if given.deep else "headers" if given.headers else "integrity"
    now = dt.datetime.combine(context.today(), dt.datetime.now().time()).astimezone()
    reports = []
    with Workers() as workers:
        for deliverable, paths in jobs:
            reports.append(
                check(
                    deliverable,
                    paths,
                    depth=depth,
                    now=now,
                    workers=workers,
                    progress=_progress(context),
                    project=project,
                )
            )
    verdict = worst([r.verdict for r in reports])
    checked = {r.deliverable for r in reports}
    left = [d for d in deliverables if d.wanted and d.id not in checked]
    if given.json:
        context.print_json(
            {
                "title": project.title,
                "verdict": verdict,
                "findings": [f for r in reports for f in _with_deliverable(r)],
                "deliverables": [{k: v for k, v in report_values(r).items() if k != "findings"} for r in reports],
                "not_checked": [d.id for d in left],
            }
        )
    else:
        tell(context, reports, left, verdict)
    return ANSWER_IS_NO if verdict in ("fail", OPEN) else GOOD


def _progress(context: Context) -> Callable[[float], None] | None:
    """A share that counts up on a terminal, and goes when it is done."""
    if not context.out.isatty():
        return None
    shown = -1

    def tell(share: float) -> None:
        nonlocal shown
        percent = int(share * 100)
        if percent != shown:
            shown = percent
            context.out.write("\r      \r" if percent >= 100 else f"\r{percent:3d} %")
            context.out.flush()

    return tell


def worst(verdicts: list[Verdict]) -> Verdict:
    return next((v for v in ORDER if v in verdicts), OPEN)


def _with_deliverable(report: Report) -> list[dict[str, Any]]:
    return [{**finding, "deliverable": report.deliverable} for finding in report_values(report)["findings"]]


def _assigned(
    deliverables: tuple[Deliverable, ...], paths: list[str], wanted: str | None
) -> list[tuple[Deliverable, list[str]]]:
    """Which paths are held against which deliverable. Raises BadInput where that is not clear."""
    known = ", ".join(d.id for d in deliverables)
    if wanted is not None:
        chosen = [d for d in deliverables if d.id == wanted]
        if not chosen:
            raise BadInput(tr("--deliverable {text}: the brief has {known}", text=shorten(wanted), known=known))
        return [(chosen[0], paths)]
    if len(deliverables) == 1:
        return [(deliverables[0], paths)]
    jobs: dict[str, list[str]] = {}
    for path in paths:
        like = fitting([d for d in deliverables if d.wanted], [path])
        # a picture may be a still or the frame of a sequence: a still, where the brief asks for one
        like = [d for d in like if d.what == "image"] or like
        if len(like) != 1:
            raise BadInput(tr("{path}: say with --deliverable which one it is: {known}", path=shown(path), known=known))
        jobs.setdefault(like[0].id, []).append(path)
    return [(d, jobs[d.id]) for d in deliverables if d.id in jobs]


_SIGNS: dict[Verdict, str] = {**VERDICT_WORDS, "pass": tr("ok"), "fail": tr("FAIL")}


def tell(context: Context, reports: list[Report], left: list[Deliverable], verdict: Verdict) -> None:
    """For people: what is wrong first, with its repair; what passes in a line each."""
    out = context.out
    for report in reports:
        out.write(plain(f"{report.name}: {VERDICT_WORDS[report.verdict]}") + "\n")
        for finding in sorted(report.findings, key=lambda f: ORDER.index(f.verdict)):
            told = f"{title_of(finding)}: {finding.measured}"
            if finding.verdict != "pass":
                told = tr("{told}; wanted: {wanted} ({where})", told=told, wanted=finding.wanted, where=finding.where)
            out.write(plain(f"  {_SIGNS[finding.verdict]:12} {told}") + "\n")
            if finding.repair:
                out.write(plain(f"               {finding.repair}") + "\n")
            if finding.breach and finding.verdict == "fail":
                out.write(plain("               " + tr("on a breach: {breach}", breach=finding.breach)) + "\n")
    for deliverable in left:
        out.write(
            plain(tr("Not checked: {deliverable} ({id})", deliverable=deliverable.name, id=deliverable.id)) + "\n"
        )
    words: dict[Verdict, str] = {
        "pass": tr("Everything that can be measured is as the brief asks."),
        "warn": tr("Nothing fails; look at the warnings."),
        YOURS: tr("Nothing fails; some rules wait for your tick."),
        OPEN: tr("Some rules could not be measured: this is no pass."),
        "fail": tr("It is not what the brief asks for."),
    }
    early = tr("Hand in early; the organiser's rules decide.")
    out.write(f"{words[verdict]} {early}\n")
    if any(f.kind == "licence" or f.kind in DECIDES for r in reports for f in r.findings):
        out.write(tr("About licences: help, not legal advice.") + "\n")
