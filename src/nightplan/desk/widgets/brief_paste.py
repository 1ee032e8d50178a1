# SPDX-License-Identifier: GPL-3.0-or-later
"""The organiser's text, and each rule that is read from it beside its sentence; the artist says yes or no to each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QComboBox, QFrame, QPlainTextEdit, QPushButton, QSizePolicy, QWidget

from nightplan.desk.fields import button, card_column, form, wrapped
from nightplan.desk.widgets import brief_words as told
from nightplan.desk.widgets.brief_list import RichList
from nightplan.desk.widgets.flow import Flow
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.actions.brief_paste import Proposal, Standing
    from nightplan.brief.rules import Deliverable
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project

_NEW = "new:"
_KEYS = {Qt.Key.Key_A: "accept", Qt.Key.Key_R: "refuse", Qt.Key.Key_Z: "again"}


class PastePanel(QFrame):
    """What is read is kept in the project with the text; every answer is one step of undo."""

    closed = Signal()
    #: (deliverable, rule) that was taken over
    taken = Signal(object)

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self._proposals: tuple[Proposal, ...] = ()
        self._standings: tuple[Standing, ...] = ()
        self._there: tuple[Deliverable, ...] = ()
        #: what the proposals were read from
        self._read: tuple[str, str, object] | None = None
        column = card_column(self, tr("Paste the rules"))
        self.hint = wrapped(told.PASTE)
        self.hint.setProperty("role", "muted")
        column.addWidget(self.hint)
        self.text = QPlainTextEdit()
        self.text.setAccessibleName(tr("The organiser's rules"))
        self.text.setPlaceholderText(tr("Paste the rules here"))
        self.text.setTabChangesFocus(True)
        self.text.setFixedHeight(self.fontMetrics().lineSpacing() * 6 + 14)
        column.addWidget(self.text)
        top = QWidget()
        flow = Flow(top)
        self.read_button = button(tr("Read the rules"), self.read)
        self.close_button = button(tr("Close"), self.closed.emit, tr("Close the pasted rules"))
        flow.addWidget(self.read_button)
        flow.addWidget(self.close_button)
        column.addWidget(top)
        self.summary = wrapped()
        self.summary.setProperty("role", "heading")
        column.addWidget(self.summary)
        rows = form()
        self.into = QComboBox()
        self.into.setAccessibleName(tr("Take over into"))
        self.into.activated.connect(self._into_chosen)
        self.into.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        rows.addRow(tr("Take over into"), self.into)
        column.addLayout(rows)
        self.list = RichList(tr("Proposed rules"), theme, most_lines=20)
        self.list.keys = {int(key): word for key, word in _KEYS.items()}
        self.list.pressed_on.connect(self._pressed)
        self.list.opened.connect(self._opened)
        self.list.chosen.connect(self._chosen)
        column.addWidget(self.list)
        bottom = QWidget()
        flow = Flow(bottom)
        self.accept_button = button(tr("Take over (A)"), self.accept)
        self.refuse_button = button(tr("Refuse (R)"), self.refuse)
        self.again_button = button(tr("Ask again (Z)"), self.again)
        self.gate_button = button(tr("As a further gate"), self.as_gate)
        self._answers: tuple[QPushButton, ...] = (
            self.accept_button,
            self.refuse_button,
            self.again_button,
            self.gate_button,
        )
        for each in self._answers:
            flow.addWidget(each)
        column.addWidget(bottom)
        self._below = (self.summary, self.list, bottom, self.into)
        self._rows = rows
        self._show_rows()

    # ---- showing -----------------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        from nightplan.actions import brief_paste

        kept = brief_paste.brief_text(project)
        if not self.text.hasFocus() and self.text.toPlainText() != kept:
            self.text.setPlainText(kept)
        asked = kept, project.zone, project.announced
        if asked != self._read:
            self._read = asked
            try:
                self._proposals = brief_paste.proposals_of(project)
            except BadInput as error:
                self._proposals = ()
                self.host.say(error.sentence)
        try:
            self._standings = brief_paste.standings(project, self._proposals)
            self._fill_into(project)
        except BadInput:
            # deliverables that cannot be read are told by the page
            self._standings = tuple("open" for _ in self._proposals)
        self._show_rows()

    def _fill_into(self, project: Project) -> None:
        from nightplan.actions.brief import deliverables_of
        from nightplan.actions.brief_paste import guess_what

        self._there = there = deliverables_of(project)
        guess = guess_what(self._proposals)
        wanted = [(d.id, d.name) for d in there]
        order = [guess, *(w for w in told.WHATS if w != guess)]
        wanted += [(_NEW + what, told.NEW_WHATS[what]) for what in order]
        have = [(self.into.itemData(n), self.into.itemText(n)) for n in range(self.into.count())]
        if have != wanted:
            keep = self.into.currentData()
            self.into.clear()
            for key, text in wanted:
                self.into.addItem(text, key)
            known = [key for key, _ in wanted]
            # a new one that was just made is the one to go on with
            known = [key for key, _ in wanted]
            last = max(0, len(there) - 1) if keep is not None else 0
            self.into.setCurrentIndex(known.index(keep) if keep in [d.id for d in there] else last)

    def _show_rows(self) -> None:
        rows = []
        for n, (p, s) in enumerate(zip(self._proposals, self._standings, strict=True)):
            home = self._home_words(p) if s == "open" else ""
            rows.append(told.proposal_row(n, p, s, home))
        self.list.show_rows(rows)
        self.hint.setVisible(not rows)
        for widget in self._below:
            widget.setVisible(bool(rows) or (widget is self.summary and self._read is not None and bool(self._read[0])))
        self._rows.setRowVisible(self.into, bool(rows))
        left = self._standings.count("open")
        if not rows:
            self.summary.setText(tr("No rule is recognised in this text; add rules by hand."))
        elif left:
            self.summary.setText(
                trn(
                    "{n} of {all} proposals wait for your answer.",
                    "{n} of {all} proposals wait for your answer.",
                    left,
                    all=len(rows),
                )
            )
        else:
            self.summary.setText(tr("Every proposal is answered."))
        self._chosen(self.list.current_key)

    def _home_words(self, proposal: Proposal) -> str:
        if proposal.rule is None:
            return tr("the hand-in")
        home = self._home(proposal)
        # only where it goes elsewhere than the others
        return "" if home is None or home.id == self.into.currentData() else home.name

    def _home(self, proposal: Proposal) -> Deliverable | None:
        """The deliverable that it goes to; None where a new one is made or none fits."""
        from nightplan.actions.brief_paste import home_of

        chosen = str(self.into.currentData() or "")
        return None if chosen.startswith(_NEW) else home_of(self._there, proposal, chosen or None)

    @property
    def current(self) -> tuple[Proposal, Standing] | None:
        n = self.list.current_key
        return None if n is None or n >= len(self._proposals) else (self._proposals[n], self._standings[n])

    @Slot(object)
    def _chosen(self, _key: object) -> None:
        now = self.current
        standing = "" if now is None else now[1]
        deadline = now is not None and now[0].rule is None
        self.accept_button.setEnabled(standing in ("open", "refused"))
        self.refuse_button.setEnabled(standing == "open")
        self.again_button.setEnabled(standing == "refused")
        self.gate_button.setVisible(deadline)
        self.gate_button.setEnabled(standing in ("open", "refused"))

    @Slot()
    def _into_chosen(self) -> None:
        self._show_rows()

    def set_theme(self, theme: Theme) -> None:
        self.list.set_theme(theme)

    def focus_first(self) -> None:
        if self.list.count() and "open" in self._standings:
            self.list.setFocus()
        else:
            self.text.setFocus()

    # ---- answers -----------------------------------------------------------------------------
    @Slot()
    def read(self) -> None:
        """Keep the text in the project and propose what it says."""
        from nightplan.actions.brief_paste import brief_text, set_brief_text

        text = self.text.toPlainText()
        if text != brief_text(self.host.project):
            if not self.host.change(tr("Paste the rules"), lambda p: set_brief_text(p, text)):
                return
        elif not text.strip():
            self.host.say(tr("Paste the text of the rules first."))
            return
        count = len(self._proposals)
        if count:
            self.list.setCurrentRow(0)
            self.list.setFocus()
        self.host.say(
            trn(
                "{n} proposal read. A takes one over, R refuses it.",
                "{n} proposals read. A takes one over, R refuses it.",
                count,
            )
        )

    @Slot(object)
    def _pressed(self, told_: tuple[str, int]) -> None:
        {"accept": self.accept, "refuse": self.refuse, "again": self.again}[told_[0]]()

    @Slot(object)
    def _opened(self, _key: object) -> None:
        self.accept()

    @Slot()
    def accept(self) -> None:
        """The current proposal becomes a rule, or the moment of the hand-in."""
        from nightplan.actions.brief_paste import accept_deadline, accept_proposal

        now = self.current
        if now is None or now[1] == "accepted":
            return
        proposal, head = now[0], told.proposal_title(now[0])[0]
        if proposal.rule is None:
            done = self.host.change(tr("Take over: {head}", head=head), lambda p: accept_deadline(p, proposal))
        else:
            chosen = str(self.into.currentData() or "")
            new = chosen.startswith(_NEW)
            what = chosen.removeprefix(_NEW) if new else ""
            # the chosen one says itself why it does not fit
            fit = self._home(proposal)
            home = None if new else fit.id if fit is not None else chosen
            done = self.host.change(
                tr("Take over: {head}", head=head), lambda p: accept_proposal(p, proposal, home, what=what)
            )
            if done:
                there = self._there
                into = there[-1] if home is None else next(d for d in there if d.id == home)
                if new:
                    self.into.setCurrentIndex(self.into.findData(into.id))
                rule = next((r for r in into.rules if r.wording == proposal.sentence), into.rules[-1])
                self.taken.emit((into.id, rule.id))
        if done:
            self._next(tr("Taken over: {head}.", head=head))

    @Slot()
    def as_gate(self) -> None:
        """A date that is not the hand-in: a vote, a post, a start."""
        from nightplan.actions.brief_paste import accept_deadline

        now = self.current
        if now is None or now[0].rule is not None or now[1] == "accepted":
            return
        if self.host.change(tr("Take over as a further gate"), lambda p: accept_deadline(p, now[0], None)):
            self._next(tr("Taken over as a further gate."))

    @Slot()
    def refuse(self) -> None:
        from nightplan.actions.brief_paste import refuse_proposal

        now = self.current
        if now is None or now[1] != "open":
            return
        head = told.proposal_title(now[0])[0]
        if self.host.change(tr("Refuse: {head}", head=head), lambda p: refuse_proposal(p, now[0])):
            self._next(tr("Refused: {head}.", head=head))

    @Slot()
    def again(self) -> None:
        from nightplan.actions.brief_paste import ask_again

        now = self.current
        if now is not None and now[1] == "refused":
            self.host.change(tr("Ask a refused rule again"), lambda p: ask_again(p, now[0]))

    def _next(self, words: str) -> None:
        """On to the next open proposal, and round once."""
        here = self.list.currentRow()
        order = [*range(here + 1, len(self._standings)), *range(here + 1)]
        later = next((n for n in order if self._standings[n] == "open"), None)
        if later is not None:
            self.list.setCurrentRow(later)
        left = self._standings.count("open")
        # translators: of proposals that wait for an answer
        rest = trn("{n} left.", "{n} left.", left) if left else tr("Every proposal is answered.")
        self.host.say(f"{words} {rest}")
