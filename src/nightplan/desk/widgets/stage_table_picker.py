# SPDX-License-Identifier: GPL-3.0-or-later
"""A small dialog: what must be done before a stage or an item can start."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.stage_table_rows import name_of
from nightplan.model.project import Project
from nightplan.speech import tr


def waiting_on(project: Project, key: str) -> frozenset[str]:
    """Everything that waits, directly or not, for a stage, an item or a job: it cannot be waited for in turn."""
    stage = project.stages_by_id.get(key)
    start = {i.id for i in stage.items} if stage is not None else {key}
    after: dict[str, set[str]] = {}
    for later, earlier in project.predecessors.items():
        for e in earlier:
            after.setdefault(e, set()).add(later)
    found, todo = set(start), list(start)
    while todo:
        for later in after.get(todo.pop(), ()):
            if later not in found:
                found.add(later)
                todo.append(later)
    stages = {s.id for s in project.stages if s.items and any(i.id in found for i in s.items)}
    return frozenset(found | stages | {key})


class WaitsForDialog(QDialog):
    """Ticks for stages, items and machine jobs; ``chosen`` are the ids in the artist's order."""

    def __init__(self, project: Project, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        stage = project.stages_by_id.get(key)
        item = project.items.get(key)
        now = stage.after if stage is not None else (item.after if item is not None else ())
        name = name_of(project, key)
        self.setWindowTitle(tr("{work} waits for", work=name))
        self.setAccessibleName(tr("What {work} waits for", work=name))
        layout = QVBoxLayout(self)
        label = PlainLabel(
            tr("&Tick what must be done before {work} can start.", work=name.replace("&", "&&")), parent=self
        )
        label.setWordWrap(True)
        self._list = QListWidget(self)
        self._list.setAccessibleName(tr("What {work} waits for", work=name))
        label.setBuddy(self._list)
        layout.addWidget(label)
        layout.addWidget(self._list, 1)
        circle = waiting_on(project, key)
        own = project.stage_of[key].id if item is not None else ""
        for s in project.stages:
            self._add(s.id, s.name, 0, s.id in now, s.id not in circle and s.id != own)
            for i in s.items:
                if stage is None or s.id != key:
                    self._add(i.id, i.name, 1, i.id in now, i.id not in circle)
        for j in project.jobs:
            self._add(j.id, tr("{job} (machine job)", job=j.name), 0, j.id in now, j.id not in circle)
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, parent=self
        )
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        layout.addWidget(self.buttons)
        self.resize(max(320, self.fontMetrics().averageCharWidth() * 50), max(360, self.fontMetrics().height() * 24))
        self._list.setFocus()

    def _add(self, key: str, name: str, depth: int, ticked: bool, possible: bool) -> None:
        row = QListWidgetItem("    " * depth + name, self._list)
        row.setData(Qt.ItemDataRole.UserRole, key)
        row.setCheckState(Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked)
        if possible or ticked:
            row.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsUserCheckable)
        else:
            row.setFlags(Qt.ItemFlag.NoItemFlags)
            row.setToolTip(tr("It waits for this one itself, so this one cannot wait for it."))

    @property
    def chosen(self) -> tuple[str, ...]:
        rows = [self._list.item(n) for n in range(self._list.count())]
        return tuple(str(r.data(Qt.ItemDataRole.UserRole)) for r in rows if r.checkState() == Qt.CheckState.Checked)

    def tick(self, key: str, on: bool = True) -> None:
        """Tick or untick by id."""
        for n in range(self._list.count()):
            if self._list.item(n).data(Qt.ItemDataRole.UserRole) == key:
                self._list.item(n).setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
