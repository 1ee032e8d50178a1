# SPDX-License-Identifier: GPL-3.0-or-later
"""The bar at the side: one button for each page."""

from __future__ import annotations

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QFrame, QPushButton, QVBoxLayout, QWidget

from nightplan.desk.pages import PAGES
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.speech import tr

#: shown where no project is open, too
ALWAYS = "help"


class SideBar(QFrame):
    """``chosen`` with a page's key; ``begin`` where the page without a project is wanted."""

    chosen = Signal(object)
    begin = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "side")
        self.setAccessibleName(tr("Pages"))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 18, 0, 12)
        column.setSpacing(2)
        brand = PlainLabel(tr("nightplan"))
        brand.setProperty("role", "brand")
        brand.setContentsMargins(18, 0, 18, 14)
        column.addWidget(brand)
        # no button group: it would let Tab come to one of them only, and an arrow would turn the page
        self.buttons: list[QPushButton] = []
        self.begin_button = QPushButton(tr("Begin"))
        self.begin_button.setCheckable(True)
        self.begin_button.setProperty("role", "page")
        self.begin_button.setAccessibleName(tr("Page Begin"))
        self.begin_button.clicked.connect(self.begin)
        column.addWidget(self.begin_button)
        for n, (key, (title, _module, _class)) in enumerate(PAGES.items()):
            button = QPushButton(title)
            button.setCheckable(True)
            button.setProperty("role", "page")
            button.setProperty("page", key)
            button.setAccessibleName(tr("Page {title}", title=title))
            if n < 9:
                button.setToolTip(tr("Ctrl+{n}", n=n + 1))
            column.addWidget(button)
            button.clicked.connect(self._clicked)
            self.buttons.append(button)
        column.addStretch(1)

    @Slot()
    def _clicked(self) -> None:
        button = self.sender()
        if isinstance(button, QPushButton):
            self.chosen.emit(str(button.property("page")))

    def offer(self, is_open: bool) -> None:
        """All pages, or without a project only those that need none."""
        self.begin_button.setVisible(not is_open)
        for button in self.buttons:
            button.setVisible(is_open or button.property("page") == ALWAYS)

    def check(self, key: str) -> None:
        """Mark a page; none where nothing is open."""
        for button in self.buttons:
            button.setChecked(button.property("page") == key)
        self.begin_button.setChecked(key == "")
