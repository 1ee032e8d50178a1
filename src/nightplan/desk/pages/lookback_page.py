# SPDX-License-Identifier: GPL-3.0-or-later
"""Look back: planned against actual over past projects, honesty of the odds, and what it means for this one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QTimer, Slot
from PySide6.QtWidgets import (
    QButtonGroup,
    QDoubleSpinBox,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from nightplan.actions import lookback as actions
from nightplan.desk.fields import button
from nightplan.desk.host import DeskHost
from nightplan.desk.lookback_reading import Answer, look
from nightplan.desk.pages import Page
from nightplan.desk.pages import lookback_words as told
from nightplan.desk.theme import Theme
from nightplan.desk.widgets.columns import Scrolled, fill
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.lookback_parts import Answers, Picture, ProposalCard, Table
from nightplan.desk.widgets.lookback_saving import Saving
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.progress_part import ProgressPart
from nightplan.engine.lookback import Prior
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.model.project import Project
    from nightplan.model.results_lookback import Proposal

PARTS = (
    ("stages", tr("Planned against actual")),
    ("evenings", tr("Evenings")),
    ("honesty", tr("Honesty of the odds")),
    ("apply", tr("For this project")),
    ("end", tr("Three questions")),
)
#: settings
_FOLDERS, _PRIOR = "library", "library_prior"
#: name in Prior, label, least, most, step, digits
_FIELDS = (
    # translators: the starting assumption of a look back, down to "worth evenings"
    ("ratio", tr("times likely"), 0.5, 3.0, 0.05, 2),
    ("worth", tr("worth items"), 0.5, 100.0, 1.0, 1),
    ("spread", tr("spread"), 0.05, 1.5, 0.05, 2),
    ("evenings", tr("worth evenings"), 0.5, 100.0, 1.0, 1),
)


class LookBackPage(Page):
    """Shows the index at once, then reads what has changed in the folders."""

    id = "look-back"
    title = tr("Look back")
    tip = tr("What past projects took, and what that means for this one")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self.project: Project | None = None
        self.answer: Answer | None = None
        #: day and starting assumption of the answer, and of the one that is on its way
        self._asked: tuple[dt.date, Prior] | None = None
        self._pending: tuple[dt.date, Prior] | None = None
        self.cards: list[ProposalCard] = []
        #: the three questions come first once a project is over, but only once
        self._ask_at_the_end = False
        #: the project that the cards are about
        self._proposed: Project | None = None
        self._wait = QTimer(self)
        self._wait.setSingleShot(True)
        self._wait.setInterval(300)
        self._wait.timeout.connect(self._prior_changed)
        self._build()
        self.work = host.background(self, self._done, part=self.reading)
        host.document.closing.connect(self._close_down)

    # --- building ---

    def _build(self) -> None:
        inner, column = _column()
        self.area = Scrolled(inner, self.title)
        fill(self, self.area)
        column.addWidget(self._library_card())
        choices = QWidget()
        row = Flow(choices)
        self.parts = QButtonGroup(self)
        for n, (key, text) in enumerate(PARTS):
            each = QPushButton(text)
            each.setCheckable(True)
            each.setProperty("part", key)
            each.setAccessibleName(text)
            self.parts.addButton(each, n)
            row.addWidget(each)
        column.addWidget(choices)
        self.parts.idClicked.connect(self._part_clicked)
        self.words: dict[str, PlainLabel] = {}
        self.tables: dict[str, Table] = {}
        self.pictures: list[Picture] = []
        self.part_widgets = (
            self._stages_part(),
            self._evenings_part(),
            self._honesty_part(),
            self._apply_part(),
            self._end_part(),
        )
        for part in self.part_widgets:
            column.addWidget(part)
        column.addStretch(1)
        self.show_part("stages")

    def _library_card(self) -> QWidget:
        card = QFrame()
        card.setProperty("role", "card")
        column = QVBoxLayout(card)
        column.setContentsMargins(14, 8, 14, 8)
        self.where = PlainLabel("", wrap=True)
        self.reading = ProgressPart(tr("Stop"), at_once=True)
        self.reading.name(tr("Reading the library"), tr("reading: %p %"), tr("Stop reading the library"))
        self.reading.stop_wanted.connect(self._stop)
        self.add_button = button(tr("Add a folder…"), self._add, tr("Add a folder to the library"))
        self.forget_button = button(tr("Forget folders"), self._forget, tr("Forget the folders of the library"))
        self.again_button = button(tr("Read again"), self._again, tr("Read all files of the library again"))
        column.addWidget(self.where)
        buttons = QWidget()
        row = Flow(buttons)
        self.saving = Saving(self.host)
        for widget in (self.add_button, self.forget_button, self.again_button, self.saving, self.reading):
            row.addWidget(widget)
        column.addWidget(buttons)
        return card

    def _told(self, key: str, column: QVBoxLayout) -> None:
        self.words[key] = PlainLabel("", wrap=True)
        column.addWidget(self.words[key])

    def _picture(self, name: str, title: str, column: QVBoxLayout) -> None:
        self.pictures.append(Picture(name, title, self.theme))
        column.addWidget(self.pictures[-1])

    def _stages_part(self) -> QWidget:
        inner, column = _column()
        self._told("stages", column)
        self.tables["stages"] = Table(tr("Planned against actual by stage"), told.STAGE_HEADINGS)
        column.addWidget(self.tables["stages"])
        self._picture("ratio-by-stage", tr("Times the likely hours, by stage"), column)
        self._picture("planned-against-actual", tr("Hours planned against hours it took, item by item"), column)
        column.addWidget(self._prior_row())
        return inner

    def _prior_row(self) -> QWidget:
        card = QFrame()
        card.setProperty("role", "card")
        column = QVBoxLayout(card)
        column.addWidget(PlainLabel(told.PRIOR, role="muted", wrap=True))
        fields = QWidget()
        row = Flow(fields)
        self.prior_fields: dict[str, QDoubleSpinBox] = {}
        kept = self._prior()
        for name, label, low, high, step, digits in _FIELDS:
            field = QDoubleSpinBox()
            field.setRange(low, high)
            field.setSingleStep(step)
            field.setDecimals(digits)
            field.setValue(getattr(kept, name))
            field.setAccessibleName(tr("Starting assumption: {label}", label=label))
            field.valueChanged.connect(self._prior_typed)
            text = PlainLabel(label)
            text.setBuddy(field)
            # a field stays with its label
            pair = QWidget()
            both = QHBoxLayout(pair)
            both.setContentsMargins(0, 0, 12, 0)
            both.addWidget(text)
            both.addWidget(field)
            row.addWidget(pair)
            self.prior_fields[name] = field
        column.addWidget(fields)
        return card

    def _evenings_part(self) -> QWidget:
        inner, column = _column()
        self._told("evenings", column)
        self.tables["evenings"] = Table(tr("Evenings kept by weekday"), told.EVENING_HEADINGS)
        column.addWidget(self.tables["evenings"])
        self._picture("evenings-kept", tr("Evenings kept, by weekday"), column)
        return inner

    def _honesty_part(self) -> QWidget:
        inner, column = _column()
        self._told("honesty", column)
        self.tables["honesty"] = Table(tr("What the odds said and what came of it"), told.BIN_HEADINGS)
        column.addWidget(self.tables["honesty"])
        self._picture("forecast-honesty", tr("What the odds said against what came of it"), column)
        return inner

    def _apply_part(self) -> QWidget:
        inner, column = _column()
        self._told("apply", column)
        self.cards_box = QVBoxLayout()
        self.cards_box.setSpacing(6)
        column.addLayout(self.cards_box)
        return inner

    def _end_part(self) -> QWidget:
        inner, column = _column()
        self._told("end", column)
        self.answers = Answers(actions.QUESTIONS)
        self.answers.filed.connect(self._file)
        column.addWidget(self.answers)
        return inner

    # --- settings ---

    def folders(self) -> list[str]:
        """Folders of the library; the open project's own until one is chosen."""
        kept = self.host.services.settings().value(_FOLDERS, [], type=list)
        found = [str(f) for f in kept if f] if isinstance(kept, list) else []
        if not found and self.host.document.path:
            found = [str(Path(self.host.document.path).parent)]
        return [f for f in found if Path(f).is_dir()]

    def _keep_folders(self, folders: list[str]) -> None:
        self.host.services.settings().setValue(_FOLDERS, folders)
        self.read()

    def _prior(self) -> Prior:
        settings = self.host.services.settings()
        values = {}
        for name, _label, low, high, _step, _digits in _FIELDS:
            value = settings.value(f"{_PRIOR}/{name}", getattr(Prior(), name), type=float)
            values[name] = min(high, max(low, value)) if isinstance(value, float) else getattr(Prior(), name)
        return Prior(**values)

    @property
    def index(self) -> Path:
        """Beside what else the program keeps for itself."""
        return self.host.services.recovery_folder().parent / "look-back.sqlite"

    # --- reading ---

    def focus_first(self) -> None:
        if self.project is not None and self._ask_at_the_end:
            self._ask_at_the_end = False
            if actions.is_over(self.project, self.host.as_of) and not actions.answers(self.project):
                self.show_part("end")
        self._show_proposals()
        checked = self.parts.checkedButton()
        if checked is not None:
            checked.setFocus()
        if self.answer is None and not self.work.busy:
            self._start("known")
        elif not self.work.busy:
            self.read()

    def read(self) -> None:
        """Read what has changed in the folders."""
        self._start("read")

    def _start(self, name: str) -> None:
        folders, index, today, prior = self.folders(), self.index, self.host.services.today(), self._prior()
        shown = self.answer is not None and self._asked == (today, prior)

        def work(progress: Callable[[float], None]) -> Answer | None:
            return look(index, name, folders, today, prior, shown, progress)

        self._pending = today, prior
        self.work.start(name, work)

    @Slot(object)
    def _done(self, result: tuple[str, Any]) -> None:
        name, answer = result
        if answer is not None:
            self.answer, self._asked = answer, self._pending
            self._show_answer()
        elif self.answer is not None:
            self.where.setText(told.library(self.answer.facts, self.folders()))
        if name == "known":
            self.read()

    @Slot()
    def _stop(self) -> None:
        self.work.call_off()
        self.again_button.setFocus()

    @Slot()
    def _add(self) -> None:
        kept = self.folders()
        self.host.services.ask_folder(self, tr("A folder of past projects"), kept[-1] if kept else "", self._added)

    def _added(self, folder: str | None) -> None:
        if folder is not None:
            self._keep_folders([*(f for f in self.folders() if f != folder), folder])

    @Slot()
    def _forget(self) -> None:
        self._keep_folders([])

    @Slot()
    def _again(self) -> None:
        self._start("rebuild")

    @Slot()
    def _prior_typed(self) -> None:
        self._wait.start()

    @Slot()
    def _prior_changed(self) -> None:
        for name, field in self.prior_fields.items():
            self.host.services.settings().setValue(f"{_PRIOR}/{name}", field.value())
        self.read()

    @Slot()
    def _close_down(self) -> None:
        self._wait.stop()
        self.work.close()

    # --- showing ---

    def show_part(self, part: str) -> None:
        """stages, evenings, honesty, apply or end."""
        n = [key for key, _ in PARTS].index(part)
        self.parts.button(n).setChecked(True)
        self._part_clicked(n)

    @property
    def part(self) -> str:
        """The part that is shown."""
        return PARTS[self.parts.checkedId()][0]

    @Slot(int)
    def _part_clicked(self, n: int) -> None:
        for k, part in enumerate(self.part_widgets):
            part.setVisible(k == n)
        self._show_proposals()

    def _show_answer(self) -> None:
        answer = self.answer
        if answer is None:
            return
        self.saving.show_answer(answer)
        facts, looks, scored = answer.facts, answer.looks, answer.scores
        self.where.setText(told.library(facts, self.folders()))
        self.words["stages"].setText(told.stages(facts, looks))
        self.tables["stages"].tell(told.stage_rows(looks) if facts.items else [])
        self.words["evenings"].setText(told.evenings(looks))
        self.tables["evenings"].tell(told.evening_rows(looks))
        self.words["honesty"].setText("\n".join(scored.words))
        self.tables["honesty"].tell(told.bin_rows(scored))
        for picture in self.pictures:
            picture.tell(facts, looks, scored)
        self._proposed = None
        self._show_proposals()

    def show_project(self, project: Project) -> None:
        known = self.project
        self._ask_at_the_end = self._ask_at_the_end or known is None
        # a new title or another start alone are this project still
        if known is not None and known.title != project.title and known.announced != project.announced:
            self.answers.forget()
            self._ask_at_the_end = True
        self.project = project
        self.answers.show_answers(actions.answers(project))
        over = actions.is_over(project, self.host.as_of)
        self.words["end"].setText(told.OVER if over else told.NOT_OVER)
        self._show_proposals()

    def _show_proposals(self) -> None:
        """The cards, where they are seen: over a large library they are not made at every change."""
        if not self.isVisible() or self.part != "apply":
            return
        if self.project is not None and self._proposed is self.project:
            return
        self._proposed = None if self.answer is None else self.project
        for card in self.cards:
            self.cards_box.removeWidget(card)
            card.hide()
            card.deleteLater()
        self.cards = []
        if self.project is None or self.answer is None:
            self.words["apply"].setText(told.NOT_READ)
            return
        found = actions.proposals(self.project, self.answer.facts, self._prior())
        self.words["apply"].setText(told.proposals(len(found), bool(self.answer.facts.items)))
        for proposal in found:
            card = ProposalCard(proposal)
            card.accepted.connect(self._accept)
            self.cards.append(card)
            self.cards_box.addWidget(card)

    @Slot(object)
    def _accept(self, proposal: Proposal) -> None:
        place = next((n for n, c in enumerate(self.cards) if c.proposal is proposal), 0)
        today = self.host.services.today()
        if self.host.change(
            tr("Accept from history: {what}", what=proposal.what), lambda p: actions.accept(p, proposal, today)
        ):
            # the keyboard goes on where it was
            buttons = [c.button for c in self.cards] or [self.again_button]
            buttons[min(place, len(buttons) - 1)].setFocus()

    @Slot(object)
    def _file(self, said: dict[str, str]) -> None:
        today = self.host.services.today()
        try:
            self.host.change_or_raise(tr("File the answers"), lambda p: actions.file_answers(p, today, said))
        except BadInput as error:
            self.host.say(error.sentence)
            return
        self.host.say(tr("The answers are filed in this project."))

    def leave(self) -> None:
        self.answers.file()

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        for picture in self.pictures:
            picture.set_theme(theme)


def _column() -> tuple[QWidget, QVBoxLayout]:
    inner = QWidget()
    column = QVBoxLayout(inner)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(10)
    return inner, column
