# SPDX-License-Identifier: GPL-3.0-or-later
"""Everything between the desk and the world that a test must be able to replace: questions, clock, settings."""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSettings, QStandardPaths, Qt
from PySide6.QtWidgets import QApplication, QWidget

from nightplan.desk import words
from nightplan.speech import tr

if TYPE_CHECKING:
    from PySide6.QtWidgets import QFileDialog, QMessageBox, QPushButton

#: reverse-DNS id shared by the desktop entry, the MIME type and the window
APP_ID = "org.nightplan.Nightplan"
RECENT_COUNT = 8
#: what the name of a project's file ends in; the store's, which is too heavy to load before the first paint
SUFFIX = ".nightplan"


def _reachable_details(box: QMessageBox) -> None:
    """The field for the details as the toolkit makes it has no name, no keyboard, and the width of the question."""
    from PySide6.QtWidgets import QTextEdit

    for field in box.findChildren(QTextEdit):
        field.setAccessibleName(tr("Details"))
        field.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        field.setTabChangesFocus(True)
        field.setMinimumWidth(field.fontMetrics().averageCharWidth() * 54)


def _whole_buttons(box: QMessageBox) -> None:
    """Buttons one below the other where they do not fit into a row: the toolkit would cut their words off."""
    from PySide6.QtWidgets import QDialogButtonBox

    row, screen = box.findChild(QDialogButtonBox), box.screen().availableGeometry().width()
    # the most that the toolkit gives to a question
    most = screen if screen <= 1024 else min(screen - 480, 1000)
    if isinstance(row, QDialogButtonBox) and row.sizeHint().width() + 40 > most:
        row.setOrientation(Qt.Orientation.Vertical)
        # stacked anew, one of them would be left out of the Tab key's way
        for one, other in pairwise(row.buttons()):
            QWidget.setTabOrder(one, other)


class Services(QObject):
    """Dialogs are opened, never executed: the answer comes to a callback."""

    def __init__(self, parent: QObject | None = None, *, profile: Path | None = None) -> None:
        """``profile``: a folder for settings, unsaved changes and earlier versions instead of the person's own."""
        super().__init__(parent)
        self.profile = profile
        self._open: list[QMessageBox | QFileDialog] = []

    # --- clock ---

    def today(self) -> dt.date:
        return dt.date.today()

    def now(self) -> dt.datetime:
        return dt.datetime.now()

    # --- questions ---

    def ask(
        self,
        parent: QWidget | None,
        title: str,
        text: str,
        choices: Sequence[tuple[str, str]],
        answer: Callable[[str], None],
        *,
        detail: str = "",
    ) -> None:
        """Ask with one button for each (key, label); the first is the default, the last is Escape.

        Args:
            answer: called with the key.
            detail: longer text that can be copied.
        """
        # dialogs are loaded when the first one is wanted: the window's first paint does not wait for them
        from PySide6.QtWidgets import QMessageBox

        box = QMessageBox(parent)
        box.setWindowTitle(title)
        # titles and file names come from outside: no markup
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setText(text)
        if detail:
            box.setDetailedText(detail)
            _reachable_details(box)
        buttons: dict[QPushButton, str] = {}
        for n, (key, label) in enumerate(choices):
            role = QMessageBox.ButtonRole.RejectRole if n == len(choices) - 1 else QMessageBox.ButtonRole.AcceptRole
            button = box.addButton(label, role)
            button.setAccessibleName(words.spoken(label))
            buttons[button] = key
            if n == 0:
                box.setDefaultButton(button)
            if n == len(choices) - 1:
                box.setEscapeButton(button)
        _whole_buttons(box)
        self._open.append(box)

        def done(_result: int) -> None:
            clicked = box.clickedButton()
            key = buttons.get(clicked, choices[-1][0])  # type: ignore[call-overload]
            self._open.remove(box)
            box.deleteLater()
            answer(key)

        box.finished.connect(done)
        box.open()

    def tell(self, parent: QWidget | None, title: str, text: str, *, detail: str = "") -> None:
        """Say something that needs no answer."""
        self.ask(parent, title, text, [("ok", "OK")], lambda _key: None, detail=detail)

    def ask_open(self, parent: QWidget | None, folder: str, answer: Callable[[str | None], None]) -> None:
        self._file(parent, tr("Open a project"), folder, False, _FILTER, answer)

    def ask_file(
        self, parent: QWidget | None, title: str, folder: str, filters: str, answer: Callable[[str | None], None]
    ) -> None:
        """Ask for a file to read that is no project; None is Cancel."""
        self._file(parent, title, os.path.join(folder, ""), False, filters, answer)

    def ask_save(
        self,
        parent: QWidget | None,
        suggested: str,
        answer: Callable[[str | None], None],
        *,
        title: str = tr("Save the project"),
        filters: str = "",
    ) -> None:
        self._file(parent, title, suggested, True, filters or _FILTER, answer)

    def _file(
        self,
        parent: QWidget | None,
        title: str,
        place: str,
        saving: bool,
        filters: str,
        answer: Callable[[str | None], None],
    ) -> None:
        from PySide6.QtWidgets import QFileDialog

        mode = QFileDialog.AcceptMode.AcceptSave if saving else QFileDialog.AcceptMode.AcceptOpen
        dialog = QFileDialog(parent, title, os.path.dirname(place) or place, filters)
        dialog.setAcceptMode(mode)
        dialog.setFileMode(QFileDialog.FileMode.AnyFile if saving else QFileDialog.FileMode.ExistingFile)
        if saving:
            ending = filters.split("*", 1)[-1].split(")", 1)[0].split(" ", 1)[0]
            dialog.setDefaultSuffix(ending.lstrip("."))
            dialog.selectFile(os.path.basename(place))
        self._ask_path(dialog, answer)

    def ask_folder(self, parent: QWidget | None, title: str, folder: str, answer: Callable[[str | None], None]) -> None:
        """Ask for a folder; None is Cancel."""
        from PySide6.QtWidgets import QFileDialog

        dialog = QFileDialog(parent, title, folder)
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        self._ask_path(dialog, answer)

    def _ask_path(self, dialog: QFileDialog, answer: Callable[[str | None], None]) -> None:
        self._open.append(dialog)

        def done(result: int) -> None:
            chosen = dialog.selectedFiles() if result else []
            self._open.remove(dialog)
            dialog.deleteLater()
            answer(chosen[0] if chosen else None)

        dialog.finished.connect(done)
        dialog.open()

    # --- faults ---

    def fault(self, error: BaseException) -> None:
        """A fault of ours that a worker met; it is handled where uncaught exceptions are."""
        sys.excepthook(type(error), error, error.__traceback__)

    # --- settings: window geometry, theme, recent files; nothing of a project ---

    def settings(self) -> QSettings:
        if self.profile is not None:
            return QSettings(str(self.profile / "settings.ini"), QSettings.Format.IniFormat)
        return QSettings("nightplan", "nightplan")

    def recent(self) -> list[str]:
        found = self.settings().value("recent", [], type=list)
        return [str(path) for path in found if path] if isinstance(found, list) else []

    def add_recent(self, path: str) -> None:
        known = [p for p in self.recent() if p != path]
        self.settings().setValue("recent", [path, *known][:RECENT_COUNT])

    def theme_choice(self) -> str:
        """night, light or system."""
        return str(self.settings().value("theme", "system", type=str))

    def set_theme_choice(self, choice: str) -> None:
        self.settings().setValue("theme", choice)

    def text_percent(self) -> int:
        found = self.settings().value("text_percent", 100, type=int)
        return max(80, min(200, int(found))) if isinstance(found, int) else 100

    def set_text_percent(self, percent: int) -> None:
        self.settings().setValue("text_percent", percent)

    def recovery_folder(self) -> Path:
        """Where unsaved changes are kept until the next save."""
        if self.profile is not None:
            return self.profile / "recovery"
        place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppLocalDataLocation)
        return Path(place) / "recovery"

    def versions_folder(self) -> Path:
        """Where earlier versions of files are kept; the command line keeps them in the same place."""
        from nightplan.files.versions import default_folder

        if self.profile is not None:
            return self.profile / "versions"
        return default_folder()

    def copy(self, text: str) -> None:
        QApplication.clipboard().setText(text)


_FILTER = tr("nightplan projects (*{SUFFIX})", SUFFIX=SUFFIX)
