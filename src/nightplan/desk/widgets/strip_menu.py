# SPDX-License-Identifier: GPL-3.0-or-later
"""What can be done to an evening and to the work in it: labels, and the actions behind them. No Qt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from nightplan.actions import edit, evening, tick
from nightplan.desk.widgets import strip_words as words
from nightplan.desk.widgets.strip_model import Block, Column
from nightplan.model.project import Project

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
                f"&Forget what is logged for {day}",
                f"Forget the log of {day}",
                lambda p: tick.forget(p, on),
            )
        ]
    if column.status == "unlogged":
        return [
            Choice(
                "missed",
                "It did &not happen",
                f"Log {day} as missed",
                lambda p: tick.tick(p, tick.Evening(on, missed=True)),
            ),
            Choice("log", "&Log what was done…"),
        ]
    if column.status in ("off", "lost"):
        word = "off" if column.status == "off" else "lost"
        return [
            Choice(
                "on",
                f"&Work this evening after all (not {word})",
                f"{day} counts again",
                lambda p: evening.mark_on(p, on),
            )
        ]
    if column.status == "busy":
        return [Choice("busy", "Taken by the calendar", why="Change it in the calendar and import that again.")]
    choices = [
        Choice("sure", "&Sure: I will work", f"{day} is sure", lambda p: evening.mark_sure(p, on))
        if column.maybe
        else Choice("sure", "&Sure: I will work", why="It is sure already."),
        Choice("maybe", "&Maybe", f"{day} is maybe", lambda p: evening.mark_maybe(p, on))
        if not column.maybe
        else Choice("maybe", "&Maybe", why="It is maybe already."),
        Choice("lost", "&Lost: it will not happen", f"{day} is lost", lambda p: evening.mark_lost(p, on)),
        Choice("off", "Day &off", f"{day} is off", lambda p: evening.mark_off(p, on)),
        Choice(
            "longer",
            "30 minutes lon&ger",
            f"{day} 30 minutes longer",
            lambda p: evening.lengthen(p, on, STEP_HOURS),
            group=True,
        ),
    ]
    if column.hours > STEP_HOURS:
        choices.append(
            Choice(
                "shorter",
                "30 minutes s&horter",
                f"{day} 30 minutes shorter",
                lambda p: evening.lengthen(p, on, -STEP_HOURS),
            )
        )
    if any(e.on == on and e.start == column.start for e in project.extra):
        start = column.start
        choices.append(
            Choice(
                "remove", "&Remove this added evening", f"Remove {day}", lambda p: evening.remove_extra(p, on, start)
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
        _move("earlier", f"Do {name} &earlier", here > 0, f"It is the first in {stage.name}.", item, -1),
        _move("later", f"Do {name} la&ter", here < len(order) - 1, f"It is the last in {stage.name}.", item, 1),
    ]
    if len(stages) > 1:
        choices += [
            _move_stage("stage-earlier", f"Do {stage.name} ear&lier", at > 0, "It is the first stage.", stage.id, -1),
            _move_stage(
                "stage-later", f"Do {stage.name} late&r", at < len(stages) - 1, "It is the last stage.", stage.id, 1
            ),
        ]
    return choices


def _move(key: str, text: str, can: bool, why: str, item: str, step: int) -> Choice:
    if not can:
        return Choice(key, text, why=why)
    return Choice(key, text, text.replace("&", ""), lambda p: edit.move_item(p, item, step))


def _move_stage(key: str, text: str, can: bool, why: str, stage: str, step: int) -> Choice:
    if not can:
        return Choice(key, text, why=why)
    return Choice(key, text, text.replace("&", ""), lambda p: edit.move_stage(p, stage, step))
