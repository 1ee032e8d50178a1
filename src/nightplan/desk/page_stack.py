# SPDX-License-Identifier: GPL-3.0-or-later
"""The pages of a window, one of them in sight: made when first wanted, told of the project and of its odds.

The page in sight is told at once. The others are told one after the other while nothing else is to be done, and at
the latest when they come into sight: an evening that is ticked off is drawn once, not once for each page.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Slot
from PySide6.QtWidgets import QStackedWidget, QWidget

from nightplan.desk.host import DeskHost
from nightplan.desk.pages import PAGES, Page

if TYPE_CHECKING:
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan


#: so long after the odds came, and between two pages that are out of sight
_REST_MS = 25


class PageStack(QStackedWidget):
    """``pages`` are those that are made, ``current`` the key of the one in sight, empty where none is."""

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host, self._theme = host, theme
        self.pages: dict[str, Page] = {}
        self.current = ""
        #: keys of the pages that are to be told of the odds -> of the project, too
        self._owed: dict[str, bool] = {}
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self._tell_one)
        host.document.worker.busy_changed.connect(self._busy_changed)
        host.document.closing.connect(self._rest.stop)

    def page(self, key: str) -> Page:
        """A page by its key; made where it is not there yet."""
        if key not in self.pages:
            _title, module, name = PAGES[key]
            page: Page = getattr(importlib.import_module(module), name)(self.host, self._theme)
            self.pages[key] = page
            self.addWidget(page)
            document = self.host.document
            if document.is_open:
                page.show_project(document.project)
                page.show_forecast(document.forecast, document.plan, document.fresh)
        return self.pages[key]

    def turn_to(self, key: str) -> None:
        """Bring a page into sight and the keyboard to where its work begins."""
        page = self.page(key)
        if self.current != key:
            self.leave()
        self.current = key
        self._tell(key)
        self.setCurrentWidget(page)
        page.focus_first()

    def leave(self) -> None:
        """What is being typed on the page in sight is finished."""
        if self.current in self.pages:
            self.pages[self.current].leave()

    @property
    def all_told(self) -> bool:
        """Every page shows the project and the odds as they are."""
        return not self._owed

    def show_project(self, project: Project) -> None:
        for key, page in self.pages.items():
            if key == self.current:
                page.show_project(project)
            else:
                self._owed[key] = True

    def take_completed(self, project: Project) -> None:
        for key, page in self.pages.items():
            if key == self.current:
                page.take_completed(project)
            else:
                self._owed[key] = True

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        for key, page in self.pages.items():
            if key == self.current:
                page.show_forecast(forecast, plan, fresh)
            else:
                self._owed.setdefault(key, False)
        self._busy_changed(self.host.document.worker.busy)

    def _tell(self, key: str) -> None:
        """Tell a page what it has not been told yet."""
        document = self.host.document
        if key not in self._owed or not document.is_open:
            return
        if self._owed.pop(key):
            self.pages[key].show_project(document.project)
        self.pages[key].show_forecast(document.forecast, document.plan, document.fresh)

    @Slot(object)
    def _busy_changed(self, busy: bool) -> None:
        if self._owed and not busy:
            self._rest.start()

    @Slot()
    def _tell_one(self) -> None:
        # while odds are worked out the next answer makes this one void
        if self._owed and not self.host.document.worker.busy:
            self._tell(next(iter(self._owed)))
            if self._owed:
                self._rest.start()

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        for page in self.pages.values():
            page.set_theme(theme)
