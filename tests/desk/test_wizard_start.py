# SPDX-License-Identifier: GPL-3.0-or-later
"""The guided start and the settings: local meaning, evenings, numbers, verdict, what does not fit, nothing lost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from conftest import MakeWindow
from desk_fakes import FakeServices
from plan_page_project import AS_OF, project
from PySide6.QtCore import QDate, Qt
from pytestqt.qtbot import QtBot

from nightplan.desk.project_settings import EditProject
from nightplan.desk.window import MainWindow
from nightplan.desk.wizard import NewProject
from nightplan.evenings.dated import calendar
from nightplan.model.project import Project

Settle = Callable[[MainWindow], None]
ANNOUNCED = dt.date(2027, 3, 1)


@pytest.fixture
def guide(make_window: MakeWindow, services: FakeServices) -> NewProject:
    services.go_to_day(ANNOUNCED)
    window = make_window()
    window.files.begin_new()
    made: NewProject = window.wizard
    made.dates.zone.setCurrentText("Europe/Lisbon")
    return made


def test_the_local_meaning_of_a_deadline_stands_there_at_once(guide: NewProject) -> None:
    """31 Oct 2027, 23:59 in California is 06:59 UTC (daylight time, IANA tz database); Lisbon is on UTC by then."""
    guide.dates.deadline.setText("Oct 31, 11:59 pm PT")
    told = guide.dates.meaning.text()
    assert told == "Sun 31 Oct 2027 23:59 (America/Los_Angeles), that is Mon 1 Nov 2027 06:59 your time."
    assert guide.dates.meaning.property("role") == "good"
    assert guide.dates.lock.date() == QDate(2027, 10, 25), "a week is kept for the making-of"


def test_an_uncertain_wording_is_explained_with_its_latest_reading(guide: NewProject) -> None:
    guide.dates.deadline.setText("30 April 2027")
    told = guide.dates.meaning.text()
    assert guide.dates.meaning.property("role") == "warn"
    assert "not clear" in told
    assert "UTC+14" in told
    assert "as late as" in told
    assert "ask the organiser" in told


def test_a_long_meaning_is_whole(qtbot: QtBot, guide: NewProject) -> None:
    guide.dates.deadline.setText("Sunday, March 14th 2027, midnight Newfoundland Time (NDT)")
    meaning = guide.dates.meaning
    qtbot.waitUntil(lambda: meaning.height() >= meaning.heightForWidth(meaning.width()))
    assert meaning.heightForWidth(meaning.width()) > 2 * meaning.fontMetrics().height()


def test_what_cannot_be_read_is_said_and_holds_the_step(guide: NewProject) -> None:
    guide._next()
    assert "needs a title" in guide.error.text()
    guide.title.setText("Kite")
    guide._next()
    assert guide.step == 0
    assert "not filled in" in guide.error.text()
    guide.dates.deadline.setText("sometime in spring")
    assert not guide.error.isVisibleTo(guide), "it was about what stood there before"
    assert guide.dates.meaning.property("role") == "bad"
    guide._next()
    assert guide.step == 0
    guide.dates.deadline.setText("30 Apr 2027 23:59 UTC")
    guide._next()
    assert guide.step == 1
    assert not guide.error.isVisibleTo(guide)


def fill(guide: NewProject, steps: int) -> None:
    guide.title.setText("Kite")
    guide.dates.deadline.setText("30 Apr 2027 23:59 UTC")
    for _ in range(steps):
        guide._next()


def test_evenings_are_counted_as_the_calendar_counts_them(guide: NewProject) -> None:
    fill(guide, 1)
    guide.week.rows[1][2].setValue(3.0)
    guide.off.add(dt.date(2027, 3, 9), dt.date(2027, 3, 11), "trip")
    guide._next()
    made = guide.project
    assert made is not None
    dated = calendar(made)
    before = [e for e, _hours in dated.before(dated.gate("lock"))]
    assert guide.count.text().startswith(f"{len(before)} evenings before the lock: ")
    assert {e.date for e in before}.isdisjoint({dt.date(2027, 3, 9), dt.date(2027, 3, 11)})
    assert {e.hours for e in before if e.date.weekday() == 1} == {3.0}
    # March and April 2027 by hand: Tuesdays, Thursdays and Saturdays from 2 March to the lock, less the two off
    lock = made.gates_by_id["lock"].on
    assert lock is not None
    days = [ANNOUNCED + dt.timedelta(n) for n in range((lock - ANNOUNCED).days + 1)]
    assert len(before) == sum(d.weekday() in (1, 3, 5) for d in days) - 2


def test_a_week_without_an_evening_is_refused_in_words(guide: NewProject) -> None:
    fill(guide, 1)
    for on, *_rest in guide.week.rows:
        on.setChecked(False)
    guide._next()
    assert guide.step == 1
    assert guide.error.text()


def test_numbers_in_evenings_are_the_same_hours(guide: NewProject) -> None:
    fill(guide, 2)
    before = dict(guide.table.numbers)
    guide.unit.setCurrentIndex(1)
    assert guide.table.numbers == before
    key = guide.table._ids[0]
    cell = guide.table.item(0, 2)
    assert cell is not None
    cell.setText("2")
    assert guide.table.numbers[key][0] == pytest.approx(2 * 2.5), "two evenings of 2.5 h"
    ratio = before[key][1] / before[key][0]
    assert guide.table.numbers[key][1] == pytest.approx(5 * ratio, abs=1e-3), "the doubt keeps its proportion"
    cell = guide.table.item(0, 2)
    assert cell is not None
    cell.setText("nonsense")
    assert guide.table.numbers[key][0] == pytest.approx(5.0)


def test_typed_numbers_survive_going_back(guide: NewProject) -> None:
    fill(guide, 2)
    cell = guide.table.item(0, 2)
    assert cell is not None
    cell.setText("9")
    guide._back()
    guide._next()
    assert guide.table.numbers[guide.table._ids[0]][0] == 9.0
    guide._back()
    guide.week.rows[6][0].setChecked(True)
    guide._next()
    assert guide.table.numbers[guide.table._ids[0]][0] != 9.0, "another week is another size of everything"


def test_the_verdict_says_what_would_make_it_fit(qtbot: QtBot, guide: NewProject) -> None:
    fill(guide, 2)
    for row in range(guide.table.rowCount()):
        cell = guide.table.item(row, 2)
        assert cell is not None
        cell.setText(str(guide.table.numbers[guide.table._ids[row]][0] * 1.6))
    guide._next()
    qtbot.waitUntil(lambda: "does not fit" in guide.verdict.text(), timeout=20_000)
    assert "need" in guide.detail.text()
    qtbot.waitUntil(lambda: "·" in guide.fit.text(), timeout=60_000)
    assert " in 100" in guide.fit.text()
    guide._next()
    assert guide.project is not None
    assert guide.project.items[guide.table._ids[0]].likely == guide.table.numbers[guide.table._ids[0]][0]


def test_the_odds_asked_for_are_those_of_the_project(qtbot: QtBot, guide: NewProject) -> None:
    fill(guide, 3)
    guide.target.setValue(90)
    qtbot.waitUntil(lambda: guide.project is not None and guide.project.target_odds == 0.9, timeout=20_000)
    window = guide.parent()
    assert isinstance(window, MainWindow)
    guide._next()
    assert window.document.project.target_odds == 0.9


def test_cancel_leaves_nothing_behind(qtbot: QtBot, guide: NewProject) -> None:
    window = guide.parent()
    assert isinstance(window, MainWindow)
    fill(guide, 3)
    qtbot.keyClick(guide, Qt.Key.Key_Escape)
    assert not window.document.is_open
    assert not window.isWindowModified()


# --- settings ---


def settings(make_window: MakeWindow, services: FakeServices, start: Project) -> tuple[MainWindow, EditProject]:
    services.go_to_day(AS_OF)
    window = make_window(start)
    window.work.missed_asked = True
    window.work.edit_settings()
    return window, window.settings_dialog


def test_settings_without_a_change_are_the_same_project(
    make_window: MakeWindow, services: FakeServices, settle: Settle
) -> None:
    window, dialog = settings(make_window, services, project())
    assert dialog.changed_project() == project()
    dialog._apply()
    assert window.document.history is not None
    assert window.document.history.undo_label is None, "nothing changed, so there is no step"
    settle(window)


def test_settings_change_week_off_lock_and_zone_in_one_step(
    make_window: MakeWindow, services: FakeServices, settle: Settle
) -> None:
    window, dialog = settings(make_window, services, project())
    dialog.week.rows[6][0].setChecked(True)
    dialog.dates.lock.setDate(QDate(2027, 2, 13))
    dialog.off._spans[0][3].setText("fair")
    dialog.switching.setValue(10)
    dialog.off.has_bedtime.setChecked(True)
    dialog._apply()
    changed = window.document.project
    assert [slot.day for slot in changed.week] == ["tue", "thu", "sat", "sun"]
    assert changed.gates_by_id["lock"].on == dt.date(2027, 2, 13)
    assert changed.gates_by_id["deadline"] == project().gates_by_id["deadline"], "not touched, so kept to the letter"
    assert changed.off[0].why == "fair"
    assert changed.switching_minutes == 10
    window.document.undo()
    assert window.document.project == project()
    settle(window)


def test_settings_that_contradict_are_refused_and_stay_open(
    make_window: MakeWindow, services: FakeServices, settle: Settle
) -> None:
    window, dialog = settings(make_window, services, project())
    dialog.dates.deadline.setText("no date at all")
    dialog._apply()
    assert dialog.isVisible()
    assert dialog.error.text()
    assert window.document.project == project()
    dialog.off._add_empty()
    dialog.off._spans[-1][0].findChild(type(dialog.off.add_button)).click()
    assert len(dialog.off._spans) == 1
    dialog.reject()
    settle(window)
