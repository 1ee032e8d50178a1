# SPDX-License-Identifier: GPL-3.0-or-later
"""The window's language: the toolkit's own texts, its calendars and numbers."""

from __future__ import annotations

from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QApplication

from nightplan.speech import language
from nightplan.speech.dates import home


def speak(app: QApplication) -> None:
    """Give the toolkit the language that is spoken: the texts of its dialogs, months, decimal sign, first weekday."""
    QLocale.setDefault(QLocale(home()))
    if language() == "en":
        return
    from PySide6.QtCore import QLibraryInfo, QTranslator

    translator = QTranslator(app)
    if translator.load(f"qtbase_{language()}", QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)):
        app.installTranslator(translator)
