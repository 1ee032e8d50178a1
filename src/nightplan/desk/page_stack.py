# SPDX-License-Identifier: GPL-3.0-or-later
"""The pages of a window, one of them in sight: made when first wanted, told of the project and of its odds."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QStackedWidget, QWidget

from nightplan.desk.host import DeskHost
from nightplan.desk.pages import PAGES, Page

if TYPE_CHECKING:
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan


class PageStack(QStackedWidget):
    """``pages`` are those that are made, ``current`` the key of the one in sight, empty where none is."""

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host, self._theme = host, theme
        self.pages: dict[str, Page] = {}
        self.current = ""

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
        self.setCurrentWidget(page)
        page.focus_first()

    def leave(self) -> None:
        """What is being typed on the page in sight is finished."""
        if self.current in self.pages:
            self.pages[self.current].leave()

    def show_project(self, project: Project) -> None:
        for page in self.pages.values():
            page.show_project(project)

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        for page in self.pages.values():
            page.show_forecast(forecast, plan, fresh)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        for page in self.pages.values():
            page.set_theme(theme)
