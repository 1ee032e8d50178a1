# SPDX-License-Identifier: GPL-3.0-or-later
"""The Project menu: settings, baseline, evenings that nobody has said anything about."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Slot

from nightplan.desk import words
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.desk.window import MainWindow
    from nightplan.model.project import Project


class ProjectActions(QObject):
    """Belongs to a window and works on its document."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.window, self.document, self.services = window, window.document, window.services
        self._accept_wanted = False
        #: missed evenings were asked for, or are not to be
        self.missed_asked = False

    @Slot()
    def edit_settings(self) -> None:
        from nightplan.desk.project_settings import EditProject

        dialog = EditProject(self.services, self.window.themes.theme, self.document.project, self.window)
        self.window.settings_dialog = dialog
        dialog.made.connect(self._settings_made)
        dialog.open()

    @Slot(object)
    def _settings_made(self, project: Project) -> None:
        self.document.apply(tr("Change dates, week and settings"), project)

    @Slot()
    def accept_baseline(self) -> None:
        from nightplan.actions.baseline import baseline_of
        from nightplan.actions.tick import stored

        d = self.document
        if d.forecast is None or d.plan is None or not d.fresh or not d.whole:
            # the baseline keeps the odds of all futures
            self._accept_wanted = True
            self.window.say(tr("One moment: the odds are still being worked out; then this plan is accepted."))
            if not d.worker.busy:
                d.ask_again()
            return
        accepted = baseline_of(d.project, d.forecast, d.plan)
        d.apply(
            tr("Accept the plan as baseline"),
            d.project.but(
                baselines=(*d.project.baselines, accepted),
                forecasts=(*d.project.forecasts, stored(d.forecast, "accepted")),
            ),
        )
        self.window.say(tr("This plan is the baseline now; burn-down and buffer are measured against it."))

    def whole_odds_came(self) -> None:
        """What had to wait for the odds of all futures."""
        if self._accept_wanted:
            self._accept_wanted = False
            self.accept_baseline()
        if not self.missed_asked and not self.window.files.asking:
            self.missed_asked = True
            QTimer.singleShot(0, self, self._ask_missed_on_opening)

    @Slot()
    def compare_baseline(self) -> None:
        from nightplan.actions.baseline import compare

        if self.document.plan is None:
            return
        rows = compare(self.document.project, self.document.plan)
        if not rows:
            self.services.tell(self.window, tr("No baseline yet"), tr("Accept the plan as baseline first (Ctrl+B)."))
            return
        lines = []
        for row in rows:
            then = tr("new since") if row.likely_then is None else words.exact_hours(row.likely_then)
            now = tr("gone since") if row.likely_now is None else words.exact_hours(row.likely_now)
            moved = ""
            if row.finish_then and row.finish_now and row.finish_then != row.finish_now:
                moved = f", {words.day(row.finish_then)} → {words.day(row.finish_now)}"
            if then != now or moved:
                lines.append(tr("{name}: likely {then} → {now}", name=row.name, then=then, now=now) + moved)
        base = self.document.project.baselines[-1]
        self.services.tell(
            self.window,
            tr("Against the baseline"),
            trn(
                "Baseline of {day}: {n} item moved.",
                "Baseline of {day}: {n} items moved.",
                len(lines),
                day=words.day(base.on),
            ),
            detail="\n".join(lines) or tr("Nothing moved."),
        )

    @Slot()
    def _ask_missed_on_opening(self) -> None:
        from nightplan.actions.today import missed_evenings

        try:
            if self.document.is_open and missed_evenings(self.document.project, self.document.as_of):
                self.ask_missed()
        except BadInput as error:
            self.window.say(error.sentence)

    @Slot()
    def ask_missed(self) -> None:
        """Past evenings that nobody has said anything about, one key each."""
        from nightplan.desk.missed import MissedEvenings

        self.window.missed = MissedEvenings(self.window.host, self.window)
        if self.window.missed.empty:
            self.window.say(tr("Every evening so far is ticked off."))
            return
        self.window.missed.open()
