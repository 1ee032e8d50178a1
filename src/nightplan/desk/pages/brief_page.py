# SPDX-License-Identifier: GPL-3.0-or-later
"""The Brief page: what is handed in and by which rules, what that adds to the plan, and files held against it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Slot
from PySide6.QtGui import QAction, QDragEnterEvent, QDragLeaveEvent, QDropEvent
from PySide6.QtWidgets import QFrame, QMenu, QPushButton, QWidget

from nightplan.desk.fields import button, card, wrapped
from nightplan.desk.pages import Page
from nightplan.desk.pages.brief_page_files import Files
from nightplan.desk.widgets import brief_words as told
from nightplan.desk.widgets.brief_check import CheckCard
from nightplan.desk.widgets.brief_form import RuleForm
from nightplan.desk.widgets.brief_paste import PastePanel
from nightplan.desk.widgets.brief_rules import RULE, STRENGTH, Key, RuleTree
from nightplan.desk.widgets.brief_sheets import SheetsCard
from nightplan.desk.widgets.brief_work import WorkCard
from nightplan.desk.widgets.columns import Columns, fill
from nightplan.desk.widgets.flow import Flow
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.brief.rules import Deliverable
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project
    from nightplan.model.results import Forecast, Plan


class BriefPage(Page):
    """The brief on the one side, the check on the other."""

    id = "brief"
    title = tr("Brief")
    tip = tr("What is handed in, by which rules, and whether the files keep them")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self.deliverables: tuple[Deliverable, ...] = ()
        self.setAcceptDrops(True)
        self._build()
        self.files = Files(host, self.check, self.sheets, self)
        host.document.closing.connect(self.files.close)

    # ---- building ----------------------------------------------------------------------------
    def _build(self) -> None:
        self.form = RuleForm(self.host)
        self.form.moved.connect(self._go_to)
        self.paste = PastePanel(self.host, self.theme)
        self.paste.hide()
        self.paste.closed.connect(self._close_paste)
        self.paste.taken.connect(self._taken)
        self.work = WorkCard(self.host)
        self.check = CheckCard(self.theme)
        self.check.rule_wanted.connect(self._go_to)
        self.sheets = SheetsCard(self.theme)
        sides = (
            (self.paste, self._list_card(), self.form, self.work),
            (self.check, self.sheets, self._advice_card()),
        )
        self.area = Columns(self.title, sides)
        fill(self, self.area)

    def _list_card(self) -> QFrame:
        frame, column = card(tr("What you hand in"))
        self.empty = wrapped(told.EMPTY)
        column.addWidget(self.empty)
        self.tree = RuleTree(self.theme)
        self.tree.chosen.connect(self._chosen)
        self.tree.edited.connect(self._edited)
        self.tree.remove_wanted.connect(self._remove_key)
        self.tree.move_wanted.connect(self._move_key)
        self.tree.tick_wanted.connect(self._tick_key)
        column.addWidget(self.tree)
        row = QWidget()
        flow = Flow(row)
        self.open_paste = button(tr("Paste the rules…"), self._open_paste)
        self.add = QPushButton(tr("Add a deliverable"))
        self.add.setMenu(self._deliverable_menu())
        self.add_rule = QPushButton(tr("Add a rule"))
        self.rule_menu = QMenu(self.add_rule)
        self.rule_menu.aboutToShow.connect(self._fill_rule_menu)
        self.add_rule.setMenu(self.rule_menu)
        self.earlier = button(tr("Earlier"), self._earlier, tr("Move the rule or deliverable earlier"))
        self.later = button(tr("Later"), self._later, tr("Move the rule or deliverable later"))
        self.remove = button(tr("Take it out"), self._remove, tr("Take the rule or deliverable out"))
        for each in (self.open_paste, self.add, self.add_rule, self.earlier, self.later, self.remove):
            flow.addWidget(each)
        column.addWidget(row)
        return frame

    def _deliverable_menu(self) -> QMenu:
        menu = QMenu(self.add)
        for what, text in told.WHATS.items():
            menu.addAction(text, self._add).setData(("what", what))
        menu.addSeparator()
        self.usual = menu.addMenu(tr("A usual kind"))
        self.usual.aboutToShow.connect(self._fill_usual)
        return menu

    @Slot()
    def _fill_usual(self) -> None:
        from nightplan.actions.brief import PRESET_WORDS

        if self.usual.isEmpty():
            for key, words in PRESET_WORDS.items():
                self.usual.addAction(words, self._add).setData(("usual", key))

    @Slot()
    def _fill_rule_menu(self) -> None:
        from nightplan.actions.brief import KINDS

        if not self.rule_menu.isEmpty():
            return
        for title, kinds in told.GROUPS:
            group = self.rule_menu.addMenu(title)
            for kind in kinds:
                if kind in KINDS:
                    group.addAction(KINDS[kind].words, self._add_rule).setData(kind)

    def _advice_card(self) -> QFrame:
        frame, column = card(told.ADVICE_TITLE)
        self.advice = wrapped()
        column.addWidget(self.advice)
        return frame

    # ---- showing -----------------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        from nightplan.actions.brief import deliverables_of
        from nightplan.brief.handin import ADVICE

        self.advice.setText("\n\n".join(ADVICE))
        spoilt = ""
        try:
            self.deliverables = deliverables_of(project)
        except BadInput as error:
            self.deliverables, spoilt = (), tr("The brief in the file cannot be read: {why}", why=error.sentence)
        there = bool(self.deliverables)
        self.empty.setText(spoilt or told.EMPTY)
        self.empty.setVisible(not there)
        self.tree.setVisible(there)
        self.tree.show_deliverables(self.deliverables)
        for each in (self.add_rule, self.earlier, self.later, self.remove):
            each.setVisible(there)
        for each in (self.add, self.open_paste):
            each.setEnabled(not spoilt)
        # where there is nothing yet, this is where one begins
        self.open_paste.setProperty("role", "" if there else "primary")
        self.open_paste.style().unpolish(self.open_paste)
        self.open_paste.style().polish(self.open_paste)
        self._chosen(self.tree.current_key)
        if not spoilt:
            if self.paste.isVisibleTo(self):
                self.paste.show_project(project)
            self.work.show_project(project)
        self.work.setVisible(there)
        self.check.show_deliverables(self.deliverables)
        self.sheets.show_project(project)
        self.files.show_project(project, self.deliverables)

    def show_forecast(self, forecast: Forecast | None, plan: Plan | None, fresh: bool) -> None:
        self.work.show_forecast(forecast, fresh)

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        for each in (self.tree, self.paste, self.check, self.sheets):
            each.set_theme(theme)

    def focus_first(self) -> None:
        (self.tree if self.deliverables else self.open_paste).setFocus()

    def leave(self) -> None:
        self.form.finish()
        self.work.stop_trying()

    @Slot(object)
    def _chosen(self, key: Key) -> None:
        self.form.show_key(self.deliverables, key)
        # proposals and tree stand together while rules are taken over
        if self.paste.isVisibleTo(self):
            self.form.hide()

    @Slot(object)
    def _go_to(self, key: Key) -> None:
        self.tree.go_to(key)
        self._chosen(self.tree.current_key)
        self.area.ensureWidgetVisible(self.tree)
        self.tree.setFocus()

    # ---- pasted rules ------------------------------------------------------------------------
    @Slot()
    def _open_paste(self) -> None:
        self.paste.show()
        self.paste.show_project(self.host.project)
        self.paste.focus_first()
        self.form.hide()
        self.area.verticalScrollBar().setValue(0)

    @Slot()
    def _close_paste(self) -> None:
        self.paste.hide()
        self._chosen(self.tree.current_key)
        self.open_paste.setFocus()

    @Slot(object)
    def _taken(self, key: Key) -> None:
        self.tree.go_to(key)

    # ---- deliverables and rules --------------------------------------------------------------
    @Slot()
    def _add(self) -> None:
        from nightplan.actions import brief

        action = self.sender()
        if not isinstance(action, QAction):
            return
        way, name = action.data()
        if way == "usual":
            done = self.host.change(
                tr("Add: {name}", name=brief.PRESET_WORDS[name]), lambda p: brief.add_preset(p, name)
            )
        else:
            title = told.TITLES[name]
            done = self.host.change(tr("Add: {name}", name=title), lambda p: brief.add_deliverable(p, title, name))
        if done:
            self._go_to((self.deliverables[-1].id, ""))

    @Slot()
    def _add_rule(self) -> None:
        from nightplan.actions import brief
        from nightplan.actions.brief_values import start_of

        action = self.sender()
        kind = str(action.data()) if isinstance(action, QAction) else ""
        home = self.tree.current_key[0] or (self.deliverables[0].id if self.deliverables else "")
        if not kind or not home:
            return
        start = start_of(kind)
        if self.host.change(
            tr("Add the rule: {rule}", rule=brief.KINDS[kind].words), lambda p: brief.add_rule(p, home, kind, **start)
        ):
            rules = next(d for d in self.deliverables if d.id == home).rules
            self.tree.setFocus()
            # the value is an example: it is there to be typed over
            self.tree.go_to((home, rules[-1].id), edit=True)

    @Slot(object)
    def _edited(self, told_: tuple[Key, int, str]) -> None:
        from nightplan.actions import brief
        from nightplan.actions.brief_values import wanted_from_text, wanted_text

        (home, rule), column, text = told_
        d = next((d for d in self.deliverables if d.id == home), None)
        if d is None:
            return
        changes: dict[str, Any]
        if not rule:
            key = "name" if column == RULE else "condition" if column == STRENGTH else "what"
            if text != getattr(d, key):
                self.host.change(
                    f"{d.name}: {told.CHANGED[key]}", lambda p: brief.change_deliverable(p, home, **{key: text})
                )
            return
        now = next((r for r in d.rules if r.id == rule), None)
        if now is None or text == (now.strength if column == STRENGTH else wanted_text(now)):
            return
        try:
            changes = {"strength": text} if column == STRENGTH else wanted_from_text(now.kind, text)
        except BadInput as error:
            self.host.say(error.sentence)
            return
        label = f"{brief.KINDS[now.kind].words}: {text[:60]}"
        self.host.change(label, lambda p: brief.change_rule(p, home, rule, **changes))

    @Slot()
    def _remove(self) -> None:
        self._remove_key(self.tree.current_key)

    @Slot(object)
    def _remove_key(self, key: Key) -> None:
        from nightplan.actions import brief

        home, rule = key
        if not home:
            return
        # the keyboard stays in its neighbourhood
        row = self.tree.neighbours(key)
        at = row.index(key)
        beside = row[at + 1] if at + 1 < len(row) else row[at - 1] if at else (home, "")
        if rule:
            done = self.host.change(tr("Take a rule out"), lambda p: brief.remove_rule(p, home, rule))
        else:
            done = self.host.change(tr("Take a deliverable out"), lambda p: brief.remove_deliverable(p, home))
        if done:
            self.tree.go_to(beside)
            self.focus_first()

    @Slot()
    def _earlier(self) -> None:
        self._move_key((self.tree.current_key, -1))

    @Slot()
    def _later(self) -> None:
        self._move_key((self.tree.current_key, 1))

    @Slot(object)
    def _move_key(self, wanted: tuple[Key, int]) -> None:
        """Past the neighbour in the tree, whatever stands between them in the file."""
        from nightplan.actions import brief

        key, steps = wanted
        row = self.tree.neighbours(key)
        if key not in row or not 0 <= row.index(key) + steps < len(row):
            return
        other = row[row.index(key) + steps]
        home, rule = key
        if not rule:
            self.host.change(tr("Move a deliverable"), lambda p: brief.move_deliverable(p, home, steps))
            return
        ids = [r.id for r in next(d for d in self.deliverables if d.id == home).rules]
        far = ids.index(other[1]) - ids.index(rule)
        self.host.change(tr("Move a rule"), lambda p: brief.move_rule(p, home, rule, far))

    @Slot(object)
    def _tick_key(self, key: Key) -> None:
        from nightplan.actions import brief

        home, rule = key
        now = next((r for d in self.deliverables if d.id == home for r in d.rules if r.id == rule), None)
        if now is None or brief.KINDS[now.kind].how == "file":
            return
        words = brief.KINDS[now.kind].words
        # translators: a step of undo: the artist ticks a rule of the brief
        label = tr("Take a tick back: {rule}", rule=words) if now.ticked else tr("Tick: {rule}", rule=words)
        self.host.change(label, lambda p: brief.answer_tick(p, home, rule, not now.ticked, now.tick_note))

    # ---- files that are dropped --------------------------------------------------------------
    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        paths = _paths(event)
        if paths and self.deliverables:
            event.acceptProposedAction()
            self.check.drop.show_over(True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self.check.drop.show_over(False)

    def dropEvent(self, event: QDropEvent) -> None:
        self.check.drop.show_over(False)
        paths = _paths(event)
        if paths and self.deliverables:
            event.acceptProposedAction()
            self.files.take(paths)


def _paths(event: QDropEvent) -> tuple[str, ...]:
    """Files and folders of this computer; a link to the web is none."""
    return tuple(url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile() and url.toLocalFile())
