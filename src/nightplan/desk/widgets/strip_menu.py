# SPDX-License-Identifier: GPL-3.0-or-later
"""What can be done to an evening and to the work in it: labels, and the actions behind them. No Qt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from nightplan.actions import edit, evening, tick
from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.strip_model import Block, Column
from nightplan.desk.words import spoken
from nightplan.model.project import Project
from nightplan.speech import tr

#: one step of longer and shorter
STEP_HOURS = 0.5


@dataclass(frozen=True)
class Choice:
    """One line of a menu.

    ``change`` makes the new project (it may raise BadInput); None where the line cannot be chosen now,
    and ``why`` says why.
    """

    key: str
    text: str
    label: str = ""
    change: Callable[[Project], Project] | None = None
    why: str = ""
    #: begins a new group
    group: bool = False


def evening_choices(project: Project, column: Column) -> list[Choice]:
    """What can be said about an evening."""
    on, day = column.date, words.day(column.date)
    if column.logged or column.status == "worked":
        return [
            Choice(
                "forget",
                tr("&Forget what is logged for {day}", day=day),
                tr("Forget the log of {day}", day=day),
                lambda p: tick.forget(p, on),
            )
        ]
    if column.status == "unlogged":
        return [
            Choice(
                "missed",
                tr("It did &not happen"),
                tr("Log {day} as missed", day=day),
                lambda p: tick.tick(p, tick.Evening(on, missed=True)),
            ),
            Choice("log", tr("&Log what was done…")),
        ]
    if column.status in ("off", "lost"):
        word = "off" if column.status == "off" else "lost"
        return [
            Choice(
                "on",
                tr("&Work this evening after all (not {state})", state=word),
                tr("{day} counts again", day=day),
                lambda p: evening.mark_on(p, on),
            )
        ]
    if column.status == "busy":
        return [Choice("busy", tr("Taken by the calendar"), why=tr("Change it in the calendar and import that again."))]
    choices = [
        Choice("sure", tr("&Sure: I will work"), tr("{day} is sure", day=day), lambda p: evening.mark_sure(p, on))
        if column.maybe
        else Choice("sure", tr("&Sure: I will work"), why=tr("It is sure already.")),
        Choice("maybe", tr("&Maybe"), tr("{day} is maybe", day=day), lambda p: evening.mark_maybe(p, on))
        if not column.maybe
        else Choice("maybe", tr("&Maybe"), why=tr("It is maybe already.")),
        Choice(
            "lost", tr("&Lost: it will not happen"), tr("{day} is lost", day=day), lambda p: evening.mark_lost(p, on)
        ),
        Choice("off", tr("Day &off"), tr("{day} is off", day=day), lambda p: evening.mark_off(p, on)),
        Choice(
            "longer",
            tr("30 minutes lon&ger"),
            tr("{day} 30 minutes longer", day=day),
            lambda p: evening.lengthen(p, on, STEP_HOURS),
            group=True,
        ),
    ]
    if column.hours > STEP_HOURS:
        choices.append(
            Choice(
                "shorter",
                tr("30 minutes s&horter"),
                tr("{day} 30 minutes shorter", day=day),
                lambda p: evening.lengthen(p, on, -STEP_HOURS),
            )
        )
    if any(e.on == on and e.start == column.start for e in project.extra):
        start = column.start
        choices.append(
            Choice(
                "remove",
                tr("&Remove this added evening"),
                tr("Remove {day}", day=day),
                lambda p: evening.remove_extra(p, on, start),
            )
        )
    return choices


def work_choices(project: Project, block: Block) -> list[Choice]:
    """What can be said about a piece of work: its place in the artist's order, among its stage and among the stages."""
    if block.item not in project.items or block.logged:
        return []
    item, stage = block.item, project.stage_of[block.item]
    order = [i.id for i in stage.items]
    stages = [s.id for s in project.stages]
    here, at = order.index(item), stages.index(stage.id)
    name = project.items[item].name
    choices = [
        _move(
            "earlier",
            tr("Do {item} &earlier", item=name),
            here > 0,
            tr("It is the first in {stage}.", stage=stage.name),
            item,
            -1,
        ),
        _move(
            "later",
            tr("Do {item} la&ter", item=name),
            here < len(order) - 1,
            tr("It is the last in {stage}.", stage=stage.name),
            item,
            1,
        ),
    ]
    if len(stages) > 1:
        choices += [
            _move_stage(
                "stage-earlier",
                tr("Do {stage} ear&lier", stage=stage.name),
                at > 0,
                tr("It is the first stage."),
                stage.id,
                -1,
            ),
            _move_stage(
                "stage-later",
                tr("Do {stage} late&r", stage=stage.name),
                at < len(stages) - 1,
                tr("It is the last stage."),
                stage.id,
                1,
            ),
        ]
    return choices


def _move(key: str, text: str, can: bool, why: str, item: str, step: int) -> Choice:
    if not can:
        return Choice(key, text, why=why)
    return Choice(key, text, spoken(text), lambda p: edit.move_item(p, item, step))


def _move_stage(key: str, text: str, can: bool, why: str, stage: str, step: int) -> Choice:
    if not can:
        return Choice(key, text, why=why)
    return Choice(key, text, spoken(text), lambda p: edit.move_stage(p, stage, step))
