# SPDX-License-Identifier: GPL-3.0-or-later
"""A project whose every text is markup: on every page and in every dialog it is shown as it stands.

Common practice, no source. What the toolkit takes for markup is asked of the toolkit (``Qt.mightBeRichText``).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_markup import MARK, marked_project, taken_for_markup, texts_of
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QProgressBar, QTextBrowser, QTextEdit, QWidget
from pytestqt.qtbot import QtBot

import nightplan.desk
from nightplan.desk.missed import MissedEvenings
from nightplan.desk.pages import PAGES
from nightplan.desk.project_settings import EditProject
from nightplan.desk.services import Services
from nightplan.desk.window import MainWindow

Settle = Callable[[MainWindow], None]


@pytest.fixture
def window(make_window: MakeWindow, services: FakeServices, settle: Settle) -> Iterator[MainWindow]:
    services.go_to_day(dt.date(2027, 10, 12))
    made = make_window(marked_project("moth-and-lantern"))
    made.work.missed_asked = True
    settle(made)
    yield made
    settle(made)


def test_the_sweep_finds_what_it_looks_for(qtbot: QtBot) -> None:
    root = QWidget()
    qtbot.addWidget(root)
    label = QLabel(MARK, root)
    assert taken_for_markup(root) == ["QLabel '' in QWidget: text '" + MARK[:60] + "'"]
    label.setTextFormat(Qt.TextFormat.PlainText)
    assert taken_for_markup(root) == []
    label.setToolTip(MARK)
    assert len(taken_for_markup(root)) == 1
    label.setToolTip("")
    QTextEdit(root).setHtml(MARK)
    assert len(taken_for_markup(root)) == 1


@pytest.mark.parametrize("page", list(PAGES))
def test_texts_of_the_file_stay_text_on_every_page(page: str, window: MainWindow, qtbot: QtBot, settle: Settle) -> None:
    window.go_to(page)
    bars = window.pages[page].findChildren(QProgressBar)
    qtbot.waitUntil(lambda: not any(bar.isVisibleTo(window) for bar in bars), timeout=60_000)
    for _ in range(5):
        QApplication.processEvents()
    assert taken_for_markup(window) == []
    if not window.pages[page].findChildren(QTextBrowser):
        assert "<b>x" in texts_of(window)


def test_texts_of_the_file_stay_text_in_dialogs(window: MainWindow, services: FakeServices) -> None:
    services.go_to_day(dt.date(2027, 10, 24))
    for dialog in (
        EditProject(services, window.themes.theme, window.document.project, window),
        MissedEvenings(window.host, window),
    ):
        dialog.show()
        QApplication.processEvents()
        assert taken_for_markup(dialog) == [], dialog
        dialog.close()
        QApplication.processEvents()


def test_questions_show_texts_as_they_are(qtbot: QtBot) -> None:
    services = Services()
    parent = QWidget()
    qtbot.addWidget(parent)
    parent.show()
    services.ask(parent, MARK, MARK, [("yes", "Yes"), ("no", "No")], lambda _key: None, detail=MARK)
    (box,) = services._open
    assert taken_for_markup(box) == []
    box.reject()
    QApplication.processEvents()
    services.deleteLater()


def test_a_file_whose_name_is_markup_stands_in_the_menu_as_it_is(
    make_window: MakeWindow, services: FakeServices
) -> None:
    services.add_recent("/tmp/<b>x<img src=x>&amp;.nightplan")
    window = make_window()
    for menu in window.menuBar().actions():
        if menu.menu() is not None:
            menu.menu().aboutToShow.emit()  # type: ignore[attr-defined]
    assert taken_for_markup(window) == []


def test_labels_are_made_plain() -> None:
    # a label of the toolkit guesses from its first letters whether it is markup
    desk = Path(nightplan.desk.__file__).parent
    made = [
        f"{path.name}:{n}"
        for path in desk.rglob("*.py")
        for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if re.search(r"(?<!\w)QLabel\(", line) and not line.startswith("class ")
    ]
    assert made == []
