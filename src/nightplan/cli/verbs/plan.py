# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan plan``: which evening does what."""

from __future__ import annotations

import argparse
from typing import Any

from nightplan.cli import options, values
from nightplan.cli.context import GOOD, Context
from nightplan.engine.plan import plan
from nightplan.files.store import load
from nightplan.speech import tr

HELP = tr("Show which evening does what.")


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    options.add_as_of(parser)


def run(given: Any, context: Context) -> int:
    project = load(given.file)
    planned = plan(project, options.as_of(given.as_of, project, context))
    if given.json:
        context.print_json(values.plan_values(project, planned))
    else:
        from nightplan.cli.tell import tell_plan

        tell_plan(context.console(), project, planned)
    return GOOD
