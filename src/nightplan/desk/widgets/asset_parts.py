# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts of the Assets page: what the licences ask and the credits, and what holds for the entry as a whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QCheckBox, QComboBox, QFrame, QPushButton, QVBoxLayout, QWidget

from nightplan.desk.fields import button, card_column, editable_box, emptied, form, set_box_text, wrapped
from nightplan.desk.widgets.flow import Flow
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.speech import tr, trc, trn

if TYPE_CHECKING:
    from nightplan.actions.assets import Asset, AssetFinding, Said
    from nightplan.desk.host import DeskHost

#: as in the file -> as it is shown
KIND_WORDS = {
    "model": trc("kind of asset", "model"),
    "texture": trc("kind of asset", "texture"),
    "hdri": trc("kind of asset", "hdri"),
    "rig": trc("kind of asset", "rig"),
    "motion": trc("kind of asset", "motion"),
    "footage": trc("kind of asset", "footage"),
    "music": trc("kind of asset", "music"),
    "sound": trc("kind of asset", "sound"),
    "font": trc("kind of asset", "font"),
    "code": trc("kind of asset", "code"),
    "other": trc("kind of asset", "other"),
}
_CHECKS = (
    ("prize", tr("There is a prize")),
    ("paid_channel", tr("Shown where it earns money")),
    ("promotion", tr("The organiser may advertise with it")),
    ("scene_files", tr("Scene files are handed in")),
)
_THIRD = (
    ("allowed", trc("of things made by others", "allowed")),
    ("credited", tr("allowed, each one credited")),
    ("free only", tr("free ones only")),  # untranslated: a value of the file
    ("none", tr("not allowed")),
)
_VERDICTS = {
    "fail": (tr("Not like this"), "bad"),
    "hold": (tr("Holds the hand-in"), "bad"),
    "warn": (tr("Mind"), "warn"),
}
_SAVED = (
    (tr("Save the credits as Markdown…"), "md"),
    (tr("Save the credits as text…"), "txt"),
    (tr("Save the credits as end title…"), "png"),
    (tr("Save the list as CSV…"), "csv"),
)
_MOST = 60


class FindingsCard(QFrame):
    """What the licences ask, held against the brief, and where the credits go."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        column = card_column(self, tr("What the licences ask"))
        self.verdict = wrapped()
        self.verdict.setProperty("role", "heading")
        column.addWidget(self.verdict)
        self.rows = QVBoxLayout()
        column.addLayout(self.rows)
        self.notice = wrapped()
        self.notice.setProperty("role", "muted")
        column.addWidget(self.notice)
        row = QWidget()
        flow = Flow(row)
        for text, kind in _SAVED:
            save = button(text, self._save)
            save.setProperty("kind", kind)
            flow.addWidget(save)
        column.addWidget(row)

    def show_found(self, found: tuple[AssetFinding, ...], listed: tuple[Asset, ...]) -> None:
        from nightplan.brief.assets import held
        from nightplan.brief.licences import NOTICE

        emptied(self.rows)
        self.notice.setText(NOTICE)
        names = {a.id: a.title for a in listed}
        if held(found):
            self.verdict.setText(tr("Do not hand it in like this yet."))
        elif found:
            self.verdict.setText(tr("Nothing stands in the way; some things to mind."))
        else:
            self.verdict.setText(tr("Nothing stands in the way.") if listed else tr("No assets yet."))
        for f in found[:_MOST]:
            head, role = _VERDICTS.get(f.verdict, (tr("Note"), "muted"))
            who = ", ".join(names.get(key, key) for key in f.assets[:4])
            label = wrapped(
                tr(
                    "{verdict} – {assets}: {rule}. {why} What to do: {remedy}.",
                    verdict=head,
                    assets=who,
                    rule=f.rule,
                    why=_sentence(f.why),
                    remedy=f.remedy,
                )
            )
            label.setProperty("role", role)
            self.rows.addWidget(label)
        if len(found) > _MOST:
            self.rows.addWidget(wrapped(trn("And {n} more.", "And {n} more.", len(found) - _MOST)))

    def show_fault(self, sentence: str) -> None:
        emptied(self.rows)
        self.verdict.setText(tr("The assets in the file cannot be read: {sentence}", sentence=sentence))

    @Slot()
    def _save(self) -> None:
        from nightplan.desk.exporting import export

        pressed = self.sender()
        if isinstance(pressed, QPushButton):
            kind = str(pressed.property("kind"))
            export(self.host, "assets" if kind == "csv" else "credits", f".{kind}")


class EntryCard(QFrame):
    """What holds for the entry as a whole: the brief's rules where they say it, the artist's word where not."""

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self._filling = False
        self._result = ""
        column = card_column(self, tr("What holds for this entry"))
        rows = form()
        self.result = editable_box(tr("Licence of the result"))
        line = self.result.lineEdit()
        assert line is not None
        line.editingFinished.connect(self._result_edited)
        self.result.activated.connect(self._result_edited)
        self.third = QComboBox()
        self.third.setAccessibleName(tr("Things made by others"))
        for key, text in _THIRD:
            self.third.addItem(text, key)
        self.third.activated.connect(self._third_chosen)
        rows.addRow(tr("Licence of the result"), self.result)
        rows.addRow(tr("Things made by others"), self.third)
        column.addLayout(rows)
        self.checks: dict[str, QCheckBox] = {}
        for key, text in _CHECKS:
            check = QCheckBox(text)
            check.setObjectName(key)
            check.clicked.connect(self._term_clicked)
            self.checks[key] = check
            column.addWidget(check)
        self.from_brief = wrapped()
        self.from_brief.setProperty("role", "muted")
        column.addWidget(self.from_brief)

    def show_said(self, said: Said) -> None:
        from nightplan.brief.licences import LICENCES

        self._filling = True
        if not self.result.count():
            self.result.addItem("")
            self.result.addItems([x.name for x in LICENCES.values() if x.id.startswith("CC")])
        terms = said.terms
        self._result = terms.result
        set_box_text(self.result, licence_name(terms.result) if terms.result else "")
        self.third.setCurrentIndex(max(0, self.third.findData(terms.third_party)))
        for key, check in self.checks.items():
            check.setChecked(getattr(terms, key))
        for key, part in self._parts():
            rules = said.rules.get(key, ())
            part.setEnabled(not rules)
            wording = " · ".join(r.wording or r.kind for r in rules)
            reason = tr("The brief says: {wording}", wording=wording) if rules else ""
            part.setToolTip(tip_text(reason))
        words = [f"“{r.wording}”" for rules in said.rules.values() for r in rules if r.wording]
        self.from_brief.setVisible(bool(said.rules))
        self.from_brief.setText(
            tr("What cannot be changed here stands in the rules of the brief: {wording}", wording=" ".join(words))
            if words
            else tr("What cannot be changed here stands in the rules of the brief.")
        )
        self._filling = False

    def _parts(self) -> list[tuple[str, QWidget]]:
        return [("result", self.result), ("third_party", self.third), *self.checks.items()]

    def _set(self, **changes: Any) -> None:
        from nightplan.actions.assets import set_terms

        if not self._filling:
            self.host.change(tr("Change what holds for the entry"), lambda p: set_terms(p, **changes))

    @Slot()
    def _term_clicked(self) -> None:
        check = self.sender()
        if isinstance(check, QCheckBox):
            self._set(**{check.objectName(): check.isChecked()})

    @Slot()
    def _third_chosen(self) -> None:
        self._set(third_party=str(self.third.currentData()))

    @Slot()
    def _result_edited(self) -> None:
        text = self.result.currentText().strip()
        wanted = identifier(text) if text else ""
        if not self._filling and wanted != self._result:
            self._set(result=wanted)


def licence_name(key: str) -> str:
    """How a licence is shown: its name, or the identifier where it is one of the artist's own."""
    from nightplan.brief.licences import licence

    its = licence(key)
    return key if its.family == "custom" else its.name


def identifier(text: str) -> str:
    """The identifier for a name that was chosen or typed."""
    from nightplan.brief.licences import LICENCES, licence_id

    return next((x.id for x in LICENCES.values() if x.name == text), licence_id(text))


def _sentence(text: str) -> str:
    # translators: the full stop of a sentence
    return tr("{sentence}.", sentence=f"{text[:1].upper()}{text[1:]}")
