# SPDX-License-Identifier: GPL-3.0-or-later
"""The Export menu: files that leave the program."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.background import Report
    from nightplan.desk.export_run import Write
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project

#: words, part, ending
ENTRIES = (
    (tr("&Report as a page (HTML)…"), "report", ".html"),
    (tr("Report on one p&age (PDF)…"), "one-page", ".pdf"),
    (tr("Long report to &print (PDF)…"), "report", ".pdf"),
    (tr("&Wall sheet (PDF)…"), "wall-sheet", ".pdf"),
    (tr("&Summary (Markdown)…"), "summary", ".md"),
    ("", "", ""),
    (tr("&Calendar (.ics)…"), "calendar", ".ics"),
    (tr("Table: p&lan (CSV)…"), "plan", ".csv"),
    (tr("Table: lo&g (CSV)…"), "log", ".csv"),
    (tr("Table: &futures (CSV)…"), "futures", ".csv"),
    (tr("Table: &hours left (CSV)…"), "burn-down", ".csv"),
    ("", "", ""),
    (tr("Evening s&trip (SVG)…"), "strip", ".svg"),
    (tr("Evening str&ip (PNG)…"), "strip", ".png"),
    ("", "", ""),
    (tr("Credits (&Markdown)…"), "credits", ".md"),
    (tr("Making-&of (HTML)…"), "making-of", ".html"),
)


def export(host: DeskHost, what: str, ending: str, *, minutes: float | None = None) -> None:
    """Ask where to and write a part of the project; plan and odds are those on the screen where they are fresh."""
    # loaded when it is wanted, not before the first paint
    from nightplan.desk.export_run import Leaving, file_name

    if not host.document.is_open:
        return
    kind = ending[1:].upper() if ending != ".ics" else "iCalendar"
    host.export(
        Leaving(
            f"Export: {what.replace('-', ' ')}",
            file_name(host.project.title, f"-{what}{ending}"),
            f"{kind} (*{ending})",
            partial(_begin, host, what, minutes),
            partial(_remember, host) if what == "calendar" else None,
        )
    )


def _begin(host: DeskHost, what: str, minutes: float | None) -> Write:
    """The project, the plan and the odds as they are now, and what writes them."""
    from nightplan.actions.leaving import DEFAULT_MINUTES, Wanted, leave

    document = host.document
    project, fresh = document.project, document.fresh and document.whole
    found, planned = (document.forecast, document.plan) if fresh else (None, None)
    wanted = Wanted(
        host.as_of,
        host.services.now().astimezone(),
        what,
        minutes=DEFAULT_MINUTES if minutes is None else minutes,
    )
    folder = Path(document.path).parent if document.path else None

    def write(path: Path, report: Report) -> Project:
        return leave(project, path, wanted, plan=planned, forecast=found, progress=report, folder=folder).project

    return write


def _remember(host: DeskHost, told: Project) -> None:
    """A calendar that was told and forgotten would be told once more with the same number."""
    from nightplan.exports.calendar_out import TOLD

    memory = told.unknown.get(TOLD)
    if memory != host.project.unknown.get(TOLD):
        host.change_or_raise(tr("Remember what the calendar was told"), lambda p: p.but(**{TOLD: memory}))


class Exporter(QObject):
    """Fills the menu; belongs to the window."""

    def __init__(self, host: DeskHost, window: QWidget) -> None:
        super().__init__(window)
        self.host = host

    def fill(self, menu: QMenu) -> None:
        for text, what, ending in ENTRIES:
            if not text:
                menu.addSeparator()
                continue
            action = menu.addAction(text)
            action.setData((what, ending))
            action.triggered.connect(self._chosen)

    @Slot()
    def _chosen(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            what, ending = action.data()
            export(self.host, what, ending)
