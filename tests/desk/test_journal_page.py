# SPDX-License-Identifier: GPL-3.0-or-later
"""The Journal page: captures, notes, a watched folder, comparison, the film. Common practice, no source."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import page_of
from desk_fakes import FakeServices
from desk_sweep import doubled, nameless, out_of_reach
from plan_page_project import AS_OF, project
from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl
from PySide6.QtGui import QColor, QDropEvent, QGuiApplication, QImage
from pytestqt.qtbot import QtBot

from nightplan.actions.journal import asked_by_brief, journal, making_of, weights_of
from nightplan.actions.tick import Evening, tick
from nightplan.desk.pages.journal_page import JournalPage
from nightplan.desk.window import MainWindow
from nightplan.desk.words import day as day_words

Make = Callable[..., MainWindow]


@pytest.fixture
def window(window: MainWindow, tmp_path: Path) -> MainWindow:
    window.document.save_as(str(tmp_path / "piece.nightplan"))
    return window


@pytest.fixture
def page(window: MainWindow) -> JournalPage:
    return page_of(window, JournalPage)


def picture(path: Path, colour: str = "#446688") -> Path:
    image = QImage(320, 180, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    assert image.save(str(path))
    return path


def paths(page: JournalPage) -> list[str]:
    day = next(d for d in journal(page.host.project) if d.date == page.date)
    return [c.path for c in day.captures]


def test_the_newest_evening_comes_first_and_shows_its_note(page: JournalPage) -> None:
    dates = [e.evening for e in page.host.project.log]
    shown = [page.list.item(n).data(Qt.ItemDataRole.UserRole) for n in range(page.list.count())]
    assert shown == sorted(dates, reverse=True)
    assert page.date == max(dates)
    for row in range(page.list.count()):
        page.list.setCurrentRow(row)
        assert page.note.toPlainText() == page.host.project.log_by_date[shown[row]].note


def test_a_note_is_kept_when_the_keyboard_leaves_it(qtbot: QtBot, window: MainWindow, page: JournalPage) -> None:
    start = page.host.project
    page.note.setFocus()
    page.note.selectAll()
    qtbot.keyClicks(page.note, "Wing flipped; second target holds it")
    page.list.setFocus()
    date = page.date
    assert date is not None
    assert page.host.project.log_by_date[date].note == "Wing flipped; second target holds it"
    window.document.undo()
    assert page.host.project == start
    assert page.note.toPlainText() == start.log_by_date[date].note


def test_captures_come_by_file_drop_and_paste(
    qtbot: QtBot, window: MainWindow, page: JournalPage, services: FakeServices, tmp_path: Path
) -> None:
    one, two = picture(tmp_path / "a.png"), picture(tmp_path / "b.png", "#aa3322")
    before = hashlib.sha256(one.read_bytes()).hexdigest()
    page.add.click()
    services.choose(one)
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(two))])
    page.dropEvent(
        QDropEvent(
            QPoint(5, 5), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
        )
    )
    QGuiApplication.clipboard().setImage(QImage(str(two)))
    page.paste.click()
    assert paths(page) == ["a.png", "b.png", f"captures/{page.date}-1.png"]
    qtbot.waitUntil(lambda: not page.work.busy and len(page.thumbnails.icons) == 3, timeout=10_000)
    assert all(not page.captures.item(n).icon().isNull() for n in range(3))
    assert hashlib.sha256(one.read_bytes()).hexdigest() == before
    # one step each
    for wanted in (2, 1, 0):
        window.document.undo()
        assert len(paths(page)) == wanted
    QGuiApplication.clipboard().setText("words")
    page.paste.click()
    assert "no picture to paste" in window.statusBar().currentMessage()


def test_a_watched_folder_gives_the_pictures_of_the_evening(
    qtbot: QtBot, page: JournalPage, services: FakeServices, tmp_path: Path
) -> None:
    folder = tmp_path / "shots"
    folder.mkdir()
    assert page.date is not None
    that_day = dt.datetime.combine(page.date, dt.time(22)).timestamp()
    for name, when in (("old.png", that_day - 90_000), ("now.png", that_day), ("next.png", that_day + 90_000)):
        os.utime(picture(folder / name), (when, when))
    page.folder.click()
    services.choose(folder)
    assert paths(page) == ["shots/now.png"]
    os.utime(picture(folder / "later.png"), (that_day + 60, that_day + 60))
    qtbot.waitUntil(lambda: paths(page) == ["shots/now.png", "shots/later.png"], timeout=10_000)


def test_words_and_the_making_of(qtbot: QtBot, page: JournalPage, services: FakeServices, tmp_path: Path) -> None:
    page.add_pictures([picture(tmp_path / "a.png")])
    page.words.setFocus()
    qtbot.keyClicks(page.words, "first weight")
    qtbot.keyClick(page.words, Qt.Key.Key_Return)
    day = next(d for d in journal(page.host.project) if d.date == page.date)
    assert day.captures[0].note == "first weight"
    assert page.captures.item(0).text() == "first weight"
    page.show_it.click()
    assert not next(d for d in journal(page.host.project) if d.date == page.date).captures[0].show
    page.film.minutes.setValue(2.0)
    assert page.film.words.text() == "Lengths in proportion to the hours:"
    page.remove.click()
    assert paths(page) == []
    assert (tmp_path / "a.png").exists()


def test_two_captures_are_compared(qtbot: QtBot, window: MainWindow, page: JournalPage, tmp_path: Path) -> None:
    page.add_pictures([picture(tmp_path / "a.png"), picture(tmp_path / "b.png", "#aa3322")])
    page.captures.selectAll()
    page.compare.click()
    qtbot.waitUntil(page.pair.isVisible)
    assert page.pair.words.text() == "a.png and b.png: left and right."
    page.pair.difference.click()
    qtbot.waitUntil(lambda: "what differs" in page.pair.words.text())
    page.pair.close_button.click()
    assert not page.pair.isVisible()
    # one by one
    page.captures.clearSelection()
    page.captures.item(0).setSelected(True)
    page.compare.click()
    assert "choose the other capture" in window.statusBar().currentMessage()
    page.captures.clearSelection()
    page.captures.item(1).setSelected(True)
    page.compare.click()
    qtbot.waitUntil(page.pair.isVisible)


def test_a_capture_that_is_gone_keeps_its_words(qtbot: QtBot, page: JournalPage, tmp_path: Path) -> None:
    page.add_pictures([tmp_path / "never.png"])
    qtbot.waitUntil(lambda: not page.work.busy and "never.png" in page.thumbnails.tried, timeout=10_000)
    assert page.captures.item(0).text() == "never.png"
    assert page.captures.item(0).icon().isNull()


def test_what_the_brief_asks_for_is_ticked_here(qtbot: QtBot, window: MainWindow, page: JournalPage) -> None:
    assert not page.asked_card.isVisible()
    rules = [{"id": "post", "kind": "progress-post", "value": 1, "wording": "One post & a picture"}]
    film = {"id": "film", "name": "Film", "what": "movie", "rules": rules}
    window.document.apply("Brief", page.host.project.but(deliverables=(film,)))
    assert page.asked_card.isVisible()
    start = page.host.project
    page.asked_card.checks[0].click()
    assert asked_by_brief(page.host.project)[0].ticked
    window.document.undo()
    assert page.host.project == start
    assert not page.asked_card.checks[0].isChecked()
    # a note on where it is ticks it, in one step
    note = page.asked_card.notes[0]
    note.setFocus()
    qtbot.keyClicks(note, "board, page 4")
    qtbot.keyClick(note, Qt.Key.Key_Return)
    asked = asked_by_brief(page.host.project)[0]
    assert (asked.ticked, asked.note) == (True, "board, page 4")
    assert page.asked_card.checks[0].isChecked()
    page.asked_card.checks[0].click()
    assert not asked_by_brief(page.host.project)[0].ticked
    window.document.undo()
    window.document.undo()
    assert page.host.project == start


def test_chapters_have_weights_of_ones_own(window: MainWindow, page: JournalPage) -> None:
    start = page.host.project
    film = page.film
    hours = {key: label.text() for key, label in film.lengths.items()}
    assert len(hours) > 1
    assert not any(w.isVisible() for w in film.weights.values())
    film.own.click()
    # they begin as the hours, so nothing moves
    assert {key: label.text() for key, label in film.lengths.items()} == hours
    assert all(w.isVisible() for w in film.weights.values())
    first = next(iter(film.weights))
    film.weights[first].setValue(0.0)
    assert film.lengths[first].text() == "0:00"
    assert weights_of(page.host.project)[first] == 0
    window.document.undo()
    assert {key: label.text() for key, label in film.lengths.items()} == hours
    film.own.click()
    assert weights_of(page.host.project) == {}
    assert not film.weights[first].isVisible()
    window.document.undo()
    window.document.undo()
    assert page.host.project == start


def test_a_capture_goes_into_another_chapter(page: JournalPage, tmp_path: Path) -> None:
    page.add_pictures([picture(tmp_path / "a.png")])
    assert page.stage.currentData() is None
    wanted = page.host.project.stages[-1]
    page.stage.setCurrentIndex(page.stage.findData(wanted.id))
    page.stage.activated.emit(page.stage.currentIndex())
    assert next(d for d in journal(page.host.project) if d.date == page.date).captures[0].stage == wanted.id
    chapters = {c.stage: c for c in making_of(page.host.project, 3.0).chapters}
    assert [s.path for s in chapters[wanted.id].captures] == ["a.png"]


def test_captures_are_offered_right_after_a_tick(window: MainWindow) -> None:
    window.go_to("plan")
    offer = window.capture_offer
    assert not offer.isVisible()
    date = AS_OF + dt.timedelta(days=1)
    window.document.apply("Tick", tick(window.document.project, Evening(date, hours=1.0), extra=True))
    assert offer.isVisible()
    assert offer.text() == f"Captures of {day_words(date)} (Ctrl+J)"
    window.document.undo()
    assert not offer.isVisible()
    window.document.redo()
    assert offer.isVisible()
    offer.click()
    found = window.pages["journal"]
    assert isinstance(found, JournalPage)
    assert (found.date, found.isVisible(), found.add.hasFocus()) == (date, True, True)
    assert not offer.isVisible()
    # an evening that did not happen has none
    missed = date + dt.timedelta(days=1)
    window.document.apply("Missed", tick(window.document.project, Evening(missed, missed=True), extra=True))
    assert not offer.isVisible()


def test_an_unsaved_project_says_what_is_missing(make_window: Make, services: FakeServices, tmp_path: Path) -> None:
    services.go_to_day(AS_OF)
    window = make_window()
    window.work.missed_asked = True
    window.document.new(project())
    page = page_of(window, JournalPage)
    assert not page.add_pictures([picture(tmp_path / "a.png")])
    assert "Save the project first" in window.statusBar().currentMessage()
    window.document.apply("Empty", project().but(log=(), baselines=(), forecasts=()))
    assert page.list.empty.isVisible()
    assert not page.evening_card.isVisible()


def test_every_control_has_a_name_and_can_be_reached(qtbot: QtBot, page: JournalPage, tmp_path: Path) -> None:
    page.add_pictures([picture(tmp_path / "a.png"), picture(tmp_path / "b.png")])
    page.captures.selectAll()
    page.compare.click()
    qtbot.waitUntil(page.pair.isVisible)
    assert nameless(page) == []
    assert doubled(page) == []
    assert out_of_reach(page) == []
