# SPDX-License-Identifier: GPL-3.0-or-later
"""The ways back for people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from nightplan.cli import words
from nightplan.engine.watch import warnings
from nightplan.model.project import Project
from nightplan.model.results_recovery import Recovery

if TYPE_CHECKING:
    from rich.console import Console


def tell_recovery(console: Console, project: Project, found: Recovery) -> None:
    """The answer in words, then every move with its odds, hours and cost."""
    from rich.table import Table

    console.print(words.marked(found.words))
    if found.moves:
        chosen = {m.id for m in found.combination.moves}
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
        table.add_column("one by one")
        for gate in found.before:
            table.add_column(words.marked(project.gates_by_id[gate].name), justify="right")
        table.add_column("won", justify="right", no_wrap=True)
        for v in found.moves:
            mark = "[bold]+[/] " if v.move.id in chosen else ""
            table.add_row(
                f"{mark}{words.marked(v.move.what)}\n[dim]{words.marked(v.move.cost)}[/]",
                *(f"{found.before[g] * 100:.0f} → {v.odds[g] * 100:.0f}" for g in found.before),
                words.hours(v.hours_won),
            )
        console.print(table)
        if chosen:
            console.print("+ belongs to the combination.")
    for warning in warnings(project, found.as_of):
        console.print(f"Watch: {words.marked(warning.reason)}; {words.marked(warning.remedy)}.")
    console.print(
        f"The same {found.futures} futures value every move, so a difference is the move's. "
        "Sleep is no buffer: no evening here ends after your bedtime."
    )
