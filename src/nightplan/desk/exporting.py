# SPDX-License-Identifier: GPL-3.0-or-later
"""The Export menu: files that leave the program."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from nightplan.model.errors import NightplanError

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.model.project import Project

#: words, part, ending
ENTRIES = (
    ("&Report as a page (HTML)…", "report", ".html"),
    ("Report to &print (PDF)…", "report", ".pdf"),
    ("&Wall sheet (PDF)…", "wall-sheet", ".pdf"),
    ("&Summary (Markdown)…", "summary", ".md"),
    ("", "", ""),
    ("&Calendar (.ics)…", "calendar", ".ics"),
    ("Table: p&lan (CSV)…", "plan", ".csv"),
    ("Table: lo&g (CSV)…", "log", ".csv"),
    ("Table: &futures (CSV)…", "futures", ".csv"),
    ("Table: &hours left (CSV)…", "burn-down", ".csv"),
    ("", "", ""),
    ("Evening s&trip (SVG)…", "strip", ".svg"),
    ("Evening str&ip (PNG)…", "strip", ".png"),
    ("", "", ""),
    ("Credits (&Markdown)…", "credits", ".md"),
    ("Making-&of (HTML)…", "making-of", ".html"),
)


def export(host: DeskHost, what: str, ending: str, *, minutes: float | None = None) -> None:
    """Ask where to and write a part of the project; plan and odds are those on the screen where they are fresh."""
    if not host.document.is_open:
        return
    name = re.sub(r"[^\w.-]+", "-", host.project.title.lower()).strip("-.") or "project"
    kind = ending[1:].upper() if ending != ".ics" else "iCalendar"
    host.export(
        f"Export: {what.replace('-', ' ')}",
        f"{name}-{what}{ending}",
        f"{kind} (*{ending})",
        partial(_write, host, what, minutes),
    )


def _write(host: DeskHost, what: str, minutes: float | None, path: Path) -> None:
    from nightplan.actions.leaving import DEFAULT_MINUTES, Wanted, leave

    document = host.document
    fresh = document.fresh and document.whole
    wanted = Wanted(
        host.as_of,
        host.services.now().astimezone(),
        what,
        minutes=DEFAULT_MINUTES if minutes is None else minutes,
    )

    def remember(project: Project) -> None:
        host.change_or_raise("Remember what the calendar was told", lambda _: project)

    leave(
        host.project,
        path,
        wanted,
        plan=host.plan if fresh else None,
        forecast=host.forecast if fresh else None,
        folder=Path(document.path).parent if document.path else None,
        remember=remember,
    )


class Exporter(QObject):
    """Fills the menus; belongs to the window."""

    def __init__(self, host: DeskHost, window: QWidget) -> None:
        super().__init__(window)
        self.host, self.window = host, window
        host.export_wanted.connect(self._wanted)

    @Slot(object)
    def _wanted(self, wanted: tuple[str, str, str, Callable[[Path], None]]) -> None:
        title, suggested, filters, write = wanted
        folder = os.path.dirname(self.host.document.path or "") or os.path.expanduser("~")

        def chosen(path: str | None) -> None:
            if path is None:
                return
            try:
                write(Path(path))
            except (NightplanError, OSError) as error:
                self.host.services.tell(self.window, "Not written", str(error))
            else:
                self.host.say(f"Written: {Path(path).name}")

        self.host.services.ask_save(self.window, os.path.join(folder, suggested), chosen, title=title, filters=filters)

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
