# SPDX-License-Identifier: GPL-3.0-or-later
"""Conflict copies beside the open file: noticed, shown with what differs, and brought in as one step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.desk.window import MainWindow
    from nightplan.model.project import Project

_SETTLED = "copies_settled"
_MOST_SETTLED = 50
_MOST_LINES = 500


class ConflictCopies(QObject):
    """Belongs to a window."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.window, self.document, self.services = window, window.document, window.services

    def offer(self) -> bool:
        """Ask about the newest copy that says something else than the open file. False where there is none."""
        from nightplan.actions.differences import differences
        from nightplan.files.copies import conflict_copies
        from nightplan.files.store import load_known

        if self.document.path is None or self.document.looking:
            return False
        settled = self._settled()
        for copy in conflict_copies(self.document.path):
            try:
                theirs, state = load_known(copy)
            except BadInput:
                continue
            told = differences(self.document.project, theirs)
            if told and state not in settled:
                return self._ask(copy, theirs, state, told)
        return False

    def _ask(self, copy: Path, theirs: Project, state: str, told: tuple[str, ...]) -> bool:
        files = self.window.files
        if not files.ask_once("copy"):
            return False

        def answered(key: str) -> None:
            files.asking.discard("copy")
            if key == "bring":
                self._bring(copy, theirs, state)
            elif key == "open":
                self.window.window_wanted.emit(str(copy))
            elif key == "leave":
                self._settle(state)

        self.services.ask(
            self.window,
            tr("A copy with changes of its own"),
            tr(
                "{name} lies beside this file and differs in {things}. A folder that is kept in step on "
                "several machines makes such a copy where both changed the file. Bring both together "
                "(one step; whatever is on either side is in, yours where they contradict each other)?",
                name=copy.name,
                things=trn("{n} thing", "{n} things", len(told)),
            ),
            [
                ("bring", tr("Bring both together")),
                ("open", tr("Open the copy")),
                ("leave", tr("Leave it, do not ask again")),
                ("later", tr("Not now")),
            ],
            answered,
            detail=tr("This file → the copy\n\n") + "\n".join(told[:_MOST_LINES]),
        )
        return True

    def _bring(self, copy: Path, theirs: Project, state: str) -> None:
        from nightplan.actions.merge import merge

        # what both come from is not known
        merged = merge(None, self.document.project, theirs)
        if merged.project is None:
            why = merged.conflicts[-1] if merged.conflicts else ""
            self.services.tell(
                self.window,
                tr("They do not go together"),
                tr("{why}. Open the copy in a window and take over by hand.", why=why),
            )
            return
        self.document.apply(tr("Bring in {name}", name=copy.name), merged.project)
        self._settle(state)
        if not merged.conflicts:
            self.window.say(tr("Whatever stood in {name} is in; save to keep it, Undo goes back.", name=copy.name))
            return
        count = len(merged.conflicts)
        self.services.tell(
            self.window,
            tr("Brought together"),
            tr(
                "Whatever stood in {name} is in. In {places} both sides say something else: there yours "
                "was kept. Look them through; the copy stays where it is.",
                name=copy.name,
                places=trn("{n} place", "{n} places", count),
            ),
            detail="\n".join(merged.conflicts[:_MOST_LINES]),
        )

    def _settled(self) -> list[str]:
        found = self.services.settings().value(_SETTLED, [], type=list)
        return [str(state) for state in found] if isinstance(found, list) else []

    def _settle(self, state: str) -> None:
        self.services.settings().setValue(_SETTLED, [state, *self._settled()][:_MOST_SETTLED])
