# SPDX-License-Identifier: GPL-3.0-or-later
"""Start of the desktop program: one application, its windows, and what happens when something breaks."""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import sys
import tempfile
from functools import partial
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QObject, Qt, QTimer, Slot
from PySide6.QtGui import QGuiApplication, QIcon
from PySide6.QtWidgets import QApplication, QStyleFactory

from nightplan.desk.faults import (
    BrokenOff,
    NoScreen,
    broken_off,
    check_screen,
    crashes_written_down,
    log_folder,
    write_down,
)
from nightplan.desk.language import speak
from nightplan.desk.services import APP_ID, Services
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.files.data import data_folder
from nightplan.speech import tr

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
        #: earlier runs that did not come to their end, to be told of once
        self.broke_off: list[BrokenOff] = []
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
        window = self._make(path)
        window.show()
        return window

    def _showing(self, path: str | None) -> MainWindow | None:
        if path is None or path in ("new", "sample"):
            return None
        real = os.path.realpath(path)
        return next((w for w in self.windows if w.document.path and os.path.realpath(w.document.path) == real), None)

    def _make(self, begin_with: str | None = None) -> MainWindow:
        window = MainWindow(self.services, self.themes, begin_with)
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

    def leave(self, number: int) -> None:
        """A signal asks the program to end: nobody is asked, what is unsaved is kept aside."""
        self.exit_code = 128 + number
        self.app.exit(self.exit_code)

    @Slot()
    def greet(self) -> None:
        """After the first paint: what became of the last run, then what it left unsaved."""
        if not self.windows:
            return
        window, broke_off = self.windows[0], self.broke_off
        stacks = next((run.stacks for run in reversed(broke_off) if run.stacks), "")
        if stacks:
            self.services.ask(
                window,
                tr("nightplan crashed last time"),
                tr(
                    "The last run ended in a crash, which is a fault of ours or of a library that we use. "
                    "What was not saved is kept aside and offered now. The details are in {place}.",
                    place=os.path.join(log_folder(), "faults.log"),
                ),
                [("copy", tr("Copy the details and go on")), ("on", tr("Go on"))],
                partial(self._greeted, stacks),
                detail=stacks,
            )
            return
        if broke_off:
            window.say(
                tr("The last run was ended from outside, or the machine stopped; what was not saved is kept aside.")
            )
        self._greeted("", "on")

    def _greeted(self, stacks: str, key: str) -> None:
        if key == "copy":
            self.services.copy(stacks)
        # a window with a file offers what belongs to it
        if self.windows and not self.windows[0].document.is_open:
            self.windows[0].recovery.offer_any()

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
            tr("A fault of ours"),
            tr(
                "Something went wrong ({kind}). Your changes are kept aside. You can go on, but it is "
                "safer to save to another file and start again.",
                kind=kind.__name__,
            )
            + (tr(" The details are in {place}.", place=place) if place else ""),
            [("copy", tr("Copy the details and go on")), ("quit", tr("Quit")), ("on", tr("Go on"))],
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


def main(path: str | None = None, *, throw_away: bool = False) -> int:
    """Run the desk until its last window is closed.

    Args:
        throw_away: settings, unsaved changes, earlier versions and logs of this run lie in a folder of their own,
            which is removed at the end.

    Returns:
        0; 3 after a fault of ours; 128 and the number of the signal that ended it.

    Raises:
        NoScreen: there is nowhere to show a window.
    """
    if not throw_away:
        return _main(path, None)
    with tempfile.TemporaryDirectory(prefix="nightplan-throw-away-", ignore_cleanup_errors=True) as folder:
        place = Path(folder)
        # for the parts that know no services, and for processes of ours
        own = {"NIGHTPLAN_LOG_DIR": "log", "NIGHTPLAN_DATA_DIR": "data", "NIGHTPLAN_SETTINGS": "settings"}
        before = {name: os.environ.get(name) for name in own}
        os.environ.update({name: str(place / part) for name, part in own.items()})
        try:
            return _main(path, place)
        finally:
            for name, value in before.items():
                if value is None:
                    os.environ.pop(name, None)
                else:
                    os.environ[name] = value


def _main(path: str | None, profile: Path | None) -> int:
    app = make_app(["nightplan"])
    desk = Desk(app, None if profile is None else Services(app, profile=profile))
    before = sys.excepthook
    sys.excepthook = desk.fault
    try:
        desk.broke_off = broken_off()
        with crashes_written_down(), _PythonSeesSignals(desk):
            window = desk.window(path)
            window.painted.connect(desk.greet)
            code = app.exec()
            desk.shut()
    finally:
        sys.excepthook = before
    return code or desk.exit_code


class _PythonSeesSignals:
    """Signals that ask for the end; without a timer Python would not get to see them while Qt waits."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._timer = QTimer(desk)
        self._timer.setInterval(250)
        self._timer.timeout.connect(_nothing)
        self._before: dict[int, object] = {}

    def _stop(self, number: int, _frame: object) -> None:
        QTimer.singleShot(0, self._desk, partial(self._desk.leave, number))

    def __enter__(self) -> None:
        for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK"):
            number = getattr(signal, name, None)
            # what was told to outlive its terminal does
            if number is None or (name == "SIGHUP" and signal.getsignal(number) == signal.SIG_IGN):
                continue
            # only the main thread may; a program that embeds us may run us elsewhere
            with contextlib.suppress(ValueError, OSError):
                self._before[number] = signal.signal(number, self._stop)
        self._timer.start()

    def __exit__(self, *_error: object) -> None:
        self._timer.stop()
        for number, before in self._before.items():
            with contextlib.suppress(ValueError, TypeError, OSError):
                signal.signal(number, before)  # type: ignore[arg-type]


def _nothing() -> None:
    pass
