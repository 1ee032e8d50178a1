# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of every page, night and light, at 1x and 2x: the same twice, nothing cut off, words that can be read.

No reference pictures: they would say that something changed, not that it is wrong. Contrast after WCAG 2.2, 1.4.3;
text at 200 % after 1.4.4. The rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_sweep import cut_off, every_widget
from plan_page_project import AS_OF, project
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QLabel, QProgressBar, QPushButton, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk.earlier_versions import EarlierVersions
from nightplan.desk.pages import PAGES
from nightplan.desk.project_settings import EditProject
from nightplan.desk.window import MainWindow
from nightplan.desk.wizard import NewProject

Settle = Callable[[MainWindow], None]
Show = Callable[..., MainWindow]


@pytest.fixture
def show(qtbot: QtBot, make_window: MakeWindow, services: FakeServices, settle: Settle) -> Iterator[Show]:
    """``show(page, theme="night", percent=100, size=(1360, 860))``"""
    services.go_to_day(AS_OF)
    made: list[MainWindow] = []

    def make(page: str, theme: str = "night", percent: int = 100, size: tuple[int, int] = (1360, 860)) -> MainWindow:
        window = make_window(project(), theme=theme, percent=percent)
        window.work.missed_asked = True
        window.resize(*size)
        made.append(window)
        settle(window)
        window.go_to(page)
        for _ in range(3):
            QApplication.processEvents()
        # a page may work something out of its own
        bars = window.pages[page].findChildren(QProgressBar)
        qtbot.waitUntil(lambda: not any(bar.isVisibleTo(window) for bar in bars), timeout=60_000)
        for _ in range(3):
            QApplication.processEvents()
        # nothing that blinks
        focus = window.focusWidget()
        if focus is not None:
            focus.clearFocus()
        return window

    yield make
    for window in made:
        settle(window)


def picture(widget: QWidget, scale: float = 1.0) -> QImage:
    image = QImage(widget.size() * scale, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    image.fill(0)
    widget.render(image)
    return image


def pixels(image: QImage) -> np.ndarray:
    """Height x width x 3, 0 to 255."""
    image = image.convertToFormat(QImage.Format.Format_RGB888)
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return raw[:, : image.width() * 3].reshape(image.height(), image.width(), 3).copy()


def luminance(colours: np.ndarray) -> np.ndarray:
    """WCAG 2.2, relative luminance of colours (n x 3, 0 to 255)."""
    parts = colours / 255.0
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def hard_to_read(root: QWidget) -> list[str]:
    """Labels and buttons in sight whose ink has less than 4.5:1 against their ground, measured from the picture."""
    shot = pixels(picture(root))
    found = []
    for widget in every_widget(root):
        if not isinstance(widget, QLabel | QPushButton) or not widget.isVisibleTo(root) or not widget.text().strip():
            continue
        seen = widget.visibleRegion().boundingRect()
        if not widget.isEnabled() or seen.height() < widget.height() or seen.width() < widget.width():
            continue
        at = widget.mapTo(root, QPoint(0, 0))
        edge = 3 if isinstance(widget, QPushButton) else 0
        part = shot[at.y() + edge : at.y() + widget.height() - edge, at.x() + edge : at.x() + widget.width() - edge]
        colours, counts = np.unique(part.reshape(-1, 3), axis=0, return_counts=True)
        light = luminance(colours)
        ground = light[counts.argmax()]
        high, low = np.maximum(light, ground), np.minimum(light, ground)
        if float(((high + 0.05) / (low + 0.05)).max()) < 4.5:
            found.append(widget.text()[:60])
    return found


@pytest.mark.parametrize("theme", ["night", "light"])
@pytest.mark.parametrize("page", list(PAGES))
def test_a_page_is_the_same_twice_whole_and_legible(page: str, theme: str, show: Show) -> None:
    window = show(page, theme)
    once, again = pixels(picture(window)), pixels(picture(window))
    assert np.array_equal(once, again)
    assert cut_off(window) == []
    assert hard_to_read(window) == []
    # at 2x every thing stands where it stood: halved, the picture is the first but for the edges of letters
    double = pixels(picture(window, 2.0))
    assert double.shape == (once.shape[0] * 2, once.shape[1] * 2, 3)
    halved = double.reshape(once.shape[0], 2, once.shape[1], 2, 3).mean(axis=(1, 3))
    apart = np.abs(halved - once).mean(axis=2)
    assert apart.mean() < 4.0
    assert (apart > 60).mean() < 0.03
    # and it has more detail than the first blown up
    assert not np.array_equal(double[::2, ::2], double[1::2, 1::2])


def settled_places(
    qtbot: QtBot, root: QWidget, busy: Callable[[], bool]
) -> list[tuple[str, tuple[int, int, int, int]]]:
    """Where every visible widget is, once nothing is at work or due and that no longer changes from round to round."""
    before: list[tuple[str, tuple[int, int, int, int]]] = []
    same = 0

    def rested() -> bool:
        nonlocal before, same
        now = [(type(w).__name__, w.geometry().getRect()) for w in every_widget(root) if w.isVisibleTo(root)]
        due = any(t.isActive() and t.isSingleShot() and t.interval() < 2_000 for t in root.findChildren(QTimer))
        same = same + 1 if now == before and not due and not busy() else 0
        before = now
        return same >= 5

    qtbot.waitUntil(rested, timeout=30_000)
    return before


@pytest.mark.parametrize("page", list(PAGES))
def test_night_and_light_differ_in_colour_only(page: str, show: Show, qtbot: QtBot) -> None:
    night = show(page, "night")
    # once there and back: what loads late or is laid out on a first change has had its turn
    for theme in ("light", "night"):
        night.themes.choose(theme)
        places = settled_places(qtbot, night.pages[page], lambda: night.document.worker.busy)
    shot = pixels(picture(night))
    night.themes.choose("light")
    assert places == settled_places(qtbot, night.pages[page], lambda: night.document.worker.busy)
    light = pixels(picture(night))
    assert shot.mean() < 100 < light.mean(), "dark and bright"
    # back again is what it was
    night.themes.choose("night")
    settled_places(qtbot, night.pages[page], lambda: night.document.worker.busy)
    assert np.abs(pixels(picture(night)).astype(int) - shot).mean() < 1.0


@pytest.mark.parametrize(("percent", "size"), [(100, (1000, 700)), (200, (1600, 1000))])
@pytest.mark.parametrize("page", list(PAGES))
def test_nothing_is_cut_off_in_a_small_window_or_at_twice_the_text(
    page: str, percent: int, size: tuple[int, int], show: Show
) -> None:
    window = show(page, percent=percent, size=size)
    assert cut_off(window) == []
    for area in window.pages[page].findChildren(QScrollArea):
        if area.isVisibleTo(window):
            assert area.horizontalScrollBar().maximum() == 0, "one never has to scroll sideways to read"


@pytest.mark.parametrize("theme", ["night", "light"])
@pytest.mark.parametrize("percent", [100, 200])
def test_dialogs_are_whole_and_legible(
    theme: str, percent: int, show: Show, services: FakeServices, qtbot: QtBot
) -> None:
    window = show("help", theme, percent)
    guide = NewProject(services, window.themes.theme, window)
    guide.title.setText("Kite")
    guide.dates.deadline.setText("30 April 2027")
    edit = EditProject(services, window.themes.theme, project(), window)
    versions = EarlierVersions("kite.nightplan", services.versions_folder(), project(), window)
    for dialog in (guide, edit, versions):
        dialog.show()
        for step in range(4 if dialog is guide else 1):
            if step:
                guide._next()
            if step == 3:
                # the verdict is a sentence to be read too, not only the wait for it
                qtbot.waitUntil(lambda: bool(guide.detail.text()) and not guide.worker.busy, timeout=30_000)
            settled_places(qtbot, dialog, lambda: guide.worker.busy)
            shown = guide.steps.currentWidget() if dialog is guide else dialog
            assert shown is not None
            assert cut_off(shown) == [], step
            assert hard_to_read(dialog) == [], step
        dialog.close()


def test_an_empty_window_teaches_and_is_whole(make_window: MakeWindow) -> None:
    for theme in ("night", "light"):
        window = make_window(theme=theme)
        assert cut_off(window) == []
        assert hard_to_read(window) == []
        told = " ".join(label.text() for label in window.empty.findChildren(QLabel))
        assert "Announcement day" in told
        assert window.empty.new_button.focusPolicy() & Qt.FocusPolicy.TabFocus
