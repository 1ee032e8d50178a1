# SPDX-License-Identifier: GPL-3.0-or-later
"""What a window without a person has around it: a day that stands still, and nobody who is asked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget

from nightplan.desk.services import Services


class StillServices(Services):
    """Nothing leaves ``folder``; a question is answered with its last choice at once, and no file is ever chosen."""

    def __init__(self, folder: Path, day: dt.date) -> None:
        super().__init__(profile=folder)
        self.folder, self.day = folder, day

    def today(self) -> dt.date:
        return self.day

    def now(self) -> dt.datetime:
        return dt.datetime.combine(self.day, dt.time(20))

    def ask(
        self,
        parent: QWidget | None,
        title: str,
        text: str,
        choices: Sequence[tuple[str, str]],
        answer: Callable[[str], None],
        *,
        detail: str = "",
    ) -> None:
        QTimer.singleShot(0, self, lambda: answer(choices[-1][0]))

    def _file(self, *_arguments: Any, **_keys: Any) -> None:
        return

    def copy(self, text: str) -> None:
        return
