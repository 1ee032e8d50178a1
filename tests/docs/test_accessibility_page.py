# SPDX-License-Identifier: GPL-3.0-or-later
"""The page on accessibility has every page of the desk, and its colour differences are the published ones.

Source: Sharma, Wu and Dalal 2005, table 1, for CIEDE2000; the rest is common practice, no source.
"""

from __future__ import annotations

import re
import sys

import pytest
from docs_pages import DOCS, ROOT

from nightplan.desk.pages import PAGES

sys.path.insert(0, str(ROOT / "benchmarks"))
import colour_vision

TEXT = (DOCS / "accessibility.md").read_text(encoding="utf-8")
ROWS = [line.split("|")[1:-1] for line in TEXT.splitlines() if line.startswith("| ")]


@pytest.mark.parametrize("setting", ["night 100 %", "night 200 %", "light 100 %", "light 200 %"])
def test_every_page_of_the_desk_is_in_the_table(setting: str) -> None:
    measured = {row[0].strip() for row in ROWS if row[1].strip() == setting}
    assert set(PAGES) <= measured
    assert all(cell.strip() for row in ROWS for cell in row), "no measure is left out"


@pytest.mark.parametrize("setting", ["night 100 %", "night 200 %", "light 100 %", "light 200 %"])
def test_questions_menus_and_what_is_seldom_seen_are_in_the_table(setting: str) -> None:
    measured = {row[0].strip() for row in ROWS if row[1].strip() == setting}
    questions = {"baseline comparison", "take busy times out", "recovery offer", "conflict question", "about"}
    menus = {"menu File", "menu View, Language", "menu of an evening", "menu of an item", "menu of the chart"}
    assert questions | menus | {"busy times", "brief, hand-in sheet", "a tool tip"} <= measured


def test_what_the_columns_count_is_told_below_the_table() -> None:
    def wrong(row: list[str]) -> bool:
        seen, _of, tried = row[7].split() if " of " in row[7] else ("0", "of", "0")
        ratio = float(row[9].split(":")[0]) if ":1" in row[9] else 21.0
        return any(int(row[n]) for n in (3, 4, 5, 6, 8, 10, 11)) or seen != tried or ratio < 4.5

    measured = [row for row in ROWS if re.fullmatch(r" (night|light) \d+ % ", row[1])]
    told = TEXT.split("### What is not as it should be")[1].split("###")[0].strip()
    assert any(wrong(row) for row in measured) == (told != "Nothing.")


def test_the_table_has_one_row_for_each_screen_and_setting() -> None:
    keys = [(row[0], row[1]) for row in ROWS if re.fullmatch(r" (night|light) \d+ % ", row[1])]
    assert len(keys) == len(set(keys)) > 4 * len(PAGES)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
        ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
        ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.9030),
    ],
)
def test_the_difference_of_two_colours(
    one: tuple[float, float, float], other: tuple[float, float, float], apart: float
) -> None:
    assert colour_vision.difference(one, other) == pytest.approx(apart, abs=5e-5)
    assert colour_vision.difference(other, one) == pytest.approx(apart, abs=5e-5)
