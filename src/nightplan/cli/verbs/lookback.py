# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan lookback``: planned against actual over past projects, and what it means for a new one."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import Any

from nightplan.actions.lookback import QUESTIONS, accept, file_answers, proposals
from nightplan.actions.lookback_leaving import leave_pictures, leave_table
from nightplan.cli import lookback_values, options
from nightplan.cli.context import GOOD, Context
from nightplan.cli.writing import change_file
from nightplan.engine.lookback import Prior, look_back
from nightplan.engine.lookback_scores import scores
from nightplan.files.library import Library
from nightplan.files.store import load
from nightplan.model.errors import BadInput, shorten
from nightplan.model.project import Project
from nightplan.model.results_lookback import Facts, Proposal
from nightplan.speech import tr

HELP = tr("Hold what past projects took against what was planned, and say how honest the odds were.")

_PRIOR = {
    "ratio": tr("items are taken to need so many times their likely hours before anything is known (1)"),
    "worth": tr("and that counts like so many finished items (3)"),
    "spread": tr("standard deviation of ln(actual/likely) before anything is known (0.4)"),
    "spread-worth": tr("and that counts like so many finished items (4)"),
    "evenings": tr("the promised chance of an evening counts like so many evenings (6)"),
    "correlation": tr("how alike the items of one project are (0.3)"),
}


def positive(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(tr("{text} is no number", text=shorten(text)))
    return value


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("paths", nargs="+", metavar="PATH", help=tr("project files, or folders that hold them"))
    parser.add_argument(
        "--as-of", type=options.date, metavar="DATE", help=tr("which gates are past; today unless given")
    )
    parser.add_argument("--csv", metavar="FILE", help=tr("write the stages as a table"))
    parser.add_argument("--pictures", metavar="FOLDER", help=tr("write the four pictures as .svg"))
    parser.add_argument(
        "--index", metavar="FILE", help=tr("keep the index there, so that the next look back is faster")
    )
    parser.add_argument("--for", dest="project", metavar="FILE", help=tr("say what this would change in a new project"))
    parser.add_argument(
        "--accept", action="append", default=[], metavar="NAME", help=tr("accept one proposal for it; may be repeated")
    )
    parser.add_argument(
        "--answer",
        action="append",
        default=[],
        metavar="KEY=TEXT",
        help=tr("file an answer in it: {keys}", keys=", ".join(key for key, _ in QUESTIONS)),
    )
    for name, text in _PRIOR.items():
        parser.add_argument(f"--prior-{name}", type=positive, metavar="X", help=text)


def run(given: Any, context: Context) -> int:
    if given.project is None and (given.accept or given.answer):
        option = "--accept" if given.accept else "--answer"
        raise BadInput(tr("{option} needs --for FILE, the project that it is about", option=option))
    said = dict(_answer(text) for text in given.answer)
    chosen = {name: getattr(given, f"prior_{name.replace('-', '_')}") for name in _PRIOR}
    prior = Prior(**{name.replace("-", "_"): value for name, value in chosen.items() if value is not None})
    today = given.as_of or context.today()
    with Library(given.index) as library:
        library.refresh(given.paths)
        facts = library.facts(today.toordinal())
    if not facts.projects:
        if facts.skipped:
            raise BadInput(facts.skipped[0].why)
        raise BadInput(tr("{path}: there is no .nightplan file in it", path=shorten(str(given.paths[0]))))
    looks, scored = look_back(facts, prior), scores(facts.gates, facts.finishes)
    offered = None
    if given.project is not None:
        offered = _applied(given, facts, prior, said, context)
    if given.csv is not None:
        leave_table(looks, Path(given.csv))
    if given.pictures is not None:
        leave_pictures(facts, looks, scored, Path(given.pictures))
    if given.json:
        context.print_json(lookback_values.lookback_values(facts, looks, scored, prior, offered))
    else:
        from nightplan.cli.tell_lookback import tell_lookback

        tell_lookback(context.console(), facts, looks, scored, offered)
    return GOOD


def _answer(text: str) -> tuple[str, str]:
    key, sign, said = text.partition("=")
    if not sign:
        raise BadInput.at("--answer", text, tr("write KEY=TEXT, for example overran='the rig'"))
    return key, said


def _applied(given: Any, facts: Facts, prior: Prior, said: dict[str, str], context: Context) -> tuple[Proposal, ...]:
    """Accept what was named and save; what is still proposed afterwards."""
    if not given.accept and not said:
        return proposals(load(given.project), facts, prior)

    def act(project: Project) -> tuple[Project, Project]:
        for name in given.accept:
            offered = {p.id: p for p in proposals(project, facts, prior)}
            if name not in offered:
                rule = (
                    tr("one of {names} is proposed", names=", ".join(offered)) if offered else tr("nothing is proposed")
                )
                raise BadInput.at("--accept", name, rule)
            project = accept(project, offered[name], context.today())
        if said:
            project = file_answers(project, context.today(), said)
        return project, project

    project = change_file(given.project, act, context, "lookback")
    return proposals(project, facts, prior)
