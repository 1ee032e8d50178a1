# SPDX-License-Identifier: GPL-3.0-or-later
"""The menu that chooses the language of the next start."""

from __future__ import annotations

from PySide6.QtCore import QObject, Slot
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QMenu

from nightplan.desk.host import DeskHost
from nightplan.speech import LANGUAGES, tr
from nightplan.speech.texts import MARKED


class LanguageMenu(QObject):
    """One entry a language, by its own name; the choice holds from the next start on."""

    def __init__(self, menu: QMenu, host: DeskHost) -> None:
        super().__init__(menu)
        self.host = host
        group = QActionGroup(self)
        for code, name in ((None, tr("As the &system")), *LANGUAGES.items()):
            if code == MARKED:
                continue
            action = menu.addAction(name)
            action.setCheckable(True)
            action.setData(code)
            group.addAction(action)
        group.triggered.connect(self._chosen)
        self._actions = group.actions()
        # to look for the choice takes longer than to paint the window's menus
        menu.aboutToShow.connect(self._check)

    @Slot()
    def _check(self) -> None:
        from nightplan.speech import choice

        kept = choice.kept()
        for action in self._actions:
            action.setChecked(action.data() == kept)

    @Slot(QAction)
    def _chosen(self, action: QAction) -> None:
        from nightplan.speech import choice

        try:
            choice.keep(action.data())
        except OSError as error:
            self.host.say(tr("The language could not be kept: {why}.", why=error.strerror or error))
            return
        self.host.say(tr("The language changes when nightplan is started the next time."))
