# SPDX-License-Identifier: GPL-3.0-or-later
"""The chart panel: burn-down, slip risk, buffer. matplotlib is loaded when the panel is first shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QMenu,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.widgets.charts_live import LiveAxes, live_canvas
from nightplan.desk.widgets.charts_words import buffer_words, burn_down_words, slip_words
from nightplan.desk.widgets.strip_host import Host
from nightplan.desk.widgets.strip_label import ShortLabel
from nightplan.exports.chart_numbers import buffer_numbers, burn_numbers, slip_numbers
from nightplan.exports.look import LIGHT, Look
from nightplan.model.errors import BadInput

if TYPE_CHECKING:
    from matplotlib.figure import Figure

VIEWS = (
    ("burn-down", "Hours left", "&Burn-down", "Hours of work left, evening by evening"),
    (
        "slip",
        "Slip risk: odds of each gate",
        "&Slip risk",
        "The odds of each gate so far, and by the evening on which one might finish",
    ),
    ("buffer", "Buffer", "B&uffer", "Buffer used against work done"),
)
FORMATS = {"png": "PNG picture", "svg": "SVG drawing", "pdf": "PDF page"}


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
        #: view, room and look that the kept axes were made for
        self._laid_out: tuple[Any, ...] | None = None
        self.canvas: Any = None
        self.figure: Figure | None = None
        self.setAccessibleName("Charts")
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
        self.words = QLabel(self)
        self.words.setWordWrap(True)
        self.words.setTextFormat(Qt.TextFormat.PlainText)
        self.words.setProperty("role", "muted")
        self.words.setAccessibleName("The chart in words")
        layout.addWidget(self.words)

    def _head(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.title = ShortLabel(VIEWS[0][1], self)
        self.title.setProperty("role", "heading")
        row.addWidget(self.title, 1)
        self.gate = QComboBox(self)
        self.gate.setAccessibleName("Gate of the buffer chart")
        self.gate.view().setAccessibleName("Gates")
        self.gate.setToolTip("The gate whose buffer is shown")
        self.gate.activated.connect(self._gate_chosen)
        self.gate.hide()
        row.addWidget(self.gate)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        self.buttons: dict[str, QToolButton] = {}
        for key, _, text, tip in VIEWS:
            button = QToolButton(self)
            button.setText(text)
            button.setToolTip(tip)
            button.setAccessibleName(f"Chart: {text.replace('&', '')}")
            button.setCheckable(True)
            button.setChecked(key == self._view)
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setProperty("view", key)
            self._group.addButton(button)
            self.buttons[key] = button
            row.addWidget(button)
        self._group.buttonClicked.connect(self._clicked)
        self.save_button = QToolButton(self)
        self.save_button.setText("Save")
        self.save_button.setToolTip("Save this chart as a picture, a drawing or a page")
        self.save_button.setAccessibleName("Save this chart")
        self.save_button.setAutoRaise(True)
        self.save_button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.save_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.save_button.setStyleSheet(
            "QToolButton { padding-right: 20px; }"
            "QToolButton::menu-indicator { subcontrol-position: right center; right: 6px; }"
        )
        menu = QMenu(self.save_button)
        menu.setAccessibleName("Kinds of file")
        for key, name in FORMATS.items():
            action = menu.addAction(f"{name} (.{key})")
            action.setData(key)
        menu.triggered.connect(self._save_chosen)
        self.save_button.setMenu(menu)
        row.addWidget(self.save_button)
        return row

    # ---- which view --------------------------------------------------------------------------
    @property
    def view(self) -> str:
        """``burn-down``, ``slip`` or ``buffer``."""
        return self._view

    def show_view(self, key: str) -> None:
        self._view = key
        self.buttons[key].setChecked(True)
        self.title.set_full_text(next(title for k, title, _, _ in VIEWS if k == key))
        self.gate.setVisible(key == "buffer" and self.gate.count() > 1)
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
            self._later.start()

    def set_look(self, look: Look) -> None:
        self._look = look
        self.refresh()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._stale:
            # the window first, the charts after it
            self._later.start()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.words.setMinimumHeight(0)
        roomy = self.height() >= 19 * self.fontMetrics().height()
        self.words.setVisible(roomy)

    def _canvas_resized(self, _event: object) -> None:
        # names keep clear of the lines at the size they were laid out for
        if self.isVisible():
            self._later.start(60)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.words.setMinimumHeight(0)
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
        self.canvas.setAccessibleName("Chart")
        box = self._place.layout()
        assert box is not None
        box.addWidget(self.canvas)

    def _draw(self) -> None:
        if not self.isVisible():
            return
        if self.canvas is None:
            self._make_canvas()
        assert self.figure is not None
        self._stale = False
        look = replace(self._look, size=self.font().pointSizeF())
        text, count, draw = self._shown(look)
        self._say(text)
        wide = self._is_wide()
        laid_out = (self._view, wide, look, tuple(self.figure.get_size_inches()), self.figure.dpi)
        if self._laid_out != laid_out or len(self.canvas.live) != count:
            self._clear(self.figure, look)
            self._laid_out = laid_out
            self.canvas.live = [LiveAxes(axes) for axes in _axes(self.figure, look.size, count, wide)]
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
        layout = self.layout()
        assert layout is not None
        layout.activate()

    def _clear(self, figure: Figure, look: Look) -> None:
        figure.clear()
        figure.set_facecolor(look.panel)
        self.canvas.forget()

    def draw_on(self, figure: Figure, *, wide: bool, size: float) -> str:
        """Draw the present view on a figure of its own; answers the same in words.

        Args:
            wide: two axes stand side by side, else one above the other.
            size: of the letters, in points.
        """
        look = replace(self._look, size=size)
        figure.set_facecolor(look.panel)
        text, count, draw = self._shown(look)
        draw(*_axes(figure, size, count, wide))
        return text

    def _shown(self, look: Look) -> tuple[str, int, Callable[..., None]]:
        """The present view: in words, how many axes it has, and what draws on them."""
        from nightplan.exports import figures

        project, forecast = self._host.project, self._host.forecast
        if forecast is None or not forecast.gates:
            return "The chart comes with the first odds.", 0, _nothing
        try:
            if self._view == "burn-down":
                burn = burn_numbers(project, forecast)
                return burn_down_words(burn), 1, lambda axes: figures.draw_burn_down(axes, burn, look)
            if self._view == "slip":
                slip = slip_numbers(project, forecast)

                def draw_slip(so_far: Any, by_date: Any) -> None:
                    figures.draw_odds_so_far(so_far, slip, look)
                    figures.draw_odds_by_date(by_date, slip, look)

                return slip_words(slip), 2, draw_slip
            used = buffer_numbers(project, forecast, self.gate.currentData() or forecast.gates[0].id)
            return buffer_words(used), 1, lambda axes: figures.draw_buffer_used(axes, used, look)
        except (BadInput, StopIteration, KeyError):
            # between a change of the project and its odds the two may not fit each other
            return "The chart comes with the next odds.", 0, _nothing

    # ---- files -------------------------------------------------------------------------------
    def _save_chosen(self, action: QAction) -> None:
        self.save_asked.emit(str(action.data()))

    def suggested_name(self, kind: str) -> str:
        """A file name for the present view."""
        title = "".join(c if c.isalnum() else "-" for c in self._host.project.title.lower()).strip("-")
        return f"{title or 'project'}-{self._view}.{kind}"

    def save(self, path: Path) -> None:
        """Write the present view as PNG, SVG or PDF, by the ending of the path.

        Raises:
            BadInput: another ending.
            OSError: the file cannot be written.
        """
        from matplotlib.figure import Figure

        kind = path.suffix.lower().removeprefix(".")
        if kind not in FORMATS:
            raise BadInput.at("file", path.name, "a name that ends in .png, .svg or .pdf is accepted")
        figure = Figure(figsize=(9.0, 5.0))
        text = self.draw_on(figure, wide=True, size=10.0)
        meta: dict[str, Any] = {"Title": f"{self._host.project.title}: {self.title.full_text}"}
        if kind == "png":
            meta["Description"] = text
        if kind == "svg":
            meta["Description"] = text
            meta["Date"] = None
        if kind == "pdf":
            meta["Subject"] = text
        figure.savefig(path, dpi=200, metadata=meta, facecolor=self._look.panel)


def _nothing() -> None:
    pass


def _axes(figure: Figure, size: float, count: int, wide: bool) -> list[Any]:
    """Axes side by side or one above the other, with margins that grow with the letters."""
    if not count:
        return []
    width, height = (float(v) for v in figure.get_size_inches())
    em = size / 72.0
    left, right, bottom, top = (
        5.0 * em,
        1.6 * em,
        3.4 * em,
        max(2.6 * em, 0.07 * height + 1.3 * em),
    )
    columns, rows = (count, 1) if wide else (1, count)
    w = (width - columns * (left + right)) / columns
    h = (height - rows * (bottom + top)) / rows
    made = []
    for n in range(count):
        column, row = (n, 0) if wide else (0, count - 1 - n)
        x, y = left + column * (w + left + right), bottom + row * (h + bottom + top)
        made.append(figure.add_axes((x / width, y / height, max(w, 0.2) / width, max(h, 0.2) / height)))
    return made
