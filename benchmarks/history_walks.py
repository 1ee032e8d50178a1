# SPDX-License-Identifier: GPL-3.0-or-later
"""What an artist does to a project, at random but the same for the same seed, and walks of undo and redo over it."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable

from nightplan.actions import edit, evening, jobs, journal, settings
from nightplan.actions.history import History
from nightplan.actions.tick import Evening, forget, tick
from nightplan.files.data import SAMPLES, data_folder
from nightplan.files.store import dumps, load
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

Intent = Callable[[random.Random, Project], Project]
WORDS = ("moth", "lantern", "wing rig", "dust, far", "Nebel über dem See", "光", "<b>glow</b>", "50 %", "a & b")


def _item(rng: random.Random, project: Project) -> str:
    if not project.items:
        raise BadInput("no item is there")
    return rng.choice(list(project.items))


def _day(rng: random.Random, project: Project) -> dt.date:
    return project.announced + dt.timedelta(days=rng.randrange(60))


def _estimate(rng: random.Random, project: Project) -> Project:
    likely = rng.choice((0.5, 1.0, 2.0, 3.5, 5.0))
    return edit.set_estimate(project, _item(rng, project), likely, likely * rng.choice((1.0, 1.5, 2.0)))


def _name(rng: random.Random, project: Project) -> Project:
    return edit.change_item(project, _item(rng, project), name=rng.choice(WORDS))


def _note(rng: random.Random, project: Project) -> Project:
    return edit.change_item(project, _item(rng, project), note=rng.choice(WORDS), pinned=rng.random() < 0.5)


def _add(rng: random.Random, project: Project) -> Project:
    if len(project.items) > 30:
        return _remove(rng, project)
    return edit.add_item(project, rng.choice(project.stages).id, rng.choice(WORDS))


def _remove(rng: random.Random, project: Project) -> Project:
    if len(project.items) < 12:
        return _add(rng, project)
    return edit.remove_item(project, _item(rng, project))


def _move(rng: random.Random, project: Project) -> Project:
    return edit.move_item(project, _item(rng, project), rng.choice((-2, -1, 1, 2)))


def _other_stage(rng: random.Random, project: Project) -> Project:
    return edit.move_item_to_stage(project, _item(rng, project), rng.choice(project.stages).id)


def _leave_out(rng: random.Random, project: Project) -> Project:
    key = _item(rng, project)
    return edit.bring_back(project, key) if project.items[key].state == "cut" else edit.leave_out(project, [key])


def _stage(rng: random.Random, project: Project) -> Project:
    return edit.change_stage(project, rng.choice(project.stages).id, name=rng.choice(WORDS))


def _tick(rng: random.Random, project: Project) -> Project:
    done = (_item(rng, project),) if rng.random() < 0.2 else ()
    said = Evening(_day(rng, project), hours=rng.choice((0.5, 2.0, 3.0)), done=done, note=rng.choice(WORDS))
    return tick(project, said, extra=True, replace=True)


def _forget(rng: random.Random, project: Project) -> Project:
    if not project.log:
        raise BadInput("nothing is logged")
    return forget(project, rng.choice(project.log).evening)


def _lost(rng: random.Random, project: Project) -> Project:
    return evening.mark_lost(project, _day(rng, project), rng.choice(WORDS))


def _on(rng: random.Random, project: Project) -> Project:
    return evening.mark_on(project, _day(rng, project))


def _longer(rng: random.Random, project: Project) -> Project:
    return evening.lengthen(project, _day(rng, project), rng.choice((1.5, 3.0)))


def _settings(rng: random.Random, project: Project) -> Project:
    return settings.change_settings(project, target_odds=rng.choice((0.6, 0.7, 0.8, 0.9)), piece=rng.choice(WORDS))


def _render(rng: random.Random, project: Project) -> Project:
    if len(project.jobs) > 6:
        return edit.remove_job(project, rng.choice(project.jobs).id)
    tests = [{"load": "light", "minutes": rng.choice((0.5, 1.0, 5.0)), "frames": 24}]
    return jobs.add_render(project, rng.choice(WORDS), rng.choice((24, 240)), tests)


def _journal(rng: random.Random, project: Project) -> Project:
    if not project.log:
        raise BadInput("nothing is logged")
    return journal.set_note(project, rng.choice(project.log).evening, rng.choice(WORDS))


INTENTS: tuple[Intent, ...] = (
    _estimate, _estimate, _estimate, _name, _note, _add, _remove, _move, _other_stage, _leave_out, _stage, _tick, _tick,
    _forget, _lost, _on, _longer, _settings, _render, _journal,
)  # fmt: skip


def walk(seed: int, steps: int = 40) -> tuple[int, int, list[str]]:
    """One walk: intents, undo, redo and saves at random, then everything undone, then everything done again.

    Returns:
        steps that were taken, intents that were refused, and what was not as it should be.
    """
    rng = random.Random(f"walk {seed}")
    start = load(data_folder("sample_projects") / f"{rng.choice(SAMPLES)}.nightplan")
    history = History.of(start)
    #: the bytes at each place of the history, written when the step was taken
    written = [dumps(start)]
    saved = written[0]
    taken = refused = 0
    wrong: list[str] = []

    def compare(what: str) -> None:
        if dumps(history.project) != written[history.place]:
            wrong.append(f"walk {seed}: {what} at step {history.place} is not what was there")

    for _ in range(steps):
        kind = rng.random()
        if kind < 0.25:
            history.undo()
            compare("what undo brings back")
        elif kind < 0.4:
            history.redo()
            compare("what redo brings back")
        elif kind < 0.45:
            history.mark_saved()
            saved = dumps(history.project)
        else:
            try:
                project = rng.choice(INTENTS)(rng, history.project)
            except BadInput:
                refused += 1
                continue
            if history.push("step", project):
                del written[history.place :]
                written.append(dumps(project))
                taken += 1
        if not history.dirty and dumps(history.project) != saved:
            wrong.append(f"walk {seed}: what is said to be saved is not")
    end, last = dumps(history.project), history.place
    while history.redo_label is not None:
        history.redo()
        compare("what redo brings back")
    while history.undo_label is not None:
        history.undo()
        compare("what undo brings back")
    if dumps(history.project) != written[0]:
        wrong.append(f"walk {seed}: after undoing all, the bytes are not those of the start")
    while history.place < last:
        history.redo()
    if dumps(history.project) != end:
        wrong.append(f"walk {seed}: after doing all again, the bytes are not those of the end")
    return taken, refused, wrong
