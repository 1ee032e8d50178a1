# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in check on the desk: where files are dropped, how deep is looked, what was found, the artist's own word."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QLineEdit,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.fields import button, card_column, form, wrapped
from nightplan.desk.widgets import brief_words as told
from nightplan.desk.widgets.brief_list import COLOURS, RichList
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.progress_part import ProgressPart
from nightplan.speech import tr, trc, trn

if TYPE_CHECKING:
    from nightplan.brief.findings import Finding, Report
    from nightplan.brief.rules import Deliverable
    from nightplan.desk.theme import Theme

#: depth, words of its button
DEPTHS = (
    ("headers", tr("Look at headers")),
    ("integrity", tr("Look at whole files")),
    ("deep", tr("Look at every pixel")),
)
_MOST_FINDINGS = 400


class DropBox(QFrame):
    """Where files are let go; the whole page takes them, this shows where they count."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.over = False
        column = QVBoxLayout(self)
        column.setContentsMargins(14, 12, 14, 12)
        self.words = wrapped(told.NO_FILES)
        column.addWidget(self.words)
        self.row = QWidget()
        self.flow = Flow(self.row)
        column.addWidget(self.row)

    def show_over(self, over: bool) -> None:
        """Something that can be dropped is above the page."""
        self.over = over
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colour = self.theme.accent if self.over else self.theme.border
        painter.setPen(QPen(QColor(colour), 2, Qt.PenStyle.SolidLine if self.over else Qt.PenStyle.DashLine))
        painter.drawRoundedRect(self.rect().adjusted(2, 2, -2, -2), 8, 8)


class CheckCard(QFrame):
    """Asks by signals; shows the report that it is given."""

    files_wanted = Signal()
    folder_wanted = Signal()
    #: a depth
    look_wanted = Signal(object)
    cancel_wanted = Signal()
    deliverable_chosen = Signal(object)
    #: (deliverable, rule, ticked, note)
    ticked = Signal(object)
    #: keep, .html or .pdf
    sheet_wanted = Signal(object)
    #: (deliverable, rule) of the finding that is chosen
    rule_wanted = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.report: Report | None = None
        self._findings: tuple[Finding, ...] = ()
        self._deliverables: tuple[Deliverable, ...] = ()
        self._paths: tuple[str, ...] = ()
        self._busy = False
        #: the rules changed since the report
        self._stale = False
        column = card_column(self, tr("The check"))
        self._asking(column, theme)
        self._answer(column, theme)
        self._own_word(column)
        self._sheet_row(column)
        self.show_state()

    # ---- building ----------------------------------------------------------------------------
    def _asking(self, column: QVBoxLayout, theme: Theme) -> None:
        rows = form()
        self.which = QComboBox()
        self.which.setAccessibleName(tr("Deliverable to check"))
        self.which.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.which.activated.connect(self._which_chosen)
        rows.addRow(tr("Deliverable to check"), self.which)
        column.addLayout(rows)
        self.which_rows = rows
        self.drop = DropBox(theme)
        self.choose_files = button(tr("Choose a file…"), self.files_wanted.emit)
        self.choose_folder = button(tr("Choose a folder…"), self.folder_wanted.emit)
        self.drop.flow.addWidget(self.choose_files)
        self.drop.flow.addWidget(self.choose_folder)
        column.addWidget(self.drop)
        row = QWidget()
        flow = Flow(row)
        self.looks = {}
        for depth, text in DEPTHS:
            each = button(text, self._look)
            each.setProperty("depth", depth)
            self.looks[depth] = each
            flow.addWidget(each)
        column.addWidget(row)
        self.look_row = row
        self.looking = ProgressPart(tr("Cancel"), at_once=True, wide=True)
        self.looking.name(tr("Files are looked at"), "%p %", tr("Cancel looking at the files"))
        self.looking.stop_wanted.connect(self.cancel_wanted)
        column.addWidget(self.looking)

    def _answer(self, column: QVBoxLayout, theme: Theme) -> None:
        self.verdict = wrapped()
        self.verdict.setProperty("role", "heading")
        column.addWidget(self.verdict)
        self.looked = wrapped()
        self.looked.setProperty("role", "muted")
        column.addWidget(self.looked)
        self.list = RichList(tr("Findings, the failing ones first"), theme, most_lines=30)
        self.list.chosen.connect(self._finding_chosen)
        self.list.opened.connect(self._finding_opened)
        column.addWidget(self.list)

    def _own_word(self, column: QVBoxLayout) -> None:
        self.word = QFrame()
        inner = QVBoxLayout(self.word)
        inner.setContentsMargins(0, 0, 0, 0)
        self.word_text = wrapped()
        inner.addWidget(self.word_text)
        self.note = QLineEdit()
        self.note.setAccessibleName(tr("Note to your tick"))
        self.note.setPlaceholderText(tr("a note: why it is so, where it was posted"))
        self.note.setMaxLength(5_000)
        self.note.returnPressed.connect(self._tick)
        inner.addWidget(self.note)
        row = QWidget()
        flow = Flow(row)
        self.tick = button(tr("It is so: tick it"), self._tick)
        self.untick = button(tr("Take the tick back"), self._untick)
        flow.addWidget(self.tick)
        flow.addWidget(self.untick)
        inner.addWidget(row)
        column.addWidget(self.word)

    def _sheet_row(self, column: QVBoxLayout) -> None:
        row = QWidget()
        flow = Flow(row)
        self.keep = button(tr("Keep this hand-in sheet"), self._sheet)
        self.as_html = button(tr("Save sheet as HTML…"), self._sheet)
        self.as_pdf = button(tr("Save sheet as PDF…"), self._sheet)
        for each, purpose in ((self.keep, "keep"), (self.as_html, ".html"), (self.as_pdf, ".pdf")):
            each.setProperty("purpose", purpose)
            flow.addWidget(each)
        column.addWidget(row)
        self.sheet_row = row

    # ---- showing -----------------------------------------------------------------------------
    def show_deliverables(self, deliverables: tuple[Deliverable, ...]) -> None:
        self._deliverables = deliverables
        wanted = [(d.id, d.name if d.wanted else tr("{name}  (only if selected)", name=d.name)) for d in deliverables]
        have = [(self.which.itemData(n), self.which.itemText(n)) for n in range(self.which.count())]
        if wanted != have:
            keep = self.which.currentData()
            self.which.clear()
            for key, text in wanted:
                self.which.addItem(text, key)
            self.which.setCurrentIndex(max(0, self.which.findData(keep)))
        self.show_state()

    @property
    def deliverable(self) -> Deliverable | None:
        """The one that files are held against."""
        key = self.which.currentData()
        return next((d for d in self._deliverables if d.id == key), None)

    def choose_deliverable(self, key: str) -> None:
        self.which.setCurrentIndex(max(0, self.which.findData(key)))

    def show_paths(self, paths: tuple[str, ...]) -> None:
        self._paths = paths
        if not paths:
            self.drop.words.setText(told.NO_FILES)
        else:
            names = [os.path.basename(os.path.normpath(p)) or p for p in paths[:6]]
            files, rest = trc("between the parts of a list", ", ").join(names), len(paths) - len(names)
            if rest:
                files = trn("{told} and {n} more", "{told} and {n} more", rest, told=files)
            folder = os.path.dirname(os.path.abspath(paths[0]))
            self.drop.words.setText(tr("{files}, from {folder}", files=files, folder=folder))
        self.show_state()

    def show_busy(self, busy: bool) -> None:
        self._busy = busy
        self.show_state()

    def show_report(self, report: Report | None, stale: bool = False) -> None:
        """A report, its ticks already in it."""
        self.report, self._stale = report, stale
        self._findings = ()
        if report is not None:
            from nightplan.actions.brief_check import verdict_sentence, worst_first
            from nightplan.brief.findings import DEPTH_WORDS

            self._findings = worst_first(report.findings)[:_MOST_FINDINGS]
            if stale:
                text = tr("The rules changed since this check: look again.")
            else:
                text = told.verdict_line(report.verdict, verdict_sentence(report.verdict, report.findings))
            self.verdict.setText(text)
            self._paint_verdict()
            looked = trn(
                "{name}: {n} file, looked at: {depth}",
                "{name}: {n} files, looked at: {depth}",
                len(report.files),
                name=report.name,
                depth=DEPTH_WORDS[report.depth],
            )
            rest = len(report.findings) - len(self._findings)
            if rest:
                looked = trn(
                    "{told}; {n} further finding is not shown",
                    "{told}; {n} further findings are not shown",
                    rest,
                    told=looked,
                )
            self.looked.setText(looked)
        self.list.show_rows(told.finding_row(n, f) for n, f in enumerate(self._findings))
        self.show_state()

    def _paint_verdict(self) -> None:
        """The sign and the words say it; colour says it again."""
        from nightplan.brief.findings import OPEN

        verdict = OPEN if self.report is None or self._stale else self.report.verdict
        self.verdict.setStyleSheet(f"QLabel {{ color: {getattr(self.theme, COLOURS[verdict])}; }}")

    def show_refused(self, sentence: str) -> None:
        """Why there is no answer; an older one stays below."""
        self.verdict.setText(f"?  {sentence}")
        self.verdict.show()

    def show_state(self) -> None:
        """What can be done now, and nothing else."""
        there, paths, found = bool(self._deliverables), bool(self._paths), self.report is not None
        self.which_rows.setRowVisible(self.which, len(self._deliverables) > 1)
        if not there:
            self.drop.words.setText(told.NO_BRIEF)
        elif not paths:
            self.drop.words.setText(told.NO_FILES)
        self.drop.row.setVisible(there)
        self.look_row.setVisible(there and paths)
        for each in self.looks.values():
            each.setEnabled(not self._busy)
        for widget in (self.verdict, self.looked, self.list, self.sheet_row):
            widget.setVisible(found)
        for each in (self.keep, self.as_html, self.as_pdf):
            each.setEnabled(found and not self._busy and not self._stale)
        self._finding_chosen(self.list.current_key)

    def set_theme(self, theme: Theme) -> None:
        self.theme = self.drop.theme = theme
        self._paint_verdict()
        self.drop.update()
        self.list.set_theme(theme)

    # ---- asking ------------------------------------------------------------------------------
    @Slot()
    def _which_chosen(self) -> None:
        self.deliverable_chosen.emit(self.which.currentData())

    @Slot()
    def _look(self) -> None:
        each = self.sender()
        if each is not None:
            self.look_wanted.emit(each.property("depth"))

    @Slot()
    def _sheet(self) -> None:
        each = self.sender()
        if each is not None:
            self.sheet_wanted.emit(each.property("purpose"))

    @property
    def finding(self) -> Finding | None:
        n = self.list.current_key
        return None if n is None or n >= len(self._findings) else self._findings[n]

    @Slot(object)
    def _finding_chosen(self, _key: object) -> None:
        from nightplan.brief.findings import TICKED, YOURS

        f = self.finding if self.report is not None else None
        ticked = f is not None and f.verdict == "pass" and TICKED in f.measured
        asked = f is not None and not f.own and (f.verdict == YOURS or ticked)
        self.word.setVisible(asked)
        if f is None or not asked:
            return
        rule = self._rule(f)
        self.word_text.setText(tr("Your word: {words}", words=f.wording or f.wanted))
        self.tick.setVisible(not ticked)
        self.untick.setVisible(ticked)
        note = "" if rule is None else str(getattr(rule, "tick_note", ""))
        if not self.note.hasFocus():
            self.note.setText(note)

    def _rule(self, f: Finding) -> object | None:
        d = next((d for d in self._deliverables if self.report is not None and d.id == self.report.deliverable), None)
        return None if d is None else next((r for r in d.rules if r.id == f.rule), None)

    @Slot(object)
    def _finding_opened(self, _key: object) -> None:
        f = self.finding
        if f is not None and not f.own and self.report is not None:
            self.rule_wanted.emit((self.report.deliverable, f.rule))

    @Slot()
    def _tick(self) -> None:
        self._say(True)

    @Slot()
    def _untick(self) -> None:
        self._say(False)

    def _say(self, ticked: bool) -> None:
        f = self.finding
        if f is not None and self.report is not None:
            self.ticked.emit((self.report.deliverable, f.rule, ticked, self.note.text().strip()))
