# SPDX-License-Identifier: GPL-3.0-or-later
"""Start of the desktop program: one application, its windows, and what happens when something breaks."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import sys
from functools import partial
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QObject, Qt, QTimer, Slot
from PySide6.QtGui import QGuiApplication, QIcon
from PySide6.QtWidgets import QApplication, QStyleFactory

from nightplan.desk.faults import NoScreen, check_screen, crashes_written_down, write_down
from nightplan.desk.language import speak
from nightplan.desk.services import APP_ID, Services
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.files.data import data_folder

__all__ = ["FAULT", "Desk", "NoScreen", "main", "make_app"]

FAULT = 3
_COLLECT_MS = 3_000


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
        self._quitting = False
        # the collector run from a worker's thread would destroy widgets there
        gc.disable()
        self._collect = QTimer(self)
        self._collect.setInterval(_COLLECT_MS)
        self._collect.timeout.connect(self._collect_now)
        self._collect.start()

    @Slot()
    def _collect_now(self) -> None:
        gc.collect(1)

    # --- windows ---

    @Slot(object)
    def window(self, path: str | None = None) -> MainWindow:
        """A window: empty (None), at the guided start ("new"), with the sample ("sample"), or with a file.

        What it shows is opened after its first paint. A file that is open already is brought to the front.
        """
        there = self._showing(path)
        if there is not None:
            _to_front(there)
            return there
        window = self._make()
        window.begin(path)
        window.show()
        return window

    def _showing(self, path: str | None) -> MainWindow | None:
        if path is None or path in ("new", "sample"):
            return None
        real = os.path.realpath(path)
        return next((w for w in self.windows if w.document.path and os.path.realpath(w.document.path) == real), None)

    def _make(self) -> MainWindow:
        window = MainWindow(self.services, self.themes)
        self.windows.append(window)
        window.closed.connect(self._closed)
        window.window_wanted.connect(self.window)
        window.recovery_wanted.connect(self._recover)
        window.quit_wanted.connect(self.quit)
        window.stays.connect(self._stay)
        return window

    @Slot(object)
    def _recover(self, wanted: tuple[Path, dict[str, object]]) -> None:
        window = self._make()
        window.show()
        window.recovery.take_up(*wanted)

    @Slot(object)
    def _closed(self, window: MainWindow) -> None:
        if window in self.windows:
            self.windows.remove(window)
        if not self.windows:
            self.app.exit(self.exit_code)
        elif self._quitting:
            QTimer.singleShot(0, self, self._close_next)

    @Slot()
    def quit(self) -> None:
        """Close every window, one after the other; one that stays ends it."""
        self._quitting = True
        self._close_next()

    @Slot()
    def _close_next(self) -> None:
        if self._quitting and self.windows:
            # the one that asks is the one that is seen
            _to_front(self.windows[-1])
            self.windows[-1].close()

    @Slot()
    def _stay(self) -> None:
        self._quitting = False

    def shut(self) -> None:
        """Let go of windows that are still there (after a fault); what is unsaved stays kept aside."""
        for window in self.windows:
            window.document.keep_recovery()
            window.document.close()
        self._collect.stop()
        gc.enable()

    # --- faults ---

    def fault(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """An exception that nobody caught: say so once, keep the details, go on with care."""
        import traceback

        text = "".join(traceback.format_exception(kind, error, trace))
        place = write_down(text)
        self.exit_code = FAULT
        if self._telling:
            return
        self._telling = True
        for window in self.windows:
            # what broke may be the document itself
            with contextlib.suppress(Exception):
                window.document.keep_recovery()
        self.services.ask(
            self.windows[0] if self.windows else None,
            "A fault of ours",
            f"Something went wrong ({kind.__name__}). Your changes are kept aside. "
            "You can go on, but it is safer to save to another file and start again."
            + (f" The details are in {place}." if place else ""),
            [("copy", "Copy the details and go on"), ("quit", "Quit"), ("on", "Go on")],
            partial(self._fault_answered, text),
            detail=text,
        )

    def _fault_answered(self, text: str, key: str) -> None:
        self._telling = False
        if key == "copy":
            self.services.copy(text)
        if key == "quit":
            self.app.exit(FAULT)


def _to_front(window: MainWindow) -> None:
    window.setWindowState(window.windowState() & ~Qt.WindowState.WindowMinimized)
    window.activateWindow()


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
    speak(app)
    app.setWindowIcon(program_icon())
    app.setStyle(QStyleFactory.create("Fusion"))
    app.setQuitOnLastWindowClosed(False)
    return app


def program_icon() -> QIcon:
    """The program's own icon, in the sizes that windows are shown with; a file is read when its size is wanted."""
    icon = QIcon()
    sizes = data_folder("assets") / "share" / "icons" / "hicolor"
    # the window system is given every size at once: the largest would only slow it down
    for pixels in (16, 24, 32, 48, 64, 128, 256):
        icon.addFile(str(sizes / f"{pixels}x{pixels}" / "apps" / f"{APP_ID}.png"))
    return icon


def main(path: str | None = None) -> int:
    """Run the desk until its last window is closed. Raises NoScreen."""
    app = make_app(["nightplan"])
    desk = Desk(app)
    before = sys.excepthook
    sys.excepthook = desk.fault
    try:
        with crashes_written_down(), _PythonSeesSignals(desk):
            window = desk.window(path)
            if path is None:
                window.painted.connect(window.recovery.offer_any)
            code = app.exec()
            desk.shut()
    finally:
        sys.excepthook = before
    return code or desk.exit_code


class _PythonSeesSignals:
    """Ctrl-C closes the windows; without a timer Python would not get to see it while Qt waits."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._timer = QTimer(desk)
        self._timer.setInterval(250)
        self._timer.timeout.connect(_nothing)
        self._before: object = None

    def _stop(self, _number: int, _frame: object) -> None:
        QTimer.singleShot(0, self._desk, self._desk.quit)

    def __enter__(self) -> None:
        # only the main thread may; a program that embeds us may run us elsewhere
        with contextlib.suppress(ValueError):
            self._before = signal.signal(signal.SIGINT, self._stop)
        self._timer.start()

    def __exit__(self, *_error: object) -> None:
        self._timer.stop()
        with contextlib.suppress(ValueError, TypeError):
            signal.signal(signal.SIGINT, self._before)  # type: ignore[arg-type]


def _nothing() -> None:
    pass
