# SPDX-License-Identifier: GPL-3.0-or-later
"""Exports in other languages: fonts, lines without spaces, the order of the week. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from matplotlib import font_manager

from nightplan.actions.today import as_it_stands
from nightplan.engine.plan import plan
from nightplan.exports import fonts, wall_sheet
from nightplan.exports.labels import text_inches
from nightplan.exports.page_pdf_sheet import inches, wrapped
from nightplan.files.store import parse
from nightplan.speech import texts

SAMPLE = Path(__file__).resolve().parents[2] / "sample_projects" / "moth-and-lantern.nightplan"
SENTENCE = "蛾と炎のボードを描いて、ランタンの光を合わせる。それから「屋根と縄」を作り、夜の光を調整する。"


@pytest.fixture
def speak(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    fonts.families.cache_clear()
    yield lambda locale: monkeypatch.setattr(texts._Spoken, "locale", locale)
    fonts.families.cache_clear()


def test_english_looks_for_no_other_font(speak: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(font_manager.fontManager, "get_font_names", lambda: pytest.fail("the list of fonts was read"))
    speak("en_GB")
    assert fonts.families("DejaVu Sans") == ("DejaVu Sans",)


@pytest.mark.parametrize(
    ("there", "expected"),
    [
        (["DejaVu Sans"], ("DejaVu Sans",)),
        (["Noto Sans CJK JP", "DejaVu Sans", "IPAexGothic"], ("DejaVu Sans", "IPAexGothic")),
        (["Noto Sans CJK JP", "Noto Sans"], ("DejaVu Sans", "Noto Sans CJK JP")),
    ],
)
def test_japanese_takes_what_is_installed(
    speak: Any, monkeypatch: pytest.MonkeyPatch, there: list[str], expected: tuple[str, ...]
) -> None:
    monkeypatch.setattr(font_manager.fontManager, "get_font_names", lambda: there)
    speak("ja")
    assert fonts.families("DejaVu Sans") == expected


def test_text_without_spaces_is_broken_into_lines() -> None:
    lines = wrapped(f"{SENTENCE} Blender 4.2", 1.5, 9)
    assert "".join(lines).replace(" ", "") == f"{SENTENCE}Blender4.2"
    assert len(lines) > 2
    for line in lines:
        assert inches(line, 9) <= 1.5
        assert line[0] not in "、。」ー"
        assert line[-1] != "「"
    # a name is not cut in two
    assert any("Blender" in line for line in lines)


def test_japanese_letters_are_as_wide_as_high() -> None:
    assert text_inches("夜" * 10, 9)[0] == pytest.approx(10 * 9 / 72)
    assert text_inches("night", 9)[0] < text_inches("夜" * 5, 9)[0]


@pytest.mark.parametrize("first", [0, 5, 6])
def test_a_row_of_the_wall_sheet_begins_on_the_countrys_day(monkeypatch: pytest.MonkeyPatch, first: int) -> None:
    cells: list[tuple[float, dt.date]] = []
    said: list[str] = []
    monkeypatch.setattr(wall_sheet, "first_weekday", lambda: first)
    monkeypatch.setattr(wall_sheet, "week", lambda: tuple((first + n) % 7 for n in range(7)))
    monkeypatch.setattr(wall_sheet, "_cell", lambda axes, box, day, *rest: cells.append((box[0], day)))
    monkeypatch.setattr(wall_sheet, "_say", lambda axes, x, y, text, size, **style: said.append(text))
    project = parse(SAMPLE.read_bytes(), "sample")
    planned = plan(project, as_it_stands(project))
    wall_sheet.wall_sheet_pdf(project, planned)
    left = min(x for x, _ in cells)
    assert {day.weekday() for x, day in cells if x == left} == {first}
    days = [day for _, day in cells]
    assert days == [days[0] + dt.timedelta(n) for n in range(len(days))]
    assert days[0] <= project.announced <= days[0] + dt.timedelta(6)
    names = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    assert said[:7] == names[first:] + names[:first]
    # the week's number is that of its Thursday (ISO 8601)
    thursdays = [day for day in days if day.weekday() == 3]
    assert [t for t in said if t[0] == "W" and t[1:].isdigit()] == [f"W{d.isocalendar().week}" for d in thursdays]
