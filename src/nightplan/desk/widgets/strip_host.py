# SPDX-License-Identifier: GPL-3.0-or-later
"""What the widgets of the plan page need of the window around them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Protocol

from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan


class Host(Protocol):
    """The open project as the widgets see it."""

    @property
    def project(self) -> Project: ...
    @property
    def as_of(self) -> dt.date: ...
    @property
    def plan(self) -> Plan | None: ...
    @property
    def forecast(self) -> Forecast | None: ...

    def change(self, label: str, make: Callable[[Project], Project]) -> bool:
        """Apply one change as one step of undo; says the reason and answers False where it is refused."""
        ...

    def change_or_raise(self, label: str, make: Callable[[Project], Project]) -> None:
        """The same, but a refusal is raised as BadInput, for a widget that shows it itself."""
        ...

    def preview(self, make: Callable[[Project], Project] | None) -> None:
        """Let the odds follow an unsaved variant; None goes back. Raises BadInput where there is no such variant."""
        ...

    def say(self, sentence: str) -> None:
        """A sentence in the status line, also for screen readers."""
        ...

    def log_evening(self, date: dt.date) -> None:
        """Go to where the evening of a date is ticked off."""
        ...
