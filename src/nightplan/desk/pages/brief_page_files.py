# SPDX-License-Identifier: GPL-3.0-or-later
"""From files on the page to findings, ticks and hand-in sheets: what happens in which order."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Slot

from nightplan.desk.pages.brief_page_checking import Checking
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.brief.findings import Depth, Report
    from nightplan.brief.rules import Deliverable
    from nightplan.desk.host import DeskHost
    from nightplan.desk.widgets.brief_check import CheckCard
    from nightplan.desk.widgets.brief_sheets import SheetsCard
    from nightplan.model.brief import Sheet
    from nightplan.model.project import Project

_ANY = tr("All files (*)")


class Files(QObject):
    """Headers at once, whole files right after them, pixels when they are asked for."""

    def __init__(self, host: DeskHost, card: CheckCard, sheets: SheetsCard, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.host, self.card, self.sheets = host, card, sheets
        self.paths: tuple[str, ...] = ()
        #: as it was found; ticks of now are put in when it is shown
        self.report: Report | None = None
        #: what the report was held against
        self._checked: Deliverable | None = None
        self._assets: Any = None
        self._deeper = False
        #: sheet of the report that is shown
        self._sheet: Sheet | None = None
        self._saved_for: Report | None = None
        self.checking = Checking(host, self._refused, self._failed, card.looking, self)
        self.checking.reported.connect(self._reported)
        self.checking.sheet_made.connect(self._sheet_made)
        self.checking.verified.connect(self._verified)
        self.checking.work.busy_changed.connect(self._busy_changed)
        card.files_wanted.connect(self.ask_file)
        card.folder_wanted.connect(self.ask_folder)
        card.look_wanted.connect(self.look)
        card.cancel_wanted.connect(self.cancel)
        card.deliverable_chosen.connect(self._deliverable_chosen)
        card.ticked.connect(self._ticked)
        card.sheet_wanted.connect(self.sheet)
        sheets.verify_wanted.connect(self._verify)
        sheets.save_wanted.connect(self._save)
        sheets.remove_wanted.connect(self._remove)

    @Slot()
    def close(self) -> None:
        self.checking.close()

    # ---- what is looked at -------------------------------------------------------------------
    def _folder(self) -> str:
        last = os.path.dirname(os.path.abspath(self.paths[0])) if self.paths else ""
        return last or os.path.dirname(self.host.document.path or "") or os.path.expanduser("~")

    @Slot()
    def ask_file(self) -> None:
        self.host.services.ask_file(self.card, tr("A file to check"), self._folder(), _ANY, self._file_chosen)

    def _file_chosen(self, path: str | None) -> None:
        if path is not None:
            self.take((path,))

    @Slot()
    def ask_folder(self) -> None:
        self.host.services.ask_folder(self.card, tr("A folder to check"), self._folder(), self._file_chosen)

    def take(self, paths: tuple[str, ...]) -> None:
        """Files or folders to hold against the deliverable that they look like."""
        from nightplan.actions.brief import deliverables_of
        from nightplan.actions.brief_check import deliverable_for

        chosen = self.card.deliverable
        try:
            fit = deliverable_for(deliverables_of(self.host.project), paths, chosen.id if chosen else None)
        except BadInput as error:
            self._refused(error.sentence)
            return
        if fit is not None:
            self.card.choose_deliverable(fit)
        self.paths = paths
        self.report = None
        self.card.show_report(None)
        self.card.show_paths(paths)
        self._deeper = True
        self.look("headers")

    @Slot(object)
    def _deliverable_chosen(self, _key: object) -> None:
        self.report = None
        self.card.show_report(None)
        if self.paths:
            self._deeper = True
            self.look("headers")

    @Slot(object)
    def look(self, depth: Depth) -> None:
        """Look at the files that were given; what is under way is called off."""
        d = self.card.deliverable
        if d is None or not self.paths:
            return
        if depth != "headers":
            self._deeper = False
        project = self.host.project
        self._checked, self._assets = d, project.assets
        now = self.host.services.now().astimezone()
        self.checking.check(d, self.paths, depth, now, project)

    @Slot()
    def cancel(self) -> None:
        self._deeper = False
        self.checking.call_off()
        self.host.say(tr("Called off; what was found before stays."))

    # ---- answers -----------------------------------------------------------------------------
    @Slot(object)
    def _reported(self, report: Report) -> None:
        self.report, self._sheet = report, None
        self._show()
        if self._deeper:
            self._deeper = False
            self.look("integrity")
            return
        shown = self.card.report
        if shown is not None:
            from nightplan.actions.brief_check import verdict_sentence
            from nightplan.brief.findings import VERDICT_WORDS

            self.host.say(
                tr(
                    # translators: what was checked, the answer in one or two words, and as a sentence
                    "{name}: {verdict}. {sentence}",
                    name=shown.name,
                    verdict=VERDICT_WORDS[shown.verdict],
                    sentence=verdict_sentence(shown.verdict, shown.findings),
                )
            )

    def show_project(self, project: Project, deliverables: tuple[Deliverable, ...]) -> None:
        """Other rules or ticks: the report is shown with them."""
        if self.report is not None and all(d.id != self.report.deliverable for d in deliverables):
            self.report = None
        self._show()

    def _show(self) -> None:
        if self.report is None or self._checked is None:
            self.card.show_report(None)
            return
        from nightplan.actions.brief import deliverable_of
        from nightplan.actions.brief_check import same_rules, with_ticks

        d = deliverable_of(self.host.project, self.report.deliverable)
        stale = not same_rules(self._checked, d) or self._assets != self.host.project.assets
        shown = with_ticks(self.report, d)
        if shown != self._saved_for:
            self._sheet, self._saved_for = None, shown
        self.card.show_report(shown, stale)

    @Slot(object)
    def _refused(self, sentence: str) -> None:
        self._deeper = False
        self.card.show_refused(sentence)
        self.host.say(sentence)

    @Slot(object)
    def _failed(self, error: BaseException) -> None:
        self._deeper = False
        self.card.show_refused(tr("It stopped by a fault of ours; your files and the project are as they were."))
        self.host.services.fault(error)

    @Slot(object)
    def _busy_changed(self, busy: bool) -> None:
        self.card.show_busy(busy)
        self.sheets.show_busy(busy)

    @Slot(object)
    def _ticked(self, told: tuple[str, str, bool, str]) -> None:
        from nightplan.actions.brief import answer_tick

        home, rule, ticked, note = told
        label = tr("Tick a rule") if ticked else tr("Take a tick back")
        if self.host.change(label, lambda p: answer_tick(p, home, rule, ticked, note)):
            self.card.list.setFocus()

    # ---- sheets ------------------------------------------------------------------------------
    @Slot(object)
    def sheet(self, purpose: str) -> None:
        """Keep the sheet of what is shown, or save it as .html or .pdf."""
        shown = self.card.report
        if shown is None:
            return
        if self._sheet is not None:
            self._use(purpose, self._sheet)
        else:
            self.checking.make_sheet(shown, purpose)

    @Slot(object)
    def _sheet_made(self, told: tuple[str, Sheet]) -> None:
        purpose, self._sheet = told
        self._use(purpose, self._sheet)

    def _use(self, purpose: str, sheet: Sheet) -> None:
        from nightplan.actions.brief import keep_handin
        from nightplan.brief.findings import VERDICT_WORDS

        if purpose != "keep":
            self._save_as(sheet, purpose)
        elif self.host.change(tr("Keep the hand-in sheet: {name}", name=sheet.name), lambda p: keep_handin(p, sheet)):
            self.host.say(
                tr(
                    "The sheet is kept in the project: {name}, {verdict}.",
                    name=sheet.name,
                    verdict=VERDICT_WORDS[sheet.verdict],
                )
            )

    def _save_as(self, sheet: Sheet, ending: str) -> None:
        from nightplan.actions.brief_check import write_sheet
        from nightplan.desk.export_run import Leaving, file_name

        project = self.host.project
        self.host.export(
            Leaving(
                tr("Save the hand-in sheet"),
                file_name(f"hand-in-{sheet.name or sheet.deliverable}", ending),
                f"{ending[1:].upper()} (*{ending})",
                lambda: lambda path, _report: write_sheet(sheet, path, project),
            )
        )

    @Slot(object)
    def _verify(self, told: tuple[int, bool]) -> None:
        place, elsewhere = told
        sheet = (self.host.project.handins or ())[place]
        if not elsewhere:
            self.checking.verify(sheet)
            return

        def chosen(folder: str | None) -> None:
            if folder is not None:
                self.checking.verify(sheet, folder)

        self.host.services.ask_folder(self.card, tr("Where the files are now"), self._folder(), chosen)

    @Slot(object)
    def _verified(self, told: tuple[Sheet, Any]) -> None:
        from nightplan.actions.brief_check import still_sentence

        sheet, states = told
        self.sheets.show_states(sheet, states)
        self.host.say(still_sentence(states))

    @Slot(object)
    def _save(self, told: tuple[int, str]) -> None:
        place, ending = told
        self._save_as((self.host.project.handins or ())[place], ending)

    @Slot(object)
    def _remove(self, place: int) -> None:
        from nightplan.actions.brief import remove_handin

        self.host.change(tr("Take a hand-in sheet out"), lambda p: remove_handin(p, place))
