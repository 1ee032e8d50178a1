# SPDX-License-Identifier: GPL-3.0-or-later
"""The Assets page: what in the piece somebody else made, what its licence asks, and the credits."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QCheckBox,
    QComboBox,
    QFormLayout,
    QFrame,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from nightplan.desk.pages import Page
from nightplan.desk.widgets.flow import Flow
from nightplan.model.errors import BadInput

if TYPE_CHECKING:
    from nightplan.brief.assets import Asset
    from nightplan.desk.host import DeskHost
    from nightplan.desk.theme import Theme
    from nightplan.model.project import Project

_TEXTS = (
    ("title", "Title"),
    ("author", "Author"),
    ("source", "Source"),
    ("changes", "Changes"),
    ("where", "Where used"),
    ("files", "Files"),
    ("cost", "Cost"),
    ("receipt", "Receipt"),
    ("terms", "Terms"),
)
_HINTS = {
    "source": "an address, a book, a person",
    "changes": "what you changed, for the credit",
    "files": "beside the project file, with ; between; a folder stands for all in it",
    "terms": "what a licence of its own allows",
}
_CHECKS = (
    ("prize", "There is a prize"),
    ("paid_channel", "Shown where it earns money"),
    ("promotion", "The organiser may advertise with it"),
    ("scene_files", "Scene files are handed in"),
)
_THIRD = (
    ("allowed", "allowed"),
    ("credited", "allowed, each one credited"),
    ("free only", "free ones only"),
    ("none", "not allowed"),
)
_VERDICTS = {"fail": ("Not like this", "bad"), "hold": ("Holds the hand-in", "bad"), "warn": ("Mind", "warn")}


class AssetsPage(Page):
    """A list, the fields of the one that is chosen, the rules of the entry, and what follows from all that."""

    id = "assets"
    title = "Assets"
    tip = "What others made, licences and credits"

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        self._assets: tuple[Asset, ...] = ()
        self._filling = False
        self.fields: dict[str, QLineEdit] = {}
        self.checks: dict[str, QCheckBox] = {}
        self._build()

    # ---- building ----------------------------------------------------------------------------
    def _build(self) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inside = QWidget()
        inside.setProperty("role", "ground")
        self.columns = QBoxLayout(QBoxLayout.Direction.LeftToRight, inside)
        self.columns.setContentsMargins(0, 0, 0, 0)
        self.columns.setSpacing(10)
        for cards in ((self._list_card(), self._fields_card()), (self._findings_card(), self._terms_card())):
            column = QVBoxLayout()
            column.setSpacing(10)
            for card in cards:
                column.addWidget(card)
            column.addStretch(1)
            self.columns.addLayout(column, 1)
        area.setWidget(inside)
        outer.addWidget(area)

    def _list_card(self) -> QFrame:
        card, column = _card("What others made")
        self.empty = _wrapped(
            "Write down everything in the piece that you did not make yourself: models, textures, skies, music, fonts. "
            "The credits write themselves, and a licence that does not fit is found before the hand-in."
        )
        column.addWidget(self.empty)
        self.list = QListWidget()
        self.list.setAccessibleName("Assets")
        self.list.setFixedHeight(self.fontMetrics().height() * 9)
        self.list.currentRowChanged.connect(self._chosen)
        column.addWidget(self.list)
        row = QWidget()
        grid = Flow(row)
        self.add = _button("Add an asset", self._add)
        self.remove = _button("Take it out", self._remove)
        self.import_list = _button("Read a list (CSV)…", self._import)
        self.look = _button("Files that none covers", self._look)
        for button in (self.add, self.remove, self.import_list, self.look):
            grid.addWidget(button)
        column.addWidget(row)
        self.seen = _wrapped("")
        self.seen.hide()
        column.addWidget(self.seen)
        return card

    def _fields_card(self) -> QFrame:
        self.fields_card, column = _card("The asset")
        form = _form()
        for key, label in _TEXTS:
            field = QLineEdit()
            field.setObjectName(key)
            field.setPlaceholderText(_HINTS.get(key, ""))
            field.setMaxLength(5_000)
            field.editingFinished.connect(self._edited)
            field.setAccessibleName(label)
            self.fields[key] = field
            form.addRow(label, field)
        self.licence = QComboBox()
        self.licence.setEditable(True)
        self.licence.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        line = _line()
        self.licence.setLineEdit(line)
        line.editingFinished.connect(self._licence_edited)
        self.licence.activated.connect(self._licence_edited)
        for part in (self.licence, line):
            part.setAccessibleName("Licence")
        self.kind = QComboBox()
        self.kind.setAccessibleName("Kind")
        self.kind.activated.connect(self._kind_chosen)
        self.adapted = QCheckBox("Changed, or built into a picture")
        self.adapted.clicked.connect(self._adapted_clicked)
        form.insertRow(3, "Licence", self.licence)
        form.insertRow(1, "Kind", self.kind)
        column.addLayout(form)
        column.addWidget(self.adapted)
        return self.fields_card

    def _terms_card(self) -> QFrame:
        card, column = _card("What holds for this entry")
        form = _form()
        self.result = QComboBox()
        self.result.setEditable(True)
        self.result.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        line = _line()
        self.result.setLineEdit(line)
        line.editingFinished.connect(self._result_edited)
        self.result.activated.connect(self._result_edited)
        for part in (self.result, line):
            part.setAccessibleName("Licence of the result")
        self.third = QComboBox()
        self.third.setAccessibleName("Things made by others")
        for key, text in _THIRD:
            self.third.addItem(text, key)
        self.third.activated.connect(self._third_chosen)
        form.addRow("Licence of the result", self.result)
        form.addRow("Things made by others", self.third)
        column.addLayout(form)
        for key, text in _CHECKS:
            check = QCheckBox(text)
            check.setObjectName(key)
            check.clicked.connect(self._term_clicked)
            self.checks[key] = check
            column.addWidget(check)
        return card

    def _findings_card(self) -> QFrame:
        card, column = _card("What the licences ask")
        self.verdict = _wrapped("")
        self.verdict.setProperty("role", "heading")
        column.addWidget(self.verdict)
        self.findings = QVBoxLayout()
        column.addLayout(self.findings)
        self.notice = _wrapped("")
        self.notice.setProperty("role", "muted")
        column.addWidget(self.notice)
        row = QWidget()
        grid = Flow(row)
        for text, kind in (("Markdown", "md"), ("text", "txt"), ("end title", "png"), ("list", "csv")):
            button = _button(f"Save the credits as {text}…" if kind != "csv" else "Save the list as CSV…", self._save)
            button.setProperty("kind", kind)
            grid.addWidget(button)
        column.addWidget(row)
        return card

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # with large letters or in a small window the two columns stand one above the other
        across = self.width() / max(1, self.fontMetrics().averageCharWidth()) >= 120
        way = QBoxLayout.Direction.LeftToRight if across else QBoxLayout.Direction.TopToBottom
        if self.columns.direction() != way:
            self.columns.setDirection(way)

    # ---- showing -----------------------------------------------------------------------------
    def show_project(self, project: Project) -> None:
        from nightplan.actions.assets import assets_of, terms_of
        from nightplan.brief.assets import KINDS
        from nightplan.brief.licences import LICENCES, NOTICE

        self._filling = True
        try:
            if not self.kind.count():
                self.kind.addItems(KINDS)
                self.licence.addItems([x.name for x in LICENCES.values()])
                self.result.addItem("")
                self.result.addItems([x.name for x in LICENCES.values() if x.id.startswith("CC")])
                self.notice.setText(NOTICE)
            try:
                self._assets, terms = assets_of(project), terms_of(project)
            except BadInput as error:
                self._spoilt(error.sentence)
                return
            self._fill_list()
            self._fill_fields()
            _set_text(self.result, _licence_name(terms.result) if terms.result else "")
            self.third.setCurrentIndex(max(0, self.third.findData(terms.third_party)))
            for key, check in self.checks.items():
                check.setChecked(getattr(terms, key))
            self._fill_findings(project)
        finally:
            self._filling = False

    def _spoilt(self, sentence: str) -> None:
        self._assets = ()
        self.list.clear()
        self._fill_fields()
        self._clear_findings()
        self.verdict.setText(f"The assets in the file cannot be read: {sentence}")

    def _fill_list(self) -> None:
        keep = self.current_id
        wanted = [(a.id, f"{a.title}  ·  {_licence_name(a.licence)}") for a in self._assets]
        have = [(i.data(Qt.ItemDataRole.UserRole), i.text()) for i in map(self.list.item, range(self.list.count()))]
        if wanted != have:
            self.list.clear()
            for key, text in wanted:
                item = QListWidgetItem(text)
                item.setData(Qt.ItemDataRole.UserRole, key)
                self.list.addItem(item)
            row = next((n for n, (key, _) in enumerate(wanted) if key == keep), len(wanted) - 1)
            self.list.setCurrentRow(row)
        self.empty.setVisible(not wanted)
        self.list.setVisible(bool(wanted))

    @property
    def current_id(self) -> str | None:
        item = self.list.currentItem()
        return None if item is None else str(item.data(Qt.ItemDataRole.UserRole))

    @property
    def current(self) -> Asset | None:
        return next((a for a in self._assets if a.id == self.current_id), None)

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
        _set_text(self.licence, _licence_name(asset.licence))
        self.kind.setCurrentText(asset.kind)
        self.adapted.setChecked(asset.adapted)

    def _clear_findings(self) -> None:
        while (item := self.findings.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()

    def _fill_findings(self, project: Project) -> None:
        from nightplan.actions.assets import look_at_licences
        from nightplan.brief.assets import held

        self._clear_findings()
        found = look_at_licences(project)
        names = {a.id: a.title for a in self._assets}
        if held(found):
            self.verdict.setText("Do not hand it in like this yet.")
        elif found:
            self.verdict.setText("Nothing stands in the way; some things to mind.")
        else:
            self.verdict.setText("Nothing stands in the way." if self._assets else "No assets yet.")
        for f in found[:60]:
            head, role = _VERDICTS.get(f.verdict, ("Note", "muted"))
            who = ", ".join(names.get(key, key) for key in f.assets[:4])
            label = _wrapped(f"{head} – {who}: {f.rule}. {_sentence(f.why)} What to do: {f.remedy}.")
            label.setProperty("role", role)
            self.findings.addWidget(label)

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
                self.host.say(f"Cost = {text[:40]}: a number is accepted, for example 12.50")
                field.setText(_shown(asset, key))
                return
        self._change(f"Change the {key}", **{key: value})

    @Slot()
    def _licence_edited(self) -> None:
        asset = self.current
        text = self.licence.currentText().strip()
        if asset is not None and text != _licence_name(asset.licence):
            self._change("Change the licence", licence=_identifier(text))

    @Slot()
    def _kind_chosen(self) -> None:
        asset = self.current
        if asset is not None and self.kind.currentText() != asset.kind:
            self._change("Change the kind", kind=self.kind.currentText())

    @Slot()
    def _adapted_clicked(self) -> None:
        self._change("Changed or not", adapted=self.adapted.isChecked())

    def _set_terms(self, **changes: Any) -> None:
        from nightplan.actions.assets import set_terms

        if not self._filling:
            self.host.change("Change what holds for the entry", lambda p: set_terms(p, **changes))

    @Slot()
    def _term_clicked(self) -> None:
        check = self.sender()
        if isinstance(check, QCheckBox):
            self._set_terms(**{check.objectName(): check.isChecked()})

    @Slot()
    def _third_chosen(self) -> None:
        self._set_terms(third_party=str(self.third.currentData()))

    @Slot()
    def _result_edited(self) -> None:
        from nightplan.actions.assets import terms_of

        wanted = _identifier(self.result.currentText().strip()) if self.result.currentText().strip() else ""
        if not self._filling and wanted != terms_of(self.host.project).result:
            self._set_terms(result=wanted)

    @Slot()
    def _add(self) -> None:
        from nightplan.actions.assets import add_asset

        if self.host.change("Add an asset", lambda p: add_asset(p, "New asset")):
            self.list.setCurrentRow(self.list.count() - 1)
            self.fields["title"].setFocus()
            self.fields["title"].selectAll()

    @Slot()
    def _remove(self) -> None:
        from nightplan.actions.assets import remove_asset

        asset = self.current
        if asset is not None:
            key = asset.id
            self.host.change(f"Take out {asset.title}", lambda p: remove_asset(p, key))

    # ---- files -------------------------------------------------------------------------------
    @Slot()
    def _import(self) -> None:
        folder = os.path.dirname(self.host.document.path or "") or os.path.expanduser("~")
        self.host.services.ask_file(self, "Read a list of assets", folder, "Lists (*.csv *.tsv)", self.read_list)

    def read_list(self, path: str | None) -> None:
        """Read a list as CSV; what was read is said."""
        from nightplan.actions.assets import import_assets

        if path is None:
            return
        try:
            with open(path, "rb") as file:
                data = file.read(2_000_001)
        except OSError as error:
            self.host.say(f"{os.path.basename(path)} cannot be read: {error.strerror}")
            return
        told: list[str] = []

        def make(project: Project) -> Project:
            read = import_assets(project, data)
            told.append(f"{read.added} added, {read.updated} renewed.")
            if read.ignored:
                told.append(f"Not read: {', '.join(read.ignored[:5])}.")
            return read.project

        if self.host.change("Read a list of assets", make):
            self.host.say(" ".join(told))

    @Slot()
    def _look(self) -> None:
        from nightplan.actions.assets import files_without_asset

        self.seen.show()
        if self.host.document.path is None:
            self.seen.setText("Save the project first: the folder that it lies in is looked through.")
            return
        seen = files_without_asset(self.host.project, Path(self.host.document.path).parent)
        lines = []
        if seen.uncovered:
            shown = ", ".join(seen.uncovered[:12])
            more = f" and {len(seen.uncovered) - 12} more" if len(seen.uncovered) > 12 else ""
            lines.append(f"No asset covers {shown}{more}. Name the file or its folder in an asset; own work, too.")
        if seen.missing:
            lines.append(f"Not there: {', '.join(path for _, path in seen.missing[:12])}.")
        if not seen.complete:
            lines.append("There are more files than were looked at.")
        self.seen.setText(" ".join(lines) or "Every file in the folder is covered by an asset.")

    @Slot()
    def _save(self) -> None:
        button = self.sender()
        if not isinstance(button, QPushButton):
            return
        from nightplan.desk.exporting import export

        kind = str(button.property("kind"))
        export(self.host, "assets" if kind == "csv" else "credits", f".{kind}")


def _shown(asset: Asset, key: str) -> str:
    value = getattr(asset, key)
    if key == "files":
        return "; ".join(value)
    if key == "cost":
        return "" if value is None else f"{value:g}"
    return " ".join(str(value).split())


def _licence_name(identifier: str) -> str:
    from nightplan.brief.licences import licence

    its = licence(identifier)
    return identifier if its.family == "custom" else its.name


def _identifier(text: str) -> str:
    from nightplan.brief.licences import LICENCES, licence_id

    return next((x.id for x in LICENCES.values() if x.name == text), licence_id(text))


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _set_text(box: QComboBox, text: str) -> None:
    if box.currentText() != text:
        box.setCurrentIndex(box.findText(text))
        box.setEditText(text)


def _card(title: str) -> tuple[QFrame, QVBoxLayout]:
    card = QFrame()
    card.setProperty("role", "card")
    column = QVBoxLayout(card)
    column.setContentsMargins(16, 12, 16, 12)
    column.setSpacing(8)
    heading = QLabel(title)
    heading.setProperty("role", "heading")
    column.addWidget(heading)
    return card, column


def _form() -> QFormLayout:
    form = QFormLayout()
    form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapLongRows)
    form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
    return form


def _line() -> QLineEdit:
    """The field of a box to choose from: the box has the frame and the room around the words."""
    line = QLineEdit()
    line.setFrame(False)
    line.setStyleSheet("QLineEdit { border: 0; padding: 0; background: transparent; }")
    return line


def _wrapped(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def _button(text: str, slot: Any) -> QPushButton:
    button = QPushButton(text)
    button.clicked.connect(slot)
    return button
