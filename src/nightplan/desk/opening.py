# SPDX-License-Identifier: GPL-3.0-or-later
"""What a window shows in its first moment: the title and the gates, read without the project's own modules.

Loading the modules that understand a project takes longer than painting a window.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QVBoxLayout, QWidget

from nightplan.desk.widgets.plain_label import PlainLabel
from nightplan.speech import tr

#: above it, even a look takes its time
_MOST_BYTES = 2_000_000


@dataclass(frozen=True)
class Glance:
    """Title, kind of piece, names of the gates; empty where they could not be read."""

    title: str
    piece: str = ""
    gates: tuple[str, ...] = ()


def glance(path: Path) -> Glance:
    """A look at a file. Never raises: what is wrong with it is said when it is opened."""
    try:
        if path.stat().st_size > _MOST_BYTES:
            return Glance(path.name)
        raw = json.loads(path.read_text(encoding="utf-8"))
        gates = tuple(str(gate["name"])[:80] for gate in raw["gates"][:6])
        return Glance(str(raw["title"])[:200], str(raw.get("piece") or "")[:80], gates)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return Glance(path.name)


class OpeningPage(QWidget):
    """In place of a page until there is one."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("Opening"))
        label = PlainLabel(tr("Opening the project…"))
        label.setProperty("role", "muted")
        label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        QVBoxLayout(self).addWidget(label)
