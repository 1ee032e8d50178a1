# SPDX-License-Identifier: GPL-3.0-or-later
"""A window's part of the plan page for tests of single widgets: computes at once, keeps every step."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from plan_page_project import AS_OF, project

from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.model.errors import BadInput
from nightplan.model.project import Project


class TestHost:
    """``steps`` are the labels and projects so far; ``undo`` goes back by one."""

    __test__ = False

    def __init__(self, start: Project | None = None, as_of: dt.date = AS_OF, futures: int = 400) -> None:
        self.futures = futures
        self.as_of = as_of
        self.steps: list[tuple[str, Project]] = [("", start if start is not None else project())]
        self.said: list[str] = []
        self.previews: list[Project | None] = []
        self.logged: list[dt.date] = []
        self.listeners: list[Callable[[], None]] = []
        self._compute()

    @property
    def project(self) -> Project:
        return self.steps[-1][1]

    @property
    def label(self) -> str:
        return self.steps[-1][0]

    def _compute(self) -> None:
        self.plan = plan(self.project, self.as_of)
        self.forecast = forecast(self.project, self.as_of, futures=self.futures)

    def change_or_raise(self, label: str, make: Callable[[Project], Project]) -> None:
        new = make(self.project)
        if new == self.project:
            return
        self.steps.append((label, new))
        self._tell()

    def change(self, label: str, make: Callable[[Project], Project]) -> bool:
        try:
            self.change_or_raise(label, make)
        except BadInput as error:
            self.said.append(error.sentence)
            return False
        return True

    def undo(self) -> None:
        self.steps.pop()
        self._tell()

    def _tell(self) -> None:
        self._compute()
        for listener in self.listeners:
            listener()

    def preview(self, make: Callable[[Project], Project] | None) -> None:
        self.previews.append(make(self.project) if make is not None else None)

    def say(self, sentence: str) -> None:
        self.said.append(sentence)

    def log_evening(self, date: dt.date) -> None:
        self.logged.append(date)
