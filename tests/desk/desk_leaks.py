# SPDX-License-Identifier: GPL-3.0-or-later
"""What was started in a test, and at which line, so that what is left behind can be named."""

from __future__ import annotations

import traceback
import weakref
from collections.abc import Callable
from typing import Any

import pytest
import shiboken6
from PySide6.QtCore import QCoreApplication, QEvent, QObject
from PySide6.QtWidgets import QApplication


def from_where() -> str:
    """The line of ours that called, innermost first of the tests or the program."""
    for frame in reversed(traceback.extract_stack()[:-2]):
        if "nightplan" in frame.filename or "/tests/" in frame.filename:
            return f"{frame.filename}:{frame.lineno} in {frame.name}"
    return "somewhere in the toolkit"


class Started:
    """Weak references to what was started, and the line that did it."""

    def __init__(self) -> None:
        self.rows: list[tuple[weakref.ref[Any], str]] = []

    def watch(self, monkeypatch: pytest.MonkeyPatch, kind: type, method: str) -> None:
        original = getattr(kind, method)
        rows = self.rows

        def started(this: Any, *args: Any, **keys: Any) -> Any:
            rows.append((weakref.ref(this), from_where()))
            return original(this, *args, **keys)

        monkeypatch.setattr(kind, method, started)

    def left(self, alive: Callable[[Any], bool]) -> list[str]:
        found = []
        for ref, line in self.rows:
            thing = ref()
            if thing is not None and (not isinstance(thing, QObject) or valid(thing)) and alive(thing):
                found.append(f"{type(thing).__name__} started at {line}")
        return sorted(set(found))


def valid(thing: Any) -> bool:
    return bool(shiboken6.isValid(thing))


def let_go() -> None:
    """Run what waits in the event queue, deferred deletions too."""
    for _round in range(3):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        QApplication.processEvents()
