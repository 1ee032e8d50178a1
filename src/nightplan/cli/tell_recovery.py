# SPDX-License-Identifier: GPL-3.0-or-later
"""The ways back for people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nightplan.cli import words
from nightplan.engine.watch import warnings
from nightplan.model.project import Project
from nightplan.model.results_recovery import Recovery
from nightplan.speech import tr
from nightplan.speech.words import per_100

if TYPE_CHECKING:
    from rich.console import Console


def tell_recovery(console: Console, project: Project, found: Recovery) -> None:
    """The answer in words, then every move with its odds, hours and cost."""
    from rich.table import Table

    console.print(words.marked(found.words))
    if found.moves:
        chosen = {m.id for m in found.combination.moves}
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column(tr("one by one"))
        for gate in found.before:
            table.add_column(words.marked(project.gates_by_id[gate].name), justify="right")
        # translators: hours that a way back wins, above their column
        table.add_column(tr("won"), justify="right", no_wrap=True)
        for v in found.moves:
            mark = "[bold]+[/] " if v.move.id in chosen else ""
            table.add_row(
                f"{mark}{words.marked(v.move.what)}\n[dim]{words.marked(v.move.cost)}[/]",
                *(f"{per_100(found.before[g])} → {per_100(v.odds[g])}" for g in found.before),
                words.hours(v.hours_won),
            )
        console.print(table)
        if chosen:
            console.print(tr("+ belongs to the combination."))
    for warning in warnings(project, found.as_of):
        console.print(
            tr("Watch: {reason}; {remedy}.", reason=words.marked(warning.reason), remedy=words.marked(warning.remedy))
        )
    console.print(
        tr(
            "The same {futures} futures value every move, so a difference is the move's. "
            "Sleep is no buffer: no evening here ends after your bedtime.",
            futures=found.futures,
        )
    )
