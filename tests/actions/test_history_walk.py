# SPDX-License-Identifier: GPL-3.0-or-later
"""Undo and redo against a plain model: two stacks."""

from __future__ import annotations

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from small_project import small

from nightplan.actions.history import History
from nightplan.model.project import Project

LIMIT = 6
PROJECTS = [small().but(title=f"Title {n}") for n in range(4)]


class Walk(RuleBasedStateMachine):
    """The history, and beside it what was done and what was undone as two lists."""

    def __init__(self) -> None:
        super().__init__()
        self.history = History.of(small())
        self.history.limit = LIMIT
        self.done: list[tuple[str, Project]] = [("Open", small())]
        self.undone: list[tuple[str, Project]] = []
        self.on_disk: Project | None = small()

    @rule(n=st.integers(0, 3), label=st.sampled_from(["A", "B"]))
    def push(self, n: int, label: str) -> None:
        new = PROJECTS[n] != self.done[-1][1]
        assert self.history.push(label, PROJECTS[n]) is new
        if new:
            self.done.append((label, PROJECTS[n]))
            self.undone.clear()
            del self.done[:-LIMIT]

    @precondition(lambda self: len(self.done) > 1)
    @rule()
    def undo(self) -> None:
        assert self.history.undo_label == self.done[-1][0]
        self.undone.append(self.done.pop())
        assert self.history.undo() == self.done[-1][1]

    @precondition(lambda self: self.undone)
    @rule()
    def redo(self) -> None:
        assert self.history.redo_label == self.undone[-1][0]
        self.done.append(self.undone.pop())
        assert self.history.redo() == self.done[-1][1]

    @rule()
    def save(self) -> None:
        self.history.mark_saved()
        self.on_disk = self.done[-1][1]
        assert not self.history.dirty

    @invariant()
    def the_same_project(self) -> None:
        assert self.history.project == self.done[-1][1]
        assert len(self.history.steps) == len(self.done) + len(self.undone) <= LIMIT

    @invariant()
    def nothing_to_undo_or_redo_is_said(self) -> None:
        assert (self.history.undo_label is None) == (len(self.done) == 1)
        assert (self.history.redo_label is None) == (not self.undone)

    @invariant()
    def what_is_clean_is_on_disk(self) -> None:
        if not self.history.dirty:
            assert self.history.project == self.on_disk


TestWalk = Walk.TestCase
TestWalk.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)


def test_nothing_happens_at_the_ends() -> None:
    history = History.of(small(), saved=False)
    assert history.dirty
    assert history.undo() == history.redo() == small()
