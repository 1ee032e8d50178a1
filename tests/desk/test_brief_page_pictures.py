# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of the Brief page with a brief, pasted rules and findings on it: nothing cut off, words that can be read.

Contrast after WCAG 2.2, 1.4.3; text at 200 % after 1.4.4; the measures are those of ``test_pictures_pages``.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from PySide6.QtWidgets import QApplication, QScrollArea
from pytestqt.qtbot import QtBot
from test_brief_page import RULES
from test_brief_page_files import drop, frames, rest, with_brief
from test_pictures_pages import AS_OF, cut_off, hard_to_read, luminance, picture, pixels, project

from nightplan.actions import brief
from nightplan.actions.brief_paste import set_brief_text
from nightplan.brief.findings import SIGNS
from nightplan.desk.pages.brief_page import BriefPage
from nightplan.desk.theme import THEMES
from nightplan.desk.widgets.brief_list import COLOURS
from nightplan.desk.window import MainWindow

Settle = Callable[[MainWindow], None]


@pytest.mark.parametrize("percent", [100, 200])
@pytest.mark.parametrize("theme", ["night", "light"])
def test_a_full_page_is_whole_and_legible(
    theme: str,
    percent: int,
    qtbot: QtBot,
    make_window: MakeWindow,
    services: FakeServices,
    settle: Settle,
    tmp_path: Path,
) -> None:
    services.go_to_day(AS_OF)
    p = brief.add_rule(with_brief(project()), "frames", "progress-post", 2, wording="Two posts on the way.")
    window = make_window(set_brief_text(p, RULES), theme=theme, percent=percent)
    window.work.missed_asked = True
    window.resize(1000 if percent == 100 else 1500, 760)
    settle(window)
    window.go_to("brief")
    page = window.pages["brief"]
    assert isinstance(page, BriefPage)
    page.tree.go_to(("frames", "tick"))
    drop(page, frames(tmp_path / "shot", [1, 2, 3, 5, 6]))
    rest(qtbot, page)
    page.check.keep.click()
    rest(qtbot, page)
    page.sheets.still.click()
    rest(qtbot, page)
    settle(window)
    for pasted in (False, True):
        if pasted:
            page.open_paste.click()
        for _ in range(4):
            QApplication.processEvents()
        bar = page.area.verticalScrollBar()
        for at in range(0, bar.maximum() + bar.pageStep(), bar.pageStep()):
            bar.setValue(at)
            QApplication.processEvents()
            assert cut_off(window) == []
            assert hard_to_read(window) == []
        for area in page.findChildren(QScrollArea):
            assert area.horizontalScrollBar().maximum() == 0
    once, again = pixels(picture(window, 2.0)), pixels(picture(window, 2.0))
    assert np.array_equal(once, again)


@pytest.mark.parametrize("theme", list(THEMES))
def test_findings_are_told_by_sign_and_word_and_the_colour_can_be_read(theme: str) -> None:
    colours = THEMES[theme]
    assert len(set(SIGNS.values())) == len(SIGNS)
    for verdict, name in COLOURS.items():
        assert verdict in SIGNS
        ink = np.array([[int(getattr(colours, name)[n : n + 2], 16) for n in (1, 3, 5)]])
        for ground in (colours.field, colours.raised):
            below = np.array([[int(ground[n : n + 2], 16) for n in (1, 3, 5)]])
            high, low = sorted((float(luminance(ink)[0]), float(luminance(below)[0])), reverse=True)
            assert (high + 0.05) / (low + 0.05) >= 4.5, (verdict, ground)
