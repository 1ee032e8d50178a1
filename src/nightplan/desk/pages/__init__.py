# SPDX-License-Identifier: GPL-3.0-or-later
"""The pages of the window.

A page is a :class:`Page`: it is given the project and the odds and shows them; it changes the
project by ``self.host.change("Rename item", lambda p: edit.change_item(p, "block", name="..."))``,
never by itself. Pages are made when they are first shown, so that the window opens at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan


class Page(QWidget):
    """Base of every page."""

    #: stable name, title in the side bar, one line on what it is for
    id = ""
    title = ""
    tip = ""

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self.theme = theme
        self.setAccessibleName(self.title)

    def show_project(self, project: Project) -> None:
        """The project changed; plan and odds may be those of the project before."""

    def take_completed(self, project: Project) -> None:
        """The project was completed by its own odds, such as with the forecasts of a tick; the odds follow at once.

        A page that shows nothing of stored forecasts need not draw anything anew.
        """
        self.show_project(project)

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        """Plan and odds came, or went (None). ``fresh``: they are those of the project shown."""

    def set_theme(self, theme: Theme) -> None:
        """Another theme holds from now on."""
        self.theme = theme

    def focus_first(self) -> None:
        """Put the keyboard where work on this page begins."""
        self.setFocus()

    def leave(self) -> None:
        """The page is about to be hidden or the window closed: finish what is being typed."""


#: id -> module and class; the order is that of the side bar
PAGES: dict[str, tuple[str, str, str]] = {
    "plan": (tr("Plan"), "nightplan.desk.pages.plan_page", "PlanPage"),
    "tonight": (tr("Tonight"), "nightplan.desk.pages.tonight_page", "TonightPage"),
    "ways-back": (tr("Ways back"), "nightplan.desk.pages.recover_page", "RecoverPage"),
    "nights": (tr("Nights"), "nightplan.desk.pages.nights_page", "NightsPage"),
    "brief": (tr("Brief"), "nightplan.desk.pages.brief_page", "BriefPage"),
    "look-back": (tr("Look back"), "nightplan.desk.pages.lookback_page", "LookBackPage"),
    "assets": (tr("Assets"), "nightplan.desk.pages.assets_page", "AssetsPage"),
    "journal": (tr("Journal"), "nightplan.desk.pages.journal_page", "JournalPage"),
    "help": (tr("Help"), "nightplan.desk.pages.help_page", "HelpPage"),
}
