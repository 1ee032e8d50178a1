# SPDX-License-Identifier: GPL-3.0-or-later
"""Busy times from another calendar: read, shown with what they do to the evenings, then taken in or not."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Slot
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDoubleSpinBox,
    QHBoxLayout,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk import words
from nightplan.desk.fields import button, padded, wrapped
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.model.errors import BadInput, NightplanError
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.actions.busy import BusyImport
    from nightplan.desk.host import DeskHost
    from nightplan.evenings.calendar_in import BusyFound
    from nightplan.model.project import Project

#: one more than is accepted, so that what is too long is refused and not cut
_MOST_BYTES = 5_000_001
_COLUMNS = (tr("Evening"), tr("Before"), tr("After"), tr("Because of"))
_MOST_ROWS, _MOST_NAMED = 300, 6


class BusyTimes(QObject):
    """Asks for a calendar, reads it off the window's thread, and shows it; belongs to the window."""

    def __init__(self, host: DeskHost, window: QWidget) -> None:
        super().__init__(window)
        self.host, self.window = host, window
        self.dialog: BusyPreview | None = None
        self.work = host.background(self, self._read, refused=self._refused)

    @Slot()
    def ask(self) -> None:
        """Ask for a calendar whose times are taken."""
        if self.host.document.is_open:
            folder = os.path.dirname(self.host.document.path or "") or os.path.expanduser("~")
            self.host.services.ask_file(
                self.window, tr("Busy times from a calendar"), folder, tr("Calendars (*.ics)"), self.read
            )

    def read(self, path: str | None) -> None:
        """Read a calendar and show what it would do; nothing is taken in yet."""
        if path is None or not self.host.document.is_open:
            return
        name = os.path.basename(path)
        project = self.host.project
        if self.dialog is not None:
            self.dialog.reject()
        self.dialog = BusyPreview(self.host, name, self.window)
        self.dialog.finished.connect(self._finished)
        self.dialog.open()

        def work(progress: Callable[[float], None]) -> BusyFound:
            from nightplan.actions.busy import read_calendar

            try:
                with open(path, "rb") as file:
                    data = file.read(_MOST_BYTES)
            except OSError as error:
                raise BadInput(tr("{name} cannot be read: {strerror}", name=name, strerror=error.strerror)) from None
            progress(0.0)
            return read_calendar(project, data)

        self.work.start(name, work)

    @Slot(object)
    def _read(self, told: tuple[str, BusyFound]) -> None:
        if self.dialog is not None:
            self.dialog.show_found(told[1])

    @Slot(object)
    def _refused(self, sentence: str) -> None:
        if self.dialog is not None:
            name = self.dialog.source
            self.dialog.reject()
            text = sentence if sentence.startswith(name) else f"{name}: {sentence}"
            self.host.services.tell(self.window, tr("Not read"), text)

    @Slot(int)
    def _finished(self, _result: int) -> None:
        self.work.call_off()
        self.dialog = None

    # ---- taking out --------------------------------------------------------------------------
    @Slot()
    def ask_remove(self) -> None:
        """Ask which source's busy times go; those of the project file itself have no name."""
        from nightplan.actions.busy import busy_sources

        if not self.host.document.is_open:
            return
        sources = list(busy_sources(self.host.project).items())[:6]
        if not sources:
            self.host.say(tr("No busy times were read from a calendar."))
            return
        choices = [(str(n), name or tr("Without a source")) for n, (name, _) in enumerate(sources)]
        counts = [trn("{n} busy time", "{n} busy times", count) for _, count in sources]
        lines = [f"{name}: {count}" for (_, name), count in zip(choices, counts, strict=True)]

        def answered(key: str) -> None:
            if key != "no":
                self._remove(sources[int(key)][0])

        self.host.services.ask(
            self.window,
            tr("Take busy times out"),
            "\n".join([tr("Which ones?"), *lines]),
            [*choices, ("no", tr("Cancel"))],
            answered,
        )

    def _remove(self, source: str) -> None:
        from nightplan.actions.busy import remove_busy

        self.host.change(tr("Take busy times out: {source}", source=source), lambda p: remove_busy(p, source))


class BusyPreview(QDialog):
    """Which evenings go, become shorter or come back, and why; the odds above follow while it is open."""

    def __init__(self, host: DeskHost, source: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.host, self.source = host, source
        self.setWindowTitle(tr("Busy times from {source}", source=source))
        self.resize(760, 520)
        self._found: BusyFound | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(22, 18, 22, 18)
        column.setSpacing(10)
        self.summary = wrapped(tr("Reading {source}…", source=source))
        self.summary.setProperty("role", "heading")
        column.addWidget(self.summary)
        row = QHBoxLayout()
        self.keep = QCheckBox(tr("&Keep what is left of an evening, from"))
        self.keep.setAccessibleName(tr("Keep what is left of an evening"))
        self.keep.setChecked(True)
        self.keep.toggled.connect(self._again)
        self.hours = padded(QDoubleSpinBox())
        self.hours.setAccessibleName(tr("Hours of an evening that are worth keeping"))
        self.hours.setRange(0.25, 12.0)
        self.hours.setSingleStep(0.25)
        self.hours.setValue(1.0)
        self.hours.setSuffix(tr(" h on"))
        self.hours.valueChanged.connect(self._again)
        row.addWidget(self.keep)
        row.addWidget(self.hours)
        row.addStretch(1)
        column.addLayout(row)
        self.table = QTableWidget(0, len(_COLUMNS))
        self.table.setAccessibleName(tr("What happens to the evenings"))
        self.table.setHorizontalHeaderLabels(list(_COLUMNS))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.horizontalHeader().setStretchLastSection(True)
        self.table.setStyleSheet("QTableWidget::item { padding: 2px 8px; }")
        column.addWidget(self.table, 1)
        self.left_out = wrapped()
        self.left_out.setProperty("role", "muted")
        column.addWidget(self.left_out)
        row = QHBoxLayout()
        row.addStretch(1)
        self.apply_button = button(tr("&Take them in"), self._apply)
        self.apply_button.setProperty("role", "primary")
        self.apply_button.setDefault(True)
        self.cancel_button = button(tr("Cancel"), self.reject)
        for each in (self.apply_button, self.cancel_button):
            each.setAccessibleName(words.spoken(each.text()))
            row.addWidget(each)
        column.addLayout(row)
        self._ready(False)
        self.rejected.connect(self._end_preview)

    def show_found(self, found: BusyFound) -> None:
        self._found = found
        self._again()

    def _make(self, project: Project) -> BusyImport:
        from nightplan.actions.busy import take_busy

        assert self._found is not None
        keep = self.hours.value() if self.keep.isChecked() else None
        return take_busy(project, self._found, self.source, keep_hours=keep)

    @Slot()
    def _again(self) -> None:
        self.hours.setEnabled(self.keep.isChecked())
        if self._found is None:
            return
        try:
            read = self._make(self.host.project)
            self.host.preview(lambda _: read.project)
        except NightplanError as error:
            self.summary.setText(str(error))
            self.table.setRowCount(0)
            self._ready(False)
            return
        self._show(read)
        self._ready(True)

    def _show(self, read: BusyImport) -> None:
        parts = [
            trn("{n} evening goes", "{n} evenings go", len(read.taken)),
            trn("{n} becomes shorter", "{n} become shorter", len(read.shorter)),
            trn("{n} comes back", "{n} come back", len(read.given_back)),
        ]
        told = [p for p, many in zip(parts, (read.taken, read.shorter, read.given_back), strict=True) if many]
        what = ", ".join(told) if told else tr("no evening changes")
        self.summary.setText(
            tr(
                "{count} from {source}: {what}.",
                count=trn("{n} busy time", "{n} busy times", read.count),
                source=self.source,
                what=what,
            )
        )
        rows = [(t.date, _span(t.start, t.hours), tr("gone"), t.why) for t in read.taken]
        rows += [(s.date, _span(s.was_start, s.was_hours), _span(s.start, s.hours), s.why) for s in read.shorter]
        rows += [(d, tr("taken"), tr("free again"), tr("no longer in the calendar")) for d in read.given_back]
        rows.sort(key=lambda r: r[0])
        self.table.setRowCount(min(len(rows), _MOST_ROWS))
        for n, (date, *texts) in enumerate(rows[:_MOST_ROWS]):
            for place, text in enumerate((words.day(date), *texts)):
                cell = QTableWidgetItem(text)
                cell.setToolTip(tip_text(text))
                self.table.setItem(n, place, cell)
        out = read.left_out
        named = "; ".join(f"{row.what} {row.reason}" for row in out[:_MOST_NAMED])
        more = tr("; and {rest} more", rest=len(out) - _MOST_NAMED) if len(out) > _MOST_NAMED else ""
        self.left_out.setVisible(bool(out))
        self.left_out.setText(
            trn(
                "{n} entry takes no time: {named}{more}.",
                "{n} entries take no time: {named}{more}.",
                len(out),
                named=named,
                more=more,
            )
        )

    def _ready(self, ready: bool) -> None:
        self.apply_button.setEnabled(ready)
        self.table.setEnabled(ready)

    @Slot()
    def _apply(self) -> None:
        try:
            self.host.change_or_raise(
                tr("Busy times from {source}", source=self.source), lambda p: self._make(p).project
            )
        except NightplanError as error:
            self.summary.setText(str(error))
            return
        said = self.summary.text()
        self.accept()
        self.host.say(tr("{said} Read the file again to refresh them; Undo takes them out.", said=said))

    @Slot()
    def _end_preview(self) -> None:
        if self.host.document.is_open:
            self.host.preview(None)


def _span(start: object, hours: float) -> str:
    return f"{start:%H:%M}, {words.hours(hours)}"
