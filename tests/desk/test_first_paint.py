# SPDX-License-Identifier: GPL-3.0-or-later
"""What is left for after the first paint is there after it."""

from __future__ import annotations

import subprocess
import sys

from pytestqt.qtbot import QtBot

from nightplan.desk import toolkit
from nightplan.desk.services import Services
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow


def printed(code: str) -> str:
    """What a fresh interpreter prints: what is loaded here already tells nothing."""
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout


def test_the_menus_are_filled_once_the_window_is_painted(qtbot: QtBot, services: Services) -> None:
    keeper = ThemeKeeper("night", 100)
    window = MainWindow(services, keeper)
    titles = [action.text() for action in window.menuBar().actions()]
    assert titles == ["&File", "&Edit", "&Project", "&View", "&Help"]
    with qtbot.waitSignal(window.painted):
        window.show()
    for action in window.menuBar().actions():
        entries = [entry for entry in action.menu().actions() if not entry.isSeparator()]
        assert len(entries) > 1, action.text()
    # no project is open: what needs one cannot be chosen
    assert not window.menus.save_action.isEnabled()
    window.setProperty("discard", True)
    window.close()


def test_the_toolkit_reads_no_sources_of_modules_that_are_loaded_after_it() -> None:
    """The names are the toolkit's own, not promised by it: where they are gone, the program only starts later."""
    code = f"""
import sys
import PySide6.QtCore
spellings = sys.modules.get({toolkit.SPELLINGS!r})
print(hasattr(spellings, {toolkit.LOOK!r}))
import nightplan.desk
import inspect
read = []
inspect.getsource = lambda module: read.append(module) or ""
import colorsys, nightplan.desk.words
print(len(read))
"""
    assert printed(code).split() == ["True", "0"]
    assert toolkit.spare_the_sources()


def test_the_window_is_there_before_anything_that_understands_a_project() -> None:
    code = """
import sys
import nightplan.desk.app, nightplan.desk.opening
late = ("pydantic", "numpy", "nightplan.model.project", "nightplan.evenings.dated", "nightplan.desk.menus")
print([name for name in late if name in sys.modules])
"""
    assert printed(code).strip() == "[]"


def test_the_plan_is_there_before_what_odds_and_charts_are_made_with() -> None:
    code = """
import sys
import nightplan.desk.app, nightplan.desk.pages.plan_page
print([name for name in ("numpy", "scipy.special", "matplotlib") if name in sys.modules])
"""
    assert printed(code).strip() == "['numpy']"
