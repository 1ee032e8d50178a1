# SPDX-License-Identifier: GPL-3.0-or-later
"""The Help page: the worked example is the core's, every key that it names does something, every word is explained."""

from __future__ import annotations

import math
import re

import pytest
from conftest import MakeWindow
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QApplication

from nightplan.desk.pages.help_page import KEYS, HelpPage, example, keys_html, numbers_html


def test_the_example_by_hand() -> None:
    """Lognormal with median 3 and 90th percentile 5: sigma = ln(5/3)/1.2816, mean = 3 exp(sigma²/2)
    (Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions 1, chapter 14)."""
    e = example()
    sigma = math.log(5 / 3) / 1.2815515655446004
    assert float(e["mean"]) == pytest.approx(4 * 3 * math.exp(sigma**2 / 2), abs=0.05)
    assert float(e["expected"]) == pytest.approx(8 * 2.5 * 0.9)
    assert float(e["have"]) == pytest.approx(float(e["expected"]) - float(e["likely"]))
    odds = int(e["odds"].removesuffix(" in 100"))
    # have above need is odds above 80, and the other way round (design: buffer of a gate)
    assert (float(e["have"]) >= float(e["need"])) == (odds >= 80)


def test_the_page_shows_the_examples_numbers() -> None:
    page = numbers_html()
    assert all(value in page for value in example().values())
    for word in ("Likely", "median", "9 in 10", "Odds", "futures", "Buffer", "Have", "Need"):
        assert word in page, word


def test_every_key_on_the_page_belongs_to_something(make_window: MakeWindow) -> None:
    window = make_window()
    known = {s.toString() for action in window.findChildren(QAction) for s in action.shortcuts()}
    named = [
        part for head, rows in KEYS if head == "Everywhere" for key, _what in rows for part in re.split(r", | … ", key)
    ]
    keys = {QKeySequence(part.format(last=4)).toString() for part in named if part not in ("Tab", "Shift+Tab")}
    assert keys - known == set()
    assert keys


def test_f1_shows_the_numbers_and_ctrl_f1_the_keys_with_no_project_open(make_window: MakeWindow) -> None:
    window = make_window()
    window.menus.help_numbers()
    page = window.pages["help"]
    assert isinstance(page, HelpPage)
    assert "What the numbers mean" in page.text.toPlainText()
    window.menus.help_keys()
    assert "Ctrl+Return" in page.text.toPlainText()
    assert page.text.toPlainText().strip()
    page.parts.buttons()[0].click()
    assert "What the numbers mean" in page.text.toPlainText()
    QApplication.processEvents()
    assert "{" not in keys_html()
