# SPDX-License-Identifier: GPL-3.0-or-later
"""The open project of one window: history, file, recovery, odds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal, Slot

from nightplan.desk.document_file import DocumentFile
from nightplan.desk.odds_worker import Answer, OddsWorker
from nightplan.desk.recovery import Aside, file_of, kept_project, onto
from nightplan.desk.services import Services
from nightplan.files.errors import FilesError
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan

Complete = Callable[["Project", "Forecast"], "Project"]

_RECOVERY_MS = 400
_DAY_MS = 60_000
#: an evening may run past midnight; an open window turns to the new day only when the night is over
_DAY_BEGINS = dt.time(4)


class Document(DocumentFile):
    """One project, its history and its file. Every change is one notice."""

    project_changed = Signal(object)
    #: the present step was completed by its own odds, which follow at once: the project looks as it did
    completed = Signal(object)
    #: plan and odds came: an :class:`Answer`, or None where there is no answer any more
    odds_changed = Signal(object)
    #: odds of an unsaved variant while a value is being changed: an Answer, or None when it is over
    preview_changed = Signal(object)
    odds_failed = Signal(object)
    #: the window closes: whatever runs for this document stops now
    closing = Signal()
    #: the window has been open over night: the project is looked at from another day now
    day_changed = Signal(object)

    def __init__(self, services: Services, parent: QObject | None = None) -> None:
        super().__init__(services, parent)
        self.worker = OddsWorker(self)
        self.worker.answered.connect(self._answered)
        self.worker.refused.connect(self._refused)
        self.worker.failed.connect(self.odds_failed)
        self.plan: Plan | None = None
        self.forecast: Forecast | None = None
        #: plan and odds come from all futures, not from the first few
        self.whole = False
        self._answered_for: Project | None = None
        self._previewing: Project | None = None
        #: what the odds of all futures add to the present step
        self._complete: Complete | None = None
        self._as_of: dt.date | None = None
        self._today: dt.date | None = None
        self._day_held = False
        self._aside = Aside(services.recovery_folder())
        self._recovery_timer = QTimer(self)
        self._recovery_timer.setSingleShot(True)
        self._recovery_timer.setInterval(_RECOVERY_MS)
        self._recovery_timer.timeout.connect(self.keep_recovery)
        self._day_timer = QTimer(self)
        self._day_timer.setInterval(_DAY_MS)
        self._day_timer.timeout.connect(self.look_at_day)

    # --- what is there ---

    @property
    def as_of(self) -> dt.date:
        """The day the project is looked at from."""
        if self._as_of is not None:
            return max(self._as_of, self.project.announced)
        from nightplan.actions.today import default_as_of

        return default_as_of(self.project, self._today or self.services.today())

    def set_as_of(self, day: dt.date | None) -> None:
        """Look from a fixed day (a sample has one), or from today again."""
        self._as_of = day
        if self.is_open:
            self._announce()

    @Slot()
    def look_at_day(self) -> None:
        """Turn to today where the window has been open over night; not in the small hours, not while it is held."""
        if not self.is_open or self._day_held or self.services.now().time() < _DAY_BEGINS:
            return
        today = self.services.today()
        if today == self._today:
            return
        before, self._today = self.as_of, today
        if self.as_of != before:
            self._announce()
            self.day_changed.emit(self.as_of)

    def hold_day(self, held: bool) -> None:
        """Stay on the day while an evening is under way, its clock running."""
        self._day_held = held
        if not held:
            self.look_at_day()

    @property
    def fresh(self) -> bool:
        """Plan and odds are those of the project as it stands."""
        return self.is_open and self._answered_for is self.project

    # --- changes ---

    def apply(self, label: str, project: Project, complete: Complete | None = None) -> bool:
        """One step: a label as the undo menu shows it, and the changed project.

        Args:
            complete: what the odds of all futures add to the step, such as a tick's stored forecasts. It is part of
                the step, no step of its own, and nobody is told twice.
        """
        assert self.history is not None
        if self._refused_change(project):
            return False
        if not self.history.push(label, project):
            if self._previewing is not None:
                self.preview(None)
            return False
        self._announce(complete)
        self._recovery_timer.start()
        return True

    def follow(self, label: str, project: Project) -> bool:
        """One step that takes the place of the present one where that has the same label: what a folder shows now."""
        assert self.history is not None
        if self._refused_change(project):
            return False
        if self.history.undo_label != label or project == self.project:
            return self.apply(label, project)
        if self.history.saved is not None and self.history.saved >= self.history.place:
            self.history.saved = None
        del self.history.steps[self.history.place :]
        self.history.steps.append((label, project))
        self._announce()
        self._recovery_timer.start()
        return True

    def _refused_change(self, project: Project) -> bool:
        """Say why nothing may be changed, and show again what stands."""
        if self.looking is None:
            return False
        if project != self.project:
            self._previewing = None
            self.project_changed.emit(self.project)
            # after whatever a page says of the change that it took for done
            QTimer.singleShot(0, self, self._say_looking)
        return True

    @Slot()
    def _say_looking(self) -> None:
        if self.looking is not None:
            self.said.emit(self.looking)

    def undo(self) -> None:
        if self.history is not None and self.history.undo_label is not None:
            self.history.undo()
            self._announce()
            self._recovery_timer.start()

    def redo(self) -> None:
        if self.history is not None and self.history.redo_label is not None:
            self.history.redo()
            self._announce()
            self._recovery_timer.start()

    def preview(self, project: Project | None) -> None:
        """Ask for the odds of a variant that is not a step yet; None goes back to the project."""
        self._previewing = project
        if project is None:
            self.preview_changed.emit(None)
            if not self.fresh:
                self.worker.ask(self.project, self.as_of)
            return
        self.worker.ask(project, self.as_of)

    def ask_again(self) -> None:
        """Work out the odds anew, after they were stopped."""
        self.worker.ask(self.project, self.as_of, quick=False)

    def _announce(self, complete: Complete | None = None) -> None:
        self._previewing = None
        self._complete = complete
        self.project_changed.emit(self.project)
        self.state_changed.emit()
        self.worker.ask(self.project, self.as_of)

    @Slot(object)
    def _answered(self, answer: Answer) -> None:
        if self._previewing is not None and answer.project is self._previewing:
            self.preview_changed.emit(answer)
            return
        if not self.is_open or answer.project is not self.project:
            return
        if answer.whole and self._complete is not None:
            answer = self._completed(answer, self._complete)
        self.plan, self.forecast = answer.plan, answer.forecast
        self._answered_for, self.whole = answer.project, answer.whole
        self.odds_changed.emit(answer)

    def _completed(self, answer: Answer, complete: Complete) -> Answer:
        """The answer for the present step with what it adds to it."""
        assert self.history is not None
        self._complete = None
        project = complete(answer.project, answer.forecast)
        label, _before = self.history.steps[self.history.place]
        if self.history.saved == self.history.place:
            self.history.saved = None
        self.history.steps[self.history.place] = (label, project)
        self.completed.emit(project)
        self.state_changed.emit()
        self._recovery_timer.start()
        return replace(answer, project=project)

    @Slot(object)
    def _refused(self, sentence: str) -> None:
        self.said.emit(sentence)
        if self._previewing is None:
            self.plan = self.forecast = self._answered_for = None
            self.odds_changed.emit(None)

    def _begin(self, project: Project, path: str | None, *, saved: bool) -> None:
        from nightplan.actions.history import History

        self.worker.call_off()
        self._previewing = None
        self.plan = self.forecast = self._answered_for = None
        self._as_of = None
        self._today = self.services.today()
        self._day_timer.start()
        self._begin_file(History.of(project, saved=saved), path)
        self._announce()

    def new(self, project: Project) -> None:
        """A project that has no file yet."""
        self._disk_hash = self._disk_project = None
        self._begin(project, None, saved=False)
        self._recovery_timer.start()

    # --- recovery ---

    def _keep_soon(self) -> None:
        self._recovery_timer.start()

    @Slot()
    def keep_recovery(self) -> None:
        """Write unsaved changes aside, so that not even a power cut takes them."""
        if self.history is None:
            return
        if not self.history.dirty:
            self.drop_recovery()
            return
        try:
            self._aside.keep(
                self.project,
                path=self.path,
                base=self._disk_project,
                step=self.history.undo_label,
                when=self.services.now(),
            )
        except (OSError, FilesError) as error:
            self.said.emit(tr("Unsaved changes could not be kept aside ({error}); save soon.", error=error))

    def drop_recovery(self) -> None:
        self._recovery_timer.stop()
        self._aside.drop()

    def recover(self, kept: dict[str, object]) -> None:
        """Take up what a crash left behind: the file as it is, the changes as one step.

        Only where nothing is open, or the file that the changes belong to is. Raises BadInput.
        """
        path = file_of(kept)
        if path is None:
            assert not self.is_open
            self.new(kept_project(kept))
            return
        if not self.is_open:
            self.open(path)
        assert self.path == path
        assert self._disk_project is not None
        self.apply(tr("Recover unsaved changes"), onto(kept, self._disk_project))
        # set aside under this document's own name before the old one goes
        self.keep_recovery()

    def close(self) -> None:
        """Stop everything that runs for this document."""
        self.closing.emit()
        for timer in (self._recovery_timer, self._watch_timer, self._day_timer):
            timer.stop()
        if not self.dirty:
            self._aside.drop()
        self._aside.let_go()
        self.worker.close()
