# SPDX-License-Identifier: GPL-3.0-or-later
"""The Assets page, the Export menu and busy times within the window. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import icalendar
import pytest
from conftest import page_of
from desk_fakes import FakeServices
from desk_sweep import doubled, nameless, out_of_reach
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from nightplan.actions.assets import add_asset, assets_of, terms_of
from nightplan.desk.exporting import ENTRIES
from nightplan.desk.pages.assets_page import AssetsPage
from nightplan.desk.window import MainWindow
from nightplan.model.project import Project

Make = Callable[..., MainWindow]
Settle = Callable[[MainWindow], None]


@pytest.fixture
def page(window: MainWindow) -> AssetsPage:
    return page_of(window, AssetsPage)


def now(page: AssetsPage) -> Project:
    return page.host.project


def typed(qtbot: QtBot, page: AssetsPage, key: str, text: str) -> None:
    field = page.fields[key]
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def test_an_asset_is_written_down_and_its_licence_judged(qtbot: QtBot, window: MainWindow, page: AssetsPage) -> None:
    start = now(page)
    assert page.list.empty.isVisible()
    assert not page.fields_card.isVisible()
    page.add.click()
    assert "holds the hand-in" in _findings(page)
    typed(qtbot, page, "title", "Oak bark")
    typed(qtbot, page, "author", "Ada Fern")
    typed(qtbot, page, "source", "https://example.org/bark")
    typed(qtbot, page, "files", "tex/a.png; tex/b.png")
    typed(qtbot, page, "cost", "2,50")
    page.licence.lineEdit().setText("cc by-sa 4.0")
    qtbot.keyClick(page.licence.lineEdit(), Qt.Key.Key_Return)
    (asset,) = assets_of(now(page))
    assert (asset.title, asset.author, asset.licence, asset.cost) == ("Oak bark", "Ada Fern", "CC-BY-SA-4.0", 2.5)
    assert asset.files == ("tex/a.png", "tex/b.png")
    assert page.licence.currentText() == "CC BY-SA 4.0"
    assert page.list.item(0).text() == "Oak bark  ·  CC BY-SA 4.0"
    assert "Nothing stands in the way" in page.judged.verdict.text()
    page.entry.result.lineEdit().setText("CC BY-NC-ND 4.0")
    qtbot.keyClick(page.entry.result.lineEdit(), Qt.Key.Key_Return)
    assert terms_of(now(page)).result == "CC-BY-NC-ND-4.0"
    assert page.judged.verdict.text() == "Do not hand it in like this yet."
    assert "not legal advice" in page.judged.notice.text()
    # every step is one of undo
    steps = 0
    while now(page) != start:
        window.document.undo()
        steps += 1
    assert steps == 8


def _findings(page: AssetsPage) -> str:
    found = [page.judged.rows.itemAt(n).widget() for n in range(page.judged.rows.count())]
    return "\n".join(w.text() for w in found if isinstance(w, QLabel))


def test_a_cost_that_is_no_number_is_said_and_taken_back(qtbot: QtBot, window: MainWindow, page: AssetsPage) -> None:
    page.add.click()
    before = now(page)
    typed(qtbot, page, "cost", "much")
    assert "a number is accepted" in window.statusBar().currentMessage()
    assert page.fields["cost"].text() == ""
    assert now(page) == before


def test_ticks_of_the_entry_and_of_the_asset(page: AssetsPage) -> None:
    page.add.click()
    page.entry.checks["prize"].click()
    page.adapted.click()
    assert terms_of(now(page)).prize
    assert not assets_of(now(page))[0].adapted
    page.remove.click()
    assert assets_of(now(page)) == ()
    assert page.list.empty.isVisible()


def test_what_the_brief_says_is_shown_and_changed_there(window: MainWindow, page: AssetsPage) -> None:
    rules = [
        {"id": "others", "kind": "third-party", "value": "none", "wording": "Everything is made by you."},
        {"id": "prize", "kind": "prize", "value": True},
    ]
    brief = {"id": "still", "name": "Still", "what": "image", "rules": rules}
    asking = add_asset(now(page), "Oak", licence="CC0").but(deliverables=(brief,))
    window.document.apply("Read the brief", asking)
    assert page.entry.third.currentData() == "none"
    assert not page.entry.third.isEnabled()
    assert "Everything is made by you." in page.entry.third.toolTip()
    assert "Everything is made by you." in page.entry.from_brief.text()
    assert page.entry.checks["prize"].isChecked()
    assert not page.entry.checks["prize"].isEnabled()
    assert page.entry.checks["promotion"].isEnabled()
    assert "Not like this" in _findings(page)
    assert page.judged.verdict.text() == "Do not hand it in like this yet."
    window.document.undo()
    assert page.entry.third.isEnabled()
    assert not page.entry.from_brief.isVisible()


def test_a_list_is_read_and_files_without_asset_are_found(
    qtbot: QtBot, window: MainWindow, page: AssetsPage, services: FakeServices, tmp_path: Path
) -> None:
    page.look.click()
    assert "Save the project first" in page.seen.text()
    place = tmp_path / "piece.nightplan"
    assert window.document.save_as(str(place)) is not False
    (tmp_path / "sky.hdr").write_bytes(b"x")
    (tmp_path / "list.csv").write_text("title,licence\nOak,CC0\n", encoding="utf-8")
    page.import_list.click()
    services.choose(tmp_path / "list.csv")
    assert [a.title for a in assets_of(now(page))] == ["Oak"]
    assert "1 added" in window.statusBar().currentMessage()
    page.look.click()
    qtbot.waitUntil(lambda: "sky.hdr" in page.seen.text())
    page.read_list(str(tmp_path / "gone.csv"))
    assert "cannot be read" in window.statusBar().currentMessage()


def test_spoilt_assets_are_said_not_raised(window: MainWindow, page: AssetsPage) -> None:
    window.document.apply("Spoil", now(page).but(assets=(7,)))
    assert "cannot be read: assets[0] = 7" in page.judged.verdict.text()
    window.document.undo()
    assert page.judged.verdict.text() == "No assets yet."


def test_every_control_has_a_name_and_can_be_reached(window: MainWindow, page: AssetsPage) -> None:
    window.document.apply("Two", add_asset(add_asset(now(page), "A", licence="CC BY 4.0"), "B"))
    assert nameless(page) == []
    assert doubled(page) == []
    assert out_of_reach(page) == []


def test_the_menu_writes_each_part(
    window: MainWindow, services: FakeServices, settle: Settle, tmp_path: Path, qtbot: QtBot
) -> None:
    settle(window)
    actions = [a for a in window.menus.export_menu.actions() if not a.isSeparator()]
    assert len(actions) == len([e for e in ENTRIES if e[0]])
    for action in actions:
        what, ending = action.data()
        action.trigger()
        target = tmp_path / f"{what}{ending}"
        asked = services.choose(target)
        assert asked.suggested.endswith(f"-{what}{ending}")
        qtbot.waitUntil(lambda: not window.export_run.busy, timeout=60_000)
        assert target.stat().st_size > 50, what
    # the calendar is remembered as one step of undo
    assert len(icalendar.Calendar.from_ical((tmp_path / "calendar.ics").read_bytes()).walk("VEVENT")) > 3
    assert "calendar_told" in window.document.project.unknown
    assert services.questions == []
