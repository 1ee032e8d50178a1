# SPDX-License-Identifier: GPL-3.0-or-later
"""The chart panel: burn-down, slip risk, buffer. matplotlib is loaded when the panel is first shown."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QMenu,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.fields import tool_button
from nightplan.desk.told import label_for_listeners
from nightplan.desk.widgets.charts_live import LiveAxes, live_canvas
from nightplan.desk.widgets.charts_views import FORMATS, VIEWS, Shown, axes_for
from nightplan.desk.widgets.elided import ShortLabel
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.strip_host import Host
from nightplan.desk.words import spoken
from nightplan.exports.look import LIGHT, Look
from nightplan.speech import tr

if TYPE_CHECKING:
    from matplotlib.figure import Figure


#: the words stand below the chart where they leave it so many lines, its buttons with it
_CHART_LINES = 15
#: so long the first chart waits for the first odds, and for them to be painted
_ODDS_FIRST_MS, _PAINTED_MS = 800, 40


class ChartPanel(QWidget):
    """``save_asked`` with ``png``, ``svg`` or ``pdf`` when the artist wants the chart as a file."""

    save_asked = Signal(object)
    drawn = Signal()

    def __init__(self, host: Host, look: Look = LIGHT, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._host = host
        self._look = look
        self._view = "burn-down"
        self._stale = True
        #: for the odds, with the first chart
        self._waited = False
        #: view, room and look that the kept axes were made for
        self._laid_out: tuple[Any, ...] | None = None
        self.canvas: Any = None
        self.figure: Figure | None = None
        self.setAccessibleName(tr("Charts"))
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(0)
        self._later.timeout.connect(self._draw)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        layout.addLayout(self._head())
        self._place = QWidget(self)
        self._place.setMinimumHeight(120)
        box = QVBoxLayout(self._place)
        box.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._place, 1)
        self.words = PlainLabel(parent=self)
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setProperty("role", "muted")
        self.words.setAccessibleName(tr("The chart in words"))
        layout.addWidget(self.words)

    def _head(self) -> QBoxLayout:
        """The views and what belongs to one of them, in one row or in two."""
        self._heads = head = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._views, self._more = views, row = QHBoxLayout(), QHBoxLayout()
        # the pressed button says the same
        self.title = ShortLabel(VIEWS[0][1], self, hint=True)
        self.title.setProperty("role", "heading")
        head.addWidget(self.title, 1)
        head.addLayout(views)
        head.addLayout(row)
        for part in (views, row):
            head.setAlignment(part, Qt.AlignmentFlag.AlignLeft)
        self.gate = QComboBox(self)
        self.gate.setAccessibleName(tr("Gate of the buffer chart"))
        self.gate.view().setAccessibleName(tr("Gates"))
        self.gate.setToolTip(tr("The gate whose buffer is shown"))
        self.gate.activated.connect(self._gate_chosen)
        self.gate.hide()
        row.addWidget(self.gate)
        label_for_listeners(self.gate)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        self.buttons: dict[str, QToolButton] = {}
        for key, _, text, tip in VIEWS:
            button = tool_button(text, tip)
            button.setCheckable(True)
            button.setChecked(key == self._view)
            button.setProperty("view", key)
            self._group.addButton(button)
            self.buttons[key] = button
            views.addWidget(button)
        self._group.buttonClicked.connect(self._clicked)
        self.named_for("")
        tip = tr("Save this chart as a picture, a drawing or a page")
        self.save_button = tool_button(tr("Save"), tip, tr("Save this chart"))
        self.save_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.save_button.setStyleSheet(
            "QToolButton { padding-right: 20px; }"
            "QToolButton::menu-indicator { subcontrol-position: right center; right: 6px; }"
        )
        menu = QMenu(self.save_button)
        menu.setAccessibleName(tr("Kinds of file"))
        for key, name in FORMATS.items():
            action = menu.addAction(f"{name} (.{key})")
            action.setData(key)
        menu.triggered.connect(self._save_chosen)
        self.save_button.setMenu(menu)
        row.addWidget(self.save_button)
        return head

    def _fit_head(self) -> None:
        """No button is cut: what does not fit beside the views stands below them."""
        wanted = self._views.sizeHint().width() + self._more.sizeHint().width() + 2 * self._heads.spacing()
        fits = self.width() >= wanted
        way = QBoxLayout.Direction.LeftToRight if fits else QBoxLayout.Direction.TopToBottom
        if self._heads.direction() != way:
            self._heads.setDirection(way)
            self.title.setVisible(fits)

    def named_for(self, which: str) -> None:
        """Which of several panels this is, in the names of its parts; none where it is the only one."""
        for key, _, text, _ in VIEWS:
            view = spoken(text)
            name = tr("Chart, {which}: {view}", which=which, view=view) if which else tr("Chart: {view}", view=view)
            self.buttons[key].setAccessibleName(name)

    # ---- which view --------------------------------------------------------------------------
    @property
    def view(self) -> str:
        """``burn-down``, ``slip`` or ``buffer``."""
        return self._view

    def show_view(self, key: str) -> None:
        if key != self._view:
            self.words.setMinimumHeight(0)
        self._view = key
        self.buttons[key].setChecked(True)
        self.title.set_full_text(next(title for k, title, _, _ in VIEWS if k == key))
        self.gate.setVisible(key == "buffer" and self.gate.count() > 1)
        self._fit_head()
        self.refresh()

    def _clicked(self, button: QToolButton) -> None:
        self.show_view(str(button.property("view")))

    def _gate_chosen(self, _n: int) -> None:
        self.refresh()

    # ---- drawing -----------------------------------------------------------------------------
    def refresh(self) -> None:
        """Show the project as it is now; drawn at once only where it can be seen."""
        gates = [(g.name, g.id) for g in self._host.project.gates]
        if [(self.gate.itemText(n), self.gate.itemData(n)) for n in range(self.gate.count())] != gates:
            kept = self.gate.currentData()
            self.gate.clear()
            for name, key in gates:
                self.gate.addItem(name, key)
            self.gate.setCurrentIndex(max(0, self.gate.findData(kept)))
        self._stale = True
        if self.isVisible():
            self._later.start(0 if self.canvas is not None or not self._waited else _PAINTED_MS)

    def set_look(self, look: Look) -> None:
        self._look = look
        self.refresh()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._stale:
            # the window first, the charts after it
            self._later.start(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.words.setMinimumHeight(0)
        self._fit_head()
        self._fit_words()

    def _fit_words(self) -> None:
        """The words stand below the chart where that leaves it room; a screen reader is told them anyway."""
        taken = max(self.words.minimumHeight(), self.words.heightForWidth(self.width()))
        roomy = self.height() - taken >= _CHART_LINES * self.fontMetrics().height()
        self.words.setVisible(roomy)

    def _canvas_resized(self, _event: object) -> None:
        # names keep clear of the lines at the size they were laid out for
        if self.isVisible():
            self._later.start(60)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.words.setMinimumHeight(0)
            self._fit_head()
            self.refresh()

    def _is_wide(self) -> bool:
        return self._place.width() > 34 * self.fontMetrics().averageCharWidth() * 2

    @property
    def fresh(self) -> bool:
        """The chart that is seen is that of the project and its odds; True also where no chart is in sight."""
        waits = self._stale or self._later.isActive() or self.canvas is None or self.canvas.waits
        return not (waits and self.isVisible())

    def _make_canvas(self) -> None:
        from matplotlib.figure import Figure

        self.figure = Figure()
        self.canvas = live_canvas(self.figure)
        self.canvas.mpl_connect("resize_event", self._canvas_resized)
        self.canvas.setParent(self._place)
        self.canvas.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.canvas.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Ignored)
        box = self._place.layout()
        assert box is not None
        box.addWidget(self.canvas)

    def _draw(self) -> None:
        if not self.isVisible():
            return
        if self.canvas is None:
            if self._host.forecast is None and not self._waited:
                # to load what draws takes longer than the first odds, and would hold them up
                self._waited = True
                self._later.start(_ODDS_FIRST_MS)
                return
            self._make_canvas()
        assert self.figure is not None
        self._stale = False
        look = replace(self._look, size=self.font().pointSizeF())
        text, count, draw = self.snapshot().drawing(look)
        self.canvas.setAccessibleName(self.buttons[self._view].accessibleName())
        self._say(text)
        wide = self._is_wide()
        laid_out = (self._view, wide, look, tuple(self.figure.get_size_inches()), self.figure.dpi)
        if self._laid_out != laid_out or len(self.canvas.live) != count:
            self._clear(self.figure, look)
            self._laid_out = laid_out
            self.canvas.live = [LiveAxes(axes) for axes in axes_for(self.figure, look.size, count, wide)]
        for axes in self.canvas.live:
            axes.begin()
        draw(*self.canvas.live)
        for axes in self.canvas.live:
            axes.finish()
        self.canvas.draw_idle()
        self.drawn.emit()

    def _say(self, text: str) -> None:
        """The chart in words, before it is drawn: they decide how much room it has."""
        if self.words.text() == text:
            return
        self.words.setText(text)
        self.canvas.setAccessibleDescription(text)
        # a line fewer would make the chart a little higher, and all of it new
        self.words.setMinimumHeight(max(self.words.minimumHeight(), self.words.heightForWidth(self.words.width())))
        self._fit_words()
        layout = self.layout()
        assert layout is not None
        layout.activate()

    def _clear(self, figure: Figure, look: Look) -> None:
        figure.clear()
        figure.set_facecolor(look.panel)
        self.canvas.forget()

    def snapshot(self) -> Shown:
        """The present view with the project and the odds as they are now."""
        gate = str(self.gate.currentData() or "")
        return Shown(self._view, self._host.project, self._host.forecast, gate, self._look)

    # ---- files -------------------------------------------------------------------------------
    def _save_chosen(self, action: QAction) -> None:
        self.save_asked.emit(str(action.data()))

    def suggested_name(self, kind: str) -> str:
        """A file name for the present view."""
        from nightplan.desk.export_run import file_name

        return file_name(self._host.project.title, f"-{self._view}.{kind}")
