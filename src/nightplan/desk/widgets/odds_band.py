# SPDX-License-Identifier: GPL-3.0-or-later
"""The odds of every gate and the buffer before the lock, in a row of cards."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QGridLayout, QSizePolicy, QWidget

from nightplan.desk import words
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.elided import ElidedLabel
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.model.errors import BadInput
from nightplan.speech import tr
from nightplan.speech.words import in_100_against, percent

if TYPE_CHECKING:
    from nightplan.model.project import Gate, Project
    from nightplan.model.results import Forecast, GateForecast


_MARGIN = 14
_GAP = 10
_WIDE_NUMBER = words.in_100(1.0)
#: letters of heading and foot: enough to know them by; enough for most of them
_FEW, _EASY = 14, 30


class Card(QFrame):
    """A heading, a number, a line beneath."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("role", "card")
        self.head, self.number = ElidedLabel(role="muted"), ElidedLabel(role="number")
        self.foot = ElidedLabel(role="muted")
        self._layout = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        for label in (self.head, self.number, self.foot):
            self._layout.addWidget(label)
        self._one_line = True
        self.set_one_line(False)

    def set_one_line(self, one_line: bool) -> None:
        """Heading and number side by side, the foot in the tip only: for large text in a small window."""
        if self._one_line == one_line:
            return
        self._one_line = one_line
        self.foot.setHidden(one_line)
        way = QBoxLayout.Direction.LeftToRight if one_line else QBoxLayout.Direction.TopToBottom
        self._layout.setDirection(way)
        above = 2 if one_line else 8
        self._layout.setContentsMargins(_MARGIN, above, _MARGIN, above)
        self._layout.setSpacing(_GAP if one_line else 1)
        self._layout.setStretch(0, 1 if one_line else 0)
        room = QSizePolicy.Policy.Minimum if one_line else QSizePolicy.Policy.Ignored
        self.number.setSizePolicy(room, QSizePolicy.Policy.Preferred)

    def width_for(self, letters: int) -> int:
        """Pixels for the whole number and so many letters of heading and foot."""
        self.number.ensurePolished()
        self.foot.ensurePolished()
        number = self.number.fontMetrics().horizontalAdvance(max(self.number.text(), _WIDE_NUMBER, key=len))
        return 2 * _MARGIN + max(number, self.foot.fontMetrics().averageCharWidth() * letters)

    def whole_width(self) -> int:
        """Pixels that nothing is cut in."""
        texts = [(label.fontMetrics().horizontalAdvance(label.text())) for label in (self.head, self.number, self.foot)]
        return 2 * _MARGIN + max(texts) + 2

    def say(self, head: str, number: str, foot: str, colour: str, tip: str) -> None:
        self.head.setText(head)
        self.number.setText(number)
        self.number.setStyleSheet(f"color: {colour};")
        self.foot.setText(foot)
        self.foot.in_parts = True
        self.setToolTip(tip_text(f"{head}: {number}. {foot}. {tip}"))
        self.setAccessibleName(head)
        self.setAccessibleDescription(f"{number}. {foot}. {tip}")


class OddsBand(QWidget):
    """One card a gate, one for the buffer; while odds are being worked out they stay, in grey."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("Odds"))
        self._theme = theme
        self._project: Project | None = None
        self._forecast: Forecast | None = None
        self._fresh = False
        self._trying = False
        self._cards: list[Card] = []
        self._columns = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(_GAP)
        self._grid.setVerticalSpacing(4)

    def row_width(self, letters: int = _EASY) -> int:
        """Pixels that all cards want side by side."""
        wide = [card.width_for(letters) for card in self._cards if not card.isHidden()]
        return len(wide) * (max(wide) + _GAP) - _GAP if wide else 0

    def _arrange(self) -> None:
        """One row of cards; where there is no room for it, one line for each card."""
        shown = [card for card in self._cards if not card.isHidden()]
        columns = max(1, len(shown)) if self.width() >= self.row_width(_FEW) else 1
        for card in shown:
            card.set_one_line(columns < len(shown))
        if (columns, len(shown)) == (self._columns, self._grid.count()):
            self._share(shown)
            return
        for n in range(self._columns):
            self._grid.setColumnMinimumWidth(n, 0)
            self._grid.setColumnStretch(n, 0)
        self._columns = columns
        while self._grid.takeAt(0) is not None:
            pass
        for n, card in enumerate(shown):
            self._grid.addWidget(card, n // columns, n % columns)
        for n in range(columns):
            self._grid.setColumnStretch(n, 1)
        self._share(shown)

    def _share(self, shown: list[Card]) -> None:
        """All cards as wide as each other; where that would cut one and there is room, it is given more."""
        if not self._columns or self._columns != len(shown):
            return
        room = self.width() - _GAP * (len(shown) - 1)
        wanted = [card.whole_width() for card in shown]
        unequal = max(wanted) > room // len(shown) and sum(wanted) <= room
        for n, wide in enumerate(wanted):
            least = wide if unequal else 0
            if self._grid.columnMinimumWidth(n) != least:
                self._grid.setColumnMinimumWidth(n, least)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self._arrange()
        return super().event(event)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._show()

    def show_odds(
        self, project: Project | None, forecast: Forecast | None, *, fresh: bool, trying: bool = False
    ) -> None:
        """Args: trying: the odds are those of a value that is still being changed."""
        self._project, self._forecast, self._fresh, self._trying = project, forecast, fresh, trying
        self._show()

    def expect(self, names: tuple[str, ...]) -> None:
        """Cards for gates of which only the names are known yet."""
        for name in (*names, tr("Buffer before the lock")) if names else ():
            card = Card(self)
            card.say(name, "…", tr("working out the odds"), self._theme.muted, "")
            self._cards.append(card)
        self._arrange()

    def texts(self) -> list[str]:
        """What stands on the cards, for tests and for reading aloud."""
        return [f"{c.head.text()}: {c.number.text()} ({c.foot.text()})" for c in self._cards if c.isVisibleTo(self)]

    def _show(self) -> None:
        project, found = self._project, self._forecast
        wanted = 0 if project is None else len(project.gates) + 1
        while len(self._cards) < wanted:
            self._cards.append(Card(self))
        for n, card in enumerate(self._cards):
            card.setVisible(n < wanted)
        if project is None:
            return
        ready = found is not None and {g.id for g in found.gates} == set(project.gates_by_id)
        gates = found.gates if ready and found is not None else ()
        order = [project.gates_by_id[g.id] for g in gates] or list(project.gates)
        for n, gate in enumerate(order):
            self._gate(self._cards[n], project, gate, gates[n] if gates else None)
        self._buffer(self._cards[len(order)], project, gates)
        self._arrange()

    def _grey(self, colour: str) -> str:
        return colour if self._fresh or self._trying else self._theme.muted

    def _gate(self, card: Card, project: Project, gate: Gate, found: GateForecast | None) -> None:
        when, tip = _when(project, gate)
        if found is None:
            card.say(f"{gate.name} · {when}", "…", tr("working out the odds"), self._theme.muted, tip)
            return
        # not at the top: the first window is painted before the project's modules are loaded
        from nightplan.evenings.words import finished_words

        colour = self._grey(self._theme.odds_colour(found.odds, project.target_odds))
        aim = tr("asked {odds}", odds=round(project.target_odds * 100)) if gate.id == "lock" else ""
        done = finished_words(found) or tr("9 in 10 by {day}", day=words.day(found.finish.p90))
        foot = " · ".join(part for part in (done, aim) if part)
        if self._trying:
            foot = tr("with this change · {finish}", finish=done)
        card.say(f"{gate.name} · {when}", in_100_against(found.odds, project.target_odds), foot, colour, tip)

    def _buffer(self, card: Card, project: Project, gates: tuple[GateForecast, ...]) -> None:
        lock = next((g for g in gates if g.id == "lock"), None)
        tip = tr(
            "Hours of evening time between the likely work and the lock. "
            "Need is what it takes for 80 in 100; where have is below need, the odds are below 80."
        )
        if lock is None:
            card.say(tr("Buffer before the lock"), "…", "", self._theme.muted, tip)
            return
        if not lock.work_left:
            # nothing is left that a buffer would be for
            card.say(tr("Buffer before the lock"), "–", tr("no work left"), self._theme.muted, tip)
            return
        b = lock.buffer
        need = words.hours(b.need_hours)
        foot = (
            tr("needs {hours}", hours=need)
            if b.used is None
            else tr("needs {hours} · {share} used", hours=need, share=percent(b.used))
        )
        enough = b.have_hours >= b.need_hours
        colour = self._grey(self._theme.good if enough else self._theme.warn)
        card.say(
            tr("Buffer before the lock"),
            words.hours(b.have_hours),
            foot,
            colour,
            tip,
        )


def _when(project: Project, gate: Gate) -> tuple[str, str]:
    """When a gate is, short, and in full with what its wording means here."""
    # not at the top: the first window is painted before the project's modules are loaded
    from nightplan.evenings.gates import gate_moment

    try:
        moment = gate_moment(project, gate)
    except BadInput as error:
        return "?", error.sentence
    if moment.whole_evening:
        return words.day(moment.date), tr("That whole evening counts ({day}).", day=words.day(moment.date, year=True))
    short = words.moment(moment.local)
    told = [tr("{moment} your time.", moment=short)]
    if gate.at is not None and gate.zone is not None:
        there = words.moment(gate.at)
        # translators: in a time zone
        told.append(tr("In {zone}: {moment}.", zone=gate.zone, moment=there))
    if gate.wording:
        told.append(tr("The rules say: {wording}.", wording=gate.wording))
    if moment.uncertain:
        short = tr("{moment}, uncertain", moment=short)
        told.append(
            tr("The wording is uncertain; this is the earliest reading: {reading}.", reading=moment.reading)
            if moment.reading
            else tr("The wording is uncertain; this is the earliest reading.")
        )
    told.append(tr("The organiser's word decides."))
    return short, " ".join(told)
