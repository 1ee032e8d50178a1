# SPDX-License-Identifier: GPL-3.0-or-later
"""The offer of the ways back where the artist works: why, and a button to the page."""

from __future__ import annotations

import datetime as dt

from PySide6.QtWidgets import QWidget

from nightplan.actions.ways_back import worth_saying
from nightplan.desk.widgets.notice import Notice
from nightplan.desk.widgets.watch_list import sentence
from nightplan.engine.watch import Offer
from nightplan.model.project import Project
from nightplan.model.results import Forecast
from nightplan.speech import tr


def reasons(found: tuple[Offer, ...]) -> str:
    """All reasons as one sentence."""
    return sentence("; ".join(o.reason for o in found)) if found else ""


class WaysNotice(Notice):
    """Hidden unless there is something to offer."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(tr("See the ways back"), tr("What would bring the odds up, each with its price"), parent)

    def offer(self, project: Project | None, as_of: dt.date, forecast: Forecast | None) -> None:
        found: tuple[Offer, ...] = ()
        if project is not None and forecast is not None:
            found = worth_saying(project, as_of, {g.id: g.odds for g in forecast.gates})
        self.say(reasons(found))
