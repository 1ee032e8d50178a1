# SPDX-License-Identifier: GPL-3.0-or-later
"""Busy times within the window: shown with what they do, then taken in or not. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from desk_fakes import FakeServices
from desk_sweep import doubled, nameless, out_of_reach
from plan_page_project import AS_OF
from pytestqt.qtbot import QtBot

from nightplan.desk.busy_times import BusyPreview
from nightplan.desk.window import MainWindow
from nightplan.evenings.dated import calendar

pytestmark = pytest.mark.usefixtures("settled")
Settle = Callable[[MainWindow], None]


def ics(*events: str) -> str:
    body = "".join(f"BEGIN:VEVENT\r\nUID:{n}\r\n{e}\r\nEND:VEVENT\r\n" for n, e in enumerate(events))
    return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:t\r\n{body}END:VCALENDAR\r\n"


def evenings(window: MainWindow) -> list[tuple[dt.date, dt.time, float]]:
    return [(e.date, e.start, e.hours) for e in calendar(window.document.project).evenings if not e.tail]


def shown(dialog: BusyPreview) -> list[list[str]]:
    table = dialog.table
    return [[table.item(n, m).text() for m in range(table.columnCount())] for n in range(table.rowCount())]


@pytest.fixture
def opened(qtbot: QtBot, window: MainWindow, services: FakeServices, tmp_path: Path) -> Callable[[str], BusyPreview]:
    def open_it(text: str) -> BusyPreview:
        (tmp_path / "work.ics").write_text(text, encoding="utf-8")
        window.menus.busy_action.trigger()
        services.choose(tmp_path / "work.ics")
        dialog = window.busy_times.dialog
        assert dialog is not None
        assert not dialog.apply_button.isEnabled()
        qtbot.waitUntil(dialog.apply_button.isEnabled)
        return dialog

    return open_it


@pytest.fixture
def text(window: MainWindow) -> str:
    """One evening gone, one cut short from its beginning, one entry that takes no time."""
    coming = [e for e in calendar(window.document.project).evenings if e.date > AS_OF and not e.tail and e.hours >= 2]
    gone, cut = coming[0], coming[1]
    late = (dt.datetime.combine(cut.date, cut.start) + dt.timedelta(minutes=30)).strftime("%Y%m%dT%H%M%S")
    return ics(
        f"SUMMARY:Choir\r\nDTSTART;VALUE=DATE:{gone.date:%Y%m%d}",
        f"SUMMARY:Train\r\nDTSTART:{cut.date:%Y%m%d}T040000\r\nDTEND:{late}",
        f"SUMMARY:Maybe\r\nTRANSP:TRANSPARENT\r\nDTSTART;VALUE=DATE:{cut.date:%Y%m%d}",
    )


def test_what_they_do_is_seen_before_they_are_taken_in(
    window: MainWindow, opened: Callable[[str], BusyPreview], text: str
) -> None:
    start, before = window.document.project, evenings(window)
    dialog = opened(text)
    assert dialog.summary.text() == "2 busy times from work.ics: 1 evening goes, 1 becomes shorter."
    assert [(row[2], row[3]) for row in shown(dialog) if row[2] == "gone"] == [("gone", "Choir")]
    assert [row[3] for row in shown(dialog) if row[2] != "gone"] == ["Train"]
    assert "Maybe is marked as free" in dialog.left_out.text()
    assert window.document.project == start
    # without keeping what is left, both go
    dialog.keep.setChecked(False)
    assert dialog.summary.text() == "2 busy times from work.ics: 2 evenings go."
    assert not dialog.hours.isEnabled()
    dialog.keep.setChecked(True)
    dialog.apply_button.click()
    assert len(window.document.project.busy) == 2
    assert len(evenings(window)) == len(before) - 1
    assert len(set(evenings(window)) - set(before)) == 1
    assert "Undo takes them out" in window.statusBar().currentMessage()
    # one step
    window.document.undo()
    assert window.document.project == start


def test_cancel_leaves_everything_as_it_was(
    window: MainWindow, opened: Callable[[str], BusyPreview], settle: Settle, text: str
) -> None:
    start, odds, steps = window.document.project, window.document.forecast, window.menus.undo_action.text()
    dialog = opened(text)
    dialog.cancel_button.click()
    assert window.busy_times.dialog is None
    settle(window)
    assert window.document.project == start
    assert window.document.forecast == odds
    assert window.menus.undo_action.text() == steps


def test_they_are_refreshed_and_taken_out_again(
    window: MainWindow, services: FakeServices, opened: Callable[[str], BusyPreview], text: str
) -> None:
    start = window.document.project
    opened(text).apply_button.click()
    dialog = opened(ics())
    assert dialog.summary.text() == "0 busy times from work.ics: 2 come back."
    dialog.reject()
    window.menus.free_action.trigger()
    assert "work.ics: 2 busy times" in services.answer("0").text
    assert window.document.project == start
    window.menus.free_action.trigger()
    assert "No busy times were read" in window.statusBar().currentMessage()


def test_what_is_no_calendar_is_said(qtbot: QtBot, window: MainWindow, services: FakeServices, tmp_path: Path) -> None:
    start = window.document.project
    (tmp_path / "no.ics").write_text("hello", encoding="utf-8")
    for name, said in (("no.ics", "begins with BEGIN:VCALENDAR"), ("gone.ics", "gone.ics cannot be read")):
        window.menus.busy_action.trigger()
        services.choose(tmp_path / name)
        qtbot.waitUntil(lambda: bool(services.questions))
        assert said in services.answer("ok").text
        assert window.busy_times.dialog is None
    assert window.document.project == start


def test_every_control_of_the_preview_has_a_name(opened: Callable[[str], BusyPreview], text: str) -> None:
    dialog = opened(text)
    assert nameless(dialog) == []
    assert doubled(dialog) == []
    assert out_of_reach(dialog) == []
    dialog.reject()
