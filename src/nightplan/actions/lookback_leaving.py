# SPDX-License-Identifier: GPL-3.0-or-later
"""What of a look back leaves the program: the table by stage, the four pictures."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from nightplan.exports.lookback_table import stages_table
from nightplan.exports.tables import csv_text
from nightplan.files.store import write_atomically
from nightplan.model.errors import BadInput
from nightplan.model.results_lookback import Facts, LookBack, Scores
from nightplan.speech import tr


def leave_table(looks: LookBack, path: Path) -> None:
    """Write the stages as CSV (RFC 4180). Raises FilesError where the file cannot be written."""
    write_atomically(path, csv_text(stages_table(looks)).encode("utf-8"))


def leave_pictures(
    facts: Facts,
    looks: LookBack,
    scores: Scores,
    folder: Path,
    ending: str = ".svg",
    progress: Callable[[float], None] = lambda share: None,
) -> list[Path]:
    """Write the four pictures into a folder, made where it is missing; their paths.

    Args:
        ending: .svg, .png or .pdf.
        progress: called with 0 to 1; may raise Cancelled between two pictures.

    Raises:
        BadInput: the folder cannot be made or a file not written.
    """
    from nightplan.exports.lookback_figures import figures
    from nightplan.exports.save import save_figure

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(
            tr("{folder}: no folder can be made there ({fault})", folder=folder, fault=error.strerror)
        ) from None
    written = []
    made = figures(facts, looks, scores)
    for n, (name, figure) in enumerate(made.items()):
        progress(n / len(made))
        save_figure(figure, folder / f"{name}{ending}")
        written.append(folder / f"{name}{ending}")
    return written
