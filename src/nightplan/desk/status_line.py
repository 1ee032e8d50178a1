# SPDX-License-Identifier: GPL-3.0-or-later
"""The line below the pages: the last sentence, and how far odds and files are where they take their time."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QStatusBar, QWidget

from nightplan.desk.widgets.plain_label import tip_text
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.document import Document
    from nightplan.desk.widgets.progress_part import ProgressPart

#: the toolkit writes the message with a little room at its left
_MARGIN = 12


class StatusLine(QStatusBar):
    """One sentence at a time; where there is no room for it, it ends in dots and stands whole in the tooltip."""

    def __init__(self, document: Document, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document = document
        self._sentence = ""
        self._parts: list[QWidget] = []
        self.setAccessibleName(tr("Messages"))
        document.worker.busy_changed.connect(self._first_odds)

    # what shows progress is made with the first work, not before the first paint

    @cached_property
    def odds(self) -> ProgressPart:
        """The odds that are being worked out."""
        from nightplan.desk.widgets.progress_part import ProgressPart

        part = ProgressPart(tr("Stop"))
        part.name(tr("Odds are being worked out"), tr("odds %p %"), tr("Stop working out the odds"))
        part.stop_wanted.connect(self._stop_odds)
        part.changed.connect(self._fit)
        self.add_part(part)
        part.follow(self._document.worker)
        return part

    @Slot()
    def _first_odds(self) -> None:
        self._document.worker.busy_changed.disconnect(self._first_odds)
        # made now; it begins by itself
        _ = self.odds

    @cached_property
    def leaving(self) -> ProgressPart:
        """The file that is being written."""
        from nightplan.desk.widgets.progress_part import ProgressPart

        part = ProgressPart(tr("Cancel"))
        part.name(tr("A file is being written"), tr("writing: %p %"), tr("Cancel writing the file"))
        part.changed.connect(self._fit)
        self.add_part(part)
        return part

    def add_part(self, widget: QWidget) -> None:
        """Something at the right end, hidden until it is wanted."""
        widget.hide()
        self.addPermanentWidget(widget)
        self._parts.append(widget)

    # --- the sentence ---

    @Slot(object)
    def say(self, sentence: str) -> None:
        """A sentence; it stays until the next one."""
        self._sentence = sentence
        self.setToolTip(tip_text(sentence))
        self.setAccessibleDescription(sentence)
        self._fit()
        # loaded with the first sentence: the first paint comes before it
        from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent

        if QAccessible.isActive():
            # a status line that changes is not read aloud by itself
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, sentence))

    def currentMessage(self) -> str:
        """The whole sentence, also where only its beginning is seen."""
        return self._sentence

    def shown_message(self) -> str:
        """What is seen of it."""
        return super().currentMessage()

    @Slot()
    def _fit(self) -> None:
        taken = sum(max(p.width(), p.sizeHint().width()) + 6 for p in self._parts if not p.isHidden())
        if self.isSizeGripEnabled():
            taken += self.height()
        room = max(0, self.width() - taken - _MARGIN)
        shown = self.fontMetrics().elidedText(self._sentence, Qt.TextElideMode.ElideRight, room)
        if shown != self.shown_message():
            self.showMessage(shown)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    # --- odds under way ---

    @Slot()
    def _stop_odds(self) -> None:
        self._document.worker.call_off()
        self.say(tr("The odds shown are those of before; any change works them out again."))
