# SPDX-License-Identifier: GPL-3.0-or-later
"""What the Look back page computes off the window's thread."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from nightplan.engine.lookback import Prior, look_back
from nightplan.engine.lookback_scores import scores
from nightplan.files.library import Library
from nightplan.model.results_lookback import Facts, LookBack, Scores


@dataclass(frozen=True)
class Answer:
    """One look at the library, put together off the window's thread."""

    facts: Facts
    looks: LookBack
    scores: Scores


def look(
    index: Path,
    how: str,
    folders: list[str],
    today: dt.date,
    prior: Prior,
    shown: bool,
    progress: Callable[[float], None],
) -> Answer | None:
    """From the index as it is (``known``), after reading what has changed (``read``), or all anew (``rebuild``).

    None where nothing has changed and what the index says is ``shown`` already.
    """
    with Library(index, ours=True) as library:
        if how == "rebuild":
            library.rebuild(folders, progress)
        elif how == "read":
            changed = library.refresh(folders, progress)
            if shown and not changed.read and not changed.gone:
                return None
        facts = library.facts(today.toordinal())
    return Answer(facts, look_back(facts, prior), scores(facts.gates, facts.finishes))
