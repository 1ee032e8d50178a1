# SPDX-License-Identifier: GPL-3.0-or-later
"""Keys that this version does not know survive every action, in every object of the file.

The rule is the format's own: a program keeps what it does not know. Only what an action takes out takes
its keys along.
"""

from __future__ import annotations

import datetime as dt
import importlib
import inspect
import json
import pkgutil
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marked_project import full, full_raw, marked, marks, marks_of
from small_project import MONDAY, WEDNESDAY

import nightplan.actions
from nightplan.actions import (
    assets,
    baseline,
    brief,
    brief_paste,
    brief_work,
    busy,
    edit,
    evening,
    jobs,
    journal,
    lookback,
    recover,
    tick,
)
from nightplan.actions import (
    settings as project_settings,
)
from nightplan.actions.merge import merge
from nightplan.brief.handin import handins_of
from nightplan.files.frames import FramesFound
from nightplan.files.store import dumps, parse
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project
from nightplan.model.results_lookback import Proposal
from nightplan.model.results_recovery import ItemCut, Move

NOW = dt.datetime(2027, 10, 2, 8, 0, tzinfo=dt.UTC)
SATURDAY = dt.date(2027, 9, 25)
Act = Callable[[Project], Project]

#: action -> what it does here; several ways of one action have a number behind it
KEEP_ALL: dict[str, Act] = {
    "change_item": lambda p: edit.change_item(p, "polish", name="Sheen", note="later"),
    "set_estimate": lambda p: edit.set_estimate(p, "polish", 3, 5, 1),
    "add_item": lambda p: edit.add_item(p, "animate", "Dust"),
    "move_item": lambda p: edit.move_item(p, "polish", -1),
    "move_item_to_stage": lambda p: edit.move_item_to_stage(p, "timing", "animate"),
    "leave_out": lambda p: edit.leave_out(p, ["polish"]),
    "bring_back": lambda p: edit.bring_back(edit.leave_out(p, ["polish"]), "polish"),
    "add_stage": lambda p: edit.add_stage(p, "Sound"),
    "change_stage": lambda p: edit.change_stage(p, "sketch", name="Boards"),
    "move_stage": lambda p: edit.move_stage(p, "edit", -1),
    "add_job": lambda p: edit.add_job(p, "Cache", kind="simulation", hours=2),
    "put_job": lambda p: edit.put_job(p, {"id": "cache", "name": "Cache", "hours": 2}),
    "change_job": lambda p: edit.change_job(p, "render", note="at night"),
    "set_gate": lambda p: edit.set_gate(p, p.gates_by_id["lock"].but(on=dt.date(2027, 10, 9))),
    "change_evening": lambda p: evening.change_evening(p, WEDNESDAY, hours=1.0),
    "change_evening 2": lambda p: evening.change_evening(p, dt.date(2027, 10, 6), lost=False),
    "mark_lost": lambda p: evening.mark_lost(p, WEDNESDAY),
    "mark_sure": lambda p: evening.mark_sure(p, SATURDAY),
    "mark_maybe": lambda p: evening.mark_maybe(p, WEDNESDAY),
    "mark_off": lambda p: evening.mark_off(p, SATURDAY),
    "mark_on": lambda p: evening.mark_on(p, dt.date(2027, 9, 28)),
    "mark_on 2": lambda p: evening.mark_on(p, dt.date(2027, 10, 6)),
    "lengthen": lambda p: evening.lengthen(p, WEDNESDAY, 0.5),
    "add_evening": lambda p: evening.add_evening(p, dt.date(2027, 9, 26), dt.time(19), 2),
    "with_dates": lambda p: evening.with_dates(p, week=_bare().week, off=_bare().off),
    "change_settings": lambda p: project_settings.change_settings(p, title="Other", zone="UTC"),
    "tick": lambda p: tick.tick(p, tick.Evening(WEDNESDAY, 2, work={"block": 1.0}, done=("block",))),
    "accept_baseline": lambda p: baseline.accept_baseline(p, WEDNESDAY, futures=50),
    "remove_busy 2": lambda p: busy.import_busy(p, _CALENDAR, "b.ics").project,
    "add_render": lambda p: jobs.add_render(p, "More", 10, [{"load": "light", "minutes": 1, "frames": 10}]),
    "add_transfer": lambda p: jobs.add_transfer(p, "Send it", 1, 10),
    "set_machine": lambda p: jobs.set_machine(p, "desk", speed=3),
    "set_machine 2": lambda p: jobs.set_machine(p, "desk", window={"from": "21:00", "to": "09:00"}),
    "set_machines": lambda p: jobs.set_machines(p, "frames", ["desk", "attic"]),
    "point_at_folder": lambda p: jobs.point_at_folder(p, "frames", "out"),
    "take_in": lambda p: jobs.take_in(p, "frames", _found()),
    "add_capture": lambda p: journal.add_capture(p, MONDAY, "b.png"),
    "add_capture 2": lambda p: journal.add_capture(p, MONDAY, "a.png", "again"),
    "change_capture": lambda p: journal.change_capture(p, MONDAY, "a.png", note="first light"),
    "set_note": lambda p: journal.set_note(p, MONDAY, "quiet"),
    "set_weights": lambda p: journal.set_weights(p, {"sketch": 2.0}),
    "tick_asked": lambda p: journal.tick_asked(p, "film", "posts", note="there"),
    "file_answers": lambda p: lookback.file_answers(p, MONDAY, {lookback.QUESTIONS[0][0]: "boards"}),
    "accept": lambda p: lookback.accept(p, _LEARNT, MONDAY),
    "apply": lambda p: recover.apply(p, [_MOVE], "late", WEDNESDAY, futures=50),
    "pin": lambda p: recover.pin(p, ["polish"]),
    "silence": lambda p: recover.silence(p, "buffer"),
    "add_asset": lambda p: assets.add_asset(p, "Sky"),
    "change_asset": lambda p: assets.change_asset(p, "moon", author="me"),
    "set_terms": lambda p: assets.set_terms(p, prize=False),
    "add_deliverable": lambda p: brief.add_deliverable(p, "Still", "image"),
    "add_preset": lambda p: brief.add_preset(p, next(iter(brief.PRESETS))),
    "change_deliverable": lambda p: brief.change_deliverable(p, "film", name="Cut"),
    "move_deliverable": lambda p: brief.move_deliverable(p, "film", 1),
    "with_deliverables": lambda p: brief.with_deliverables(p, brief.deliverables_of(p)),
    "add_rule": lambda p: brief.add_rule(p, "film", "duration", 30, "at most"),
    "change_rule": lambda p: brief.change_rule(p, "film", "fps", value=25),
    "move_rule": lambda p: brief.move_rule(p, "film", "fps", 1),
    "move_rule_to": lambda p: brief.move_rule_to(p, "film", "fps", "clip"),
    "answer_tick": lambda p: brief.answer_tick(p, "film", "posts"),
    "keep_handin": lambda p: brief.keep_handin(p, handins_of(p)[0].but(depth="fast")),
    "set_brief_text": lambda p: brief_paste.set_brief_text(p, "24 fps"),
    "accept_proposal": lambda p: brief_paste.accept_proposal(p, brief_paste.proposals_of(p)[0], "film"),
    "accept_deadline": lambda p: brief_paste.accept_deadline(p, _deadline(p)),
    "refuse_proposal": lambda p: brief_paste.refuse_proposal(p, brief_paste.proposals_of(p)[0]),
    "ask_again": lambda p: brief_paste.ask_again(
        brief_paste.refuse_proposal(p, brief_paste.proposals_of(p)[0]), brief_paste.proposals_of(p)[0]
    ),
    "take_work": lambda p: brief_work.take_work(p, brief_work.work_asked(p)[0], on=dt.date(2027, 10, 1)),
    "whole_post": lambda p: brief_work.whole_post(p, brief_work.work_asked(p)[0], on=dt.date(2027, 10, 1)),
    "refuse_work": lambda p: brief_work.refuse_work(p, brief_work.work_asked(p)[0]),
    "with_notes": lambda p: brief.with_notes(p, brief.notes_of(p).but(text="24 fps")),
}

#: action -> (what it does here, what it takes out)
TAKE_OUT: dict[str, tuple[Act, str]] = {
    "remove_item": (lambda p: edit.remove_item(p, "send"), "stages/edit/items/send"),
    "remove_stage": (lambda p: edit.remove_stage(p, "edit"), "stages/edit"),
    "remove_job": (lambda p: edit.remove_job(p, "render"), "jobs/render"),
    "remove_gate": (lambda p: edit.remove_gate(p, "post"), "gates/post"),
    "remove_extra": (lambda p: evening.remove_extra(p, dt.date(2027, 9, 24)), "extra/2027-09-24"),
    "forget": (lambda p: tick.forget(p, MONDAY), "log/2027-09-20"),
    "remove_busy": (lambda p: busy.remove_busy(p, "a.ics"), "busy"),
    "set_test_frames": (lambda p: jobs.set_test_frames(p, "frames", []), "jobs/frames/test_frames"),
    "set_minutes": (lambda p: jobs.set_minutes(p, "frames", 1, 2), "jobs/frames/test_frames"),
    "start_job": (lambda p: jobs.start_job(p, "frames", NOW), "jobs/frames/seen"),
    "stop_job": (lambda p: jobs.stop_job(p, "frames"), "jobs/frames/seen"),
    "remove_capture": (lambda p: journal.remove_capture(p, MONDAY, "a.png"), "log/2027-09-20/captures/a.png"),
    "remove_asset": (lambda p: assets.remove_asset(p, "moon"), "assets/moon"),
    "remove_deliverable": (lambda p: brief.remove_deliverable(p, "film"), "deliverables/film"),
    "remove_rule": (lambda p: brief.remove_rule(p, "film", "fps"), "deliverables/film/rules/fps"),
    "remove_handin": (lambda p: brief.remove_handin(p, 0), "handins"),
}
_CALENDAR = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTAMP:20270901T000000Z\r\n"
    "DTSTART:20270929T200000\r\nDTEND:20270929T210000\r\nSUMMARY:Choir\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)


def public_actions() -> set[str]:
    """Names of all functions of the room that take a project and give one."""
    found = set()
    for module in pkgutil.iter_modules(nightplan.actions.__path__):
        loaded = importlib.import_module(f"nightplan.actions.{module.name}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if name.startswith("_") or function.__module__ != loaded.__name__:
                continue
            first = next(iter(inspect.signature(function).parameters.values()), None)
            if first is not None and first.annotation == "Project" and function.__annotations__["return"] == "Project":
                found.add(name)
    return found


def test_every_action_is_in_the_table() -> None:
    named = {name.split(" ")[0] for name in (*KEEP_ALL, *TAKE_OUT)}
    assert public_actions() - named == set(), "a new action goes into KEEP_ALL or TAKE_OUT above"


def test_the_marks_reach_every_object() -> None:
    everywhere = marks(marked(full_raw()))
    assert len(everywhere) > 50
    assert marks_of(full()) == everywhere
    assert marks_of(parse(dumps(full()).encode(), "x")) == everywhere


@pytest.mark.parametrize("name", KEEP_ALL)
def test_an_action_keeps_what_it_does_not_know(name: str) -> None:
    before = full()
    after = KEEP_ALL[name](before)
    assert marks_of(before) - marks_of(after) == set()
    # the file that is written of it says the same
    assert marks(json.loads(dumps(after))) == marks_of(after)


@pytest.mark.parametrize("name", TAKE_OUT)
def test_only_what_is_taken_out_takes_its_keys_along(name: str) -> None:
    before = full()
    act, gone = TAKE_OUT[name]
    lost = marks_of(before) - marks_of(act(before))
    assert lost == {mark for mark in marks_of(before) if mark == gone or mark.startswith(f"{gone}/")}


def test_an_evening_ticked_off_anew_keeps_what_is_still_said() -> None:
    before = full()
    said = tick.Evening(MONDAY, 2, work={"timing": 2.0})
    after = tick.tick(before, said, replace=True)
    entry = "log/2027-09-20"
    # the work that is not named any more, and the estimate of what was left, are taken back
    assert marks_of(before) - marks_of(after) == {f"{entry}/{part}" for part in ("work/boards", "work/timing/left")}
    assert after.log_by_date[MONDAY].captures == before.log_by_date[MONDAY].captures


#: actions that may follow each other in any order
_ANY_ORDER = sorted(
    set(KEEP_ALL) - {"tick", "accept_baseline", "apply", "accept_deadline", "take_work", "whole_post", "refuse_work"}
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(_ANY_ORDER), unique=True, min_size=2, max_size=8))
def test_whatever_is_done_one_after_the_other_all_of_it_is_kept(names: list[str]) -> None:
    before = after = full()
    for name in names:
        try:
            after = KEEP_ALL[name](after)
        except BadInput:
            # an earlier step has taken away what this one is about
            continue
    assert marks_of(before) - marks_of(after) == set()


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(_ANY_ORDER), unique=True, min_size=2, max_size=2))
def test_bringing_two_sides_together_keeps_all_of_it(names: list[str]) -> None:
    base = full()
    mine, theirs = (KEEP_ALL[name](base) for name in names)
    merged = merge(base, mine, theirs)
    assert merged.project is not None
    assert marks_of(base) - marks_of(merged.project) == set()


def test_a_key_of_theirs_in_an_object_that_we_changed_is_kept() -> None:
    base = project_from_raw(full_raw())
    theirs = edit.change_item(base, "polish", **{"x-theirs": 1})
    mine = edit.change_item(base, "polish", name="Sheen")
    merged = merge(base, mine, theirs).project
    assert merged is not None
    assert merged.items["polish"].unknown == {"x-theirs": 1}
    assert merged.items["polish"].name == "Sheen"


def _bare() -> Project:
    return project_from_raw(full_raw())


def _found() -> FramesFound:
    early = NOW - dt.timedelta(hours=1)
    return FramesFound("out", "f_####.png", 1, 20, 20, 0, (), early, NOW, 20_000_000, 0, 0, ())


def _deadline(project: Project) -> brief_paste.Proposal:
    read = brief_paste.set_brief_text(project, "Entries are due on 20 October 2027, 11:59 pm UTC.")
    return next(p for p in brief_paste.proposals_of(read) if p.deadline is not None)


_LEARNT = Proposal(
    "estimate-animate", "estimate", "Animate", "", "", "", False, "animate", {"items": ["block"], "factor": 1.2}
)
_MOVE = Move("cut", "cut", "Cut", "leaves it out", 0, (ItemCut("polish"),))
