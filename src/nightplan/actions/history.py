# SPDX-License-Identifier: GPL-3.0-or-later
"""Undo and redo as a list of (label, project): every step is a whole project, so no step can be half done."""

from __future__ import annotations

from dataclasses import dataclass, field

from nightplan.model.project import Project
from nightplan.speech import trc

#: projects share what did not change between them, so steps are cheap; the oldest go first
LIMIT = 1_000


@dataclass
class History:
    """The steps of one document. The first entry is the project as it was opened."""

    steps: list[tuple[str, Project]]
    place: int = 0
    #: place of the project that is on disk; None when that step is gone
    saved: int | None = 0
    limit: int = field(default=LIMIT, repr=False)

    @classmethod
    def of(cls, project: Project, *, saved: bool = True) -> History:
        """A history that begins with a project."""
        # translators: the first step of what can be undone: the project was opened
        return cls([(trc("first step", "Open"), project)], saved=0 if saved else None)

    @property
    def project(self) -> Project:
        """The project as it stands now."""
        return self.steps[self.place][1]

    @property
    def dirty(self) -> bool:
        """Whether it differs from the one on disk."""
        return self.saved != self.place

    def push(self, label: str, project: Project) -> bool:
        """A new step; what had been undone is gone. False where nothing changed."""
        if project == self.project:
            return False
        if self.saved is not None and self.saved > self.place:
            self.saved = None
        del self.steps[self.place + 1 :]
        self.steps.append((label, project))
        self.place += 1
        if len(self.steps) > self.limit:
            self.steps.pop(0)
            self.place -= 1
            if self.saved is not None:
                self.saved = self.saved - 1 if self.saved > 0 else None
        return True

    @property
    def undo_label(self) -> str | None:
        """What would be undone."""
        return self.steps[self.place][0] if self.place > 0 else None

    @property
    def redo_label(self) -> str | None:
        """What would be done again."""
        return self.steps[self.place + 1][0] if self.place + 1 < len(self.steps) else None

    def undo(self) -> Project:
        """One step back, where there is one; the project as it stands then."""
        if self.place > 0:
            self.place -= 1
        return self.project

    def redo(self) -> Project:
        """One step forward, where there is one; the project as it stands then."""
        if self.place + 1 < len(self.steps):
            self.place += 1
        return self.project

    def mark_saved(self) -> None:
        """The project as it stands is the one on disk."""
        self.saved = self.place
