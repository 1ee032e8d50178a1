# SPDX-License-Identifier: GPL-3.0-or-later
"""What every test of the desk runs under: a fixed look, no settings of the machine, nothing left behind, silence."""

from __future__ import annotations

import datetime as dt
import gc
import logging
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest
from desk_fakes import FakeServices
from desk_leaks import Started, let_go, valid
from plan_page_host import TestHost
from plan_page_project import AS_OF, project
from PySide6.QtCore import QSettings, QStandardPaths, QThread, QThreadPool, QTimer
from PySide6.QtGui import QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication, QListWidget, QStyleFactory, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk import everybody
from nightplan.desk.pages import Page
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.model.project import Project

_Page = TypeVar("_Page", bound=Page)

FONT, POINTS = "DejaVu Sans", 10.0
#: a Sunday in the middle of nowhere
DAY = dt.date(2027, 10, 10)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The one message of Qt that is let pass: the offscreen platform cannot tell a window manager, it has none, how
    small a window may get, and says so at every window with a least size."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.qt_log_ignore("^This plugin does not support "))


@pytest.fixture(scope="session", autouse=True)
def away_from_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """QSettings reads its folder once: it is set before the first one is made."""
    folder = str(tmp_path_factory.mktemp("settings"))
    for kind in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
        QSettings.setPath(kind, QSettings.Scope.UserScope, folder)
        QSettings.setPath(kind, QSettings.Scope.SystemScope, folder)
    QStandardPaths.setTestModeEnabled(True)
    yield
    QStandardPaths.setTestModeEnabled(False)


@pytest.fixture(autouse=True)
def faults_of_this_test(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NIGHTPLAN_LOG_DIR", str(tmp_path / "log"))


@pytest.fixture(autouse=True)
def fixed_look(qapp: QApplication) -> Iterator[None]:
    """Fusion, one font, no sheet: pictures are the same again, and one test's theme is not the next one's."""
    everybody.begin()
    if qapp.style().objectName() != "fusion":
        qapp.setStyle(QStyleFactory.create("Fusion"))
    assert FONT in QFontDatabase.families(), f"the tests of the desk want the font {FONT} (Debian: fonts-dejavu-core)"
    font = QFont(FONT)
    font.setPointSizeF(POINTS)
    qapp.setFont(font)
    yield
    if qapp.styleSheet():
        qapp.setStyleSheet("")
    qapp.setPalette(QPalette())


@pytest.fixture(autouse=True)
def collector() -> Iterator[None]:
    """The program collects on the window's thread only; so do its tests."""
    gc.disable()
    yield
    gc.collect()
    gc.enable()


@pytest.fixture(autouse=True)
def silence(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Log records of WARNING and above fail a test; Qt's own messages do so by ``qt_log_level_fail``."""
    yield
    loud = [r for r in caplog.get_records("call") if r.levelno >= logging.WARNING and r.name != "pytest-qt"]
    assert not loud, "logged: " + "; ".join(f"{r.name}: {r.getMessage()}" for r in loud)


@pytest.fixture(autouse=True)
def leaks(qapp: QApplication, monkeypatch: pytest.MonkeyPatch, collector: None, fixed_look: None) -> Iterator[None]:
    """Threads, timers and windows that a test leaves behind fail it; the line that started them is named."""
    timers, threads, pools, qthreads, shown = (Started() for _ in range(5))
    before = {id(widget) for widget in qapp.topLevelWidgets()}
    with monkeypatch.context() as patch:
        timers.watch(patch, QTimer, "start")
        threads.watch(patch, threading.Thread, "start")
        pools.watch(patch, QThreadPool, "start")
        qthreads.watch(patch, QThread, "start")
        shown.watch(patch, QWidget, "show")
        yield
    let_go()
    gc.collect()
    let_go()
    found = threads.left(lambda t: t.is_alive()) + qthreads.left(lambda t: t.isRunning())
    found += pools.left(lambda p: not p.waitForDone(0)) + timers.left(lambda t: t.isActive())
    for widget in qapp.topLevelWidgets():
        if id(widget) not in before and widget.parent() is None:
            line = next((at for ref, at in shown.rows if ref() is widget), "a line unknown; it was never shown by us")
            found.append(f"window {type(widget).__name__} {widget.windowTitle()!r} shown at {line}")
            widget.deleteLater()
    let_go()
    assert not found, "left behind: " + "; ".join(found)


@pytest.fixture
def services(tmp_path: Path) -> Iterator[FakeServices]:
    """Questions wait for the test; the day is :data:`DAY`; nothing leaves the test's folder."""
    folder = tmp_path / "desk"
    folder.mkdir()
    made = FakeServices(folder, DAY)
    yield made
    made.deleteLater()


MakeWindow = Callable[..., MainWindow]
Settle = Callable[[MainWindow], None]


@pytest.fixture
def make_window(qtbot: QtBot, services: FakeServices) -> Iterator[MakeWindow]:
    """``make_window(path_or_project=None, theme="night", percent=100, show=True)`` -> MainWindow."""
    made: list[MainWindow] = []
    keepers: list[ThemeKeeper] = []

    def make(
        what: Project | Path | str | None = None, *, theme: str = "night", percent: int = 100, show: bool = True
    ) -> MainWindow:
        keeper = ThemeKeeper(theme, percent)
        keeper.apply()
        keepers.append(keeper)
        window = MainWindow(services, keeper)
        made.append(window)
        if show:
            window.show()
        # as after the first paint, which the tests do not wait for
        window.menus.update_state()
        if isinstance(what, Project):
            window.document.new(what)
            window.show_document()
        elif what is not None:
            window.open_path(str(what))
        return window

    yield make
    for window in made:
        if valid(window):
            window.setProperty("discard", True)
            window.close()
    let_go()
    for keeper in keepers:
        keeper.deleteLater()
    made.clear()
    let_go()


@pytest.fixture
def settle(qtbot: QtBot) -> Settle:
    """``settle(window)`` waits until plan and odds are those of the project."""

    def wait(window: MainWindow) -> None:
        document = window.document

        def rested() -> bool:
            return document.fresh and not document.worker.busy

        qtbot.waitUntil(rested, timeout=30_000)

    return wait


@pytest.fixture
def host() -> TestHost:
    """For single widgets: the half-way project without a window around it."""
    return TestHost()


@pytest.fixture
def start() -> Project:
    """What ``window`` begins with."""
    return project()


@pytest.fixture
def window(make_window: MakeWindow, services: FakeServices, start: Project) -> MainWindow:
    """The half-way project, not saved yet, on its day; the question of missed evenings is not wanted here."""
    services.go_to_day(AS_OF)
    made = make_window()
    made.work.missed_asked = True
    made.document.new(start)
    return made


@pytest.fixture
def settled(window: MainWindow, settle: Settle) -> Iterator[MainWindow]:
    """The same with its odds, and left with those that it has by then."""
    settle(window)
    yield window
    settle(window)


def page_of(window: MainWindow, kind: type[_Page]) -> _Page:
    """Go to a page, and the page."""
    window.go_to(kind.id)
    QApplication.processEvents()
    found = window.pages[kind.id]
    assert isinstance(found, kind)
    return found


def rows_of(shown: QListWidget) -> list[str]:
    """The texts of a list."""
    return [shown.item(n).text() for n in range(shown.count())]
