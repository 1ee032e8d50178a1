# SPDX-License-Identifier: GPL-3.0-or-later
"""The menu bar as it is seen, still without entries: no more is needed for the first paint."""

from __future__ import annotations

from PySide6.QtWidgets import QMenuBar

from nightplan.speech import tr


class MenuTitles:
    """The menus of a bar, to be filled by :class:`nightplan.desk.menus.Menus`."""

    def __init__(self, bar: QMenuBar) -> None:
        bar.setAccessibleName(tr("Menus"))
        self.file = bar.addMenu(tr("&File"))
        self.edit = bar.addMenu(tr("&Edit"))
        self.project = bar.addMenu(tr("&Project"))
        self.view = bar.addMenu(tr("&View"))
        self.help = bar.addMenu(tr("&Help"))
