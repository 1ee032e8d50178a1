# SPDX-License-Identifier: GPL-3.0-or-later
"""Start of the desktop program: one application, its windows, and what happens when something breaks."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import sys
import traceback
from collections.abc import Callable
from types import TracebackType

from PySide6.QtCore import QObject, QTimer, Slot
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QStyleFactory

from nightplan.desk.services import APP_ID, Services
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.model.errors import BadInput

FAULT = 3
_COLLECT_MS = 3_000


class NoScreen(BadInput):
    """There is nowhere to show a window."""


def check_screen() -> None:
    """Raise NoScreen where the toolkit would abort the process for want of a display."""
    platform = os.environ.get("QT_QPA_PLATFORM", "").split(":")[0]
    if sys.platform.startswith("linux") and platform not in ("offscreen", "minimal", "vnc", "linuxfb", "eglfs"):
        if not os.environ.get("DISPLAY") and not os.environ.get("WAYLAND_DISPLAY"):
            raise NoScreen("no screen is there to open a window on; nightplan plan FILE and its other verbs need none")


class Desk(QObject):
    """The application's windows, and the one place where faults end up."""

    def __init__(self, app: QApplication, services: Services | None = None) -> None:
        super().__init__(app)
        self.app = app
        self.services = services or Services(self)
        self.themes = ThemeKeeper(self.services.theme_choice(), self.services.text_percent(), self)
        self.themes.apply()
        self.windows: list[MainWindow] = []
        self.exit_code = 0
        self._telling = False
        # the collector run from a worker's thread would destroy widgets there
        gc.disable()
        self._collect = QTimer(self)
        self._collect.setInterval(_COLLECT_MS)
        self._collect.timeout.connect(self._collect_now)
        self._collect.start()

    @Slot()
    def _collect_now(self) -> None:
        gc.collect(1)

    def window(self, path: str | None = None) -> MainWindow:
        """A window: empty (None), at the guided start ("new"), with the sample ("sample"), or with a file."""
        window = MainWindow(self.services, self.themes)
        self.windows.append(window)
        window.closed.connect(self._closed)
        window.window_wanted.connect(self.window)
        window.show()
        if path == "new":
            QTimer.singleShot(0, window.begin_new)
        elif path == "sample":
            window.open_sample()
        elif path is not None:
            window.open_path(path)
        return window

    @Slot(object)
    def _closed(self, window: MainWindow) -> None:
        if window in self.windows:
            self.windows.remove(window)
        if not self.windows:
            self.app.exit(self.exit_code)

    def fault(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """An exception that nobody caught: say so once, keep the details, go on with care."""
        text = "".join(traceback.format_exception(kind, error, trace))
        with contextlib.suppress(OSError):
            from platformdirs import user_log_dir

            folder = os.environ.get("NIGHTPLAN_LOG_DIR") or user_log_dir("nightplan", appauthor=False)
            os.makedirs(folder, exist_ok=True)
            with open(os.path.join(folder, "faults.log"), "a", encoding="utf-8") as file:
                file.write(text + "\n")
        self.exit_code = FAULT
        if self._telling:
            return
        self._telling = True
        for window in self.windows:
            window.document.keep_recovery()

        def answered(key: str) -> None:
            self._telling = False
            if key == "copy":
                self.services.copy(text)
            if key == "quit":
                self.app.exit(FAULT)

        self.services.ask(
            self.windows[0] if self.windows else None,
            "A fault of ours",
            f"Something went wrong ({kind.__name__}). Your changes are kept aside. "
            "You can go on, but it is safer to save to another file and start again.",
            [("copy", "Copy the details and go on"), ("quit", "Quit"), ("on", "Go on")],
            answered,
            detail=text,
        )


def make_app(argv: list[str]) -> QApplication:
    """The application object, or the one that is there. Raises NoScreen."""
    existing = QApplication.instance()
    if isinstance(existing, QApplication):
        return existing
    check_screen()
    QGuiApplication.setDesktopFileName(APP_ID)
    app = QApplication(argv)
    app.setApplicationName("nightplan")
    app.setApplicationDisplayName("nightplan")
    app.setOrganizationName("nightplan")
    app.setStyle(QStyleFactory.create("Fusion"))
    app.setQuitOnLastWindowClosed(False)
    return app


def main(path: str | None = None) -> int:
    """Run the desk until its last window is closed. Raises NoScreen."""
    app = make_app(["nightplan"])
    desk = Desk(app)
    previous = sys.excepthook
    sys.excepthook = desk.fault
    heartbeat = _let_python_see_signals(app, desk)
    desk.window(path)
    try:
        code = app.exec()
    finally:
        heartbeat.stop()
        sys.excepthook = previous
        gc.enable()
    return code or desk.exit_code


def _let_python_see_signals(app: QApplication, desk: Desk) -> QTimer:
    """Ctrl-C closes the windows; without a timer Python would not get to see it while Qt waits."""

    def stop(_number: int, _frame: object) -> None:
        app.closeAllWindows()

    with contextlib.suppress(ValueError):
        signal.signal(signal.SIGINT, stop)
    timer = QTimer(desk)
    timer.setInterval(250)
    timer.timeout.connect(_nothing)
    timer.start()
    return timer


def _nothing() -> None:
    pass


Fault = Callable[[type[BaseException], BaseException, TracebackType | None], None]
