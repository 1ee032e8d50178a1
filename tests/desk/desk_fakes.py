# SPDX-License-Identifier: GPL-3.0-or-later
"""Stand-ins for what lies between the desk and the world: questions wait for the test's answer, the clock stands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtWidgets import QWidget

from nightplan.desk.services import Services


@dataclass
class Question:
    """A question or a file dialog that is on the screen."""

    title: str
    text: str
    keys: tuple[str, ...]
    detail: str
    reply: Callable[[str], None]


@dataclass
class FileQuestion:
    title: str
    suggested: str
    reply: Callable[[str | None], None]


class FakeServices(Services):
    """Nothing leaves ``folder``. ``questions`` are those that wait for :meth:`answer`, ``asked`` all so far."""

    def __init__(self, folder: Path, day: dt.date) -> None:
        super().__init__(profile=folder)
        self.folder = folder
        self.day = day
        self.moment = dt.datetime.combine(day, dt.time(20, 0))
        self.questions: list[Question] = []
        self.asked: list[Question] = []
        self.files: list[FileQuestion] = []
        self.copied: list[str] = []

    def today(self) -> dt.date:
        return self.day

    def now(self) -> dt.datetime:
        return self.moment

    def go_to_day(self, day: dt.date) -> None:
        self.day = day
        self.moment = dt.datetime.combine(day, dt.time(20, 0))

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
        question = Question(title, text, tuple(key for key, _label in choices), detail, answer)
        self.questions.append(question)
        self.asked.append(question)

    def answer(self, key: str) -> Question:
        """Answer the question that was asked last."""
        question = self.questions.pop()
        assert key in question.keys, f"{key} is no answer to {question.title}: {question.keys}"
        question.reply(key)
        return question

    def _ask_file(self, title: str, suggested: str, answer: Callable[[str | None], None]) -> None:
        self.files.append(FileQuestion(title, suggested, answer))

    def ask_open(self, parent: QWidget | None, folder: str, answer: Callable[[str | None], None]) -> None:
        self._ask_file("Open a project", folder, answer)

    def ask_file(
        self, parent: QWidget | None, title: str, folder: str, filters: str, answer: Callable[[str | None], None]
    ) -> None:
        self._ask_file(title, folder, answer)

    def ask_save(
        self,
        parent: QWidget | None,
        suggested: str,
        answer: Callable[[str | None], None],
        *,
        title: str = "Save the project",
        filters: str = "",
    ) -> None:
        self._ask_file(title, suggested, answer)

    def ask_folder(self, parent: QWidget | None, title: str, folder: str, answer: Callable[[str | None], None]) -> None:
        self._ask_file(title, folder, answer)

    def choose(self, path: Path | str | None) -> FileQuestion:
        """Answer the file dialog that was opened last; None is Cancel."""
        question = self.files.pop()
        question.reply(None if path is None else str(path))
        return question

    def copy(self, text: str) -> None:
        self.copied.append(text)
