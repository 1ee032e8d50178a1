# SPDX-License-Identifier: GPL-3.0-or-later
"""The re-plans of a project over time: when, what, why, and what it did to odds and buffer."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from nightplan.actions.recover import Replan, replans
from nightplan.desk import words
from nightplan.desk.widgets.move_row import odds_line
from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.desk.widgets.watch_list import sentence
from nightplan.model.project import Project
from nightplan.speech import tr


class ReplanHistory(QWidget):
    """Hidden while there is none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(4)
        column.addWidget(PlainLabel(tr("Re-plans so far"), role="heading"))
        self.lines = PlainLabel("", role="muted", wrap=True)
        self.lines.setAccessibleName(tr("Re-plans so far"))
        column.addWidget(self.lines)
        self.hide()

    def show_project(self, project: Project) -> None:
        told = [_line(project, row) for row in replans(project)]
        self.lines.setText("\n".join(told))
        self.setVisible(bool(told))


def _line(project: Project, row: Replan) -> str:
    odds = odds_line(project, row.odds_before, row.odds_after)
    line = f"{words.day(row.date)}: {' + '.join(row.moves)} ({' · '.join(p for p in (odds, _buffers(row)) if p)})."
    return tr("{line} Why: {reason}", line=line, reason=sentence(row.reason, capital=False)) if row.reason else line


def _buffers(row: Replan) -> str:
    """Buffer before the lock in the baseline that was replaced and in the new one."""
    hours: list[float] = []
    for baseline in (row.old_baseline, row.new_baseline):
        kept = baseline.get("buffer_hours")
        lock = kept.get("lock") if isinstance(kept, dict) else None
        hours += [float(lock)] if isinstance(lock, int | float) else []
    if len(hours) != 2:
        return ""
    return tr("buffer of the baseline {old} → {new}", old=words.hours(hours[0]), new=words.hours(hours[1]))
