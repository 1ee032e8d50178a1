# SPDX-License-Identifier: GPL-3.0-or-later
"""Every window, dialog and page: names for a screen reader, the Tab key, Alt letters.

Source: WCAG 2.2, success criteria 4.1.2 (name, role, value), 2.1.1 (keyboard) and 2.4.6 (labels that tell).
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import Any

import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from desk_sweep import accessible_name, every_widget, nameless, out_of_reach
from plan_page_project import project
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QMenu, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk.earlier_versions import EarlierVersions
from nightplan.desk.missed import MissedEvenings
from nightplan.desk.pages import PAGES
from nightplan.desk.project_settings import EditProject
from nightplan.desk.window import MainWindow
from nightplan.desk.wizard import NewProject
from nightplan.files.versions import Ring, save_and_keep

pytestmark = pytest.mark.usefixtures("settled")


def twice(root: QWidget) -> dict[str, list[str]]:
    """Alt letters that stand for two things at once: visible buttons and labels, and the menus of the window."""
    texts = []
    for widget in every_widget(root):
        # a hidden part of the page takes no key, a dialog has its own
        if widget.window() is not root or not widget.isVisibleTo(root) or not widget.isEnabled():
            continue
        if isinstance(widget, QAbstractButton) or (isinstance(widget, QLabel) and widget.buddy() is not None):
            texts.append(widget.text())
    if isinstance(root, MainWindow):
        texts += [action.text() for action in root.menuBar().actions()]
    found: dict[str, list[str]] = {}
    for text in texts:
        for letter in _letter(text):
            found.setdefault(letter, []).append(text)
    return {letter: texts for letter, texts in found.items() if len(texts) > 1}


def _letter(text: str) -> list[str]:
    at = text.replace("&&", "").find("&")
    return [] if at < 0 else [text.replace("&&", "")[at + 1].lower()]


@pytest.mark.parametrize("page", list(PAGES))
def test_every_control_of_a_page_has_a_name_and_is_reached(page: str, window: MainWindow) -> None:
    window.go_to(page)
    QApplication.processEvents()
    assert nameless(window) == []
    assert out_of_reach(window.pages[page]) == []


@pytest.mark.parametrize("page", list(PAGES))
def test_no_alt_letter_stands_for_two_things(page: str, window: MainWindow) -> None:
    window.go_to(page)
    QApplication.processEvents()
    assert twice(window) == {}


def test_an_empty_window_has_names(make_window: MakeWindow) -> None:
    window = make_window()
    assert nameless(window) == []
    assert out_of_reach(window) == []
    assert twice(window) == {}


def versions_of_a_file(window: MainWindow, services: FakeServices) -> EarlierVersions:
    """The dialog with two versions, the older of them in sight."""
    place, folder = services.folder / "kite.nightplan", services.versions_folder()
    for n, title in enumerate(("Kite", "Kites")):
        save_and_keep(project().but(title=title), place, Ring(folder, services.now() + dt.timedelta(minutes=n)))
    made = EarlierVersions(str(place), folder, project().but(title="Kites"), window)
    made.list.setCurrentRow(1)
    return made


def dialogs(window: MainWindow, services: FakeServices) -> list[QWidget]:
    later = dt.date(2027, 1, 31)
    services.go_to_day(later)
    return [
        NewProject(services, window.themes.theme, window),
        EditProject(services, window.themes.theme, project(), window),
        MissedEvenings(window.host, window),
        versions_of_a_file(window, services),
    ]


def test_every_dialog_has_names_and_its_own_letters(qtbot: QtBot, window: MainWindow, services: FakeServices) -> None:
    for dialog in dialogs(window, services):
        dialog.show()
        steps: Any = getattr(dialog, "steps", None)
        for step in range(steps.count() if steps is not None else 1):
            if isinstance(dialog, NewProject):
                dialog.title.setText("Kite")
                dialog.dates.deadline.setText("30 Apr 2027, 11:59 pm PT")
                if step:
                    dialog._next()
            assert nameless(dialog) == [], (dialog, step)
            assert out_of_reach(dialog) == [], (dialog, step)
            assert twice(dialog) == {}, (dialog, step)
        dialog.close()
        QApplication.processEvents()


@pytest.mark.parametrize("page", list(PAGES))
def test_tab_goes_round_and_the_focus_can_be_seen(page: str, qtbot: QtBot, window: MainWindow) -> None:
    """WCAG 2.2, 2.1.2 (no trap) and 2.4.7 (focus visible): what has the keyboard looks otherwise than without."""
    window.go_to(page)
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    start = QApplication.focusWidget()
    assert start is not None
    seen = [start]
    for _ in range(120):
        qtbot.keyClick(seen[-1], Qt.Key.Key_Tab)
        now = QApplication.focusWidget()
        assert now is not None
        if now is start:
            break
        assert accessible_name(now), type(now)
        # a date is left part by part
        assert now is seen[-1] or now not in seen, "the Tab key goes in a small circle"
        seen.append(now)
    assert now is start, f"{accessible_name(seen[-1])} keeps the keyboard"
    buttons = [w for w in seen if isinstance(w, QAbstractButton)]
    assert buttons
    for button in buttons[:3]:
        start.setFocus()
        before = button.grab().toImage()
        button.setFocus(Qt.FocusReason.TabFocusReason)
        if button is not start:
            assert button.grab().toImage() != before, button.text()


def test_every_entry_of_every_menu_is_text_with_a_letter_of_its_own(window: MainWindow) -> None:
    for menu in window.menuBar().findChildren(QMenu):
        texts = [a.text() for a in menu.actions() if not a.isSeparator()]
        assert all(texts)
        assert max(Counter(x for t in texts for x in _letter(t)).values(), default=1) == 1, texts
