# SPDX-License-Identifier: GPL-3.0-or-later
"""The Journal page: evening by evening, with captures and notes; two compared; the making-of out of it."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt, Slot
from PySide6.QtGui import (
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QImage,
    QKeySequence,
    QShortcut,
)
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFrame,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QWidget,
)

from nightplan.desk import words
from nightplan.desk.fields import button, card, wrapped
from nightplan.desk.pages import Page
from nightplan.desk.told import label_for_listeners
from nightplan.desk.widgets.columns import Columns, fill
from nightplan.desk.widgets.film_card import FilmCard
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.journal_parts import AskedCard, KeptText, PairCard
from nightplan.desk.widgets.keyed_list import KeyedList
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.desk.widgets.thumbnails import Thumbnails
from nightplan.desk.widgets.watched_folder import WatchedFolder
from nightplan.model.errors import BadInput, NightplanError
from nightplan.speech import tr, trc, trn

if TYPE_CHECKING:
    from nightplan.actions.journal import Capture, Day
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project

_KEY = Qt.ItemDataRole.UserRole


class JournalPage(Page):
    """Evenings on one side, what one of them holds on the other."""

    id = "journal"
    title = tr("Journal")
    tip = tr("Captures and notes, evening by evening")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self._days: tuple[Day, ...] = ()
        self._filling = False
        self._marked: str | None = None
        self.thumbnails = Thumbnails(host, self)
        self.thumbnails.changed.connect(self._show_thumbnails)
        self.work = self.thumbnails.work
        self.watched = WatchedFolder(host, self._chosen_date, self.add_pictures, self)
        self.setAcceptDrops(True)
        # a field that is written in keeps the key for its text
        paste = QShortcut(QKeySequence.StandardKey.Paste, self)
        paste.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        paste.activated.connect(self._paste)
        self._build()

    # ---- building ----------------------------------------------------------------------------
    def _build(self) -> None:
        self.film, self.pair, self.asked_card = FilmCard(self.host), PairCard(self.host), AskedCard(self.host)
        sides = ((self._days_card(), self.asked_card, self.film), (self._evening_card(), self.pair))
        fill(self, Columns(self.title, sides, (2, 3)))

    def _days_card(self) -> QFrame:
        frame, column = card(tr("Evenings so far"))
        self.list = KeyedList(
            tr("Evenings so far"),
            tr(
                "The journal begins with the first evening that you tick off. "
                "Each evening holds your captures and a note; the making-of is written out of them."
            ),
            lines=14,
        )
        self.list.currentRowChanged.connect(self._day_chosen)
        self.list.put_into(column)
        return frame

    def _evening_card(self) -> QFrame:
        self.evening_card, column = card("")
        self.heading = self.evening_card.findChildren(QLabel)[0]
        self.what = wrapped("")
        self.what.setProperty("role", "muted")
        column.addWidget(self.what)
        self.note = KeptText()
        self.note.setAccessibleName(tr("Note of the evening"))
        self.note.setPlaceholderText(tr("What went wrong, and what fixed it?"))
        self.note.setTabChangesFocus(True)
        self.note.setFixedHeight(self.fontMetrics().height() * 5)
        self.note.left.connect(self._note_left)
        column.addWidget(self.note)
        self.none = wrapped(tr("No captures yet: drop pictures here, paste one (Ctrl+V), or have a folder watched."))
        self.none.setProperty("role", "muted")
        column.addWidget(self.none)
        self.captures = QListWidget()
        self.captures.setAccessibleName(tr("Captures of the evening"))
        self.captures.setViewMode(QListWidget.ViewMode.IconMode)
        self.captures.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.captures.setMovement(QListWidget.Movement.Static)
        self.captures.setSelectionMode(QListWidget.SelectionMode.ExtendedSelection)
        self.captures.setIconSize(QSize(192, 108))
        self.captures.setWordWrap(True)
        self.captures.setFixedHeight(max(200, self.fontMetrics().height() * 13))
        self.captures.currentRowChanged.connect(self._capture_chosen)
        column.addWidget(self.captures)
        row = QWidget()
        flow = Flow(row)
        self.add = button(tr("Add a picture…"), self._add)
        self.paste = button(tr("Paste a picture"), self._paste)
        self.folder = button(tr("Watch a folder…"), self._ask_folder)
        self.remove = button(tr("Take it out"), self._remove)
        self.compare = button(tr("Compare"), self._compare)
        for each in (self.add, self.paste, self.folder, self.remove, self.compare):
            flow.addWidget(each)
        column.addWidget(row)
        self.words = QLineEdit()
        self.words.setAccessibleName(tr("Words for the capture"))
        self.words.setPlaceholderText(tr("Words for the chosen capture"))
        self.words.setMaxLength(2_000)
        self.words.editingFinished.connect(self._words_edited)
        column.addWidget(self.words)
        self.stage = QComboBox()
        self.stage.setAccessibleName(tr("Chapter of the capture"))
        self.stage.setToolTip(tr("Chapter of the making-of that it is shown in"))
        self.stage.activated.connect(self._stage_chosen)
        column.addWidget(self.stage)
        label_for_listeners(self.stage)
        self.show_it = QCheckBox(tr("Show it in the making-of"))
        self.show_it.clicked.connect(self._show_clicked)
        column.addWidget(self.show_it)
        return self.evening_card

    # ---- showing -----------------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        from nightplan.actions.journal import journal

        self._filling = True
        try:
            try:
                self._days = tuple(reversed(journal(project)))
            except BadInput as error:
                self._days = ()
                self.host.say(error.sentence)
            self.list.show_rows([(d.date, self._day_words(project, d)) for d in self._days])
            self._fill_evening()
            self.asked_card.show_project(project)
        finally:
            self._filling = False
        self.film.refresh()

    @staticmethod
    def _day_words(project: Project, day: Day) -> str:
        if not day.happened:
            return tr("{day} · did not happen", day=words.day(day.date))
        names = ", ".join(project.stages_by_id[s].name for s, _ in day.stages[:3])
        parts = [words.day(day.date), words.hours(day.hours), names]
        if day.captures:
            parts.append(trn("{n} capture", "{n} captures", len(day.captures)))
        return " · ".join(p for p in parts if p)

    @property
    def date(self) -> dt.date | None:
        found = self.list.current_key
        return found if isinstance(found, dt.date) else None

    def _chosen_date(self) -> dt.date | None:
        return self.date

    @property
    def day(self) -> Day | None:
        return next((d for d in self._days if d.date == self.date), None)

    @property
    def capture(self) -> Capture | None:
        item, day = self.captures.currentItem(), self.day
        if item is None or day is None:
            return None
        return next((c for c in day.captures if c.path == item.data(_KEY)), None)

    def _fill_evening(self) -> None:
        day = self.day
        self.evening_card.setVisible(day is not None)
        if day is None:
            return
        self.heading.setText(words.day(day.date))
        self.what.setText(tr("Done: {items}", items=", ".join(day.done)) if day.done else "")
        self.what.setVisible(bool(day.done))
        if self.note.toPlainText() != day.note:
            self.note.setPlainText(day.note)
        current = self.captures.currentItem()
        keep = None if current is None else current.data(_KEY)
        self.captures.clear()
        for c in day.captures:
            item = QListWidgetItem(self.thumbnails.icon(c.path), c.note or os.path.basename(c.path))
            item.setData(_KEY, c.path)
            item.setToolTip(tip_text(c.path))
            self.captures.addItem(item)
        self.none.setVisible(not day.captures)
        self.captures.setVisible(bool(day.captures))
        row = next((n for n, c in enumerate(day.captures) if c.path == keep), 0 if day.captures else -1)
        self.captures.setCurrentRow(row)
        self._fill_capture()
        if self._folder is not None:
            self.thumbnails.make([c.path for c in day.captures], self._folder)

    def _fill_capture(self) -> None:
        chosen = self.capture
        for widget in (self.words, self.stage, self.show_it, self.remove, self.compare):
            widget.setEnabled(chosen is not None)
        self._fill_stages(chosen)
        text = "" if chosen is None else " ".join(chosen.note.split())
        if self.words.text() != text:
            self.words.setText(text)
        self.show_it.setChecked(chosen is not None and chosen.show)

    def _fill_stages(self, chosen: Capture | None) -> None:
        project, day = self.host.project, self.day
        usual = (
            project.stages_by_id[day.stages[0][0]].name if day is not None and day.stages else trc("chapter", "none")
        )
        rows: list[tuple[str, str | None]] = [(tr("Chapter of the evening: {chapter}", chapter=usual), None)]
        rows += [(tr("Chapter: {chapter}", chapter=stage.name), stage.id) for stage in project.stages]
        if rows != [(self.stage.itemText(n), self.stage.itemData(n)) for n in range(self.stage.count())]:
            self.stage.clear()
            for text, key in rows:
                self.stage.addItem(text, key)
        keys = [key for _, key in rows]
        wanted = None if chosen is None else chosen.stage
        self.stage.setCurrentIndex(keys.index(wanted) if wanted in keys else 0)

    @Slot(int)
    def _day_chosen(self, _row: int) -> None:
        if not self._filling:
            self._filling = True
            self._fill_evening()
            self._filling = False

    @Slot(int)
    def _capture_chosen(self, _row: int) -> None:
        if not self._filling:
            self._fill_capture()

    def focus_first(self) -> None:
        wanted, self.host.journal_evening = self.host.journal_evening, None
        row = next((n for n, d in enumerate(self._days) if d.date == wanted), None)
        if row is None:
            self.list.setFocus()
        else:
            self.list.setCurrentRow(row)
            self.add.setFocus()

    def leave(self) -> None:
        self._note_left()
        if self.words.hasFocus():
            self.words.clearFocus()

    # ---- thumbnails --------------------------------------------------------------------------
    @property
    def _folder(self) -> Path | None:
        path = self.host.document.path
        return None if path is None else Path(path).parent

    @Slot()
    def _show_thumbnails(self) -> None:
        for n in range(self.captures.count()):
            item = self.captures.item(n)
            item.setIcon(self.thumbnails.icon(item.data(_KEY)))

    # ---- changing ----------------------------------------------------------------------------
    @Slot()
    def _note_left(self) -> None:
        from nightplan.actions.journal import set_note

        day = self.day
        text = self.note.toPlainText()
        if day is not None and not self._filling and text != day.note:
            date = day.date
            self.host.change(tr("Note of {day}", day=words.day(date)), lambda p: set_note(p, date, text))

    def add_pictures(self, paths: list[Path]) -> bool:
        """Captures for the chosen evening, one step of undo."""
        from nightplan.actions.journal import add_capture, stored_path

        date, folder = self.date, self._folder
        if not paths:
            return False
        if date is None:
            self.host.say(tr("Tick off an evening first; captures belong to one."))
            return False
        if folder is None:
            self.host.say(tr("Save the project first; captures are named from where it lies."))
            return False
        names = [stored_path(path, folder) for path in paths]

        def make(project: Project) -> Project:
            for name in names:
                project = add_capture(project, date, name)
            return project

        self.thumbnails.try_again(names)
        return self.host.change(tr("Captures of {day}", day=words.day(date)), make)

    @Slot()
    def _add(self) -> None:
        folder = self._folder or Path.home()
        patterns = "*.png *.jpg *.jpeg *.webp *.tif *.tiff *.bmp *.gif"
        filters = tr("Pictures ({patterns})", patterns=patterns)
        self.host.services.ask_file(self, tr("Add a capture"), str(folder), filters, self._picture_chosen)

    def _picture_chosen(self, path: str | None) -> None:
        if path is not None:
            self.add_pictures([Path(path)])

    @Slot()
    def _paste(self) -> None:
        data = QGuiApplication.clipboard().mimeData()
        files = [Path(u.toLocalFile()) for u in data.urls() if u.isLocalFile()] if data.hasUrls() else []
        if files:
            self.add_pictures(files)
        elif data.hasImage():
            self.keep_image(QGuiApplication.clipboard().image())
        else:
            self.host.say(tr("There is no picture to paste."))

    def keep_image(self, image: QImage) -> None:
        """A picture that is in no file yet becomes one beside the project."""
        from nightplan.files.captures import keep_pasted

        date, folder = self.date, self._folder
        if date is None or folder is None or image.isNull():
            self.host.say(tr("Save the project and choose an evening first; then a picture can be pasted."))
            return
        store = QByteArray()
        buffer = QBuffer(store)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        image.save(buffer, "PNG")  # type: ignore[call-overload]
        try:
            self.add_pictures([keep_pasted(bytes(store.data()), folder, date)])
        except NightplanError as error:
            self.host.say(str(error))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if any(u.isLocalFile() for u in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        self.add_pictures([Path(u.toLocalFile()) for u in event.mimeData().urls() if u.isLocalFile()][:50])
        event.acceptProposedAction()

    @Slot()
    def _remove(self) -> None:
        from nightplan.actions.journal import remove_capture

        date, chosen = self.date, self.capture
        if date is not None and chosen is not None:
            path = chosen.path
            self.host.change(tr("Take a capture out"), lambda p: remove_capture(p, date, path))

    def _change_capture(self, label: str, **changes: Any) -> None:
        from nightplan.actions.journal import change_capture

        date, chosen = self.date, self.capture
        if date is not None and chosen is not None and not self._filling:
            path = chosen.path
            self.host.change(label, lambda p: change_capture(p, date, path, **changes))

    @Slot()
    def _words_edited(self) -> None:
        chosen = self.capture
        if chosen is not None and self.words.text().strip() != " ".join(chosen.note.split()):
            self._change_capture(tr("Words for a capture"), note=self.words.text().strip())

    @Slot()
    def _stage_chosen(self) -> None:
        chosen, key = self.capture, self.stage.currentData()
        if chosen is not None and key != chosen.stage:
            self._change_capture(tr("Chapter of a capture"), stage=key)

    @Slot()
    def _show_clicked(self) -> None:
        self._change_capture(tr("Show a capture or not"), show=self.show_it.isChecked())

    # ---- a folder that is watched ------------------------------------------------------------
    @Slot()
    def _ask_folder(self) -> None:
        folder = self._folder or Path.home()
        self.host.services.ask_folder(self, tr("Watch a folder for captures"), str(folder), self.watch)

    def watch(self, folder: str | None) -> None:
        """New pictures in this folder become captures of the chosen evening while the window is open."""
        if folder is not None and self.date is not None:
            self.watched.watch(Path(folder), self.date)

    # ---- comparing ---------------------------------------------------------------------------
    @Slot()
    def _compare(self) -> None:
        chosen = [str(item.data(_KEY)) for item in self.captures.selectedItems()]
        folder = self._folder
        if folder is None:
            self.host.say(tr("Save the project first; captures are named from where it lies."))
            return
        if len(chosen) == 2:
            one, two = chosen
        elif self._marked is None or not chosen or self._marked in chosen:
            self._marked = chosen[0] if chosen else None
            self.host.say(tr("Now choose the other capture, on any evening, and press Compare again."))
            return
        else:
            one, two = self._marked, chosen[0]
        self._marked = None
        self.pair.show_pair(folder, one, two)
