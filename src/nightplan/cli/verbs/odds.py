# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan odds``: the forecast."""

from __future__ import annotations

import argparse
from typing import Any

from nightplan.cli import options, values
from nightplan.cli.context import GOOD, Context
from nightplan.engine.forecast import forecast
from nightplan.files.store import load
from nightplan.speech import tr

HELP = tr("Say how likely each gate is, when each piece of work will be done, and what it hangs on.")


def arguments(parser: argparse.ArgumentParser) -> None:
    options.add_file(parser)
    options.add_as_of(parser)
    options.add_futures(parser)


def run(given: Any, context: Context) -> int:
    project = load(given.file)
    as_of = options.as_of(given.as_of, project, context)
    found = forecast(project, as_of, futures=given.futures, seed=given.seed)
    if given.json:
        context.print_json(values.odds_values(project, found))
    else:
        from nightplan.cli.tell import tell_odds

        tell_odds(context.console(), project, found)
    return GOOD
