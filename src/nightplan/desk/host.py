# SPDX-License-Identifier: GPL-3.0-or-later
"""What pages and widgets may ask of the window around them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from nightplan.desk.background import Background
from nightplan.desk.document import Document
from nightplan.desk.services import Services
from nightplan.model.errors import BadInput

if TYPE_CHECKING:
    from nightplan.desk.export_run import Leaving
    from nightplan.desk.widgets.progress_part import ProgressPart
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan


class DeskHost(QObject):
    """The window's side of the pages."""

    #: go to a page by its id
    page_wanted = Signal(object)
    #: tick off the evening of a date
    evening_wanted = Signal(object)
    said = Signal(object)
    #: a file is to be written: a Leaving
    export_wanted = Signal(object)

    def __init__(self, document: Document, services: Services, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.document = document
        self.services = services
        #: evening that the Journal page turns to when it next comes into sight
        self.journal_evening: dt.date | None = None

    @property
    def project(self) -> Project:
        return self.document.project

    @property
    def as_of(self) -> dt.date:
        return self.document.as_of

    @property
    def plan(self) -> Plan | None:
        return self.document.plan

    @property
    def forecast(self) -> Forecast | None:
        return self.document.forecast

    def change(self, label: str, make: Callable[[Project], Project]) -> bool:
        """Apply one change as one step of undo; says the reason and answers False where it is refused."""
        try:
            self.change_or_raise(label, make)
        except BadInput as error:
            self.say(error.sentence)
            return False
        return True

    def change_or_raise(self, label: str, make: Callable[[Project], Project]) -> None:
        """The same, but a refusal is raised as BadInput, for a widget that shows it itself."""
        if self.document.looking:
            raise BadInput(self.document.looking)
        self.document.apply(label, make(self.project))

    def preview(self, make: Callable[[Project], Project] | None) -> None:
        """Let the odds follow an unsaved variant; None goes back. Raises BadInput where there is no such variant."""
        self.document.preview(None if make is None else make(self.project))

    def background(
        self,
        owner: QObject,
        done: Callable[[tuple[str, Any]], object],
        *,
        refused: Callable[[str], object] | None = None,
        failed: Callable[[BaseException], object] | None = None,
        part: ProgressPart | None = None,
    ) -> Background:
        """What ``owner`` computes off the window's thread; it is called off when the window closes.

        ``done`` is given (name, result). A refusal is said, a fault is told, unless ``refused`` or ``failed`` takes
        it. ``part`` shows how far it is; what its button does is for the owner to say.
        """
        work = Background(owner)
        work.done.connect(done)
        work.refused.connect(refused or self.say)
        work.failed.connect(failed or self.services.fault)
        if part is not None:
            part.follow(work)
        self.document.closing.connect(work.close)
        return work

    def say(self, sentence: str) -> None:
        """A sentence in the status line, also for screen readers."""
        self.said.emit(sentence)

    def log_evening(self, date: dt.date) -> None:
        """Go to where the evening of a date is ticked off."""
        self.evening_wanted.emit(date)

    def show_evening(self, date: dt.date) -> None:
        """Go to an evening in the journal."""
        self.journal_evening = date
        self.go_to("journal")

    def go_to(self, page: str) -> None:
        self.page_wanted.emit(page)

    def export(self, leaving: Leaving) -> None:
        """Ask for a path and write to it in the background; a failure is said."""
        self.export_wanted.emit(leaving)
