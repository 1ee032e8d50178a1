# SPDX-License-Identifier: GPL-3.0-or-later
"""Title and odds at every width and text size: WCAG 2.2, 1.4.4 (text at 200 % loses no content)."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from desk_fakes import FakeServices
from desk_leaks import let_go
from desk_sweep import accessible_name
from plan_page_project import AS_OF, project
from PySide6.QtWidgets import QBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk import words
from nightplan.desk.theme import NIGHT
from nightplan.desk.widgets.elided import ElidedLabel
from nightplan.desk.widgets.odds_band import Card, OddsBand
from nightplan.desk.window import MainWindow
from nightplan.engine.forecast import forecast

Make = Callable[..., MainWindow]
Settle = Callable[[MainWindow], None]


def cards(window: MainWindow) -> list[Card]:
    return [card for card in window.band.findChildren(Card) if card.isVisible()]


def is_cut(label: ElidedLabel) -> bool:
    """There is more than can be seen."""
    return label.fontMetrics().horizontalAdvance(label.text()) > label.contentsRect().width()


def inside(widget: QWidget, frame: QWidget) -> bool:
    corner = widget.mapTo(frame, widget.rect().topLeft())
    return bool(frame.rect().contains(widget.rect().translated(corner)))


@pytest.mark.parametrize("percent", [100, 150, 200])
@pytest.mark.parametrize("width", [760, 1100, 1360, 1920])
def test_the_odds_are_never_cut(
    make_window: Make, services: FakeServices, settle: Settle, width: int, percent: int
) -> None:
    services.go_to_day(AS_OF)
    window = make_window(percent=percent)
    window.work.missed_asked = True
    window.document.new(project())
    window.go_to("help")
    window.resize(width, 860)
    settle(window)
    let_go()
    assert len(cards(window)) == 3
    for card in cards(window):
        assert not is_cut(card.number)
        assert inside(card.number, card)
        assert inside(card, window.header)
        # what is cut of heading and foot stands in the tip and is read aloud
        assert card.toolTip().startswith(f"{card.head.text()}: {card.number.text()}. {card.foot.text()}")
        assert accessible_name(card) == card.head.text()
    assert not is_cut(window.title_label)


def test_a_card_that_says_more_is_given_more_room(qtbot: QtBot) -> None:
    band = OddsBand(NIGHT)
    qtbot.addWidget(band)
    band.expect(("A gate with a name and a day and an hour", "B"))
    long, *short = band._cards
    for card in short:
        card.say("B", "72 in 100", "soon", NIGHT.text, "")
    equal = 3 * long.whole_width() + 20
    for width, others in ((equal, "equal"), (long.whole_width() + 2 * short[0].whole_width() + 60, "narrower")):
        band.resize(width, 90)
        band.grab()
        assert not is_cut(long.head)
        assert all(not is_cut(card.foot) for card in short)
        assert (short[0].width() >= long.width() - 1) == (others == "equal")


def test_a_finished_project_says_when_it_was(qtbot: QtBot) -> None:
    # not a date 9 times in 10: there is nothing left to foretell; common practice, no source
    piece = project()
    stages = tuple(s.but(items=tuple(i.but(state="done") for i in s.items)) for s in piece.stages)
    over = piece.but(stages=stages, jobs=tuple(j.but(state="done") for j in piece.jobs))
    band = OddsBand(NIGHT)
    qtbot.addWidget(band)
    band.show()
    band.show_odds(piece, forecast(piece, AS_OF, futures=50), fresh=True)
    assert "9 in 10 by" in band.texts()[0]
    band.show_odds(over, forecast(over, AS_OF, futures=50), fresh=True)
    last = max(e.evening for e in over.log if any(w.done for w in e.work))
    assert f"100 in 100 (finished on {words.day(last)}" in band.texts()[0]
    assert "9 in 10 by" not in " ".join(band.texts())
    # and no buffer that could be used up
    assert band.texts()[-1] == "Buffer before the lock: – (no work left)"


def test_what_does_not_fit_goes_part_by_part(qtbot: QtBot) -> None:
    label = ElidedLabel("9 in 10 by Fri 29 Oct · asked 80")
    label.in_parts = True
    qtbot.addWidget(label)
    short = ElidedLabel("9 in 10 by Fri 29 Oct")
    qtbot.addWidget(short)
    for each in (label, short):
        each.resize(label.fontMetrics().horizontalAdvance(label.text()) - 5, 24)
    assert is_cut(label)
    assert label.grab().toImage() == short.grab().toImage()


def test_the_header_follows_the_width_both_ways(make_window: Make, services: FakeServices, settle: Settle) -> None:
    services.go_to_day(AS_OF)
    window = make_window()
    window.work.missed_asked = True
    window.document.new(project())
    settle(window)
    seen = []
    for width in (1360, 760, 1360):
        window.resize(width, 860)
        let_go()
        seen.append((window.header._row.direction(), len({card.y() for card in cards(window)})))
    beside, above = QBoxLayout.Direction.LeftToRight, QBoxLayout.Direction.TopToBottom
    assert seen == [(beside, 1), (above, 1), (beside, 1)]
    window.themes.set_percent(200)
    window.resize(760, 860)
    let_go()
    assert len({card.y() for card in cards(window)}) == 3
    assert all(card.foot.isHidden() for card in cards(window))


def test_a_long_title_ends_in_dots_and_is_read_whole(make_window: Make, services: FakeServices) -> None:
    services.go_to_day(AS_OF)
    window = make_window()
    window.work.missed_asked = True
    title = "The night in which the moth and the lantern would not stop talking about light, part two of seven"
    window.document.new(project().but(title=title))
    window.resize(760, 520)
    let_go()
    assert is_cut(window.title_label)
    assert accessible_name(window.title_label) == title
    assert window.title_label.toolTip() == title
