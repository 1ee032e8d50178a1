# SPDX-License-Identifier: GPL-3.0-or-later
"""No text for people is left that a translator would not see. Common practice, no source."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from find_words import SOURCE, untranslated

#: rooms whose every text goes through ``nightplan.speech``
ROOMS = ("speech", "engine", "evenings", "model", "actions", "brief", "files", "cli", "exports", "desk")


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_has_no_text_that_cannot_be_translated(room: str) -> None:
    left = [
        f"{path.relative_to(SOURCE)}:{line}: {text!r}"
        for path in sorted((SOURCE / room).rglob("*.py"))
        for line, text in untranslated(path.read_text("utf-8"))
    ]
    assert left == []


def test_the_finder_finds() -> None:
    source = '''
"""A docstring of many words."""
QLabel("Save")
name = "no words" + f"it took {hours} of them"
button.setText(tr("fine as it is"))
SQL = "SELECT a FROM b"
key = "one"
table = {"k": mark("some words")}
raise BadInput(f"{x}: nothing of that kind")
bare("two words")  # untranslated: a test
tr(f"not a literal {x}")
label = f"{tr('within')}"
'''
    found = untranslated(source)
    assert [line for line, _ in found] == [3, 4, 4, 9, 11, 12]
