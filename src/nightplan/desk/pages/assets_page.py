# SPDX-License-Identifier: GPL-3.0-or-later
"""The Assets page: what in the piece somebody else made, what its licence asks, and the credits."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Slot
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFrame,
    QLineEdit,
    QWidget,
)

from nightplan.desk.fields import button, card, editable_box, form, set_box_text, wrapped
from nightplan.desk.pages import Page
from nightplan.desk.widgets.asset_parts import KIND_WORDS, EntryCard, FindingsCard, identifier, licence_name
from nightplan.desk.widgets.columns import Columns, fill
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.keyed_list import KeyedList
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn

if TYPE_CHECKING:
    from nightplan.actions.assets import Asset, FilesSeen
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project

#: field, its label, and what undo calls a change of it
_TEXTS = (
    ("title", tr("Title"), tr("Change the title")),
    ("author", tr("Author"), tr("Change the author")),
    ("source", tr("Source"), tr("Change the source")),
    ("changes", tr("Changes"), tr("Change the changes")),
    ("where", tr("Where used"), tr("Change where it is used")),
    ("files", tr("Files"), tr("Change the files")),
    ("cost", tr("Cost"), tr("Change the cost")),
    ("receipt", tr("Receipt"), tr("Change the receipt")),
    ("terms", tr("Terms"), tr("Change the terms")),
)
_HINTS = {
    "source": tr("an address, a book, a person"),
    "changes": tr("what you changed, for the credit"),
    "files": tr("beside the project file, with ; between; a folder stands for all in it"),
    "terms": tr("what a licence of its own allows"),
}


class AssetsPage(Page):
    """A list, the fields of the one that is chosen, the rules of the entry, and what follows from all that."""

    id = "assets"
    title = tr("Assets")
    tip = tr("What others made, licences and credits")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self._assets: tuple[Asset, ...] = ()
        self._filling = False
        self.fields: dict[str, QLineEdit] = {}
        self.work = host.background(self, self._looked, refused=self._not_looked)
        self._build()

    # ---- building ----------------------------------------------------------------------------
    def _build(self) -> None:
        self.judged, self.entry = FindingsCard(self.host), EntryCard(self.host)
        sides = ((self._list_card(), self._fields_card()), (self.judged, self.entry))
        fill(self, Columns(self.title, sides))

    def _list_card(self) -> QFrame:
        frame, column = card(tr("What others made"))
        self.list = KeyedList(
            tr("Assets"),
            tr(
                "Write down everything in the piece that you did not make yourself: models, textures, skies, music, "
                "fonts. "
                "The credits write themselves, and a licence that does not fit is found before the hand-in."
            ),
            lines=9,
            last_new=True,
        )
        self.list.currentRowChanged.connect(self._chosen)
        self.list.put_into(column)
        row = QWidget()
        grid = Flow(row)
        self.add = button(tr("Add an asset"), self._add)
        self.remove = button(tr("Take it out"), self._remove)
        self.import_list = button(tr("Read a list (CSV)…"), self._import)
        self.look = button(tr("Files that none covers"), self._look)
        for each in (self.add, self.remove, self.import_list, self.look):
            grid.addWidget(each)
        column.addWidget(row)
        self.seen = wrapped("")
        self.seen.hide()
        column.addWidget(self.seen)
        return frame

    def _fields_card(self) -> QFrame:
        self.fields_card, column = card(tr("The asset"))
        rows = form()
        for key, label, _ in _TEXTS:
            field = QLineEdit()
            field.setObjectName(key)
            field.setPlaceholderText(_HINTS.get(key, ""))
            field.setMaxLength(5_000)
            field.editingFinished.connect(self._edited)
            field.setAccessibleName(label)
            self.fields[key] = field
            rows.addRow(label, field)
        self.licence = editable_box(tr("Licence"))
        line = self.licence.lineEdit()
        assert line is not None
        line.editingFinished.connect(self._licence_edited)
        self.licence.activated.connect(self._licence_edited)
        self.kind = QComboBox()
        self.kind.setAccessibleName(tr("Kind"))
        self.kind.activated.connect(self._kind_chosen)
        self.adapted = QCheckBox(tr("Changed, or built into a picture"))
        self.adapted.clicked.connect(self._adapted_clicked)
        rows.insertRow(3, tr("Licence"), self.licence)
        rows.insertRow(1, tr("Kind"), self.kind)
        column.addLayout(rows)
        column.addWidget(self.adapted)
        return self.fields_card

    # ---- showing -----------------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        from nightplan.actions.assets import assets_of, look_at_licences, said_by
        from nightplan.brief.assets import KINDS
        from nightplan.brief.licences import LICENCES

        self._filling = True
        try:
            if not self.kind.count():
                for kind in KINDS:
                    self.kind.addItem(KIND_WORDS[kind], kind)
                self.licence.addItems([x.name for x in LICENCES.values()])
            try:
                self._assets, said = assets_of(project), said_by(project)
                found = look_at_licences(project)
            except BadInput as error:
                self._spoilt(error.sentence)
                return
            self.list.show_rows([(a.id, f"{a.title}  ·  {licence_name(a.licence)}") for a in self._assets])
            self._fill_fields()
            self.entry.show_said(said)
            self.judged.show_found(found, self._assets)
        finally:
            self._filling = False

    def _spoilt(self, sentence: str) -> None:
        self._assets = ()
        self.list.clear()
        self._fill_fields()
        self.judged.show_fault(sentence)

    @property
    def current(self) -> Asset | None:
        return next((a for a in self._assets if a.id == self.list.current_key), None)

    def _fill_fields(self) -> None:
        asset = self.current
        self.fields_card.setVisible(asset is not None)
        self.remove.setEnabled(asset is not None)
        if asset is None:
            return
        for key, field in self.fields.items():
            text = _shown(asset, key)
            if field.text() != text:
                field.setText(text)
        set_box_text(self.licence, licence_name(asset.licence))
        self.kind.setCurrentIndex(self.kind.findData(asset.kind))
        self.adapted.setChecked(asset.adapted)

    @Slot(int)
    def _chosen(self, _row: int) -> None:
        if not self._filling:
            self._filling = True
            self._fill_fields()
            self._filling = False

    def focus_first(self) -> None:
        (self.list if self._assets else self.add).setFocus()

    def leave(self) -> None:
        for field in self.fields.values():
            if field.hasFocus():
                field.clearFocus()

    # ---- changing ----------------------------------------------------------------------------
    def _change(self, label: str, **changes: Any) -> None:
        from nightplan.actions.assets import change_asset

        asset = self.current
        if asset is None or self._filling:
            return
        key = asset.id
        if not self.host.change(f"{label}: {asset.title}", lambda p: change_asset(p, key, **changes)):
            self._filling = True
            self._fill_fields()
            self._filling = False

    @Slot()
    def _edited(self) -> None:
        field = self.sender()
        asset = self.current
        if not isinstance(field, QLineEdit) or asset is None:
            return
        key, text = field.objectName(), field.text().strip()
        if text == _shown(asset, key):
            return
        value: Any = text
        if key == "files":
            value = tuple(part.strip() for part in text.split(";") if part.strip())
        elif key == "cost":
            try:
                value = float(text.replace(",", ".")) if text else None
            except ValueError:
                self.host.say(tr("Cost = {text}: a number is accepted, for example 12.50", text=text[:40]))
                field.setText(_shown(asset, key))
                return
        self._change(next(label for field, _, label in _TEXTS if field == key), **{key: value})

    @Slot()
    def _licence_edited(self) -> None:
        asset = self.current
        text = self.licence.currentText().strip()
        if asset is not None and text != licence_name(asset.licence):
            self._change(tr("Change the licence"), licence=identifier(text))

    @Slot()
    def _kind_chosen(self) -> None:
        asset = self.current
        if asset is not None and self.kind.currentData() != asset.kind:
            self._change(tr("Change the kind"), kind=self.kind.currentData())

    @Slot()
    def _adapted_clicked(self) -> None:
        self._change(tr("Changed or not"), adapted=self.adapted.isChecked())

    @Slot()
    def _add(self) -> None:
        from nightplan.actions.assets import add_asset

        if self.host.change(tr("Add an asset"), lambda p: add_asset(p, tr("New asset"))):
            self.list.setCurrentRow(self.list.count() - 1)
            self.fields["title"].setFocus()
            self.fields["title"].selectAll()

    @Slot()
    def _remove(self) -> None:
        from nightplan.actions.assets import remove_asset

        asset = self.current
        if asset is not None:
            key = asset.id
            self.host.change(tr("Take out {asset}", asset=asset.title), lambda p: remove_asset(p, key))

    # ---- files -------------------------------------------------------------------------------
    @Slot()
    def _import(self) -> None:
        folder = os.path.dirname(self.host.document.path or "") or os.path.expanduser("~")
        self.host.services.ask_file(
            self, tr("Read a list of assets"), folder, tr("Lists ({patterns})", patterns="*.csv *.tsv"), self.read_list
        )

    def read_list(self, path: str | None) -> None:
        """Read a list as CSV; what was read is said."""
        from nightplan.actions.assets import import_assets

        if path is None:
            return
        try:
            with open(path, "rb") as file:
                data = file.read(2_000_001)
        except OSError as error:
            self.host.say(tr("{file} cannot be read: {why}", file=os.path.basename(path), why=error.strerror))
            return
        told: list[str] = []

        def make(project: Project) -> Project:
            read = import_assets(project, data)
            told.append(tr("{added} added, {renewed} renewed.", added=read.added, renewed=read.updated))
            if read.ignored:
                told.append(tr("Not read: {columns}.", columns=", ".join(read.ignored[:5])))
            return read.project

        if self.host.change(tr("Read a list of assets"), make):
            self.host.say(" ".join(told))

    @Slot()
    def _look(self) -> None:
        self.seen.show()
        if self.host.document.path is None:
            self.seen.setText(tr("Save the project first: the folder that it lies in is looked through."))
            return
        project, folder = self.host.project, Path(self.host.document.path).parent
        self.seen.setText(tr("Looking through the folder…"))

        def work(progress: Callable[[float], None]) -> FilesSeen:
            from nightplan.actions.assets import files_without_asset

            return files_without_asset(project, folder, progress=progress)

        self.work.start("files", work)

    @Slot(object)
    def _not_looked(self, sentence: str) -> None:
        self.seen.setText(sentence)

    @Slot(object)
    def _looked(self, told: tuple[str, FilesSeen]) -> None:
        seen = told[1]
        lines = []
        if seen.uncovered:
            shown = ", ".join(seen.uncovered[:12])
            lines.append(
                trn(
                    "No asset covers {files} and {n} more. Name the file or its folder in an asset; own work, too.",
                    "No asset covers {files} and {n} more. Name the file or its folder in an asset; own work, too.",
                    len(seen.uncovered) - 12,
                    files=shown,
                )
                if len(seen.uncovered) > 12
                else tr("No asset covers {files}. Name the file or its folder in an asset; own work, too.", files=shown)
            )
        if seen.missing:
            lines.append(tr("Not there: {files}.", files=", ".join(path for _, path in seen.missing[:12])))
        if not seen.complete:
            lines.append(tr("There are more files than were looked at."))
        self.seen.setText(" ".join(lines) or tr("Every file in the folder is covered by an asset."))


def _shown(asset: Asset, key: str) -> str:
    value = getattr(asset, key)
    if key == "files":
        return "; ".join(value)
    if key == "cost":
        return "" if value is None else f"{value:g}"
    return " ".join(str(value).split())
