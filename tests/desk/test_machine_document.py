# SPDX-License-Identifier: GPL-3.0-or-later
"""State machines: intentions, undo, redo, save in any order, against a plain list of projects.

Method: stateful testing against a model (Hypothesis documentation, "Stateful tests"; Claessen and Hughes, QuickCheck).
"""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

from conftest import DAY
from desk_fakes import FakeServices
from desk_leaks import let_go
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from plan_page_project import AS_OF, project

from nightplan.actions import edit
from nightplan.actions.evening import lengthen, mark_lost, mark_maybe, mark_sure
from nightplan.actions.history import History
from nightplan.actions.tick import Evening, tick
from nightplan.desk.document import Document
from nightplan.files.store import dumps, load, parse
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

ITEMS = ("block", "spline", "set-porch", "ropes", "polish-pass", "cut")
EVENINGS = tuple(AS_OF + dt.timedelta(days=n) for n in (0, 2, 4, 7, 9, 11))


def intend(project: Project, what: str, item: str, evening: dt.date, hours: float) -> Project:
    """One intention of the artist; raises BadInput where it makes no sense."""
    if what == "estimate":
        return edit.change_item(project, item, likely=hours, high=hours * 2)
    if what == "cut":
        return edit.leave_out(project, [item])
    if what == "longer":
        return lengthen(project, evening, hours)
    if what == "sure":
        return mark_sure(project, evening)
    if what == "remove":
        return edit.remove_item(project, item)
    if what == "tick":
        return tick(project, Evening(evening, hours), extra=True)
    if what == "missed":
        return tick(project, Evening(evening, missed=True), extra=True)
    if what == "lose":
        return mark_lost(project, evening)
    return mark_maybe(project, evening)


class Steps(RuleBasedStateMachine):
    """Core only: history and actions."""

    def __init__(self) -> None:
        super().__init__()
        self.model: list[Project] = []
        self.place = 0
        self.saved = 0

    @initialize()
    def start(self) -> None:
        self.history = History.of(project())
        self.model = [self.history.project]

    @rule(
        what=st.sampled_from(("estimate", "cut", "remove", "tick", "missed", "lose", "longer", "sure", "maybe")),
        item=st.sampled_from(ITEMS),
        evening=st.sampled_from(EVENINGS),
        hours=st.sampled_from((0.5, 1.0, 2.5, 4.0)),
    )
    def change(self, what: str, item: str, evening: dt.date, hours: float) -> None:
        try:
            new = intend(self.history.project, what, item, evening, hours)
        except BadInput:
            return
        changed = new != self.model[self.place]
        assert self.history.push(what, new) == changed
        if changed:
            if self.saved > self.place:
                self.saved = -1
            del self.model[self.place + 1 :]
            self.model.append(new)
            self.place += 1

    @precondition(lambda self: self.place > 0)
    @rule()
    def undo(self) -> None:
        assert self.history.undo_label is not None
        self.history.undo()
        self.place -= 1

    @precondition(lambda self: self.place + 1 < len(self.model))
    @rule()
    def redo(self) -> None:
        assert self.history.redo_label is not None
        self.history.redo()
        self.place += 1

    @rule()
    def save(self) -> None:
        self.history.mark_saved()
        self.saved = self.place

    @invariant()
    def same(self) -> None:
        assert self.history.project == self.model[self.place]
        assert self.history.dirty == (self.saved != self.place)
        assert (self.history.undo_label is None) == (self.place == 0)
        assert (self.history.redo_label is None) == (self.place + 1 == len(self.model))

    @invariant()
    def can_be_written(self) -> None:
        """Whatever was done, the file holds it to the letter."""
        text = dumps(self.history.project)
        assert dumps(parse(text.encode("utf-8"), "the test")) == text


TestSteps = Steps.TestCase
TestSteps.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)


class Documents(RuleBasedStateMachine):
    """The desk's document with its file; the worker's answers are called off, they have tests of their own."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.services = FakeServices(Path(self.folder.name), DAY)
        self.services.go_to_day(AS_OF)
        self.document = Document(self.services)
        self.path = str(Path(self.folder.name) / "moth.nightplan")
        self.document.new(project())
        self.document.worker.call_off()
        self.model, self.place = [project()], 0
        self.on_disk: Project | None = None
        self.notices: list[Project] = []
        self.document.project_changed.connect(self.notices.append)

    def teardown(self) -> None:
        self.document.close()
        self.document.deleteLater()
        self.services.deleteLater()
        let_go()
        self.folder.cleanup()

    @rule(
        what=st.sampled_from(("estimate", "tick", "lose", "maybe")),
        item=st.sampled_from(ITEMS),
        evening=st.sampled_from(EVENINGS),
        hours=st.sampled_from((0.5, 2.5)),
    )
    def change(self, what: str, item: str, evening: dt.date, hours: float) -> None:
        try:
            new = intend(self.document.project, what, item, evening, hours)
        except BadInput:
            return
        before = len(self.notices)
        if self.document.apply(what, new):
            assert len(self.notices) == before + 1, "one notice for one intention"
            del self.model[self.place + 1 :]
            self.model.append(new)
            self.place += 1
        else:
            assert new == self.model[self.place]
            assert len(self.notices) == before
        self.document.worker.call_off()

    @rule()
    def undo(self) -> None:
        self.document.undo()
        self.place = max(0, self.place - 1)
        self.document.worker.call_off()

    @rule()
    def redo(self) -> None:
        self.document.redo()
        self.place = min(len(self.model) - 1, self.place + 1)
        self.document.worker.call_off()

    @rule()
    def save(self) -> None:
        self.document.save_as(self.path)
        self.document.worker.call_off()
        self.on_disk = self.model[self.place]
        assert not self.document.dirty

    @precondition(lambda self: self.on_disk is not None)
    @rule()
    def revert(self) -> None:
        self.document.revert()
        self.document.worker.call_off()
        assert self.on_disk is not None
        if self.on_disk != self.model[self.place]:
            del self.model[self.place + 1 :]
            self.model.append(self.on_disk)
            self.place += 1

    @invariant()
    def same(self) -> None:
        assert self.document.project == self.model[self.place]
        if self.on_disk is not None:
            assert load(self.path) == self.on_disk
            if not self.document.dirty:
                assert self.document.project == self.on_disk


TestDocuments = Documents.TestCase
TestDocuments.settings = settings(
    max_examples=10, stateful_step_count=15, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
