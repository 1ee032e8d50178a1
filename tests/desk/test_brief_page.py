# SPDX-License-Identifier: GPL-3.0-or-later
"""The Brief page within the window: rules by keyboard, pasted rules, work for the plan. Common practice, no source.

The text of the rules is invented.
"""

from __future__ import annotations

import pytest
from conftest import MakeWindow, Settle, page_of, rows_of
from desk_fakes import FakeServices
from desk_sweep import doubled, nameless, out_of_reach
from plan_page_project import AS_OF, project
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QMenu
from pytestqt.qtbot import QtBot

from nightplan.actions import brief
from nightplan.actions.brief_paste import set_brief_text
from nightplan.desk.pages.brief_page import BriefPage
from nightplan.desk.widgets.brief_rules import STRENGTH, WANTED
from nightplan.desk.window import MainWindow
from nightplan.model.project import Project

pytestmark = pytest.mark.usefixtures("settled")

RULES = """Hand in 12 frames at 24 fps as PNG, 192x108.
Frames are numbered with four digits.
Two progress posts are required.
Deadline: 31 March 2027, 23:59 UTC.
Entries must fit the theme."""


@pytest.fixture
def page(window: MainWindow) -> BriefPage:
    return page_of(window, BriefPage)


def now(page: BriefPage) -> Project:
    return page.host.project


def entry(menu: QMenu, *path: str) -> QAction:
    """An entry of a menu and its submenus."""
    menu.aboutToShow.emit()
    action = next(a for a in menu.actions() if a.text() == path[0])
    if len(path) == 1:
        return action
    inner = action.menu()
    assert isinstance(inner, QMenu)
    return entry(inner, *path[1:])


def deliverable_menu(page: BriefPage) -> QMenu:
    menu = page.add.menu()
    assert isinstance(menu, QMenu)
    return menu


def typed(qtbot: QtBot, page: BriefPage, text: str) -> None:
    """Into the editor that is open in the tree."""
    editor = page.tree.findChild(QLineEdit)
    assert isinstance(editor, QLineEdit)
    editor.selectAll()
    qtbot.keyClicks(editor, text)
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    # the editor goes first, then the change comes
    for _ in range(4):
        QApplication.processEvents()


def test_it_teaches_where_there_is_nothing(page: BriefPage) -> None:
    assert page.empty.isVisible()
    assert "119 frames instead of 120" in page.empty.text()
    assert not page.tree.isVisible()
    assert not page.form.isVisible()
    assert page.open_paste.hasFocus()
    assert "no deliverables yet" in page.check.drop.words.text()


def test_deliverables_and_rules_are_made_and_edited_in_place(qtbot: QtBot, window: MainWindow, page: BriefPage) -> None:
    start = now(page)
    entry(deliverable_menu(page), "Frames (a sequence)").trigger()
    entry(page.rule_menu, "Frames and time", "Frame count").trigger()
    typed(qtbot, page, "at least 100")
    rule = brief.rule_of(now(page), "frames", "frame-count")
    assert (rule.comparison, rule.value) == ("at least", 100)
    # Enter on the row of the rule edits its value again
    qtbot.keyClick(page.tree, Qt.Key.Key_Return)
    typed(qtbot, page, "between 100 and 120")
    assert brief.rule_of(now(page), "frames", "frame-count").value == [100, 120]
    # what is not accepted is said, and stays as it was
    qtbot.keyClick(page.tree, Qt.Key.Key_F2)
    typed(qtbot, page, "many")
    assert "value = 'many'" in window.statusBar().currentMessage()
    item = page.tree.currentItem()
    assert item is not None
    assert item.text(WANTED) == "between 100 and 120 frames"
    # how strict: a choice
    page.tree.setCurrentItem(item, STRENGTH)
    qtbot.keyClick(page.tree, Qt.Key.Key_Return)
    box = page.tree.findChild(QComboBox)
    assert isinstance(box, QComboBox)
    assert box.accessibleName() == "How strict: Frame count"
    box.setCurrentText("should")
    box.activated.emit(box.currentIndex())
    QApplication.processEvents()
    assert brief.rule_of(now(page), "frames", "frame-count").strength == "should"
    # the deliverable's own name
    page.tree.go_to(("frames", ""))
    page.tree.setCurrentItem(page.tree.currentItem(), 0)
    qtbot.keyClick(page.tree, Qt.Key.Key_Return)
    typed(qtbot, page, "Final frames")
    assert brief.deliverable_of(now(page), "frames").name == "Final frames"
    steps = 0
    while now(page) != start:
        window.document.undo()
        steps += 1
    assert steps == 6
    assert page.empty.isVisible()
    for _ in range(steps):
        window.document.redo()
    assert brief.deliverable_of(now(page), "frames").name == "Final frames"


def two_kinds(p: Project) -> Project:
    p = brief.add_deliverable(p, "Frames", "sequence", fps=24)
    p = brief.add_rule(p, "frames", "frame-count", 12, wording="Twelve frames.")
    p = brief.add_rule(p, "frames", "picture-size", "192x108")
    p = brief.add_rule(p, "frames", "padding", 4)
    p = brief.add_rule(p, "frames", "tick", "fits the theme")
    return brief.add_preset(p, "making-of film")


def test_keys_of_the_tree(qtbot: QtBot, window: MainWindow, page: BriefPage) -> None:
    window.document.apply("Brief", two_kinds(now(page)))
    page.tree.setFocus()
    page.tree.go_to(("frames", "padding"))
    # past its neighbour in the group, though another rule stands between them in the file
    qtbot.keyClick(page.tree, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    ids = [r.id for r in brief.deliverable_of(now(page), "frames").rules]
    assert ids == ["padding", "frame-count", "picture-size", "tick"]
    assert page.tree.current_key == ("frames", "padding")
    qtbot.keyClick(page.tree, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert [r.id for r in brief.deliverable_of(now(page), "frames").rules] == ids
    page.later.click()
    assert [r.id for r in brief.deliverable_of(now(page), "frames").rules][:2] == ["frame-count", "padding"]
    page.tree.go_to(("frames", "tick"))
    qtbot.keyClick(page.tree, Qt.Key.Key_Space)
    assert brief.rule_of(now(page), "frames", "tick").ticked
    # a measured rule has no tick
    page.tree.go_to(("frames", "padding"))
    qtbot.keyClick(page.tree, Qt.Key.Key_Space)
    assert not brief.rule_of(now(page), "frames", "padding").ticked
    qtbot.keyClick(page.tree, Qt.Key.Key_Delete)
    assert [r.id for r in brief.deliverable_of(now(page), "frames").rules] == ["frame-count", "picture-size", "tick"]
    assert page.tree.current_key[0] == "frames"
    page.tree.go_to(("making-of-film", ""))
    page.earlier.click()
    assert [d.id for d in brief.deliverables_of(now(page))] == ["making-of-film", "frames"]
    page.remove.click()
    assert [d.id for d in brief.deliverables_of(now(page))] == ["frames"]


def test_every_key_of_a_rule_has_a_field(window: MainWindow, page: BriefPage) -> None:
    window.document.apply("Brief", two_kinds(now(page)))
    form = page.form
    page.tree.go_to(("frames", "frame-count"))
    assert form.heading.text() == "The rule"
    assert form.wording.toPlainText() == "Twelve frames."

    def edit(key: str, text: str) -> None:
        form.lines[key].setText(text)
        form.lines[key].editingFinished.emit()

    edit("wanted", "12 ± 1")
    edit("breach", "You are out.")
    edit("evidence", "page 2")
    edit("titles_seconds", "2.5")
    form.boxes["counts"].setCurrentIndex(1)
    form.boxes["counts"].activated.emit(1)
    rule = brief.rule_of(now(page), "frames", "frame-count")
    assert (rule.comparison, rule.value, rule.tolerance) == ("within", 12, 1)
    assert (rule.breach, rule.evidence, rule.titles_seconds) == ("You are out.", "page 2", 2.5)
    assert rule.counts == "without titles"
    edit("wanted", "not a number")
    assert form.lines["wanted"].text() == "12 ± 1"
    # another kind keeps what fits it
    box = form.boxes["kind"]
    box.setCurrentIndex(box.findData("padding"))
    box.activated.emit(box.currentIndex())
    assert brief.rule_of(now(page), "frames", "frame-count").kind == "padding"
    home = form.boxes["home"]
    home.setCurrentIndex(home.findData("making-of-film"))
    home.activated.emit(home.currentIndex())
    assert page.tree.current_key == ("making-of-film", "frame-count")
    page.tree.go_to(("making-of-film", ""))
    assert form.heading.text() == "The deliverable"
    form.boxes["condition"].setCurrentIndex(1)
    form.boxes["condition"].activated.emit(1)
    form.selected.click()
    changed = brief.deliverable_of(now(page), "making-of-film")
    assert (changed.condition, changed.selected) == ("if selected", True)
    page.tree.go_to(("frames", ""))
    edit("fps", "23.976")
    assert brief.deliverable_of(now(page), "frames").fps == "23.976"
    edit("fps", "fast")
    assert form.lines["fps"].text() == "23.976"


def test_pasted_rules_wait_for_a_yes_or_no_each(qtbot: QtBot, window: MainWindow, page: BriefPage) -> None:
    page.open_paste.click()
    page.paste.text.setPlainText(RULES)
    page.paste.read_button.click()
    count = page.paste.list.count()
    assert count >= 7
    assert brief.deliverables_of(now(page)) == (), "nothing is taken over by itself"
    assert page.paste.list.hasFocus()
    first = rows_of(page.paste.list)[0]
    assert first.startswith("Frame count: exactly 12 frames. Open.")
    assert "Hand in 12 frames at 24 fps as PNG, 192x108." in first
    # one key each: taken over, refused, asked again
    qtbot.keyClick(page.paste.list, Qt.Key.Key_A)
    (made,) = brief.deliverables_of(now(page))
    assert made.what == "sequence"
    assert made.rules[0].wording == "Hand in 12 frames at 24 fps as PNG, 192x108."
    assert page.tree.current_key == (made.id, made.rules[0].id)
    assert page.paste.list.current_key == 1
    qtbot.keyClick(page.paste.list, Qt.Key.Key_R)
    assert len(brief.deliverables_of(now(page))[0].rules) == 1
    assert "Refused." in rows_of(page.paste.list)[1]
    page.paste.list.setCurrentRow(1)
    qtbot.keyClick(page.paste.list, Qt.Key.Key_Z)
    assert "Open." in rows_of(page.paste.list)[1]
    window.document.undo()
    assert "Refused." in rows_of(page.paste.list)[1]
    # the rest by keys; the round ends
    page.paste.list.setCurrentRow(2)
    for _ in range(count):
        qtbot.keyClick(page.paste.list, Qt.Key.Key_A)
    assert page.paste.summary.text() == "Every proposal is answered."
    kinds = {r.kind for r in brief.deliverables_of(now(page))[0].rules}
    assert {"frame-count", "image-format", "picture-size", "padding", "progress-post"} <= kinds
    assert now(page).gates_by_id["deadline"].wording
    page.paste.close_button.click()
    assert not page.paste.isVisible()
    # every answer was a step; all of them are undone to the text, then to nothing
    while window.document.history is not None and window.document.history.undo_label:
        window.document.undo()
    assert brief.deliverables_of(now(page)) == ()
    assert now(page).brief is None


def test_pasted_text_is_there_again_in_the_next_window(make_window: MakeWindow, services: FakeServices) -> None:
    services.go_to_day(AS_OF)
    window = make_window(set_brief_text(project(), RULES))
    window.work.missed_asked = True
    page = page_of(window, BriefPage)
    page.open_paste.click()
    assert page.paste.text.toPlainText() == RULES
    assert page.paste.list.count() >= 7


def test_a_text_without_rules_says_so(page: BriefPage) -> None:
    page.open_paste.click()
    page.paste.read_button.click()
    assert page.paste.list.count() == 0
    page.paste.text.setPlainText("Good luck to all of you!")
    page.paste.read_button.click()
    assert "No rule is recognised" in page.paste.summary.text()


def test_work_of_the_brief_enters_the_plan(window: MainWindow, page: BriefPage, settle: Settle) -> None:
    p = brief.add_deliverable(now(page), "Clip", "movie")
    p = brief.add_rule(p, "clip", "progress-post", 1, due=["2027-03-01"], wording="Post once.")
    p = brief.add_rule(p, "clip", "kept-stage", "clay views")
    p = brief.add_rule(p, "clip", "kept-stage", "old sketches")
    window.document.apply("Brief", p)
    settle(window)
    assert [r.proposal.make for r in page.work.rows] == ["gate", "item", "item"]
    before = window.document.forecast
    assert before is not None
    page.work.rows[0].try_it.click()
    assert now(page) is window.document.project
    assert len(now(page).gates) == len(p.gates), "tried, not taken"
    page.work.rows[0].take.click()
    settle(window)
    gate = now(page).gates_by_id["clip-progress-post-1"]
    assert gate.on is not None
    assert gate.on.isoformat() == "2027-03-01"
    assert "Taken in: Progress post." in page.work.after.text()
    assert "before" in page.work.after.text()
    assert "is new" in page.work.after.text()
    assert [r.proposal.rule for r in page.work.rows] == ["kept-stage", "kept-stage-2"]
    page.work.rows[1].refuse.click()
    page.work.rows[0].take.click()
    assert page.work.rows == []
    assert "is in the plan" in page.work.words.text()
    window.document.undo()
    window.document.undo()
    assert len(page.work.rows) == 2


def test_a_post_without_a_day_asks_for_one(window: MainWindow, page: BriefPage) -> None:
    p = brief.add_deliverable(now(page), "Clip", "movie")
    window.document.apply("Brief", brief.add_rule(p, "clip", "progress-post", 2))
    rows = page.work.rows
    assert [r.proposal.name for r in rows] == ["Progress post 1", "Progress post 2"]
    assert rows[0].day is not None
    assert rows[0].day.accessibleName() == "Due: Progress post 1"
    first, second = rows[0].on, rows[1].on
    assert first is not None
    assert second is not None
    assert now(page).announced < first < second
    rows[0].take.click()
    assert now(page).gates_by_id["clip-progress-post-1"].on == first


def test_a_brief_that_cannot_be_read_is_said_not_raised(window: MainWindow, page: BriefPage) -> None:
    window.document.apply("Spoil", now(page).but(deliverables=(7,)))
    assert "cannot be read: deliverables[0] = 7" in page.empty.text()
    assert page.empty.isVisible()
    window.document.undo()
    assert page.empty.text().startswith("A brief says")


def twice(page: BriefPage) -> list[str]:
    """On Linux Qt calls a box to choose from by what is chosen, and gives its label apart."""
    return [name for name in doubled(page) if not name.startswith("QComboBox")]


@pytest.mark.parametrize("theme", ["night", "light"])
def test_every_control_has_a_name_and_can_be_reached(
    theme: str, make_window: MakeWindow, services: FakeServices, settle: Settle
) -> None:
    services.go_to_day(AS_OF)
    p = brief.add_rule(two_kinds(project()), "frames", "progress-post", 2)
    window = make_window(set_brief_text(p, RULES), theme=theme)
    window.work.missed_asked = True
    settle(window)
    page = page_of(window, BriefPage)
    for key in (("frames", ""), ("frames", "frame-count"), ("frames", "tick"), ("making-of-film", "duration")):
        page.tree.go_to(key)
        assert nameless(page) == []
        assert twice(page) == []
        assert out_of_reach(page) == []
    page.open_paste.click()
    QApplication.processEvents()
    assert nameless(page) == []
    assert twice(page) == []
    assert out_of_reach(page) == []
