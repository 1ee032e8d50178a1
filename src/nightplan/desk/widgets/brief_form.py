# SPDX-License-Identifier: GPL-3.0-or-later
"""Every key of the deliverable or the rule that is chosen in the tree, as fields; each edit is one step of undo."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QFrame, QLabel, QLineEdit, QSizePolicy, QWidget

from nightplan.desk.fields import card_column, form, wrapped
from nightplan.desk.widgets.brief_words import CHANGED, CONDITIONS, GROUPS, GROUPS_INSIDE, STRENGTHS, WHATS
from nightplan.desk.widgets.journal_parts import KeptText
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trc

if TYPE_CHECKING:
    from nightplan.brief.rules import Deliverable, Rule
    from nightplan.desk.host import DeskHost

_TIMED = ("duration", "frame-count")
#: key, label, hint, kinds that have it (empty: all)
_LINES: tuple[tuple[str, str, str, tuple[str, ...]], ...] = (
    ("wanted", trc("of a rule", "Wanted"), tr("for example: at most 100 MB"), ()),
    ("breach", tr("If it is broken"), tr("what happens then, in the organiser's words"), ()),
    ("evidence", tr("Where it stands"), tr("page or section, or what proves that it is kept"), ()),
    ("titles_seconds", tr("Seconds of titles"), tr("how long titles and credits are"), _TIMED),
    ("zone", tr("Zone"), tr("for example Europe/Lisbon"), ("publish-not-before",)),
    ("due", tr("Due on"), tr("days with , between: 2027-10-03, 2027-10-17"), ("progress-post",)),
)
#: key, label, choices (value, words), kinds
_BOXES: tuple[tuple[str, str, tuple[tuple[str, str], ...], tuple[str, ...]], ...] = (
    ("strength", tr("How strict"), tuple(STRENGTHS.items()), ()),
    (
        "counts",
        tr("What counts"),
        (("everything", tr("everything")), ("without titles", tr("without titles and credits"))),
        _TIMED,
    ),
    # translators: the words before a choice of two, "start" and "end"
    ("place", tr("Slate at the"), (("start", trc("of a film", "start")), ("end", trc("of a film", "end"))), ("slate",)),
    # translators: the words before a choice of two, "a card with words" and "black"
    ("look", tr("Slate is"), (("card", tr("a card with words")), ("black", trc("a slate", "black"))), ("slate",)),
)  # untranslated: keys as the file has them


class RuleForm(QFrame):
    """The fields of what is chosen; hidden where nothing is."""

    #: (deliverable, rule) that should be chosen now
    moved = Signal(object)

    def __init__(self, host: DeskHost, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.host = host
        self.deliverable: Deliverable | None = None
        self.rule: Rule | None = None
        self._all: tuple[Deliverable, ...] = ()
        self._filling = False
        column = card_column(self, tr("The rule"))
        heading = self.findChild(QLabel)
        assert isinstance(heading, QLabel)
        self.heading = heading
        self.owner_rows, self.rows = form(), form()
        column.addLayout(self.owner_rows)
        column.addLayout(self.rows)
        self.lines: dict[str, QLineEdit] = {}
        self.boxes: dict[str, QComboBox] = {}
        self._build_owner()
        self._build_rule()

    # ---- building ----------------------------------------------------------------------------
    def _line(self, rows: QFormLayout, key: str, label: str, hint: str) -> QLineEdit:
        line = QLineEdit()
        line.setPlaceholderText(hint)
        line.setAccessibleName(label)
        line.setMaxLength(5_000)
        line.setObjectName(key)
        line.editingFinished.connect(self._line_edited)
        self.lines[key] = line
        rows.addRow(label, line)
        return line

    def _box(self, rows: QFormLayout, key: str, label: str) -> QComboBox:
        box = QComboBox()
        box.setAccessibleName(label)
        box.setObjectName(key)
        box.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        box.activated.connect(self._box_chosen)
        self.boxes[key] = box
        rows.addRow(label, box)
        return box

    def _build_owner(self) -> None:
        rows = self.owner_rows
        self._line(rows, "name", tr("Name"), tr("what you call it"))
        what = self._box(rows, "what", tr("What it is"))
        for value, words in WHATS.items():
            what.addItem(words, value)
        condition = self._box(rows, "condition", tr("Asked for"))
        condition.addItem(CONDITIONS["always"], "always")  # untranslated: value of the file
        condition.addItem(tr("only if you are selected"), "if selected")  # untranslated: value of the file
        self.selected = QCheckBox(tr("It is asked of me"))
        self.selected.clicked.connect(self._selected_clicked)
        rows.addRow("", self.selected)
        self._line(rows, "fps", tr("Frames per second"), tr("the rate that the frames are shown at: 24, 23.976, 25"))

    def _build_rule(self) -> None:
        rows = self.rows
        # filled when it is first shown: the words of the kinds come with the model
        self._box(rows, "kind", tr("Kind of rule"))
        self._line(rows, *_LINES[0][:3])
        self.example = wrapped()
        self.example.setProperty("role", "muted")
        rows.addRow("", self.example)
        for key, label, choices, _kinds in _BOXES:
            box = self._box(rows, key, label)
            for value, words in choices:
                box.addItem(words, value)
        self.wording = KeptText()
        self.wording.setAccessibleName(tr("The organiser's words"))
        self.wording.setPlaceholderText(tr("their sentence, as it stands in the rules"))
        self.wording.setTabChangesFocus(True)
        self.wording.setFixedHeight(self.fontMetrics().lineSpacing() * 3 + 14)
        self.wording.left.connect(self._wording_left)
        rows.addRow(tr("The organiser's words"), self.wording)
        for key, label, hint, _kinds in _LINES[1:]:
            self._line(rows, key, label, hint)
        self.ticked = QCheckBox(tr("It is so: my tick"))
        self.ticked.clicked.connect(self._ticked_clicked)
        rows.addRow("", self.ticked)
        self._line(rows, "tick_note", tr("Note to the tick"), tr("why it is so, where it was posted"))
        self._box(rows, "home", tr("Belongs to"))

    # ---- showing -----------------------------------------------------------------------------
    def show_key(self, deliverables: tuple[Deliverable, ...], key: tuple[str, str]) -> None:
        """The fields of (deliverable, rule); of the deliverable itself where the rule is empty."""
        self._all = deliverables
        self.deliverable = next((d for d in deliverables if d.id == key[0]), None)
        rules = self.deliverable.rules if self.deliverable is not None else ()
        self.rule = next((r for r in rules if r.id == key[1]), None)
        self.setVisible(self.deliverable is not None)
        self._filling = True
        try:
            self._show_owner()
            self._show_rule()
        finally:
            self._filling = False

    def _show_owner(self) -> None:
        d = self.deliverable if self.rule is None else None
        for widget in (self.lines["name"], self.boxes["what"], self.boxes["condition"]):
            self.owner_rows.setRowVisible(widget, d is not None)
        self.owner_rows.setRowVisible(self.selected, d is not None and d.condition != "always")
        self.owner_rows.setRowVisible(self.lines["fps"], d is not None and d.what in ("sequence", "zip", "folder"))
        if d is None:
            return
        self.heading.setText(tr("The deliverable"))
        _say(self.lines["name"], d.name)
        _say(self.lines["fps"], "" if d.fps is None else str(d.fps))
        for key in ("what", "condition"):
            self.boxes[key].setCurrentIndex(self.boxes[key].findData(getattr(d, key)))
        self.selected.setChecked(d.selected)

    def _show_rule(self) -> None:
        from nightplan.actions.brief_values import COMPARED, NO, YES, wanted_text
        from nightplan.brief.kinds import KINDS

        rule = self.rule
        for key, _label, _hint, kinds in _LINES:
            self.rows.setRowVisible(self.lines[key], rule is not None and (not kinds or rule.kind in kinds))
        for key, _label, _choices, kinds in _BOXES:
            self.rows.setRowVisible(self.boxes[key], rule is not None and (not kinds or rule.kind in kinds))
        for widget in (self.boxes["kind"], self.example, self.wording):
            self.rows.setRowVisible(widget, rule is not None)
        person = rule is not None and (KINDS[rule.kind].how != "file" or rule.ticked or rule.strength == "note")
        self.rows.setRowVisible(self.ticked, person)
        self.rows.setRowVisible(self.lines["tick_note"], person)
        self.rows.setRowVisible(self.boxes["home"], rule is not None and len(self._all) > 1)
        if rule is None:
            return
        self.heading.setText(tr("The rule"))
        self._fill_kinds(rule.kind)
        kind = KINDS[rule.kind]
        _say(self.lines["wanted"], wanted_text(rule))
        example = kind.example.strip('"').replace('"', "").strip("[]")
        example = {"true": YES, "false": NO}.get(example, example)
        if kind.comparisons == ("exactly",):
            self.example.setText(tr("For example {value}", value=example))
        else:
            ways = trc("between the parts of a list", ", ").join(COMPARED[c] for c in kind.comparisons)
            self.example.setText(tr("For example {value}; also with: {comparisons}", value=example, comparisons=ways))
        for key in ("strength", "counts", "place", "look"):
            self.boxes[key].setCurrentIndex(self.boxes[key].findData(getattr(rule, key)))
        for key in ("breach", "evidence", "tick_note"):
            _say(self.lines[key], getattr(rule, key))
        _say(self.lines["titles_seconds"], "" if rule.titles_seconds is None else f"{rule.titles_seconds:g}")
        _say(self.lines["zone"], rule.zone or "")
        _say(self.lines["due"], ", ".join(rule.due))
        if self.wording.toPlainText() != rule.wording:
            self.wording.setPlainText(rule.wording)
        self.ticked.setChecked(rule.ticked)
        home = self.boxes["home"]
        home.clear()
        for d in self._all:
            home.addItem(d.name, d.id)
        assert self.deliverable is not None
        home.setCurrentIndex(home.findData(self.deliverable.id))

    def _fill_kinds(self, current: str) -> None:
        from nightplan.brief.kinds import KINDS

        box = self.boxes["kind"]
        if not box.count():
            for title, (_heading, kinds) in zip(GROUPS_INSIDE, GROUPS, strict=True):
                for kind in kinds:
                    if kind in KINDS:
                        box.addItem(f"{KINDS[kind].words}  ·  {title}", kind)
        box.setCurrentIndex(box.findData(current))

    def finish(self) -> None:
        """What is being typed is taken over."""
        for line in self.lines.values():
            if line.hasFocus():
                line.clearFocus()
        if self.wording.hasFocus():
            self.wording.clearFocus()

    # ---- changing ----------------------------------------------------------------------------
    def _change(self, **changes: Any) -> None:
        from nightplan.actions import brief

        d, rule = self.deliverable, self.rule
        if self._filling or d is None:
            return
        keys = [k for k in changes if k not in ("tolerance", "comparison")]
        what = trc("between the parts of a list", ", ").join(CHANGED.get(k, k) for k in keys)
        if rule is None:
            done = self.host.change(f"{d.name}: {what}", lambda p: brief.change_deliverable(p, d.id, **changes))
        else:
            from nightplan.brief.kinds import KINDS

            label = f"{KINDS[rule.kind].words}: {what}"
            done = self.host.change(label, lambda p: brief.change_rule(p, d.id, rule.id, **changes))
        if not done:
            self.show_key(self._all, (d.id, "" if rule is None else rule.id))

    def _now(self, key: str) -> str:
        """What a field began with."""
        from nightplan.actions.brief_values import wanted_text

        if self.rule is None:
            return "" if self.deliverable is None else str(getattr(self.deliverable, key) or "")
        if key == "wanted":
            return wanted_text(self.rule)
        value = getattr(self.rule, key)
        if key == "due":
            return ", ".join(value)
        if key == "titles_seconds":
            return "" if value is None else f"{value:g}"
        return " ".join(str(value or "").split())

    @Slot()
    def _line_edited(self) -> None:
        line = self.sender()
        if not isinstance(line, QLineEdit) or self._filling or self.deliverable is None:
            return
        key, text = line.objectName(), line.text().strip()
        if (self.rule is None) != (key in ("name", "fps")) or text == self._now(key):
            return
        try:
            self._change(**self._read(key, text))
        except BadInput as error:
            self.host.say(error.sentence)
            self.show_key(self._all, (self.deliverable.id, "" if self.rule is None else self.rule.id))

    def _read(self, key: str, text: str) -> dict[str, Any]:
        from nightplan.actions.brief_values import value_from_text, wanted_from_text

        if key == "wanted":
            assert self.rule is not None
            return wanted_from_text(self.rule.kind, text)
        if key == "due":
            return {key: tuple(part.strip() for part in text.split(",") if part.strip())}
        if key == "titles_seconds":
            return {key: float(value_from_text("duration", "exactly", text)["value"]) if text else None}
        if key in ("fps", "zone"):
            return {key: text or None}
        return {key: text}

    @Slot()
    def _box_chosen(self) -> None:
        box = self.sender()
        if not isinstance(box, QComboBox) or self._filling or self.deliverable is None:
            return
        key, value = box.objectName(), box.currentData()
        if key == "home":
            self._move_to(str(value))
        elif key == "kind":
            self._other_kind(str(value))
        elif value != getattr(self.rule or self.deliverable, key):
            self._change(**{key: value})

    def _other_kind(self, kind: str) -> None:
        """Another kind keeps the value where it fits, else begins with an example."""
        rule = self.rule
        if rule is not None and kind != rule.kind:
            from nightplan.actions.brief_values import start_of

            self._change(kind=kind, **start_of(kind, rule))

    def _move_to(self, target: str) -> None:
        from nightplan.actions.brief import deliverable_of, move_rule_to

        d, rule = self.deliverable, self.rule
        if d is None or rule is None or target == d.id:
            return
        if self.host.change(tr("Move the rule"), lambda p: move_rule_to(p, d.id, rule.id, target)):
            self.moved.emit((target, deliverable_of(self.host.project, target).rules[-1].id))

    @Slot()
    def _wording_left(self) -> None:
        text = self.wording.toPlainText().strip()[:20_000]
        if self.rule is not None and text != self.rule.wording.strip():
            self._change(wording=text)

    @Slot()
    def _selected_clicked(self) -> None:
        self._change(selected=self.selected.isChecked())

    @Slot()
    def _ticked_clicked(self) -> None:
        self._change(ticked=self.ticked.isChecked())


def _say(line: QLineEdit, text: str) -> None:
    text = " ".join(text.split())
    if line.text() != text:
        line.setText(text)
