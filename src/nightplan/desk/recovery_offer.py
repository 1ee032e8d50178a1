# SPDX-License-Identifier: GPL-3.0-or-later
"""Unsaved changes of an earlier run: offered, taken up, or thrown away."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Slot

from nightplan.desk.recovery import file_of, kept_changes, told
from nightplan.model.errors import NightplanError
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.window import MainWindow

_MOST_LINES = 500


class RecoveryOffer(QObject):
    """Belongs to a window."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self.window, self.document, self.services = window, window.document, window.services

    def offer_for(self, path: str | None) -> bool:
        """What was not saved of the file that was just opened. True where something was offered."""
        for place, kept in kept_changes(self.services.recovery_folder()):
            if kept.get("path") == path:
                self._offer(place, kept)
                return True
        return False

    @Slot()
    def offer_all(self) -> None:
        """Newest first; says so where there is nothing."""
        if not self.offer_any():
            self.window.say(tr("There are no unsaved changes from an earlier run."))

    @Slot()
    def offer_any(self) -> bool:
        """Offer them where there are any."""
        found = kept_changes(self.services.recovery_folder())
        if found:
            self._offer(*found[0])
        return bool(found)

    def _offer(self, place: Path, kept: dict[str, object]) -> None:
        files = self.window.files
        if not files.ask_once("recovery"):
            return
        name = Path(str(kept["path"])).name if kept.get("path") else tr("A project that was never saved")
        day, _t, time = str(kept.get("when", "")).partition("T")
        when = tr("{day} at {time}", day=day, time=time[:5]) if time else day

        def answered(key: str) -> None:
            files.asking.discard("recovery")
            if key == "recover":
                self.take_up(place, kept)
            elif key == "discard":
                place.unlink(missing_ok=True)
            if key == "discard" and not self.document.is_open:
                self.offer_any()

        self.services.ask(
            self.window,
            tr("Unsaved changes from an earlier run"),
            tr(
                "{name} has changes of {when} that were not saved (last step: {step}).",
                name=name,
                when=when,
                step=kept.get("step"),
            ),
            [("recover", tr("Recover them")), ("discard", tr("Throw them away")), ("later", tr("Not now"))],
            answered,
            detail="\n".join(told(kept)[:_MOST_LINES]),
        )

    def take_up(self, place: Path, kept: dict[str, object]) -> None:
        """Bring kept changes back, in a window of their own where this one shows something else."""
        path = file_of(kept)
        if self.document.is_open and (path is None or path != self.document.path or self.document.dirty):
            self.window.recovery_wanted.emit((place, kept))
            return
        try:
            self.document.recover(kept)
        except NightplanError as error:
            self.services.tell(self.window, tr("Not recovered"), str(error))
            return
        place.unlink(missing_ok=True)
        self.window.show_document()
        self.window.say(tr("Your unsaved changes are back; Undo shows what was saved."))
